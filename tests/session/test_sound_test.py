"""The spoken sound test: each thing that can be wrong is found and said, and a good set-up is called good."""

from __future__ import annotations

import threading
from decimal import Decimal

import numpy as np
import pytest

from assistant.ports import Block, Speaker, Spoken
from assistant.session.hearing import Hearing
from assistant.session.sound_test import ADVICE, echo_of, sound_test
from assistant.speech.meaning import Value
from tests.session.house import LoudIsSpeech
from tests.session.test_loop import Hears, sure

SECOND = 16_000


def noise(seconds: float, level: float, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).standard_normal(int(seconds * SECOND)) * level


class Room(Speaker):
    """Microphone and loudspeaker of a made room: 1 s of quiet, a prompt of 2 s, then an answer.

    Args:
        echo: how much of the loudspeaker the microphone hears, 0.1 s late.
        answer: amplitude of what is said, 0 for nothing.
    """

    name = "room"

    def __init__(self, *, echo: float, answer: float, background: float = 4.0, muted: bool = False) -> None:
        self.prompt = np.rint(noise(2.0, 3000, 2)).astype(np.int16)
        sound = noise(14.0, background)
        played = np.zeros(len(sound))
        self.start = SECOND
        played[self.start : self.start + len(self.prompt)] = self.prompt
        sound[1600:] += echo * played[:-1600]
        said = slice(int(4.2 * SECOND), int(5.2 * SECOND))
        sound[said] += noise(1.0, answer, 3) if answer else 0
        sound = np.zeros(len(sound)) if muted else sound
        self._sound = np.rint(np.clip(sound, -32768, 32767)).astype(np.int16)
        self._at, self._saying = 0, False
        self._read = threading.Condition()

    def read(self):
        with self._read:
            self._read.notify_all()
            self._read.wait_for(lambda: not self._saying or self._at < self.start + len(self.prompt), timeout=20)
            if self._at >= len(self._sound):
                return None
            block = Block(self._sound[self._at : self._at + 320], self._at)
            self._at += 320
            return block

    def prepare(self, texts) -> None:
        pass

    def say(self, text, at_sample):
        end = self.start + len(self.prompt)
        with self._read:
            self._saying = True
            assert self._read.wait_for(lambda: self._at >= end, timeout=20), "nobody listened meanwhile"
            self._saying = False
            self._read.notify_all()
        return Spoken(self.start, end)

    def playing(self, at_sample, samples):
        out = np.zeros(samples, np.int16)
        first = max(at_sample, self.start)
        last = min(at_sample + samples, self.start + len(self.prompt))
        out[first - at_sample : last - at_sample] = self.prompt[first - self.start : last - self.start]
        return out

    def close(self) -> None:
        pass


def found(room: Room, *, headset: bool = False, number: str = "12", canceller=None):
    hearing = Hearing([Hears(Value(Decimal(number)))], sure)
    return sound_test(room, room, hearing, LoudIsSpeech(), sentence="One two?", headset=headset, canceller=canceller)


@pytest.mark.parametrize("headset", [False, True])
def test_the_sessions_canceller_learns_the_room_by_the_sentence(headset):
    class Learns:
        step, far, dropped = 160, 0, False

        def take(self, near, far):
            assert len(near) == len(far) and len(near) % 160 == 0
            self.far += np.count_nonzero(far)
            return near

        def drop(self):
            self.dropped = True
            return 0

    canceller, room = Learns(), Room(echo=0.1, answer=4000)
    found(room, headset=headset, canceller=canceller)
    assert canceller.dropped is not headset
    assert canceller.far == (0 if headset else pytest.approx(np.count_nonzero(room.prompt), abs=320))


def test_a_good_set_up_is_called_good_with_its_figures():
    told = found(Room(echo=0.1, answer=4000))
    assert told.found == "good" and told.heard == "12"
    assert told.echo_ms == pytest.approx(100, abs=2)
    assert told.echo_dbfs == pytest.approx(20 * np.log10(300 / 32768), abs=1.5)
    assert told.level_dbfs == pytest.approx(20 * np.log10(4000 / 32768), abs=1.5)
    assert told.noise_dbfs == pytest.approx(20 * np.log10(4 / 32768), abs=1.5)


@pytest.mark.parametrize(
    ("room", "headset", "number", "what"),
    [
        ({"echo": 0.1, "answer": 4000, "muted": True}, False, "12", "no-sound"),
        ({"echo": 0.1, "answer": 0}, False, "12", "nobody-spoke"),
        ({"echo": 0.1, "answer": 60_000}, False, "12", "overdriven"),
        ({"echo": 0.1, "answer": 4000}, False, "20", "misheard"),
        ({"echo": 0.1, "answer": 4000}, True, "12", "hears-itself"),
        ({"echo": 0.0, "answer": 4000}, False, "12", "speaker-unheard"),
        ({"echo": 0.0, "answer": 4000}, True, "12", "good"),
    ],
)
def test_what_is_wrong_is_found_and_has_an_advice(room, headset, number, what):
    told = found(Room(**room), headset=headset, number=number)
    assert told.found == what and ADVICE[what].endswith((".", "down."))
    assert len(told.lines) == 4


def test_every_advice_is_one_that_can_be_given():
    assert {"hardly-heard", "too-noisy"} <= set(ADVICE)


@pytest.mark.parametrize("seed", range(20))
def test_noise_alone_is_no_echo(seed):
    far = np.rint(noise(2.0, 3000, 100 + seed)).astype(np.int16)
    assert echo_of(np.rint(noise(2.0, 500, seed)).astype(np.int16), far) is None
    assert echo_of(np.zeros(100, np.int16), far[:100]) is None


@pytest.mark.parametrize(("below_db", "lag"), [(0, 0), (20, 800), (30, 4000)])
def test_an_echo_is_found_with_its_level_and_delay(below_db, lag):
    far = np.rint(noise(2.0, 3000, 5)).astype(np.int16)
    near = noise(2.0, 100, 6)
    near[lag:] += far[: len(far) - lag] * 10 ** (-below_db / 20)
    level_dbfs, late_ms = echo_of(np.rint(near).astype(np.int16), far)
    assert late_ms == pytest.approx(lag / 16, abs=1)
    assert level_dbfs == pytest.approx(20 * np.log10(3000 / 32768) - below_db, abs=1.5)
