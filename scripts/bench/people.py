"""Figures over people, not over utterances: what one person says is alike, so an interval has to draw people."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

DRAWS = 2000


@dataclass(frozen=True)
class Share:
    """A share of utterances, and how it spreads over the people who said them.

    Args:
        share, low, high: 0..1; the limits are a 95 % interval, people drawn with replacement (Efron 1979, from memory).
            Where nothing was hit, `high` is by the rule of three over utterances (Hanley and Lippman-Hand 1983, from
            memory), because a draw of people cannot show what none of them did.
        worst, tenth, median: of the people's own shares, worst first.
    """

    hits: int
    count: int
    people: int
    share: float
    low: float
    high: float
    worst: float
    tenth: float
    median: float

    def __str__(self) -> str:
        return f"{100 * self.share:.1f} [{100 * self.low:.1f}-{100 * self.high:.1f}]"


def share(hits: Sequence[bool], who: Sequence[str], *, bad: bool = False, seed: int = 1) -> Share:
    """The share of hits over people.

    Args:
        hits: one for each utterance, one at least.
        who: said it.
        bad: a hit is a mistake, so that the worst person has most of them.
    """
    own: dict[str, list[bool]] = defaultdict(list)
    for hit, person in zip(hits, who, strict=True):
        own[person].append(hit)
    sums, sizes = (np.array([f(own[p]) for p in sorted(own)], float) for f in (sum, len))
    r = np.random.default_rng(seed)
    drawn = r.integers(len(sums), size=(DRAWS, len(sums)))
    shares = sums[drawn].sum(axis=1) / sizes[drawn].sum(axis=1)
    low, high = np.percentile(shares, [2.5, 97.5])
    if not any(hits):
        high = min(1.0, 3 / len(hits))
    each = np.sort(sums / sizes)[:: -1 if bad else 1]
    return Share(
        hits=int(sums.sum()),
        count=len(hits),
        people=len(sums),
        share=float(sums.sum() / sizes.sum()),
        low=float(low),
        high=float(high),
        worst=float(each[0]),
        tenth=float(each[int(0.1 * (len(each) - 1))]),
        median=float(np.median(each)),
    )
