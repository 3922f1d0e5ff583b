"""Every spoken form of every value, held against the automaton, and both against an outside library."""

from __future__ import annotations

from decimal import Decimal

import inflect
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.meaning import Command
from assistant.speech.number_words import MOST_FIGURES, NOUGHTS
from assistant.speech.numbers import forms, number_grammar, value
from tests.speech.walks import is_numeral, walks, written

OUTSIDE = inflect.engine()
HALVES = [Decimal(n) / 2 for n in range(5001)]
ABOVE = [Decimal(2500 + n) for n in range(1, 2501)]


@pytest.mark.parametrize("start", range(0, 5001, 500))
def test_every_form_of_every_half_to_2500_means_that_value(start):
    for number in HALVES[start : start + 500]:
        said = forms(number)
        assert said, number
        assert {value(words) for words in said} == {number}


def test_every_form_of_every_whole_number_to_5000_means_that_value():
    for number in ABOVE:
        assert {value(words) for words in forms(number)} == {number}


def test_no_two_values_share_a_form():
    owner = {}
    for number in HALVES:
        for words in forms(number):
            assert owner.setdefault(words, number) == number


@given(st.integers(0, 500_000).map(lambda n: Decimal(n) / 100))
def test_hundredths_too_have_forms_that_mean_them(number):
    assert {value(words) for words in forms(number)} == {number}


def test_whatever_the_grammar_generates_is_a_form_of_its_value():
    checked = 0
    for words in walks(number_grammar(), 20_000, seed=4, numerals=False):
        number = value(words)
        if number is None:
            refused = number_grammar().meaning(words)
            assert isinstance(refused, Command) and refused.name.startswith("unclear-"), words
            continue
        if number <= 5000:
            head, point, tail = " ".join(words).partition(" point ")
            if not point:
                head, point, tail = " ".join(words).partition(" decimal ")
            figures = tail.split()
            while figures and figures[-1] in NOUGHTS:  # 'point five oh' is 'point five'
                figures.pop()
            plain = head + (point + " ".join(figures) if figures else "")
            assert plain in forms(number), (words, number)
            checked += 1
    assert checked > 10_000


def test_numerals_mean_what_the_same_words_mean():
    checked = 0
    for words in walks(number_grammar(), 12_000, seed=5):
        number = value(words)
        if number is None or not any(is_numeral(w) for w in words):
            continue
        pieces = written(words).replace(",", "").split()
        if len(pieces) == 1:
            assert number == Decimal(pieces[0])
        elif not any("." in p for p in pieces):
            spoken = " ".join(
                OUTSIDE.number_to_words(p, andword="").replace(",", "") if p.isdecimal() else p for p in pieces
            )
            assert value(spoken.replace("-", " ")) == number, (words, spoken)
        checked += 1
    assert checked > 2_000


def test_cardinals_are_worded_as_an_outside_library_words_them():
    """Outside check: inflect, British ('and') and American, for every whole number 0 to 2500."""
    for number in range(2501):
        for link in ("and", ""):
            words = OUTSIDE.number_to_words(number, andword=link).replace("-", " ").replace(",", "")
            assert value(words) == number
            assert words in forms(number)


def test_figures_and_groups_are_worded_as_an_outside_library_words_them():
    """Outside check: inflect, figure by figure with 'zero' and 'oh', and in groups of two figures."""
    for number in range(10, 2501):
        for nought in ("zero", "oh"):
            words = OUTSIDE.number_to_words(number, group=1, zero=nought).replace(",", "")
            assert words in forms(number)
        if number >= 1000 and number % 100 and number < 2000:
            words = OUTSIDE.number_to_words(number, group=2, zero="oh").replace(",", "").replace("-", " ")
            assert words in forms(number)


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("one twenty", 120),
        ("one hundred and twenty", 120),
        ("a hundred and twenty", 120),
        ("one two zero", 120),
        ("one two oh", 120),
        ("four oh five", 405),
        ("four nought five", 405),
        ("two seventy five point five", "275.5"),
        ("two seventy five and a half", "275.5"),
        ("twelve hundred", 1200),
        ("twelve hundred and fifty", 1250),
        ("twelve fifty", 1250),
        ("twelve oh five", 1205),
        ("one thousand two fifty", 1250),
        ("two thousand five hundred", 2500),
        ("double five", 55),
        ("three double oh", 300),
        ("one double five", 155),
        ("triple two", 222),
        ("niner fife", 95),
        ("one niner tree", 193),
        ("three ten", 310),
        ("zero point five", "0.5"),
        ("nought point two five", "0.25"),
        ("thirty five decimal oh five", "35.05"),
        ("forty and three quarters", "40.75"),
        ("ten thousand", 10000),
    ],
)
def test_values(words, number):
    assert value(words) == Decimal(number)


@pytest.mark.parametrize(
    ("words", "refusal"),
    [
        ("twenty five hundred", "unclear-grouping"),
        ("twenty five hundred and ten", "unclear-grouping"),
        ("twenty two fifty", "unclear-grouping"),
        ("twenty four oh five", "unclear-grouping"),
        ("thirty oh five", "unclear-grouping"),
        ("oh five five", "unclear-figures"),
        ("zero four five", "unclear-figures"),
        ("one two three four five", "unclear-figures"),
        ("triple five double five", "unclear-figures"),
    ],
)
def test_forms_with_two_readings_are_heard_as_unclear(words, refusal):
    assert value(words) is None
    assert number_grammar().meaning(tuple(words.split())) == Command(refusal)


@pytest.mark.parametrize(
    "words",
    [
        "thirty ten",
        "one hundred twenty thirty",
        "hundred",
        "hundred and ten",
        "thousand",
        "point five",
        "half",
        "three hundred hundred",
        "twenty ten",
        "twenty hundred",
        "five twenty hundred",
        "ten five",
        "eleven two",
        "three and ten",
        "and five",
        "double",
        "double ten",
        "three double",
        "quadruple five",
        "point",
        "three point",
        "three point ten",
        "three point five point five",
        "three point one two five",
        "three hundred and",
        "three hundred and zero",
        "one thousand thousand",
        "",
    ],
)
def test_what_is_no_number_is_refused(words):
    assert value(words) is None
    assert number_grammar().meaning(tuple(words.split())) is None


@pytest.mark.parametrize("number", [-1, 5001, Decimal("0.0125"), Decimal("NaN"), Decimal("Infinity")])
def test_numbers_beyond_the_range_have_no_forms(number):
    with pytest.raises(ValueError, match="no spoken forms"):
        forms(number)


def test_figures_said_are_marked_and_make_no_other_meaning():
    by_figures, grouped = (number_grammar().meaning(tuple(w.split())) for w in ("three one zero", "three ten"))
    assert by_figures.by_figures and not grouped.by_figures
    assert by_figures == grouped


def test_a_string_of_figures_keeps_to_its_length():
    assert value(" ".join(["one"] * MOST_FIGURES)) == 1111
    assert value(" ".join(["one"] * (MOST_FIGURES + 1))) is None
