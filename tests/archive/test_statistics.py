"""Intervals and control charts against published values."""

from __future__ import annotations

import math
import random
from statistics import fmean, stdev

import numpy as np
import pytest
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


def run_length(shift: float, draw: np.random.Generator) -> int:
    level, at = 0.0, 0
    while True:
        at += 1
        level = WEIGHT * (draw.standard_normal() + shift) + (1 - WEIGHT) * level
        half = WIDTH * math.sqrt(WEIGHT / (2 - WEIGHT))
        if abs(level) > half:
            return at


@pytest.mark.parametrize(("shift", "runs", "published"), [(0.0, 1500, 500.0), (1.0, 3000, 10.5), (2.0, 3000, 3.7)])
def test_the_ewma_alarms_as_often_as_its_table_says(shift, runs, published):
    """Run lengths for weight 0.2 and width 2.962: 500, 10.5, 3.7 (Lucas and Saccucci 1990; from memory)."""
    draw = np.random.default_rng(5)
    lengths = [run_length(shift, draw) for _ in range(runs)]
    assert abs(fmean(lengths) - published) < 4 * stdev(lengths) / math.sqrt(runs) + 0.04 * published


def test_clean_wrenches_are_accused_no_more_often_than_is_said():
    """`questions.drift` says one point in 200, centre and spread being estimated from the first points."""
    draw = np.random.default_rng(1)
    found = [chart(list(draw.standard_normal(BASE + 100))) for _ in range(600)]
    outside = sum(at >= BASE for each in found if each is not None for at in each.out)
    assert 0.003 < outside / 60_000 < 0.007


def test_limits_are_widened_as_student_says():
    """Student's t at 0.99865 for 18 degrees of freedom is 3.51 (tables; from memory); 3.0 for very many."""
    assert 3 * statistics.widened(30) == pytest.approx(3.51, abs=0.06)
    assert 3 * statistics.widened(10**6) == pytest.approx(3.0, abs=1e-3)


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
