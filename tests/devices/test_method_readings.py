"""Angles, pressures and lengths as the real listeners hear a synthetic voice say them.

Pressures are asked for without their unit: 'bar' is a new word to the ear, which takes it for 'five'.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.espeak_voices import speak
from assistant.devices.vosk_listener import VoskListener
from assistant.speech.meaning import Value
from assistant.speech.vocabulary import Expecting, grammar_for
from tests.devices.clips import MODELS

SAID = [
    ("angle", "ninety five degrees", "95", "deg"),
    ("angle", "one twenty", "120", None),
    ("angle", "one eighty degrees", "180", "deg"),
    ("pressure", "seven ninety", "790", None),
    ("pressure", "twelve hundred and forty", "1240", None),
    ("length", "zero point one three four millimetres", "0.134", "mm"),
    ("length", "zero point four", "0.4", None),
    ("length", "zero point two seven", "0.27", None),
]


@pytest.fixture(scope="module")
def listeners():
    return ConstrainedListener(MODELS / "ear" / "encoder.onnx"), VoskListener(MODELS / "vosk")


@pytest.mark.parametrize(("measures", "words", "number", "unit"), SAID, ids=lambda each: str(each))
def test_both_listeners_hear_a_reading_that_is_no_torque(listeners, measures, words, number, unit):
    grammar = grammar_for(Expecting(values=True, yes_no=False, measures=measures))
    sound, _, _ = speak(words)
    for listener in listeners:
        listener.prepare(grammar)
        heard = listener.hear(sound, grammar).candidates
        assert heard and heard[0].meaning == Value(Decimal(number), unit), listener.name
