"""A training run follows its steps, and the clock only where it is too slow."""

from __future__ import annotations

import pytest

from scripts.model.schedule import PATIENCE, Schedule


def at(steps: int, share_of_time: float) -> Schedule:
    schedule = Schedule(steps, 1000.0)
    schedule.begin -= share_of_time * 1000.0
    return schedule


def test_a_slow_start_does_not_count():
    schedule = at(100, PATIENCE / 2)
    assert schedule.done(1) == 0.01 and not schedule.by_clock


def test_a_run_ahead_of_the_clock_depends_on_its_steps_alone():
    assert at(100, 0.4).rate(60, 1.0, 1) == at(100, 0.5).rate(60, 1.0, 1)
    assert "repeatable" in at(100, 0.4).told(60)


def test_a_slow_run_ends_by_the_clock_and_says_so():
    schedule = at(100, 1.01)
    assert schedule.done(30) >= 1 and schedule.by_clock
    assert "not repeatable" in schedule.told(30)


def test_the_rate_rises_and_falls():
    schedule = at(100, 0.0)
    rates = [schedule.rate(step, 2.0, 10, least=0.1) for step in (0, 9, 50, 100)]
    assert rates == pytest.approx([0.2, 1.964, 1.1, 0.2], abs=0.01)
