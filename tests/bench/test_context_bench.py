"""Figures over people and in context: what the bench counts as harm, slip and right, and how it draws windows."""

from __future__ import annotations

import random
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.procedure.acceptance import is_inside, lift
from assistant.speech.calibration import KINDS, Combiner, Threshold
from assistant.speech.evidence import Evidence
from assistant.speech.heard import Heard, Ranked
from assistant.speech.meaning import Value
from scripts.bench import context, people
from scripts.bench.context import OUTSIDE, Said, outcomes
from scripts.bench.fitting import OTHER, Case, learn


def said(number: int, *heard: tuple[int, float], decision: str = "ask", accept_at: float = 0.99) -> Said:
    ranked = tuple(Ranked(Value(Decimal(n)), str(n), p) for n, p in heard)
    verdict = Heard(ranked, decision, 0.0, "", {}, True, accept_at)
    return Said(Value(Decimal(number)), verdict, 10.0, "somebody", f"key {number}")


def counted(s: Said, draw=context.inside, rule: str = "lift 20 (the rule)") -> set[str]:
    return {o.what for o in outcomes([s], draw, draws=40, rule=rule)}


def test_a_doubtful_figure_is_right_inside_its_window_and_asked_by_the_thresholds_alone():
    s = said(176, (176, 0.95))
    assert counted(s) <= {"right", "asked"} and "right" in counted(s)  # windows that are too wide are asked
    assert counted(s, rule="thresholds alone") == {"asked"}


def test_another_figure_inside_is_a_slip_and_one_said_outside_is_harm():
    assert "slip" in counted(said(176, (178, 0.95)))
    wrong = said(150, (176, 0.97))  # said 150, surely heard 176
    found = [o.what for o in outcomes([wrong], context.beyond, draws=400)]
    assert "harm" in found and "right" not in found and "slip" not in found


@pytest.mark.parametrize("name", OUTSIDE)
def test_what_is_said_outside_is_never_recorded_where_it_is_heard_rightly(name):
    for number in (17, 52, 176, 310):
        assert counted(said(number, (number, 0.999), decision="accept"), OUTSIDE[name]) <= {"asked"}


@given(st.integers(10, 999), st.integers(0, 10**6))
def test_windows_hold_what_they_shall_hold(number, seed):
    s, r = said(number, (number, 0.9)), random.Random(seed)
    due = context.inside(s, r)
    assert is_inside(number, due) and lift(due) in (1.0, 20.0)
    beyond = context.beyond(s, r)
    low, high = float(beyond.low.value), float(beyond.high.value)
    distance = (low - number) / number if number < low else (number - high) / number
    assert not low <= number <= high
    if number >= 100:  # rounding of the edges
        assert 0.05 < distance < 0.36


def test_shares_are_over_people_and_nothing_seen_has_the_rule_of_three():
    hits = [True] * 90 + [False] * 10
    one_bad = people.share(hits, ["a"] * 45 + ["b"] * 45 + ["c"] * 10)
    spread = people.share(hits, [str(i % 50) for i in range(100)])
    assert one_bad.share == spread.share == 0.9
    assert one_bad.low < spread.low and one_bad.worst == 0.0  # all misses are one person's
    never = people.share([False] * 600, [str(i % 30) for i in range(600)], bad=True)
    assert (never.low, never.high) == (0.0, pytest.approx(0.005))


def test_the_combiner_makes_the_truth_likeliest():
    """Against a plain gradient: at the optimum of the penalised likelihood the gradient is nought."""
    r = np.random.default_rng(1)
    cases = []
    for i in range(60):
        figures = tuple({"a": float(r.normal()), "b": float(r.normal())} for _ in range(3))
        meanings = tuple(Value(Decimal(n)) for n in (1, 2, 3))
        evidence = Evidence(meanings, ("1", "2", "3"), figures, {"any": 1.0}, {})
        truth = meanings[int(np.argmax([f["a"] for f in figures]))] if i % 4 else None
        cases.append(Case(evidence, truth, 1.0 + i % 2, str(i), ()))
    combiner = learn(cases)
    w = {**combiner.weights, **{OTHER + k: v for k, v in combiner.otherwise.items()}}
    gradient = {k: -0.5 * v for k, v in w.items()}
    for c in cases:
        rows = [*c.evidence.figures, {OTHER + "any": 1.0}]
        scores = np.array([sum(w[k] * v for k, v in row.items()) for row in rows])
        p = np.exp(scores - scores.max()) / np.exp(scores - scores.max()).sum()
        right = c.evidence.meanings.index(c.truth) if c.truth else 3
        for i, row in enumerate(rows):
            for k, v in row.items():
                gradient[k] += c.weight * ((i == right) - p[i]) * v
    assert max(map(abs, gradient.values())) < 1e-2 and combiner.weights["a"] > 1 > abs(combiner.weights["b"])


def test_an_earlier_calibration_is_gone_on_from():
    """With nothing to learn from its weights stay; a figure that it knew and these do not is kept."""
    meanings = (Value(Decimal(1)), Value(Decimal(2)))
    evidence = Evidence(meanings, ("1", "2"), ({"a": 1.0}, {"a": 0.0}), {"any": 0.0}, {})
    before = Combiner({"a": 3.0, "b": -1.0}, {"any": 2.0}, dict.fromkeys(KINDS, Threshold(1.0, 1.0)))
    without = learn([Case(evidence, meanings[0], 0.0, "nobody", ())], before)
    assert without.weights == before.weights and without.otherwise == before.otherwise
    taught = learn([Case(evidence, meanings[1], 100.0, "somebody", ())], before)
    assert taught.weights["a"] < 1 and taught.weights["b"] == -1.0
