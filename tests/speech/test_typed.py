"""Typed lines to words: written units, figures, and the signs that are refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.typed import typed_words


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", ""),
        ("  . ", ""),
        ("Three Ten", "three ten"),
        ("seventy-five", "seventy five"),
        ("310", "3 +1 +0"),
        ("310.5", "3 +1 +0 +. +5"),
        ("310.", "3 +1 +0"),
        ("bolt 7: 310", "bolt 7 3 +1 +0"),
        ("310Nm", "3 +1 +0 newton metres"),
        ("310 N.m.", "3 +1 +0 newton metres"),
        ("5 ft·lb", "5 foot pounds"),
        ("5 lbf⋅in", "5 inch pounds"),
        ("5 m*kgf", "5 kilogram metres"),
        ("5 lb", "5 pounds"),
        ("what’s up", "what's up"),
        ("310-320", "3 +1 +0 to 3 +2 +0"),
        ("5 ± 2", "5 plus or minus 2"),
        ("naught", "nought"),
        ("nominal form", "nominal form"),
        ("in lbs order", "inch pounds order"),
    ],
)
def test_words_of_a_line(line, words):
    assert typed_words(line) == tuple(words.split())


@pytest.mark.parametrize(
    "line", ["20,5", "1,200", "1, 200", ".5", "-5", "a -5", "1.2.3", "50 %", "3/4", "#7", "²", "٣", "é", "5€"]
)
def test_signs_without_a_safe_meaning_are_refused(line):
    assert typed_words(line) is None


@given(st.text(max_size=80))
def test_whatever_is_typed_gives_plain_words_or_nothing(line):
    words = typed_words(line)
    for word in words or ():
        assert word.isascii() and word == word.lower() and " " not in word
        assert word.strip("+'").isalnum() or word == "+."
