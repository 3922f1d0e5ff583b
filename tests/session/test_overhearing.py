"""'Stop' under our own prompts: with the echo taken out it is heard, and a prompt never stops itself."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.echo import EchoCanceller
from assistant.devices.espeak_voices import speak
from assistant.events import SessionResumed
from assistant.journal.recording import MemoryStore
from assistant.ports import Block, Spoken
from assistant.session.hearing import Hearing
from assistant.session.manner import Manner
from assistant.session.overhearing import Overhearing
from assistant.speech.meaning import Command
from assistant.speech.vocabulary import everything
from tests.procedure.talk import work
from tests.session.house import OPENED, LoudIsSpeech, events_of, session, typed
from tests.session.test_loop import PREPARED, Device, Hears, quiet, speech, sure


class Open(Device):
    """A microphone that hears its own loudspeaker: what is played is known, and can be cut."""

    def __init__(self, *pieces, prompt: int) -> None:
        super().__init__(*pieces, prompt=prompt)
        self.cut_at: int | None = None
        self.cuts: list[int] = []

    def playing(self, at_sample: int, samples: int) -> np.ndarray:
        return np.ones(samples, np.int16)

    def interrupt(self) -> None:
        with self._read:
            self.cut_at = self._at
            self._read.notify_all()

    def say(self, text, at_sample):
        length = 0 if "come first" in text else self._prompt  # the opening is a breath of its own
        with self._read:
            start, self.cut_at = self._at, None
            self._read.wait_for(lambda: self.cut_at or self._at >= start + length or not self._blocks, timeout=20)
            self.cuts += [self.cut_at] if self.cut_at else []
            return Spoken(start, self.cut_at or start + length, cut_short=self.cut_at is not None)


class Nothing:
    """ports.Canceller that takes nothing out, and notes what it was told."""

    step = 160

    def __init__(self) -> None:
        self.far = 0

    def take(self, near, far):
        assert len(near) == len(far) and len(near) % self.step == 0
        self.far += int(far.sum())
        return near

    def drop(self):
        return 0


@pytest.mark.parametrize("word", ["stop", "pause"])
def test_under_an_open_loudspeaker_stop_cuts_the_prompt_and_is_done(word):
    device = Open(quiet(2.0), speech(0.5), quiet(8.0), prompt=8 * 16_000)
    canceller = Nothing()
    made = session(
        device,
        speaker=device,
        hearing=Hearing([Hears(Command(word))], sure),
        manner=Manner(real_time=True),
        overhearing=LoudIsSpeech(),
        canceller=canceller,
    )
    made.run((OPENED, work()))
    assert made.state.dialogue == {"stop": "stopped", "pause": "paused"}[word]
    assert len(device.cuts) == 1 and device.cuts[0] < 3.5 * 16_000, "the prompt went on"
    heard = [e for e in events_of(made) if e.kind == "utterance-heard"]
    assert len(heard) == 1 and heard[0].while_speaking and heard[0].audio_sha256
    assert heard[0].start_sample == pytest.approx(2 * 16_000, abs=1600), "not on the microphone's clock"
    assert canceller.far > 0
    assert [e.cut_short for e in events_of(made) if e.kind == "prompt-spoken"] == [False, True, False]


def test_a_stop_that_outlasts_the_prompt_is_done_as_well():
    device = Open(quiet(2.0), speech(0.6), quiet(3.0), prompt=round(2.2 * 16_000))
    made = session(
        device,
        speaker=device,
        hearing=Hearing([Hears(Command("stop"))], sure),
        manner=Manner(real_time=True),
        overhearing=LoudIsSpeech(),
        canceller=Nothing(),
    )
    made.run((OPENED, work()))
    assert made.state.dialogue == "stopped" and device.cuts == []


def test_what_sounds_all_through_a_prompt_is_not_waited_for_at_its_end():
    """The prompt itself, as long as the canceller has learnt nothing: the next sentence does not wait for it."""
    device = Open(speech(4.0), quiet(3.0), prompt=2 * 16_000)
    made = session(
        device,
        speaker=device,
        hearing=Hearing([Hears(Command("done"))], sure),
        manner=Manner(real_time=True),
        overhearing=LoudIsSpeech(),
        canceller=Nothing(),
    )
    taken: list[int] = []
    made._watch = lambda entries: taken.extend(made._overheard._at for e in entries if e.event.kind == "prompt-spoken")
    made.run((OPENED, work()))
    assert taken[1] == pytest.approx(2 * 16_000, abs=3200)


def test_under_an_open_loudspeaker_nothing_else_comes_of_what_is_said():
    store = MemoryStore()
    typed(PREPARED, recording=store)
    resumed = SessionResumed(product="assistant (tests)", listeners=("scripted",), speaker="device")
    for meaning in (Command("yes"), Command("did not move"), Command("correction")):
        device = Open(quiet(2.0), speech(0.5), quiet(4.0), prompt=8 * 16_000)
        made = session(
            device,
            recording=store.reopened(),
            speaker=device,
            hearing=Hearing([Hears(meaning)], sure),
            manner=Manner(real_time=True),
            overhearing=LoudIsSpeech(),
            canceller=Nothing(),
        )
        made.run((resumed,))
        assert device.cuts == [] and not any(e.kind == "utterance-heard" for e in events_of(made)[-5:])


def test_however_the_sound_is_cut_the_canceller_gets_whole_steps_of_both():
    far_of = lambda at, n: np.arange(at, at + n, dtype=np.int16)  # noqa: E731
    canceller = Nothing()
    overhearing = Overhearing(LoudIsSpeech(), Hearing((), sure), everything, canceller=canceller)
    at = 0
    for length in (320, 100, 1, 59, 333, 512, 7):
        overhearing.take(Block(np.zeros(length, np.int16), at), far_of)
        at += length
    assert canceller.far == sum(range(at // 160 * 160))


def level_db(sound):
    return 10 * np.log10(np.mean(np.asarray(sound, float) ** 2) + 1)


def way_through_a_room() -> np.ndarray:
    chance = np.random.default_rng(1)
    return np.concatenate([np.zeros(600), [1.0], chance.standard_normal(800) * 0.1 * np.exp(-np.arange(800) / 200)])


def test_the_real_canceller_takes_a_prompt_out_and_leaves_what_a_person_says():
    """A prompt through a made room at the level of speech; in its second half somebody says a word."""
    prompt, _, _ = speak("Pass two. To one hundred and eighty newton metres. Bolt one. Torque one eighty.")
    far = np.concatenate([np.tile(prompt, 2), np.zeros(8000, np.int16)])
    echo = np.convolve(far, way_through_a_room())[: len(far)] * 0.4
    word, first, past = speak("stop", "gmw/en+f2")
    at = len(prompt) + len(prompt) // 2
    near = echo.copy()
    near[at : at + past - first] += word[first:past] * 0.4
    whole = len(near) // 160 * 160
    out = EchoCanceller().take(np.clip(near[:whole], -32768, 32767).astype(np.int16), far[:whole]).astype(float)
    assert len(out) == whole
    alone = slice(len(prompt), at - 1600)  # the second time, after it has learnt
    assert level_db(echo[alone]) - level_db(out[alone]) > 25
    assert level_db(out[at : at + past - first]) > level_db(word[first:past] * 0.4) - 3


@pytest.mark.parametrize("late_ms", [-15, 15])
def test_a_prompt_that_sounds_sooner_or_later_than_told_is_taken_out_from_its_beginning_on(late_ms):
    """When a prompt begins is known to some 20 ms: what was learnt under the last one must fit the next at once."""
    prompt, _, _ = speak("Pass two. To one hundred and eighty newton metres. Bolt one. Torque one eighty.")
    prompt = prompt[:56_000]
    canceller, pause = EchoCanceller(), np.zeros(1600, np.int16)
    for late in (0, late_ms * 16):
        far = np.concatenate([pause, prompt, pause])
        echo = np.convolve(far, np.concatenate([np.zeros(400 + late), way_through_a_room()]) * 0.4)
        near = np.rint(echo[: len(far)]).astype(np.int16)
        pieces = [canceller.take(near[n : n + 320], far[n : n + 320]) for n in range(0, len(far) - 319, 320)]
        out = np.concatenate(pieces)
        assert len(far) // 320 * 320 == len(out) + canceller.drop()
    begins = slice(1600 + 500, 1600 + 500 + 8000)
    assert level_db(near[begins]) - level_db(out[begins]) > 20


def test_sound_held_back_at_a_prompts_beginning_is_skipped_when_the_prompt_is_over():
    """Else what is heard under the next prompt would stand too early in the record."""

    class Holding(Nothing):
        held = np.zeros(0, np.int16)

        def take(self, near, far):
            sound = np.concatenate([self.held, near])
            self.held = sound[-160:]
            return sound[:-160]

        def drop(self):
            held, self.held = len(self.held), np.zeros(0, np.int16)
            return held

    overhearing = Overhearing(LoudIsSpeech(), Hearing([Hears(Command("stop"))], sure), everything, canceller=Holding())
    silence = lambda _at, n: np.zeros(n, np.int16)  # noqa: E731
    overhearing.take(Block(quiet(0.5), 0), silence)
    said = Block(np.concatenate([quiet(0.5), speech(0.5), quiet(1.0)]), 16_000)
    caught = overhearing.take(said, silence)
    assert caught is not None and caught.utterance.speech_start in range(23_000, 24_601)
    assert (caught.utterance.speech_start - 16_000) % 512 == 0, "frames are counted from the prompt's beginning on"
