"""What the sequence loss compares, as plain arrays: the phone graph of an utterance, and a trigram of phones.

Units as in `phones.py`: 0 is silence. An utterance's graph holds every pronunciation of its words, with silence
between words as an option at a price.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.phones import unit_of

SILENCE_PRICE = -math.log(0.25)  # nats, for a pause between two words
NEVER = -1e30
BEGIN = -1  # predecessor of what may come first


@dataclass(frozen=True)
class Chain:
    """Nodes of an utterance in an order in which time can only go forward: unit, predecessors, price; and the last
    ones.
    """

    units: list[int]
    before: list[list[int]]
    price: list[float]
    ends: list[int]


def chain_of(words: Sequence[str], lexicon: Lexicon) -> Chain:
    """The graph of an utterance; no words: silence alone. Raises KeyError for a word without a pronunciation."""
    units, before, price, ends = [0], [[BEGIN]], [0.0], [BEGIN, 0]
    for k, word in enumerate(words):
        done = []
        for way in lexicon[word]:
            back = ends
            for phone in way:
                units.append(unit_of(phone))
                before.append(list(back))
                price.append(0.0)
                back = [len(units) - 1]
            done += back
        units.append(0)
        before.append(list(done))
        price.append(SILENCE_PRICE if k < len(words) - 1 else 0.0)
        ends = [*done, len(units) - 1]
    return Chain(units, before, price, ends if words else [0])


@dataclass(frozen=True)
class Chains:
    """A batch, padded to n nodes with k predecessors. Node n is the beginning, node n + 1 can never be reached.

    unit: int64 (rows, n); before: int64 (rows, n, k); price, last: float32 (rows, n), `last` is 0 where a row may end.
    """

    unit: np.ndarray
    before: np.ndarray
    price: np.ndarray
    last: np.ndarray


def stacked(chains: Sequence[Chain], nodes: int = 1, ways: int = 1) -> Chains:
    """One batch of several utterances, padded to at least so many nodes and predecessors."""
    n = max(nodes, *(len(c.units) for c in chains))
    k = max(ways, *(len(b) for c in chains for b in c.before))
    rows = len(chains)
    unit, before = np.zeros((rows, n), np.int64), np.full((rows, n, k), n + 1, np.int64)
    price, last = np.zeros((rows, n), np.float32), np.full((rows, n), NEVER, np.float32)
    for i, c in enumerate(chains):
        unit[i, : len(c.units)], price[i, : len(c.price)] = c.units, c.price
        for j, b in enumerate(c.before):
            before[i, j, : len(b)] = [n if x == BEGIN else x for x in b]
        last[i, [x for x in c.ends if x != BEGIN]] = 0.0
    return Chains(unit, before, price, last)


@dataclass(frozen=True)
class Trigram:
    """Probabilities of phones after two others.

    start: (units,), of the first; next: (units, units + 1, units) as [last][the one before, or none][new];
    end: (units + 1, units) as [the one before the last, or none][last].
    """

    start: np.ndarray
    next: np.ndarray
    end: np.ndarray


def trigram(sequences: Iterable[Sequence[int]], units: int, *, share3: float = 0.9, share2: float = 0.9) -> Trigram:
    """Interpolated trigram of unit sequences (none empty); three, two and one unit seen, weighed by how often."""
    one = np.full(units + 1, 0.5)
    two = np.zeros((units + 1, units + 1))
    three = np.zeros((units + 1, units, units + 1))
    for sequence in sequences:
        older, old = None, units
        for new in [
            *sequence,
            units,
        ]:  # the index `units` stands for the beginning and, as what comes next, for the end
            one[new] += 1
            two[old, new] += 1
            if older is not None:
                three[older, old, new] += 1
            older, old = old, new
    p1 = one / one.sum()
    n2 = two.sum(1, keepdims=True)
    p2 = np.where(n2 > 0, share2 * two / np.maximum(n2, 1) + (1 - share2) * p1, p1)
    n3 = three.sum(2, keepdims=True)
    trust = n3 / (n3 + 5.0)
    seen = share3 * three / np.maximum(n3, 1) + (1 - share3) * p2[None, :units]
    p3 = trust * seen + (1 - trust) * p2[None, :units]
    return Trigram(p2[units, :units], p3[:, :, :units].transpose(1, 0, 2).copy(), p3[:, :, units])


def unit_sequences(
    sentences: Iterable[str], lexicon: Lexicon, *, seed: int, between: float = 0.2, edge: float = 0.85
) -> list[list[int]]:
    """How the sentences could be said: one pronunciation a word, pauses between words and at the edges at random."""
    r, out = random.Random(seed), []
    for sentence in sentences:
        words = sentence.split()
        if not words or any(w not in lexicon for w in words):
            continue
        line = [0] if r.random() < edge else []
        for i, word in enumerate(words):
            if i and r.random() < between:
                line.append(0)
            line += [unit_of(p) for p in r.choice(lexicon[word])]
        out.append(line + ([0] if r.random() < edge else []))
    return out
