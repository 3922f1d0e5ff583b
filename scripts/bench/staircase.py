"""The one-up one-down staircase of the digits-in-noise test, and the threshold that comes out of it. Pure.

Source: Smits, Goverts and Festen, "The digits-in-noise test: assessing auditory speech recognition abilities in noise",
J. Acoust. Soc. Am. 133(3), 1693-1706 (2013). Read, in its abstract: triplets joined from single digits, noise of the
digits' long-term spectrum, one up one down, measurement error 0.7 dB. From memory: 24 triplets, steps of 2 dB, a start
at 0 dB, and the mean over triplets 5 to 25, the 25th being the one that would follow.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import mean, stdev


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """How a track is run.

    Args:
        triplets: how many are presented.
        step_db: down after a right answer, up after a wrong one.
        start_db: SNR of the first.
        counted_from: number of the first triplet that counts, from 1.
        highest_db: no triplet is presented above this: who needs more has no threshold.
    """

    triplets: int = 24
    step_db: float = 2.0
    start_db: float = 0.0
    counted_from: int = 5
    highest_db: float = 30.0


@dataclass(frozen=True, slots=True)
class Track:
    """One run.

    Args:
        snrs_db: of each triplet presented.
        right: whether it was understood.
        following_db: SNR of the triplet that would have followed.
        srt_db: mean SNR from the first that counts to the one that would follow; infinite when the ceiling was wanted.
    """

    snrs_db: tuple[float, ...]
    right: tuple[bool, ...]
    following_db: float
    srt_db: float


def run(understood: Callable[[int, float], bool], rules: Rules | None = None) -> Track:
    """One run.

    Args:
        understood: (number of the triplet from 1, its SNR in dB) -> whether all three digits were understood.
        rules: of the run.
    """
    rules = Rules() if rules is None else rules
    snr, snrs, answers = rules.start_db, [], []
    for number in range(1, rules.triplets + 1):
        snrs.append(snr)
        answers.append(understood(number, snr))
        snr += -rules.step_db if answers[-1] else rules.step_db
        snr = min(snr, rules.highest_db)
    counted = [*snrs[rules.counted_from - 1 :], snr]
    beyond = rules.highest_db in counted
    return Track(tuple(snrs), tuple(answers), snr, math.inf if beyond else mean(counted))


@dataclass(frozen=True, slots=True)
class Threshold:
    """Several runs together: mean and standard deviation of the runs that have a threshold, and how many have none."""

    runs: int
    mean_db: float
    deviation_db: float
    without: int


def together(tracks: Sequence[Track]) -> Threshold:
    """Several runs. The mean of no run is infinite, the deviation of fewer than two is 0."""
    found = [t.srt_db for t in tracks if math.isfinite(t.srt_db)]
    return Threshold(
        runs=len(tracks),
        mean_db=mean(found) if found else math.inf,
        deviation_db=stdev(found) if len(found) > 1 else 0.0,
        without=len(tracks) - len(found),
    )
