"""Batches for training, and the check on the development split while training."""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np
import torch

from assistant.speech.letters import spelt
from scripts.model.ear import spelling
from scripts.model.ear.losses import difference, heard, speech_weight, spelled
from scripts.model.sound import bank as banks
from scripts.model.sound import mixing

LEVELS = (99.0, 15.0, 10.0, 5.0, 0.0, -5.0)  # SNRs of the development check, dB


@dataclass(frozen=True)
class Texts:
    """What is said in the rows of a batch.

    Args:
        at: rows of the batch whose texts go through the decoder, int64 (n,).
        exact: which of those are to be told from near misses, bool (n,).
        tokens: of the decoder, int64 (n, sentences x ways, longest), -1 after the end.
        heard: rows of the batch whose letters are known, int64 (m,); in some of them nobody speaks.
        letters: ids of `speech/letters.py`, int64 (m, 1 + near misses, longest), -1 after the end; near misses are left
            empty where the text is not exact.
    """

    at: np.ndarray
    exact: np.ndarray
    tokens: np.ndarray
    heard: np.ndarray
    letters: np.ndarray


class Stream(torch.utils.data.IterableDataset):
    """Endless plans, with what is said in them where `rows` is given: (plan, Texts or None)."""

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

    def one(self, r: random.Random) -> tuple[banks.Plan, Texts | None]:
        p = banks.plan(self.bank, r, self.seconds)
        if self.rows is None:
            return p, None
        at, exact, got, heard, letters = [], [], [], [], []
        sounding = set(p.pieces[:, 0].astype(int))
        for i, (texts, use) in enumerate(zip(p.texts, p.use, strict=True)):
            words = " ".join(texts).split()
            if i not in sounding:
                heard.append(i)
                letters.append([[]])
            if not use or not 0 < len(words) <= 14:
                continue
            said = spelling.near_misses(words, r, wrongs=self.wrongs)
            heard.append(i)
            letters.append([spelt(" ".join(ws)) for ws in (said if use == 2 else said[:1])])
            c = self.rows.choices(said, r, ways=self.ways) if len(at) < self.most else [[]]
            if c[0]:
                at.append(i)
                exact.append(use == 2)
                got.append(c)
        if not at:
            return self.one(r)
        tokens = spelling.padded(got)
        return p, Texts(np.array(at), np.array(exact), tokens, np.array(heard), spelling.padded(letters))

    def __iter__(self):
        info = torch.utils.data.get_worker_info()
        torch.set_num_threads(1)
        r = random.Random(f"{self.seed} {info.id if info else 0}")
        while True:
            yield self.one(r)


class Check:
    """The development split: difference of the frames, contrast and share right at fixed SNRs, by the decoder and by
    the letters, on plans that stay the same.
    """

    def __init__(self, bank, rows, device, count, ways):
        stream = Stream(bank, 40, 5, rows, wrongs=7, ways=ways)
        r, mixer, self.ways, self.sets = random.Random(5), mixing.Mixer(bank, device, 5), ways, []
        for i in range(count * len(LEVELS)):
            p, texts = stream.one(r)
            clean, noisy, _ = mixer.mix(p, torch.full((p.rows,), LEVELS[i % len(LEVELS)], device=device))
            self.sets.append((LEVELS[i % len(LEVELS)], clean, noisy, texts))

    @torch.no_grad()
    def __call__(self, model, teacher, decoder) -> str:
        told = {}
        for snr, clean, noisy, texts in self.sets:
            target, (hidden, letters) = teacher.frames(clean), model(noisy)
            row = [difference(hidden, target, speech_weight(clean)).mean()]
            if decoder is not None:
                row += list(heard(decoder, hidden, target, texts, self.ways))[2:]
                row += list(spelled(letters, texts))[1:]
            told.setdefault(snr, []).append(torch.stack(row))
        mean = {s: torch.stack(v).mean(0).tolist() for s, v in told.items()}
        return " | ".join(
            f"{'clean' if s > 90 else f'{s:.0f}'} " + " ".join(f"{x:.3f}" for x in v) for s, v in mean.items()
        )
