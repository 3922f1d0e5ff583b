"""Readings made by hand, and a plain calibration for tests of the vote."""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from assistant.speech.calibration import KINDS, SOURCES, Calibration, Combiner, Threshold
from assistant.speech.heard import Candidate, Reading
from assistant.speech.letters import BLANK, COUNT, Scores, spelt
from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.quality import Quality

GOOD = Quality(seconds=2.0, speech_s=1.0, level_dbfs=-25.0, snr_db=25.0, clipped=0.0)


def value(number: str, **rest: object) -> Value:
    return Value(Decimal(number), **rest)  # type: ignore[arg-type]


def _text(meaning: Meaning) -> str:
    match meaning:
        case Value():
            return f"number {meaning.number}"
        case Note():
            return meaning.opening
        case _:
            return meaning.name


def ear(*found: tuple[Meaning, float], fit: float | None = 0.0, **extra: float) -> Reading:
    """A reading of the constrained listener: meanings with their log-probabilities."""
    candidates = tuple(Candidate(m, _text(m), p) for m, p in found)
    text = candidates[0].text if candidates else "something else"
    return Reading("constrained", candidates, fit=fit if candidates else None, free_text=text, extra=extra)


def vosk(*found: tuple[Meaning, float], readable: float = 1.0) -> Reading:
    """A reading of the Vosk listener: meanings with the logarithm of their share."""
    candidates = tuple(Candidate(m, _text(m), p) for m, p in found)
    extra = {"readable": readable, "first_readable": 1.0, "confidence": 1.0} if found else {}
    return Reading("vosk", candidates, extra=extra)


def plain_calibration(**accept: float) -> Calibration:
    """Each listener's log-probability counts as it is; something else costs 4 nats against a perfect meaning."""
    thresholds = {k: Threshold(accept.get(k.replace(" ", "_"), 0.95), 0.35) for k in KINDS}
    combiner = Combiner(
        {"constrained": 1.0, "vosk": 1.0}, {"any": -4.0, "fit bad": 1.0, "fit too good": 1.0}, thresholds
    )
    return Calibration(dict.fromkeys(SOURCES, combiner), {}, {})


def saying(words: str) -> Scores:
    """Letters that are all but certain: two frames each, a blank behind, some before and after."""
    ids = [BLANK] * 4 + [i for letter in spelt(words) for i in (letter, letter, BLANK)] + [BLANK] * 4
    table = np.full((len(ids), COUNT), -15.0, np.float32)
    table[np.arange(len(ids)), ids] = 0.0
    return table


__all__ = ["GOOD", "Command", "Note", "ear", "plain_calibration", "saying", "value", "vosk"]
