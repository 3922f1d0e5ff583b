"""The two minutes in which somebody learns to be heard: at once, in another form, in none, or saying nothing."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import numpy as np

from assistant.ports import Block, Recogniser, Spoken
from assistant.rehearsal.voice_lesson import WORDS, Lesson, Word, voice_lesson
from assistant.session.hearing import Hearing
from assistant.speech.heard import Candidate, Heard, Ranked, Reading
from assistant.speech.meaning import Command, Value
from assistant.speech.wording.practice import practice_words
from tests.session.house import LoudIsSpeech

SURE = 0.999


class Room(Recogniser):
    """Somebody who says one thing behind each prompt but the first, or nothing; also ports.Recogniser of what is said.

    Args:
        heard: prompt -> how likely what is said then is understood.
    """

    name = "room"

    def __init__(self, heard: Callable[[str], float], *, silent: bool = False) -> None:
        self.prompts: list[str] = []
        self.heard, self.silent = heard, silent
        self._at, self._left = 0, 0
        self._chance = np.random.default_rng(1)

    def say(self, text, at_sample):
        self.prompts.append(text)
        self._left = 0 if self.silent or len(self.prompts) == 1 else 25
        return Spoken(at_sample, at_sample)

    def read(self):
        loud = 6000 if 0 < self._left <= 20 else 3
        self._left = max(0, self._left - 1)
        sound = np.rint(self._chance.standard_normal(640) * loud).clip(-32000, 32000).astype(np.int16)
        self._at += 640
        return Block(sound, self._at - 640)

    def hear(self, samples, grammar):
        del samples, grammar
        word = self.word
        right = Value(word.means) if isinstance(word.means, Decimal) else Command(str(word.means))
        return Reading("room", (Candidate(right, word.say, 0.0),), fit=0.0)

    @property
    def word(self) -> Word:
        said = self.prompts[-1].split(": ", 1)[1].removesuffix(".")
        return next(word for word in WORDS if said in (word.say, word.better))

    def prepare(self, texts) -> None:
        pass

    def close(self) -> None:
        pass


def lesson(room: Room) -> Lesson:
    def judge(readings, _samples) -> Heard:
        best, likely = readings[0].candidates[0], room.heard(room.prompts[-1])
        decision = "accept" if likely > 0.9 else "ask" if likely > 0.4 else "reject"
        return Heard((Ranked(best.meaning, best.text, likely),), decision, 0.0, best.text, {}, True, 0.99)

    hearing = Hearing([room], judge)
    try:
        return voice_lesson(room, room, hearing, LoudIsSpeech(), words=practice_words("en"), real_time=False)
    finally:
        hearing.close()


def test_whoever_is_heard_at_once_says_each_word_once():
    room = Room(lambda _prompt: SURE)
    told = lesson(room)
    assert [t.first for t in told.tried] == ["sure"] * len(WORDS)
    assert (told.better, told.hard, told.sound) == ((), (), "")
    assert len(room.prompts) == 1 + len(WORDS)


def test_a_word_that_is_heard_badly_gets_its_better_form_and_that_is_remembered():
    told = lesson(Room(lambda prompt: 0.6 if prompt == "Say: yes." else SURE))
    assert told.better == (("yes", "that's correct"),) and told.hard == ()
    (asked,) = [t for t in told.tried if t.first != "sure"]
    assert (asked.first, asked.second, asked.form) == ("asked", "sure", "that's correct")


def test_a_word_that_is_heard_in_no_form_is_named():
    told = lesson(Room(lambda prompt: 0.1 if "snug" in prompt else SURE))
    assert told.hard == ("snug",) and told.better == ()


def test_silence_is_asked_for_once_more_and_is_no_word():
    room = Room(lambda _prompt: SURE, silent=True)
    told = lesson(room)
    assert {(t.first, t.second) for t in told.tried} == {("nothing", "")}
    assert len(room.prompts) == 1 + 2 * len(WORDS)
    assert told.level_dbfs is None and told.hard == tuple(word.say for word in WORDS)


def test_all_ten_figures_are_in_the_words():
    figures = {figure for word in WORDS if isinstance(word.means, Decimal) for figure in str(word.means)}
    assert figures == set("0123456789")
