"""Intervals and control charts against published values."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import scipy.signal
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from assistant.archive import statistics
from assistant.archive.statistics import BASE, FEWEST, WEIGHT, WIDTH, chart, wilson


@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_gives_the_worked_values(hits, of, low, high):
    """Newcombe, Two-sided confidence intervals for the single proportion (1998), table I, method 3 (from memory)."""
    assert wilson(hits, of) == pytest.approx((low, high), abs=6e-5)


@given(st.integers(1, 500), st.data())
def test_wilson_is_that_of_the_reference_library(of, data):
    """SciPy's `binomtest(...).proportion_ci(method="wilson")`."""
    hits = data.draw(st.integers(0, of))
    theirs = scipy.stats.binomtest(hits, of).proportion_ci(0.95, method="wilson")
    assert wilson(hits, of) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_z_is_that_of_the_reference_library():
    assert pytest.approx(scipy.stats.norm.ppf(0.975), rel=1e-15) == statistics.Z95


@pytest.mark.parametrize("points", [15, 30, 60, 200])
def test_limits_are_widened_as_student_of_the_reference_library(points):
    """The expansion against SciPy's t at the share that 3 sigma leaves below, for the degrees of freedom assumed."""
    freedom = statistics.FREEDOM * (points - 1)
    exact = scipy.stats.t.ppf(scipy.stats.norm.cdf(3), freedom) / 3
    assert statistics.widened(points) == pytest.approx(exact, rel=0.02)


@given(st.lists(st.floats(-50, 50), min_size=FEWEST, max_size=60))
def test_the_ewma_is_the_first_order_filter_of_the_reference_library(values):
    """SciPy's `lfilter` with the coefficients of an EWMA, begun at the centre."""
    found = chart(values)
    assert found is not None
    begun = [(1 - WEIGHT) * found.centre]
    theirs, _ = scipy.signal.lfilter([WEIGHT], [1, WEIGHT - 1], values, zi=begun)
    assert found.smooth == pytest.approx(theirs, abs=1e-9)


def test_limits_of_single_values_are_those_of_the_worked_example():
    """By hand: nine values whose moving ranges are 1, 2, 1, 2, 1, 2, 1, 2, so sigma = 1.5 / 1.128 (d2 of two)."""
    values = [10, 11, 9, 10, 8, 9, 7, 8, 6]
    found = chart(values)
    assert found is not None
    assert found.centre == pytest.approx(78 / 9) and found.sigma == pytest.approx(1.5 / 1.128)
    half = 3 * statistics.widened(9) * found.sigma * math.sqrt(1 + 1 / 9)
    assert (found.low, found.high) == pytest.approx((found.centre - half, found.centre + half))


def run_length_by_markov(shift: float, states: int = 201) -> float:
    """Average run length of the EWMA by a Markov chain of its levels (Brook and Evans 1972; from memory)."""
    limit = WIDTH * math.sqrt(WEIGHT / (2 - WEIGHT))
    step = 2 * limit / states
    levels = -limit + step * (np.arange(states) + 0.5)
    edges = -limit + step * np.arange(states + 1)
    below = scipy.stats.norm.cdf((edges[None, :] - (1 - WEIGHT) * levels[:, None]) / WEIGHT - shift)
    stay = np.diff(below, axis=1)
    return float(np.linalg.solve(np.eye(states) - stay, np.ones(states))[states // 2])


@pytest.mark.parametrize(("shift", "published"), [(0.0, 500.0), (0.5, 41.8), (1.0, 10.5), (2.0, 3.7)])
def test_weight_and_width_have_the_published_run_lengths(shift, published):
    """Lucas and Saccucci 1990, table 3, weight 0.2 and width 2.962; from memory, and reckoned with SciPy's normal."""
    assert run_length_by_markov(shift) == pytest.approx(published, rel=0.03)


@given(st.integers(1, 500), st.data())
def test_the_interval_holds_the_share_and_mirrors(of, data):
    hits = data.draw(st.integers(0, of))
    low, high = wilson(hits, of)
    assert 0 <= low <= hits / of + 1e-12 and hits / of - 1e-12 <= high <= 1
    assert wilson(of - hits, of) == pytest.approx((1 - high, 1 - low), abs=1e-9)


def test_nothing_is_known_of_no_case():
    assert wilson(0, 0) == (0.0, 1.0)


def test_the_constant_of_moving_ranges_is_that_of_two_normal_values():
    """d2(2) = 2 / sqrt(pi): the mean of |a - b| for two standard normal values."""
    assert pytest.approx(2 / math.sqrt(math.pi), abs=5e-4) == statistics.MOVING_RANGE


def test_clean_wrenches_are_accused_no_more_often_than_is_said():
    """`questions.drift` says one point in 200, centre and spread being estimated from the first points, and about one
    clean wrench in 200 out at any one look.
    """
    draw = np.random.default_rng(1)
    found = [chart(list(draw.standard_normal(BASE + 100))) for _ in range(600)]
    outside = sum(at >= BASE for each in found if each is not None for at in each.out)
    assert 0.003 < outside / 60_000 < 0.007
    now = sum(each is not None and each.since is not None for each in found)
    assert now <= 9, "six hundred wrenches: three are expected; more than nine in one run of 2000"


@pytest.mark.parametrize(("shift", "median"), [(1.0, 18), (2.0, 5)])
def test_a_shift_is_found_within_the_stated_delay(shift, median):
    """`questions.drift` says: by one standard deviation after 18 sessions, by two after 5 (medians)."""
    draw = np.random.default_rng(2)
    delays = []
    for _ in range(300):
        values = [*draw.standard_normal(BASE), *(draw.standard_normal(150) + shift)]
        found = chart(values)
        assert found is not None
        delays.append(next((at - BASE + 1 for at in found.out if at >= BASE), 150))
    assert np.median(delays) <= median


def test_a_steady_row_is_in_control_and_a_step_is_found_at_the_step():
    draw = random.Random(3)
    steady = [draw.gauss(0, 1) for _ in range(BASE)]
    flat = [sum(steady) / BASE] * 30
    assert chart(steady + flat) is not None and not [at for at in chart(steady + flat).out if at >= BASE]
    found = chart(steady + [10.0] * 5)
    assert found is not None and BASE in found.out


def test_equal_values_give_no_alarm_and_few_give_no_chart():
    found = chart([2.0] * 40)
    assert found is not None and found.out == () and found.sigma == 0
    assert chart([1.0] * (FEWEST - 1)) is None


@given(st.lists(st.floats(-50, 50), min_size=FEWEST, max_size=60), st.floats(-5, 5), st.floats(0.1, 10))
def test_scale_and_offset_change_no_verdict(values, offset, scale):
    one, two = chart(values), chart([scale * value + offset for value in values])
    assert one is not None and two is not None
    if one.sigma > 1e-3:
        assert two.centre == pytest.approx(scale * one.centre + offset, abs=1e-6)
        assert two.sigma == pytest.approx(scale * one.sigma, rel=1e-6)
