"""The staircase gives a simulated listener's threshold back, whatever its slope; the counting is that of the test."""

from __future__ import annotations

import math
from statistics import mean

import numpy as np
import pytest

from scripts.bench.staircase import Rules, Track, run, together


def listener(threshold_db: float, slope_per_db: float, seed: int):
    """Understands with a logistic probability: half at the threshold, `slope_per_db` its slope there."""
    chance = np.random.default_rng(seed)
    return lambda _, snr: bool(chance.random() < 1 / (1 + math.exp(-4 * slope_per_db * (snr - threshold_db))))


@pytest.mark.parametrize("threshold_db", [-9.0, -4.0, 0.0, 5.0])
@pytest.mark.parametrize("slope_per_db", [0.12, 0.2])
def test_a_simulated_listener_gets_its_threshold_back(threshold_db, slope_per_db):
    found = [run(listener(threshold_db, slope_per_db, seed)).srt_db for seed in range(300)]
    assert mean(found) == pytest.approx(threshold_db, abs=0.35)
    assert np.std(found) < 1.6  # a run's own error; published for people: 0.7 dB


def test_one_that_never_errs_goes_down_by_a_step_each_time():
    track = run(lambda number, snr: True)
    assert track.snrs_db == tuple(-2.0 * i for i in range(24)) and track.following_db == -48.0
    assert track.srt_db == mean(-2.0 * i for i in range(4, 25))  # triplets 5 to 24 and the one that would follow


def test_a_wrong_answer_raises_and_a_right_one_lowers_the_next():
    answers = [True, False, False, True]
    track = run(lambda number, snr: answers[number - 1], Rules(triplets=4, counted_from=2, start_db=4.0))
    assert track.snrs_db == (4.0, 2.0, 4.0, 6.0) and track.following_db == 4.0
    assert track.right == tuple(answers) and track.srt_db == 4.0


def test_one_that_understands_nothing_has_no_threshold():
    track = run(lambda number, snr: False)
    assert math.isinf(track.srt_db) and max(track.snrs_db) == Rules().highest_db


def test_runs_together():
    tracks = [Track((), (), 0.0, x) for x in (-1.0, -3.0, math.inf)]
    found = together(tracks)
    assert (found.runs, found.mean_db, found.without) == (3, -2.0, 1)
    assert found.deviation_db == pytest.approx(math.sqrt(2))
    nothing = together(tracks[2:])
    assert math.isinf(nothing.mean_db) and nothing.without == 1
    assert together(tracks[:1]).deviation_db == 0.0
