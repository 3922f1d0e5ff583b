"""Recordings take the path of a session: followed, read ahead, ended by what was understood. Real engine."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.vosk_follower import VoskFollower
from assistant.devices.vosk_listener import VoskListener
from assistant.session.hearing import Hearing
from assistant.session.recordings import understand
from assistant.speech.heard import Heard, Ranked
from assistant.speech.vocabulary import everything
from tests.devices.clips import MODELS, clip, hiss
from tests.session.house import LoudIsSpeech


def as_it_is(readings, _samples) -> Heard:
    """The one listener's candidates, taken for the verdict."""
    (reading,) = readings
    ranked = tuple(Ranked(c.meaning, c.text, 0.9) for c in reading.candidates)
    return Heard(ranked, "ask" if ranked else "reject", None, reading.free_text, {"vosk": reading.free_text}, True)


def in_a_row(*names: str) -> np.ndarray:
    """Clips with silence around them."""
    pieces = [hiss(1.0, 20.0)]
    for name in names:
        pieces += [clip(name), hiss(1.2, 20.0)]
    return np.concatenate(pieces)


class Counting(VoskFollower):
    """Counts what its engine has to decode when it is asked to hear."""

    def __init__(self) -> None:
        super().__init__(MODELS / "vosk")
        self.decoded = 0

    def _alternatives(self, recogniser, samples):
        rest = None if self._followed is None else self._followed.rest_of(samples)
        self.decoded += len(samples if rest is None else rest)
        return super()._alternatives(recogniser, samples)


@pytest.fixture(scope="module")
def both():
    sound = in_a_row("three-hundred-and-ten", "stop", "one-two-zero")
    following = Counting()
    found = [
        understand(sound, hearing=Hearing([listener], as_it_is), activity=LoudIsSpeech(), grammar=everything())
        for listener in (VoskListener(MODELS / "vosk"), following)
    ]
    return (*found, following)


def test_the_words_are_understood_one_utterance_after_the_other(both):
    _, followed, _ = both
    assert [u.heard.ranked[0].text for u in followed] == ["three hundred and ten", "stop", "one two zero"]


def test_following_changes_nothing_of_what_is_understood(both):
    plain, followed, _ = both
    assert followed == plain


def test_at_its_pauses_everything_was_decoded_before(both):
    _, _, following = both
    assert following.decoded == 0
