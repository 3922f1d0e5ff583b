"""Every way to say what was found means the same thing again, in the product's own grammar."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.aloud import aloud
from assistant.speech.meaning import Command, Note, Value
from assistant.speech.numbers import forms
from assistant.speech.vocabulary import everything


@given(st.integers(0, 10_000).map(lambda n: Decimal(n) / 2))
def test_every_form_of_a_value_means_that_value(number: Decimal) -> None:
    said = aloud(Value(number), f"{number.normalize():f}")
    assert said
    for words in said:
        found = everything().parse(words)
        assert isinstance(found, Value)
        assert found.number == number


@given(st.integers(1, 2500))
def test_the_wording_that_was_found_is_among_them(n: int) -> None:
    for words in forms(n):
        assert " ".join("oh" if w == "o" else w for w in words.split()) in aloud(Value(Decimal(n)), words)


@pytest.mark.parametrize(
    ("meaning", "text", "among"),
    [
        (Value(Decimal(310), unit="N*m"), "310 newton meters", "three ten newton metres"),
        (Value(Decimal(305)), "3 0 5", "three oh five"),
        (Value(Decimal(310), corrected=True), "correction 310", "correction three hundred and ten"),
        (Value(Decimal(550), bolt=10), "bolt 10 550", "bolt ten five fifty"),
        (Value(Decimal("33.6")), "33.6", "thirty three point six"),
        (Value(Decimal(1000)), "it's 1000", "it's a thousand"),
        (Value(Decimal(7433)), "7 4 3 3", "seven four three three"),
        (Command("snug", bolt=7), "bolt 7 snug", "bolt seven snug"),
        (Command("yes"), "Yes yes", "yes yes"),
        (Note("note"), "note", "note"),
    ],
)
def test_numerals_are_said_in_words(meaning: Value | Command | Note, text: str, among: str) -> None:
    said = aloud(meaning, text)
    assert among in said
    assert not any(c.isdigit() for words in said for c in words)
    assert len(set(said)) == len(said)


@pytest.mark.parametrize(
    ("meaning", "text"),
    [
        (Command("unclear-two-values"), "9 2 300"),
        (Value(Decimal(320), corrected=True), "3 10 no 3 20"),
        (Value(Decimal("20001.5")), "20001.5"),
    ],
)
def test_what_cannot_be_said_in_words_is_left_out(meaning: Value | Command, text: str) -> None:
    assert aloud(meaning, text) == ()
