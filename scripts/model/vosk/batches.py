"""Batches for training: mixed anew as they are drawn, with the pdf of every output and the graph of every text."""

from __future__ import annotations

import multiprocessing
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from queue import Empty
from typing import Any

import numpy as np
import torch

from scripts.model.sound import bank as banks
from scripts.model.sound.bank import Bank
from scripts.model.sound.mixing import Mixer, Recipe
from scripts.model.vosk.chains import Chains, chain_of, stacked
from scripts.model.vosk.labels import Alignment, plan_labels
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.tdnn import Mfcc

RECIPE = Recipe(low=-8.0, high=30.0, deep=0.0, clean=0.22, kinds=(0.40, 0.15, 0.22, 0.13, 0.10), talkers=6)
"""SNR in dB. Talk behind is a crowd, and rare: a few voices labelled silence teach the network to delete words."""
POOL = 12  # batches out of which one is learnt from again
AHEAD = 4  # batches that may wait to be learnt from


@dataclass(frozen=True)
class Batch:
    """features: float32 (rows, frames, DIM); labels: int64 (rows, outputs); known: float32 (rows,), 1 where the text
    is known.
    """

    features: torch.Tensor
    labels: np.ndarray
    chains: Chains
    known: np.ndarray


class Batches:
    """Endless batches of one bank, whose drawable clips all have an alignment and words of the lexicon.

    Args:
        seconds: of sound in a batch.
        uses: how often each is handed out, from a pool, so that not the same one comes twice running.
    """

    def __init__(
        self,
        bank: Bank,
        alignments: Sequence[Alignment | None],
        lexicon: Lexicon,
        *,
        seconds: float,
        uses: int,
        device: str,
    ) -> None:
        self.bank, self.alignments, self.lexicon = bank, alignments, lexicon
        self.seconds, self.uses, self.device = seconds, uses, device
        self.random, self.mixer, self.mfcc = random.Random(), Mixer(bank, device, 0, RECIPE), Mfcc().to(device)

    def seed(self, seed: int) -> None:
        """What comes next is decided by this number alone."""
        self.random.seed(seed)
        self.mixer.g.manual_seed(seed)

    @torch.no_grad()
    def one(self) -> Batch:
        """A batch mixed now."""
        plan = banks.plan(self.bank, self.random, self.seconds)
        features = self.mfcc((self.mixer.mix(plan)[1] * 32767).round())
        sounding = set(plan.pieces[:, 0].astype(int))
        words = [" ".join(texts).split() for texts in plan.texts]
        known = np.array([bool(w) or row not in sounding for row, w in enumerate(words)], np.float32)
        chains = stacked([chain_of(w, self.lexicon) for w in words])
        return Batch(features, plan_labels(plan, self.bank, self.alignments), chains, known)

    def stream(self, seed: int) -> Iterator[Batch]:
        """Endless; on a CPU another process mixes, so that two cores are busy. The same seed gives the same batches."""
        fresh = self._from_process(seed) if self.device == "cpu" else self._from_here(seed)
        pool: list[Batch] = []
        again = random.Random(seed)
        for new in fresh:
            if len(pool) < POOL:
                pool.append(new)
            else:
                pool[again.randrange(POOL)] = new
            yield new
            for _ in range(self.uses - 1):
                yield again.choice(pool)

    def _from_here(self, seed: int) -> Iterator[Batch]:
        self.seed(seed)
        while True:
            yield self.one()

    def _from_process(self, seed: int) -> Iterator[Batch]:
        context = multiprocessing.get_context("fork")
        queue: Any = context.Queue(AHEAD)
        process = context.Process(target=self._serve, args=(seed, queue), daemon=True)
        process.start()
        try:
            while True:
                try:
                    features, *rest = queue.get(timeout=60)
                except Empty:
                    if process.is_alive():
                        continue
                    raise RuntimeError("the process that mixes the batches ended; what it said stands above") from None
                yield Batch(torch.from_numpy(features), *rest)
        finally:
            process.terminate()
            process.join()

    def _serve(self, seed: int, queue: Any) -> None:
        torch.set_num_threads(1)
        for batch in self._from_here(seed):
            queue.put((batch.features.numpy(), batch.labels, batch.chains, batch.known))
