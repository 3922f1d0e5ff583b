"""Meanings held against letters that are all but certain."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from assistant.speech.lettered import lettered
from assistant.speech.letters import BLANK, COUNT, NEVER, spelt
from assistant.speech.meaning import Command, Note, Value
from tests.speech.readings import saying

THIRTEEN, THIRTY = Value(Decimal(13)), Value(Decimal(30))
BOTH = {THIRTEEN: ("13",), THIRTY: ("30", "thirty")}


def test_the_meaning_that_was_spelt_is_best() -> None:
    found = lettered(saying("thirteen"), BOTH)
    assert found.best == THIRTEEN
    assert found.top == found.scores[THIRTEEN] == pytest.approx(found.free, abs=0.1)
    assert (found.scores[THIRTY] or 0.0) < -10
    assert found.sizes[THIRTEEN] == found.free_size == len("thirteen")


def test_all_forms_of_a_number_count_for_it() -> None:
    found = lettered(saying("three hundred and ten"), {Value(Decimal(310)): ("310",), Value(Decimal(300)): ("300",)})
    assert found.best == Value(Decimal(310))
    assert found.top == pytest.approx(found.free, abs=0.1)


def test_free_speech_behind_an_opening_counts_for_nothing() -> None:
    note, no = Note("note"), Command("no")
    found = lettered(saying("note rust on the nut"), {note: ("note",), no: ("no",)})
    assert found.best == note
    assert found.top == pytest.approx(found.free, abs=0.1)


def test_what_cannot_be_spelt_has_no_score() -> None:
    odd = Command("unclear-two-values")
    found = lettered(saying("nine"), {odd: ("9 2 300",)})
    assert found.scores == {odd: None}
    assert found.best is None
    assert found.top == NEVER


def test_silence_has_no_letters() -> None:
    silent = np.full((20, COUNT), -15.0, np.float32)
    silent[:, BLANK] = 0.0
    found = lettered(silent, {Command("no"): ("no",)})
    assert found.free_size == 0
    assert found.free == pytest.approx(0.0)
    assert found.top < -20


def test_nothing_found_is_nothing_held() -> None:
    found = lettered(saying("nine"), {})
    assert (found.best, found.top, found.free_size) == (None, NEVER, len(spelt("nine")))
