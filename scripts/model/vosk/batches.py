"""Batches for training: mixed anew as they are drawn, with the pdf of every output and the graph of every text."""

from __future__ import annotations

import contextlib
import itertools
import multiprocessing
import random
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from queue import Empty
from typing import Any

import numpy as np
import torch

from scripts.model.sound import bank as banks
from scripts.model.sound.bank import Bank, Plan
from scripts.model.sound.mixing import Mixer, Recipe
from scripts.model.vosk.chains import Chains, chain_of, stacked
from scripts.model.vosk.labels import Alignment, plan_labels
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.tdnn import WARPS, Mfcc

RECIPE = Recipe(low=-8.0, high=30.0, deep=0.0, clean=0.22, kinds=(0.40, 0.15, 0.22, 0.13, 0.10), talkers=6)
"""SNR in dB. Talk behind is a crowd, and rare: a few voices labelled silence teach the network to delete words."""
POOL = 12  # batches out of which one is learnt from again
AHEAD = 4  # batches that may wait to be learnt from
OWN_TRACT = 0.5  # share of rows whose frequencies are not warped
LENGTHS = (2.0, 2.75, 3.75, 5.0, 7.0, banks.LONGEST)  # s, of rows on a GPU; ten figures fit into the longest
NODES_S, WAYS = 36, 5  # nodes of a graph for a second of a row, and predecessors of one, for which there is always room


@dataclass(frozen=True)
class Planned:
    """A batch before it sounds; see `Batch`."""

    plan: Plan
    labels: np.ndarray
    chains: Chains
    known: np.ndarray


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
        planners: processes that decide what sounds where; on a CPU one more mixes too.
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
        planners: int = 1,
    ) -> None:
        self.bank, self.alignments, self.lexicon = bank, alignments, lexicon
        self.seconds, self.uses, self.device, self.planners = seconds, uses, device, planners
        self.mixer, self.mfcc = Mixer(bank, device, 0, RECIPE), Mfcc().to(device)
        self.few = device != "cpu"  # few shapes, so that the sums can be recorded; on a CPU they would only cost

    def planned(self, seed: int, number: int) -> Planned:
        """Batch `number` of a stream, before it sounds; these two numbers alone decide what comes."""
        plan = banks.plan(
            self.bank, random.Random(f"{seed}-{number}"), self.seconds, lengths=LENGTHS if self.few else None
        )
        sounding = set(plan.pieces[:, 0].astype(int))
        words = [" ".join(texts).split() for texts in plan.texts]
        known = np.array([bool(w) or row not in sounding for row, w in enumerate(words)], np.float32)
        least = (int(plan.samples / banks.RATE * NODES_S) + 40, WAYS) if self.few else (1, 1)
        chains = stacked([chain_of(w, self.lexicon) for w in words], *least)
        return Planned(plan, plan_labels(plan, self.bank, self.alignments), chains, known)

    @torch.no_grad()
    def sounded(self, planned: Planned) -> Batch:
        """The batch, mixed now; what of it is chance depends on the mixer's generator."""
        noisy = (self.mixer.mix(planned.plan)[1] * 32767).round()
        other = torch.randint(len(WARPS), (len(noisy),), generator=self.mixer.g, device=noisy.device)
        mine = torch.rand(len(noisy), generator=self.mixer.g, device=noisy.device) < OWN_TRACT
        warp = torch.where(mine, torch.zeros_like(other), other)
        return Batch(self.mfcc(noisy, warp), planned.labels, planned.chains, planned.known)

    def stream(self, seed: int, first: int = 0) -> Iterator[Batch]:
        """Endless, from batch `first` on; processes plan, and on a CPU another mixes, so that two cores are busy. The
        same numbers give the same batches.
        """
        self.mixer.g.manual_seed(seed * 100_003 + first)
        fresh = self._mixed_elsewhere(seed, first) if self.device == "cpu" else self._mixed_here(seed, first)
        pool: list[Batch] = []
        again = random.Random(seed)
        with contextlib.closing(fresh):
            for new in fresh:
                if len(pool) < POOL:
                    pool.append(new)
                else:
                    pool[again.randrange(POOL)] = new
                yield new
                for _ in range(self.uses - 1):
                    yield again.choice(pool)

    def _mixed_here(self, seed: int, first: int) -> Generator[Batch]:
        jobs = [Served(self._plans, (seed, first + k, self.planners)) for k in range(self.planners)]
        try:
            for job in itertools.cycle(jobs):
                yield self.sounded(job.next())
        finally:
            for job in jobs:
                job.end()

    def _mixed_elsewhere(self, seed: int, first: int) -> Generator[Batch]:
        job = Served(self._mixes, (seed, first))
        try:
            while True:
                features, *rest = job.next()
                yield Batch(torch.from_numpy(features), *rest)
        finally:
            job.end()

    def _plans(self, seed: int, first: int, step: int) -> Iterator[Planned]:
        return (self.planned(seed, number) for number in itertools.count(first, step))

    def _mixes(self, seed: int, first: int) -> Iterator[tuple[Any, ...]]:
        torch.set_num_threads(1)
        for planned in self._plans(seed, first, 1):
            batch = self.sounded(planned)
            yield batch.features.numpy(), batch.labels, batch.chains, batch.known


class Served:
    """What another process makes, item by item, a few ahead."""

    def __init__(self, make: Callable[..., Iterator[Any]], arguments: tuple[Any, ...]) -> None:
        context = multiprocessing.get_context("fork")
        self.queue: Any = context.Queue(AHEAD)
        self.process = context.Process(target=self._serve, args=(make, arguments), daemon=True)
        self.process.start()

    def next(self) -> Any:
        """The next item. Raises RuntimeError where the process has ended."""
        while True:
            try:
                return self.queue.get(timeout=60)
            except Empty:
                if not self.process.is_alive():
                    raise RuntimeError("a process that prepares the batches ended; what it said stands above") from None

    def end(self) -> None:
        """Stop it."""
        self.process.terminate()
        self.process.join()

    def _serve(self, make: Callable[..., Iterator[Any]], arguments: tuple[Any, ...]) -> None:
        for item in make(*arguments):
            self.queue.put(item)
