"""The loop: order of things, the gate, typed lines, lost sound, and words that may be missing."""

from __future__ import annotations

import itertools
import threading
from decimal import Decimal

import numpy as np
import pytest

from assistant.errors import RecordNotWritable
from assistant.events import Measured, SessionResumed
from assistant.journal.recording import MemoryStore
from assistant.ports import Block, Lost, Recogniser, Speaker, Spoken
from assistant.replay.rebuild import rebuild_state
from assistant.replay.transcript import sounded
from assistant.session.hearing import Hearing
from assistant.session.manner import Manner
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Candidate, Heard, Ranked, Reading
from assistant.speech.meaning import Command, Value
from tests.devices.listener_contract import RecogniserContract
from tests.procedure.talk import work
from tests.session.house import OPENED, LongVoice, events_of, session, typed

PREPARED = ["locked out and tried", "anti seize", *["snug"] * 4]
ALL = [*PREPARED, *["90"] * 4, *["180"] * 4, *["did not move"] * 4, "close the joint"]


def test_a_typed_joint_goes_to_its_end():
    made = typed(ALL)
    assert made.state.closed
    assert [e.kind for e in events_of(made)][-1] == "session-closed"


def test_the_state_rebuilt_from_the_journal_is_the_live_one():
    for length in range(len(ALL)):
        made = typed(ALL[:length])
        assert rebuild_state(events_of(made)) == made.state


def test_every_prompt_comes_after_the_event_that_caused_it():
    made = typed(ALL)
    kinds = [e.kind for e in events_of(made)]
    runs = [len(list(run)) for kind, run in itertools.groupby(kinds) if kind == "prompt-spoken"]
    assert kinds[0] != "prompt-spoken" and max(runs) <= 3, "a run of prompts is one reply, breath by breath"


def test_nothing_is_said_when_the_record_cannot_be_written():
    class Full(MemoryStore):
        def append(self, events, at_sample):
            if any(e.kind == "utterance-heard" for e in events):
                raise RecordNotWritable("disk full", remedy="make room")
            return super().append(events, at_sample)

    said = []

    class Speaker:
        name = "test"

        def prepare(self, texts):
            pass

        def say(self, text, at_sample):
            said.append(text)
            return Spoken(at_sample, at_sample)

        def close(self):
            pass

    with pytest.raises(RecordNotWritable):
        typed(["locked out and tried"], recording=Full(), speaker=Speaker())
    assert len(said) == 2, "the opening and the first question"


def test_an_unfinished_session_goes_on_at_the_same_bolt():
    store = MemoryStore()
    first = typed([*PREPARED, "90", "90"], recording=store)
    assert first.state.bolt == 2
    again = store.reopened()
    resumed = SessionResumed(product="assistant (tests)", listeners=("typed",), speaker="silent")
    second = typed(["92"], first=(resumed,), recording=again)
    assert second.state.bolt == 4
    prompts = [e.text for e in events_of(second) if e.kind == "prompt-spoken"]
    assert prompts[-3:-1] == ["Test flange. Going on where we stopped.", "Pass one. Bolt two, to ninety newton metres."]


class Script:
    """ports.Microphone with pieces laid out beforehand."""

    name = "script"

    def __init__(self, *pieces) -> None:
        self._pieces = list(pieces)
        self._at = 0

    def read(self):
        if not self._pieces:
            return None
        piece = self._pieces.pop(0)
        if isinstance(piece, Lost):
            made = Lost(piece.reason, self._at, piece.samples)
            self._at += piece.samples
            return made
        made = Block(piece, self._at)
        self._at += len(piece)
        return made

    def close(self) -> None:
        self._pieces = []


def quiet(seconds: float) -> np.ndarray:
    return (np.random.default_rng(1).standard_normal(int(seconds * 16_000)) * 2).astype(np.int16)


def speech(seconds: float) -> np.ndarray:
    return (np.random.default_rng(2).standard_normal(int(seconds * 16_000)) * 4000).astype(np.int16)


class Hears(Recogniser):
    """ports.Recogniser that hears one thing after the other."""

    name = "scripted"

    def __init__(self, *meanings) -> None:
        self.meanings, self.calls = list(meanings), 0

    def hear(self, samples, grammar: Grammar) -> Reading:
        self.calls += 1
        meaning = self.meanings[0]
        words = meaning.name if isinstance(meaning, Command) else f"{meaning.number}"
        return Reading(self.name, (Candidate(meaning, words, 0.0),), fit=0.0)


class TestTheRecogniserOfTheTests(RecogniserContract):
    @pytest.fixture
    def listener(self):
        return Hears(Command("stop"))


def sure(readings, _samples) -> Heard:
    best = readings[0].candidates[0]
    return Heard(
        (Ranked(best.meaning, best.text, 0.999),), "accept", 0.0, best.text, {"scripted": best.text}, True, 0.99
    )


def test_sound_under_the_assistants_own_voice_is_not_heard():
    hears = Hears(Command("locked out and tried"))
    microphone = Script(quiet(0.5), speech(1.0), quiet(3.0))
    made = session(microphone, speaker=LongVoice(32_000), hearing=Hearing([hears], sure))
    made.run((OPENED, work()))
    assert hears.calls == 0 and made.state.stage == 1


def test_speech_after_the_prompt_is_heard_and_timed():
    hears = Hears(Command("locked out and tried"))
    made = session(Script(quiet(1.0), speech(1.0), quiet(2.0)), hearing=Hearing([hears], sure))
    made.run((OPENED, work()))
    assert made.state.stage == 2
    assert hears.calls == 1  # read ahead at the pause, not again at the end
    assert len(made.turns) == 1 and 0 < made.turns[0].reply_ms < 2000


def test_the_reply_is_rendered_while_it_is_waited_whether_the_speaker_goes_on():
    done: list[tuple[str, tuple[str, ...]]] = []

    class Notes:
        name = "notes"

        def prepare(self, texts):
            done.append(("prepare", tuple(texts)))

        def say(self, text, at_sample):
            done.append(("say", (text,)))
            return Spoken(at_sample, at_sample)

        def close(self):
            pass

    hears = Hears(Command("locked out and tried"))
    made = session(Script(quiet(1.0), speech(1.0), quiet(2.0)), speaker=Notes(), hearing=Hearing([hears], sure))
    made.run((OPENED, work()))
    replies = [i for i, (what, _) in enumerate(done) if what == "say"]
    assert len(replies) == 3, "the opening, the question, and the reply"
    assert ("prepare", done[replies[2]][1]) in done[replies[1] : replies[2]]


def test_what_follows_the_likeliest_answers_is_rendered_before_anybody_speaks():
    ahead: set[str] = set()
    late: list[str] = []

    class Notes:
        name = "notes"

        def prepare(self, texts):
            ahead.update(texts)

        def say(self, text, at_sample):
            if text not in ahead:
                late.append(text)
            return Spoken(at_sample, at_sample)

        def close(self):
            pass

    made = typed([*PREPARED, "90", "90"], speaker=Notes())
    assert made.state.bolt == 2
    told = [e.text for e in events_of(made) if e.kind == "prompt-spoken"]
    assert late == told[:1], "only the very first one"


def test_an_utterance_with_a_hole_is_asked_about():
    hears = Hears(Value(Decimal("90")))
    store = MemoryStore()
    typed(PREPARED, recording=store)
    again = store.reopened()
    resumed = SessionResumed(product="assistant (tests)", listeners=("scripted",), speaker="silent")
    sound = Script(quiet(1.0), speech(0.6), Lost("overrun", 0, 1600), speech(0.6), quiet(2.0))
    made = session(sound, recording=again, hearing=Hearing([hears], sure))
    made.run((resumed,))
    assert made.state.dialogue == "asking"
    assert not any(e.reading for e in made.state.entries)


def test_a_microphone_that_goes_away_pauses_the_guiding():
    made = session(Script(quiet(1.0), Lost("microphone stopped", 0, 16_000), quiet(1.0)))
    made.run((OPENED, work()))
    kinds = [e.kind for e in events_of(made)]
    assert "sound-lost" in kinds and made.state.dialogue == "paused"


class Device(Speaker):
    """Microphone and loudspeaker on one running clock: a prompt sounds as the microphone is read, and in no other way.

    Args:
        pieces: what the microphone gives, each to be cut into blocks of 20 ms.
        prompt: samples that every prompt lasts.
    """

    name = "device"

    def __init__(self, *pieces, prompt: int, spoken=None) -> None:
        sound = np.concatenate(pieces)
        self._blocks = [Block(sound[at : at + 320], at) for at in range(0, len(sound), 320)]
        self._prompt, self._made = prompt, spoken or {}
        self._at = 0
        self._read = threading.Condition()

    def read(self):
        with self._read:
            self._read.notify_all()
            if not self._blocks:
                return None
            block = self._blocks.pop(0)
            self._at = block.at_sample + 320
            return block

    def prepare(self, texts) -> None:
        pass

    def say(self, text, at_sample):
        length = 0 if "come first" in text else self._prompt  # the opening is a breath of its own
        with self._read:
            start = self._at
            over = self._read.wait_for(lambda: self._at >= start + length or not self._blocks, timeout=20)
        assert over, "nobody read the microphone while the prompt sounded"
        return Spoken(start, start + length, **self._made)

    def close(self) -> None:
        self._blocks = []


def test_the_microphone_is_read_under_a_prompt_of_any_length_and_the_answer_after_it_is_heard_whole():
    hears = Hears(Command("locked out and tried"))
    echo_and_answer = (speech(15.0), quiet(0.5), speech(0.8), quiet(2.0), speech(15.0))
    device = Device(*echo_and_answer, prompt=15 * 16_000)
    made = session(device, speaker=device, hearing=Hearing([hears], sure), manner=Manner(real_time=True))
    made.run((OPENED, work()))
    heard = [e for e in events_of(made) if e.kind == "utterance-heard"]
    assert len(heard) == 1 and made.state.stage == 2
    assert heard[0].start_sample == pytest.approx(15.5 * 16_000, abs=1600), "not on the clock of the sound"
    assert heard[0].decision == "accept", "its beginning was missing"
    assert not any(e.kind == "sound-lost" for e in events_of(made))


def test_an_open_question_is_asked_once_more_after_eight_seconds_and_then_there_is_silence():
    made = session(Script(quiet(60.0)), speaker=LongVoice(16_000))
    made.run((OPENED, work()))
    prompts = [e for e in events_of(made) if e.kind == "prompt-spoken" and "come first" not in e.text]
    assert len(prompts) == 2 and "Say: locked out and tried" in prompts[1].text
    assert prompts[1].start_sample - prompts[0].end_sample == pytest.approx(8 * 16_000, abs=1600)
    told = [e for e in events_of(made) if e.kind == "told"]
    assert [(e.what, e.utterance) for e in told] == [("say again", "")]


def test_what_is_not_understood_brings_no_second_reminder():
    sound = Script(quiet(15.0), speech(1.0), quiet(30.0), speech(1.0), quiet(30.0))
    made = session(sound, speaker=LongVoice(16_000), hearing=Hearing([Hears(Command("snug"))], sure))
    made.run((OPENED, work()))
    assert [e.kind for e in events_of(made)].count("question-refused") == 2
    assert [e.what for e in events_of(made) if e.kind == "told"] == ["say again"]


def test_whoever_pulls_a_bolt_is_never_reminded():
    store = MemoryStore()
    typed(PREPARED, recording=store)
    again = store.reopened()
    before = len(again.entries)
    resumed = SessionResumed(product="assistant (tests)", listeners=("scripted",), speaker="long")
    made = session(Script(quiet(60.0)), recording=again, speaker=LongVoice(16_000))
    made.run((resumed,))
    assert made.state.current_pass is not None and made.state.dialogue == "guiding"
    assert not any(e.kind == "told" for e in events_of(made)[before:])


def test_nobody_is_reminded_while_he_speaks_and_after_a_reply_the_time_begins_anew():
    hears = Hears(Command("help"))
    sound = Script(quiet(1.0), quiet(7.7), speech(1.5), quiet(6.0), quiet(20.0))
    made = session(sound, speaker=LongVoice(16_000), hearing=Hearing([hears], sure))
    made.run((OPENED, work()))
    told = [e.what for e in events_of(made) if e.kind == "told"]
    assert told[0] == "help" and told.count("say again") == 1


def test_a_prompt_that_was_broken_is_recorded_as_broken():
    for told, remark in (({"whole": False, "times": 2}, "BROKEN"), ({"times": 2}, "broken before"), ({}, "")):
        device = Device(quiet(3.0), prompt=16_000, spoken=told)
        made = session(device, speaker=device, manner=Manner(real_time=True))
        made.run((OPENED, work()))
        prompt = next(e for e in events_of(made) if e.kind == "prompt-spoken")
        assert (prompt.whole, prompt.times) == (told.get("whole", True), told.get("times", 1))
        assert remark in sounded(prompt) and bool(sounded(prompt)) == bool(remark)


def test_with_a_headset_stop_counts_while_the_assistant_speaks_and_a_value_does_not():
    for meaning, dialogue in ((Command("stop"), "stopped"), (Value(Decimal("90")), "guiding")):
        store = MemoryStore()
        typed(PREPARED, recording=store)
        resumed = SessionResumed(product="assistant (tests)", listeners=("scripted",), speaker="long")
        made = session(
            Script(quiet(0.5), speech(1.0), quiet(1.2)),
            recording=store.reopened(),
            speaker=LongVoice(48_000),
            hearing=Hearing([Hears(meaning)], sure),
            manner=Manner(headset=True, real_time=False),
        )
        made.run((resumed,))
        assert made.state.dialogue == dialogue
        assert not any(e.reading for e in made.state.entries)


def test_leaving_is_recorded_once_and_not_after_closing():
    made = typed(PREPARED)
    made.leave("end of the shift")
    assert events_of(made)[-1].kind == "session-left"
    closed = typed(ALL)
    closed.leave("too late")
    assert events_of(closed)[-1].kind == "session-closed"


def test_readings_are_kept_as_said():
    made = typed([*PREPARED, "90.5", "92 N*m"])
    readings = [e.reading for e in made.state.entries if e.reading]
    assert readings == [Measured(Decimal("90.5"), "N*m"), Measured(Decimal("92"), "N*m")]


def test_a_listener_that_lacks_a_word_has_no_say_in_that_grammar():
    class Deaf(Hears):
        name = "deaf"

        def unknown_words(self, grammar):
            return ("tried",)

    deaf, hears = Deaf(Command("stop")), Hears(Command("locked out and tried"))
    made = session(Script(quiet(1.0), speech(1.0), quiet(2.0)), hearing=Hearing([deaf, hears], sure))
    made.run((OPENED, work()))
    assert deaf.calls == 0 and made.state.stage == 2
