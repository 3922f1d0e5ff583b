"""Rows SPK of the check catalogue that our ears and mouth can be held against."""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.speech.confusable import FIGURE_WORDS
from assistant.speech.number_words import RADIO
from assistant.speech.numbers import value
from tests.bolting.joint_rows import Row, name, rows


@pytest.mark.parametrize("row", rows("SPK-1", "SPK-2", "SPK-6", "SPK-7", "SPK-9", "SPK-10"), ids=name)
def test_check_row_a_number_said_the_radio_way_is_understood(row: Row):
    number = row.given["value"].removeprefix("QNH ").removesuffix(" (ICAO)")
    assert value(row.expected) == Decimal(number)


@pytest.mark.parametrize("row", rows("SPK-14", "SPK-15"), ids=name)
def test_check_row_five_and_nine_are_said_and_understood_the_radio_way(row: Row):
    word = row.expected.replace("-", "").lower()
    figure = int(row.given["value"])
    assert FIGURE_WORDS[figure] == word
    assert word in RADIO
    assert value(word) == figure


@pytest.mark.parametrize("row", rows("SPK-12"), ids=name)
def test_check_row_a_radio_three_is_understood(row: Row):
    assert value(row.expected.lower()) == int(row.given["value"])
