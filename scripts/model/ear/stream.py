"""Batches for training, and the check on the development split while training."""

from __future__ import annotations

import random

import numpy as np
import torch

from scripts.model.ear import spelling
from scripts.model.ear.losses import difference, heard, speech_weight
from scripts.model.sound import bank as banks
from scripts.model.sound import mixing

LEVELS = (99.0, 15.0, 10.0, 5.0, 0.0, -5.0)  # SNRs of the development check, dB


class Stream(torch.utils.data.IterableDataset):
    """Endless plans with the token rows of their texts: (plan, rows of the batch that have texts, which of those are
    exact, tokens).
    """

    def __init__(self, bank, seconds, seed, rows=None, wrongs=5, ways=3, most=48):
        self.bank, self.seconds, self.seed, self.rows, self.wrongs, self.ways, self.most = (
            bank,
            seconds,
            seed,
            rows,
            wrongs,
            ways,
            most,
        )

    def one(self, r: random.Random):
        p = banks.plan(self.bank, r, self.seconds)
        if self.rows is None:
            return p, None, None, None
        at, exact, got = [], [], []
        for i, (texts, use) in enumerate(zip(p.texts, p.use, strict=True)):
            words = " ".join(texts).split()
            if use and len(at) < self.most and 0 < len(words) <= 14:
                c = self.rows.choices(words, r, wrongs=self.wrongs, ways=self.ways)
                if c[0]:
                    at.append(i)
                    exact.append(use == 2)
                    got.append(c)
        if not at:
            return self.one(r)
        return p, np.array(at), np.array(exact), spelling.padded(got)

    def __iter__(self):
        info = torch.utils.data.get_worker_info()
        torch.set_num_threads(1)
        r = random.Random(f"{self.seed} {info.id if info else 0}")
        while True:
            yield self.one(r)


class Check:
    """The development split: difference of the frames, contrast and share right at fixed SNRs, on plans that stay the
    same.
    """

    def __init__(self, bank, rows, device, count, ways):
        stream = Stream(bank, 40, 5, rows, wrongs=7, ways=ways)
        r, mixer, self.ways, self.sets = random.Random(5), mixing.Mixer(bank, device, 5), ways, []
        for i in range(count * len(LEVELS)):
            p, at, exact, tokens = stream.one(r)
            clean, noisy, _ = mixer.mix(p, torch.full((p.rows,), LEVELS[i % len(LEVELS)], device=device))
            text = None if at is None else [torch.from_numpy(x).to(device) for x in (at, exact, tokens)]
            self.sets.append((LEVELS[i % len(LEVELS)], clean, noisy, text))

    @torch.no_grad()
    def __call__(self, model, teacher, decoder) -> str:
        told = {}
        for snr, clean, noisy, text in self.sets:
            target, hidden = teacher(clean), model(noisy)
            row = [difference(hidden, target, speech_weight(clean)).mean()]
            if decoder is not None:
                at, exact, tokens = text
                row += list(heard(decoder, hidden[at], target[at], tokens, exact, self.ways))[2:]
            told.setdefault(snr, []).append(torch.stack(row))
        mean = {s: torch.stack(v).mean(0).tolist() for s, v in told.items()}
        return " | ".join(
            f"{'clean' if s > 90 else f'{s:.0f}'} " + " ".join(f"{x:.3f}" for x in v) for s, v in mean.items()
        )
