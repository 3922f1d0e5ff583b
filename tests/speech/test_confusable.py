"""Numbers that are taken for one another, and the read-back that keeps them apart."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.confusable import confusable, confusable_with, figure_by_figure, spelled, teen_or_ten
from assistant.speech.numbers import value

numbers = st.integers(0, 10_000).map(lambda n: Decimal(n) / 2)


@pytest.mark.parametrize(("teen", "ten"), [(10 + n, 10 * n) for n in range(3, 10)])
@pytest.mark.parametrize("above", [0, 100, 300, 1200, 2000])
def test_teens_and_tens_are_confusable_both_ways(teen, ten, above):
    one, two = Decimal(above + teen), Decimal(above + ten)
    assert two in confusable_with(one) and one in confusable_with(two)
    assert teen_or_ten(one) and teen_or_ten(two)


@pytest.mark.parametrize("plain", [0, 5, 10, 12, 20, 100, 120, 310, 345, 1200])
def test_other_numbers_have_no_teen_or_ten_in_them(plain):
    assert not teen_or_ten(Decimal(plain))


@pytest.mark.parametrize(
    ("one", "two"),
    [
        (95, 55),
        (95, 99),
        (190, 150),
        (310, 31),
        (310, 10),
        (310, 300),
        (122, 12),
        (12, 112),
        ("27.5", 275),
        ("27.5", 27),
        ("5.5", "9.5"),
        (13000, 30000),
    ],
)
def test_pairs_that_are_easily_taken_for_one_another(one, two):
    assert confusable(Decimal(one), Decimal(two))
    assert confusable(Decimal(two), Decimal(one))


@pytest.mark.parametrize(("one", "two"), [(310, 310), (310, 420), (300, 200), (45, 46), (180, 120)])
def test_pairs_that_are_not(one, two):
    assert not confusable(Decimal(one), Decimal(two))


@given(numbers)
def test_rivals_are_sorted_distinct_positive_and_others(number):
    rivals = confusable_with(number)
    assert list(rivals) == sorted(set(rivals))
    assert number not in rivals
    assert all(r > 0 for r in rivals)


@given(numbers)
def test_nine_and_five_are_rivals_in_every_figure(number):
    text = f"{number.normalize():f}"
    for i, c in enumerate(text):
        if c in "59":
            assert Decimal(text[:i] + {"5": "9", "9": "5"}[c] + text[i + 1 :]) in confusable_with(number)


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("50", "fife zero"),
        ("15", "one fife"),
        ("95", "niner fife"),
        ("310", "three one zero"),
        ("27.50", "two seven point fife"),
        ("0.5", "zero point fife"),
        ("300.0", "three zero zero"),
        ("1E+2", "one zero zero"),
    ],
)
def test_a_read_back_is_spelled_in_radio_figures(number, words):
    assert spelled(Decimal(number)) == words


@given(st.integers(20, 9_999).map(lambda n: Decimal(n) / 2))
def test_what_is_spelled_is_understood_again(number):
    """Except a single figure, whose spelling is its word: every value from ten on comes back from its read-back."""
    if number >= 10 or number < 1:
        assert value(spelled(number)) == number


@pytest.mark.parametrize(
    ("text", "by_figures", "apart"),
    [
        ("two one six", True, True),
        ("two sixteen", False, False),
        ("216", True, False),  # numerals do not tell how it was said
    ],
)
def test_three_figures_said_one_by_one_have_no_twin(text, by_figures, apart):
    assert figure_by_figure(Decimal(216), text, by_figures=by_figures) is apart


def test_one_seven_may_be_a_seventy_that_lost_its_end():
    assert not figure_by_figure(Decimal(17), "one seven", by_figures=True)
