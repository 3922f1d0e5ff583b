"""The first seconds of a session: asked twice at most, told aloud and on record, and never in anybody's way."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from assistant.cli import first_words as module
from assistant.cli.edges import Edges
from assistant.cli.first_words import first_words
from assistant.config.settings import Settings
from assistant.devices.echo import EchoCanceller
from assistant.errors import DeviceMissing
from assistant.ports import Block, Speaker, Spoken
from assistant.session.hearing import Hearing
from assistant.speech.meaning import Value
from assistant.speech.wording import LANGUAGES, catalogue
from tests.session.house import LoudIsSpeech
from tests.session.test_loop import Hears, sure


class Place(Speaker):
    """Microphone and loudspeaker on one clock: a prompt lasts a second; answers stand at seconds of that clock."""

    name = "place"

    def __init__(self, *answers_at: float, zeros: bool = False) -> None:
        self._sound = np.random.default_rng(1).integers(-9, 10, 16_000 * 60).astype(np.int16)
        for at in answers_at:
            self._sound[int(at * 16_000) : int((at + 0.6) * 16_000)] *= 400
        self._sound *= not zeros
        self._at = 0
        self.said: list[str] = []

    def read(self):
        if self._at >= len(self._sound):
            return None
        block = Block(self._sound[self._at : self._at + 320], self._at)
        self._at += 320
        return block

    def say(self, text, at_sample):
        self.said.append(text)
        return Spoken(self._at, self._at + 16_000)

    def playing(self, at_sample, samples):
        return np.zeros(samples, np.int16)


def met(place, *, real_time=True, language="en", settings=None, number="12"):
    hearing = Hearing([Hears(Value(Decimal(number)))], sure)
    edges = Edges(microphone=place, speaker=place, hearing=hearing, typed=False, real_time=real_time)
    return first_words(edges, settings or Settings(), language, EchoCanceller())


@pytest.fixture(autouse=True)
def loud_is_speech(monkeypatch):
    monkeypatch.setattr(module, "SileroActivity", LoudIsSpeech)


@pytest.mark.parametrize("language", LANGUAGES)
def test_who_is_understood_is_not_kept_from_working(language, capsys):
    place = Place(3.0)
    told = met(place, language=language)
    assert place.said == [catalogue(language).equipment["sound-test"]] and told.trouble == ()
    assert 3.6 * 16_000 < told.at_sample < 6 * 16_000
    line = capsys.readouterr().err
    assert "understood 12" in line and "dBFS" in line and "headset = true" in line


def test_who_does_not_answer_is_asked_once_more_and_the_record_tells():
    place = Place()
    told = met(place)
    sentence, nobody = catalogue("en").equipment["sound-test"], catalogue("en").equipment["nobody-spoke"]
    assert place.said == [sentence, nobody, sentence, nobody]
    (trouble,) = told.trouble
    assert trouble.what == "sound-tested" and "nobody-spoke" in trouble.detail and "noise" in trouble.detail


def test_what_was_misheard_is_asked_once_more_and_may_then_be_right():
    assert met(Place(3.0), number="20").trouble
    place = Place(15.0)  # nobody spoke the first time
    assert met(place).trouble == () and len(place.said) == 3


def test_a_muted_microphone_ends_it_before_there_is_a_session():
    with pytest.raises(DeviceMissing, match="muted"):
        met(Place(3.0, zeros=True))


def test_it_can_be_turned_off_and_typed_words_need_none():
    for how in ({"settings": Settings(sound_test=False)}, {"real_time": False}):
        place = Place()
        assert met(place, **how).at_sample == 0 and place.said == []


def test_every_finding_can_be_said_in_every_language():
    for language in LANGUAGES:
        assert set(module.ADVICE) - module.FOR_THE_SCREEN <= set(catalogue(language).equipment)
