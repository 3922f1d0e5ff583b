"""What the letters add to the evidence of the listeners."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from assistant.speech.calibration import SOURCES
from assistant.speech.evidence import EAR, FLOOR, LETTERS, VOSK, Evidence, sources, weigh
from assistant.speech.heard import Candidate, Reading
from assistant.speech.letters import COUNT
from assistant.speech.meaning import Command, Meaning
from tests.speech.readings import GOOD, saying, value

FIVE, NINE = value("5"), value("9")


def reading(name: str, *found: tuple[Meaning, str, float], said: str | None = None) -> Reading:
    candidates = tuple(Candidate(m, text, p) for m, text, p in found)
    return Reading(name, candidates, fit=0.0, letters=None if said is None else saying(said))


EAR_SAYS_FIVE = reading(EAR, (FIVE, "five", -0.1), (NINE, "nine", -3.0), said="nine")
VOSK_SAYS_FIVE = reading(VOSK, (FIVE, "five", -0.1))


def of(evidence: Evidence, meaning: Meaning) -> dict[str, float]:
    return evidence.figures[evidence.meanings.index(meaning)]


def test_letters_may_prefer_another_meaning_than_both_listeners() -> None:
    found = weigh([EAR_SAYS_FIVE, VOSK_SAYS_FIVE], GOOD)
    assert of(found, FIVE)["all first"] == 1.0
    assert of(found, FIVE)[LETTERS] == FLOOR
    assert of(found, FIVE)[f"{LETTERS} first"] == 0.0
    assert of(found, NINE)[LETTERS] == 0.0
    assert of(found, NINE)[f"{LETTERS} first"] == 1.0
    assert of(found, NINE)[f"{LETTERS} against free"] == pytest.approx(0.0, abs=0.1)
    assert found.otherwise[f"{LETTERS} against ear"] == 1.0
    assert found.otherwise[f"{LETTERS} fit bad"] == pytest.approx(0.0, abs=0.1)


def test_letters_that_are_none_of_the_meanings_speak_for_something_else() -> None:
    found = weigh([replace(EAR_SAYS_FIVE, letters=saying("the kettle is on"))], GOOD)
    assert found.otherwise[f"{LETTERS} fit bad"] == 15.0
    assert found.otherwise[f"{LETTERS} more than said"] > 2.0


def test_a_meaning_without_words_is_marked() -> None:
    odd = Command("unclear-two-values")
    found = weigh([reading(EAR, (odd, "9 2 300", -1.0), said="nine")], GOOD)
    assert of(found, odd)[f"{LETTERS} unspelt"] == 1.0
    assert of(found, odd)[LETTERS] == FLOOR


def test_without_letters_nothing_is_said_of_them() -> None:
    bare = weigh([replace(EAR_SAYS_FIVE, letters=None), VOSK_SAYS_FIVE], GOOD)
    assert not [n for f in (*bare.figures, bare.otherwise) for n in f if LETTERS in n]


def test_all_figures_are_bounded_whatever_the_letters_are() -> None:
    for seed in range(20):
        noise = np.random.default_rng(seed).normal(0, 6, (60, COUNT)).astype(np.float32)
        noise -= np.log(np.exp(noise).sum(axis=1, keepdims=True))
        found = weigh([replace(EAR_SAYS_FIVE, letters=noise), VOSK_SAYS_FIVE], GOOD)
        figures = [v for f in (*found.figures, found.otherwise) for v in f.values()]
        assert all(np.isfinite(v) and abs(v) <= 25 for v in figures)


@pytest.mark.parametrize(
    ("readings", "wanted"),
    [
        ([EAR_SAYS_FIVE, VOSK_SAYS_FIVE], "constrained+letters+vosk"),
        ([replace(EAR_SAYS_FIVE, letters=None), VOSK_SAYS_FIVE], "constrained+vosk"),
        ([EAR_SAYS_FIVE], "constrained+letters"),
        ([VOSK_SAYS_FIVE], "vosk"),
    ],
)
def test_every_set_of_sources_has_its_combiner(readings: list[Reading], wanted: str) -> None:
    assert sources(readings) == wanted
    assert wanted in SOURCES
