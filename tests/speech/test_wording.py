"""The wording: short, number last, and every number that is said is understood back."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech import numbers, wording
from assistant.speech.intent import UNCLEAR

HALVES = st.integers(1, 5000).map(lambda n: Decimal(n) / 2)


@given(HALVES)
def test_a_number_that_is_said_is_understood_back(value):
    assert numbers.value(wording.number(value)) == value


@given(HALVES)
def test_figures_that_are_said_are_understood_back(value):
    assert numbers.value(wording.figures(value).replace(",", "")) == value


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("180", "one eighty"),
        ("405", "four oh five"),
        ("100", "one hundred"),
        ("1200", "twelve hundred"),
        ("1250", "twelve fifty"),
        ("1005", "one thousand and five"),
        ("57.5", "fifty seven point five"),
        ("2000", "two thousand"),
    ],
)
def test_numbers_are_said_as_people_say_them_on_site(value, words):
    assert wording.number(Decimal(value)) == words


ROUTINE = [
    wording.turn(12, Decimal("1250")),
    wording.snug(12, first=True),
    wording.circle(12),
    wording.recorded(12, Decimal("185"), spell=True),
    wording.is_it(Decimal("185"), spell=True),
    wording.is_it_again(Decimal("185")),
    wording.clicked(12, Decimal("185")),
    wording.held(12),
    wording.moved(12),
    wording.is_snug(12),
    wording.paused(),
    wording.stopped(),
    wording.resumed(),
    wording.noted(),
    wording.helper(),
    wording.figures_please(12),
    *wording.TOLD.values(),
]


@pytest.mark.parametrize("prompt", ROUTINE)
def test_a_routine_prompt_has_at_most_nine_words(prompt):
    assert len(prompt.split()) <= 9


@given(st.integers(1, 96), HALVES)
def test_the_number_comes_last(bolt, value):
    for said in (wording.turn(bolt, value), wording.recorded(bolt, value, spell=False), wording.clicked(bolt, value)):
        assert said.rstrip(".").lower().endswith(wording.number(value))


def test_units_are_said_as_words():
    assert wording.amount(Decimal("180"), "N*m") == "one eighty newton metres"
    assert set(wording.UNIT_WORDS) == {"N*m", "lbf*ft", "lbf*in", "kgf*m"}


def test_asking_again_changes_the_words():
    assert wording.say_again_please(1) != wording.say_again_please(2)
    assert wording.is_it(Decimal(95), spell=True) != wording.is_it_again(Decimal(95))


def test_every_refused_way_of_speaking_has_an_answer():
    assert set(UNCLEAR) <= set(wording.TOLD)
