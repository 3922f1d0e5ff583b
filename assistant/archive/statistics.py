"""Shares with their intervals, and control charts: small, and checked against published values in the tests."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

Z95 = 1.959963984540054
"""Two-sided 95 % point of the normal distribution."""
MOVING_RANGE = 1.128
"""d2 for ranges of two: mean range over standard deviation (any textbook on control charts; from memory)."""
WEIGHT, WIDTH = 0.2, 2.962
"""EWMA: weight of the newest point, and limits in standard deviations. In control about one false alarm in 500 points;
a shift by one standard deviation is found after about 11 (run lengths in Montgomery, Introduction to Statistical
Quality Control; from memory, and simulated in the tests)."""
BASE = 30
"""Points from which centre and spread are taken; the limits hold for those that follow."""
FEWEST = 8
"""Points below which nothing is said."""


FREEDOM = 0.62
"""Degrees of freedom of a spread by moving ranges, per range (Wetherill and Brown 1991; from memory)."""


def widened(points: int) -> float:
    """How much wider limits of three sigma must be where the spread was estimated from so many points.

    Student's t over the normal value at three sigma, by the expansion of Abramowitz and Stegun 26.7.5 (from memory).
    Without it, a good wrench whose first points lie close together raises alarm after alarm.
    """
    z, freedom = 3.0, FREEDOM * max(1, points - 1)
    return (z + (z**3 + z) / (4 * freedom) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)) / z


def wilson(hits: int, of: int) -> tuple[float, float]:
    """95 % interval of a share by Wilson's score; (0, 1) without any case.

    Source: Wilson 1927; worked values in Newcombe 1998 (from memory).
    """
    if of == 0:
        return 0.0, 1.0
    share, square = hits / of, Z95 * Z95
    middle = (share + square / (2 * of)) / (1 + square / of)
    half = Z95 * math.sqrt(share * (1 - share) / of + square / (4 * of * of)) / (1 + square / of)
    return max(0.0, middle - half), min(1.0, middle + half)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A chart of individual values with its EWMA.

    Args:
        centre, sigma: of the first points, the spread by the mean moving range.
        low, high: limits of single values: three sigma, widened by what is not known of centre and spread.
        smooth: the EWMA, a value for each point.
        smooth_low, smooth_high: its limits, a value for each point.
        out: places (from 0) of points outside either limit.
    """

    centre: float
    sigma: float
    low: float
    high: float
    smooth: tuple[float, ...]
    smooth_low: tuple[float, ...]
    smooth_high: tuple[float, ...]
    out: tuple[int, ...]

    @property
    def since(self) -> int | None:
        """Where the run of judged points outside begins that the newest belongs to; None while the newest is inside."""
        at = len(self.smooth)
        judged = {each for each in self.out if each >= BASE}
        while at - 1 in judged:
            at -= 1
        return at if at < len(self.smooth) else None


def chart(values: Sequence[float]) -> Chart | None:
    """Individuals and EWMA over values in order of time; None with fewer than FEWEST."""
    if len(values) < FEWEST:
        return None
    base = values[:BASE]
    centre = fmean(base)
    sigma = fmean(abs(b - a) for a, b in pairwise(base)) / MOVING_RANGE
    wide, unsure = widened(len(base)), 1 / len(base)  # the centre is an estimate too: its variance is sigma^2 / n
    half = 3 * wide * sigma * math.sqrt(1 + unsure)
    low, high = centre - half, centre + half
    smooth, lows, highs, out = [], [], [], []
    level = centre
    for at, value in enumerate(values):
        level = WEIGHT * value + (1 - WEIGHT) * level
        spread = WEIGHT / (2 - WEIGHT) * (1 - (1 - WEIGHT) ** (2 * (at + 1)))
        half = WIDTH * wide * sigma * math.sqrt(spread + unsure)
        smooth.append(level)
        lows.append(centre - half)
        highs.append(centre + half)
        if sigma > 0 and (not low <= value <= high or abs(level - centre) > half):
            out.append(at)
    return Chart(
        centre=centre,
        sigma=sigma,
        low=low,
        high=high,
        smooth=tuple(smooth),
        smooth_low=tuple(lows),
        smooth_high=tuple(highs),
        out=tuple(out),
    )
