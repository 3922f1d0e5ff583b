"""The decision in context: what is taken by its window, and what never is (`procedure.acceptance`)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.events import Alternative, Measured, Pass, ReadingAccepted, ReadingDoubted, ReadingOutside
from assistant.procedure.acceptance import (
    LEAD,
    LIFT,
    ODDS,
    WIDEST,
    Context,
    in_context,
    is_inside,
    judge,
    lift,
    may_go_on,
)
from assistant.procedure.decide import begin, decide
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from tests.procedure.small_works import said, torqued, work
from tests.procedure.talk import value

LEAST = ODDS / (ODDS + LIFT)
"""Probability of the window from which its lifted odds are enough."""


def due(setting: float = 90, low: float = 85, high: float = 95, unit: str = "N*m") -> Pass:
    setting_of, low_of, high_of = (Measured(Decimal(str(x)), unit) for x in (setting, low, high))
    return replace(torqued(1, 2), setting=setting_of, low=low_of, high=high_of, tool_low=None, tool_high=None)


def taken(*alternatives: Alternative, window: Pass | None = None, bolt: int = 1) -> bool:
    return in_context(alternatives, due=window or due(), bolt=bolt).taken


def test_one_figure_that_leads_inside_the_window_is_taken_from_its_odds_on():
    assert taken(value("90", LEAST + 0.001)) and not taken(value("90", LEAST - 0.001))


def test_two_near_figures_inside_are_asked_about():
    lead = LEAD * 0.96
    assert taken(value("90", lead + 0.001), value("91", 0.96 - lead - 0.001))
    assert not taken(value("90", lead - 0.001), value("91", 0.96 - lead + 0.001))


def test_what_lies_outside_or_is_no_reading_counts_against():
    assert not taken(value("90", 0.8), value("50", 0.15))
    assert not taken(value("50", 0.97), value("90", 0.02))


@pytest.mark.parametrize(
    "other",
    [
        value("90", 0.95, corrected=True),
        value("90", 0.95, bolt=2),
        replace(value("90", 0.95), unit="degC"),
    ],
)
def test_a_correction_another_bolt_and_no_torque_are_never_lifted(other):
    assert not taken(other)


def test_the_same_figure_in_two_wordings_is_one_figure():
    assert taken(value("90", 0.5), replace(value("90", 0.45), unit="N*m"), value("90", 0.02, bolt=1))


def test_a_unit_that_was_said_is_honoured():
    assert not taken(replace(value("90", 0.99), unit="lbf*ft"))
    assert taken(replace(value("66", 0.9), unit="lbf*ft"))  # 89.5 N*m by NIST SP 811


@pytest.mark.parametrize(
    ("setting", "low", "high", "raised"),
    [
        (170, 162, 179, LIFT),
        (100, 90, 110, LIFT),
        (100, 89, 110, 1.0),  # wider than WIDEST to one side
        (7.5, 7, 8, LIFT),
    ],
)
def test_wide_windows_get_no_lift(setting, low, high, raised):
    assert lift(due(setting, low, high)) == raised
    assert WIDEST == 0.10  # windows over +-10 % get no lift


@pytest.mark.parametrize(
    ("figure", "raised"),
    [
        ("113", 1.0),  # its twin, 130, lies in the window too
        ("130", 1.0),
        ("121", LIFT),  # is taken for neither of them
        ("119", LIFT),  # 190 lies far outside
    ],
)
def test_a_teen_or_ten_whose_twin_lies_in_the_window_too_gets_no_lift(figure, raised):
    window = due(121, 112, 131)
    assert lift(window, value(figure, 0.9)) == raised
    assert in_context((value(figure, 0.9),), due=window, bolt=1).taken == (raised > 1)
    assert lift(due(130, 124, 136), value("130", 0.9)) == LIFT  # 113 lies outside


@pytest.mark.parametrize(
    ("text", "by_figures", "raised"),
    [
        ("one three zero", True, LIFT),
        ("one thirty", False, 1.0),
        ("130", True, 1.0),  # numerals do not tell how it was said
    ],
)
def test_a_number_said_figure_by_figure_has_no_twin(text, by_figures, raised):
    window = due(121, 112, 131)
    said = replace(value("130", 0.9), text=text, by_figures=by_figures)
    assert lift(window, said) == raised
    assert in_context((said,), due=window, bolt=1).taken == (raised > 1)


def test_a_twin_is_looked_for_in_the_unit_that_was_said():
    said = replace(value("130", 0.9), unit="lbf*ft")  # 176.3 N*m; 113 lbf*ft is 153.2 N*m, by NIST SP 811
    assert lift(due(165, 152, 178), said) == 1.0
    assert lift(due(170, 162, 179), said) == LIFT


def test_no_window_no_context():
    nothing = in_context((value("90", 0.99),), due=None, bolt=None)
    assert (nothing.taken, nothing.inside, nothing.lift) == (False, 0.0, 1.0)


def test_the_whole_of_what_an_utterance_means_for_the_window():
    heard = (
        value("90.123456", 0.6),
        replace(value("90.123456", 0.36), unit="N*m"),
        value("91", 0.02),
        value("50", 0.01),
    )
    found = in_context(heard, due=due(), bolt=1)
    assert found.best is heard[0] and found.taken and found.lift == LIFT
    assert found.p == pytest.approx(0.96) and found.inside == pytest.approx(0.98)
    nothing = in_context((value("50", 0.9),), due=due(), bolt=1)
    assert nothing == Context(lift=LIFT)
    for gone in ("setting", "low", "high"):
        assert in_context(heard, due=replace(due(), **{gone: None}), bolt=1) == Context()


def test_readings_of_other_bolts_and_corrections_are_passed_over_and_the_rest_still_counts():
    theirs, denied = value("90", 0.01, bolt=2), value("90", 0.01, corrected=True)
    assert taken(value("90", 0.96), theirs) and taken(value("90", 0.96), denied, value("91", 0.001))
    found = in_context((theirs, replace(value("90", 0.01), unit="degC"), value("91", 0.9)), due=due(), bolt=1)
    assert found.best is not None and found.inside == pytest.approx(0.9) and not found.taken


def test_a_bolt_that_is_taken_up_by_name_is_meant_and_no_other():
    named = (value("90", 0.97, bolt=4), value("90", 0.02))
    assert in_context(named, due=due(), bolt=1, named=4).p == pytest.approx(0.97)
    assert in_context(named, due=due(), bolt=1).p == pytest.approx(0.02)


def test_figures_that_differ_by_rounding_alone_are_one_and_others_are_not():
    near = (value("90.0000001", 0.5), value("90.0000004", 0.46))
    assert in_context(near, due=due(), bolt=1).p == pytest.approx(0.96)
    apart = (value("90.4", 0.5), value("90.3", 0.46))
    assert in_context(apart, due=due(), bolt=1).p == pytest.approx(0.5)


def test_more_than_the_whole_is_the_whole():
    assert in_context((value("90", 0.7), value("90", 0.7)), due=due(), bolt=1).inside == 1.0


FIGURES = st.integers(1, 400).map(str)
HEARD = st.lists(st.tuples(FIGURES, st.floats(0.001, 1.0)), min_size=1, max_size=6, unique_by=lambda each: each[0])


@given(HEARD, st.integers(20, 300), st.floats(0.0, 0.2))
def test_nothing_outside_the_window_is_ever_taken_and_more_of_it_never_helps(heard, setting, half):
    whole = sum(p for _, p in heard)
    sorted_heard = sorted(heard, key=lambda each: -each[1])
    alternatives = tuple(value(figure, p / max(1.0, whole)) for figure, p in sorted_heard)
    window = due(setting, setting * (1 - half), setting * (1 + half))
    found = in_context(alternatives, due=window, bolt=1)
    assert 0 <= found.inside <= 1 and found.p <= found.inside + 1e-9
    if found.taken:
        assert found.best is alternatives[0] and is_inside(float(found.best.value), window)
        assert found.inside >= LEAST and half <= WIDEST + 1e-9
        assert judge(found.best, "accept", due=window, last_setting=None).kind == "accept"
    else:
        weaker = tuple(replace(a, probability=a.probability * 0.9) for a in alternatives)
        assert not in_context(weaker, due=window, bolt=1).taken


def begun() -> State:
    """At the first bolt of a pass of 85 to 95 N*m."""
    laid_out = work(torqued(1, 2))
    state = fold(State(), (laid_out,))
    return fold(state, begin(laid_out, state))


def outcome(*alternatives: Alternative, **more: object) -> tuple[type, object]:
    """What the dialogue makes of a doubtful reading at the first bolt of a pass of 85 to 95 N*m."""
    state = begun()
    heard = said("reading", *alternatives, decision="ask", **more).heard
    event = decide(state, heard)[0]
    return type(event), event


def test_a_doubtful_reading_inside_is_recorded_with_what_it_was_taken_by():
    kind, event = outcome(value("90", 0.93), value("50", 0.03))
    assert kind is ReadingAccepted
    assert (event.probability, event.inside, event.lift) == (0.93, 0.93, LIFT)


def test_the_same_doubt_outside_is_asked_as_ever():
    assert outcome(value("80", 0.93))[0] is ReadingDoubted
    assert outcome(value("90", 0.7), value("80", 0.25))[0] is ReadingDoubted


def test_what_is_asked_however_likely_it_is_gets_no_lift():
    assert outcome(value("90", 0.99), accept_at=1.0)[0] is ReadingDoubted


def test_a_reading_that_was_sure_is_recorded_without_a_lift():
    state = begun()
    event = decide(state, said("reading", value("90", 0.99)).heard)[0]
    assert isinstance(event, ReadingAccepted) and event.lift == 1.0 and event.inside == 0.99
    outside = decide(state, said("reading", value("80", 0.99)).heard)[0]
    assert isinstance(outside, ReadingOutside)


def test_a_figure_that_was_denied_is_not_taken_by_its_window():
    state = begun()
    denied = replace(state, denied=(Decimal(90),))
    event = decide(denied, said("reading", value("90", 0.95), decision="ask").heard)[0]
    assert not isinstance(event, ReadingAccepted)


@pytest.mark.parametrize(
    ("so_far", "goes_on"),
    [
        (value("1"), True),  # 170, 175
        (value("17"), True),
        (value("3"), True),  # 300 is less than twice of it
        (value("170"), False),
        (value("90"), False),  # can be a reading, and is judged as one
        (value("4"), False),  # neither 4, nor 40, nor 400
        (value("70"), False),
        (replace(value("1"), unit="N*m"), False),  # with its unit it is over
        (value("1.5"), False),
        (value("0"), False),
        (None, False),
    ],
)
def test_a_number_that_cannot_be_the_reading_yet_is_waited_for(so_far, goes_on):
    assert may_go_on(so_far, due(170, 162, 179)) is goes_on
    assert not may_go_on(so_far, None)


@given(st.integers(1, 9999), st.integers(20, 900))
def test_what_can_be_a_reading_is_never_waited_for(number, setting):
    window = due(setting, setting * 0.95, setting * 1.05)
    complete = judge(value(str(number)), "accept", due=window, last_setting=None).kind != "impossible"
    assert not (complete and may_go_on(value(str(number)), window))
