"""How long silence is waited for, by what was understood so far; listeners that raise, hang or come back."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from assistant.errors import CannotHear
from assistant.ports import Recogniser
from assistant.session.hearing import USUAL_MS, Hearing, first_patience_ms, patience_ms
from assistant.speech.heard import Candidate, Heard, Ranked, Reading
from assistant.speech.meaning import Command
from assistant.speech.vocabulary import everything
from tests.devices.listener_contract import RecogniserContract
from tests.procedure.talk import work
from tests.session.house import OPENED, events_of, session
from tests.session.test_loop import Script, quiet, speech


def heard(text: str, *, decision: str = "accept", agreed: bool = True, **by_listener: str) -> Heard:
    meaning = everything().parse(text)
    ranked = () if meaning is None else (Ranked(meaning, text, 0.99),)
    return Heard(ranked, decision, 0.0, text, by_listener, agreed)


def waits(text: str, **how: object) -> int:
    return patience_ms(heard(text, **how), everything())  # type: ignore[arg-type]


def test_what_can_not_go_on_waits_least():
    assert waits("three ten newton metres") == waits("say again")
    assert waits("say again") < waits("three ten") < waits("one two zero") < waits("one two") < waits("three hundred")


@pytest.mark.parametrize("text", ["three hundred and", "fifty seven point"])
def test_an_unfinished_number_waits_longest(text):
    half = Heard((Ranked(everything().parse("three hundred"), text, 0.9),), "accept", 0.0, text, {}, True)
    assert patience_ms(half, everything()) > waits("three hundred")


def test_doubt_waits_longer():
    assert waits("three ten", decision="ask") > waits("three ten")
    assert waits("three ten", decision="reject") > waits("three ten", decision="ask")
    assert waits("say again", decision="ask") > waits("say again")


def test_an_answer_that_something_might_follow_waits_less_than_half_a_number():
    assert waits("say again") < waits("yes") < waits("one two")
    assert waits("yes") < waits("yes", decision="ask") < waits("yes", decision="reject")
    assert waits("bolt seven") > waits("yes")


def test_numerals_do_not_tell_how_they_were_said_but_the_other_listener_does():
    unknown = waits("310", constrained="310")
    assert waits("310", constrained="310", vosk="three ten") == waits("three ten") < unknown
    assert waits("310", constrained="310", vosk="three one zero") == waits("three one zero")
    assert waits("310", constrained="310", vosk="three ten", agreed=False) == unknown


@pytest.mark.parametrize(
    ("partial", "as_long_as"),
    [
        ("stop now", "stop now"),
        ("three ten newton metres", "three ten newton metres"),
        ("three ten", "three ten"),
        ("one two", "one two"),
        ("three hundred", "three hundred"),
        ("yes", "yes"),
        ("bolt seven", "bolt seven"),
    ],
)
def test_partial_words_wait_as_a_verdict_that_is_not_sure(partial, as_long_as):
    assert first_patience_ms(tuple(partial.split()), everything()) == waits(as_long_as, decision="ask")


@pytest.mark.parametrize("partial", ["three hundred and", "fifty seven point", "bolt", "double"])
def test_partial_words_that_must_go_on_wait_longest(partial):
    assert first_patience_ms(tuple(partial.split()), everything()) > waits("three hundred")


@pytest.mark.parametrize("partial", ["", "three [unk]", "[unk]", "hundred and", "the note of", "stop ninety"])
def test_partial_words_that_begin_no_sentence_tell_nothing(partial):
    assert first_patience_ms(tuple(partial.split()), everything()) == USUAL_MS


SOUND = np.ones(1600, np.int16)


class Listener(Recogniser):
    """A listener that hears 'stop', until `fault` is raised or waited for in the method that is named."""

    def __init__(self, name: str, *, where: str = "", fault: object = None, times: int = 10**6) -> None:
        self.name, self.where, self.fault, self.times, self.calls = name, where, fault, times, 0

    def _step(self, where: str) -> None:
        if where != self.where or self.times <= 0:
            return
        self.times -= 1
        if isinstance(self.fault, threading.Event):
            self.fault.wait(30)
        else:
            assert isinstance(self.fault, BaseException)
            raise self.fault

    def hear(self, samples, grammar) -> Reading:
        self.calls += 1
        self._step("hear")
        return Reading(self.name, (Candidate(Command("stop"), "stop", 0.0),), fit=0.0)

    def prepare(self, grammar) -> None:
        self._step("prepare")

    def transcribe(self, samples) -> str:
        self._step("transcribe")
        return f"by {self.name}"

    def follow(self, grammar) -> None:
        self._step("follow")

    def take(self, samples) -> None:
        self._step("take")

    def words_so_far(self) -> tuple[str, ...]:
        self._step("words_so_far")
        return ("stop",)


def who(readings, _samples) -> Heard:
    """A verdict that tells which listeners had a say."""
    return Heard((), "reject", None, "", {r.listener: "" for r in readings}, False)


class TestTheListenerThatFails(RecogniserContract):
    @pytest.fixture
    def listener(self):
        return Listener("fake")


FAULTS = [RuntimeError("onnxruntime: RUNTIME_EXCEPTION"), MemoryError(), SystemExit(3), KeyboardInterrupt()]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: type(fault).__name__)
def test_one_that_raises_has_no_say_and_the_second_time_running_it_is_given_up(fault):
    hearing = Hearing([Listener("ear"), Listener("vosk", where="hear", fault=fault)], who)
    assert hearing.listen(SOUND, everything()).heard.by_listener.keys() == {"ear"}
    assert hearing.faults() == () and not hearing.deaf
    hearing.listen(SOUND, everything())
    (lost,) = hearing.faults()
    assert lost.listener == "vosk" and type(fault).__name__ in lost.reason
    assert hearing.faults() == () and not hearing.deaf
    assert hearing.listen(SOUND, everything()).heard.by_listener.keys() == {"ear"}


def test_one_that_fails_now_and_then_stays():
    moody = Listener("vosk", where="hear", fault=MemoryError())
    hearing = Hearing([Listener("ear"), moody], who)
    for _ in range(3):
        moody.times = 1
        assert hearing.listen(SOUND, everything()).heard.by_listener.keys() == {"ear"}
        assert hearing.listen(SOUND, everything()).heard.by_listener.keys() == {"ear", "vosk"}
    assert hearing.faults() == ()


@pytest.mark.parametrize("where", ["hear", "follow", "take", "words_so_far", "transcribe"])
def test_one_that_hangs_is_given_up_at_once_and_its_thread_keeps_nobody(where):
    forever = threading.Event()
    hearing = Hearing([Listener("vosk", where=where, fault=forever), Listener("ear")], who, deadline_s=0.05)
    hearing.follow(everything())
    hearing.take(SOUND)
    words = hearing.words_so_far()
    assert words == (None if where in ("follow", "take", "words_so_far") else ("stop",))
    heard = hearing.listen(SOUND, everything()).heard
    assert ("vosk" in heard.by_listener) == (where == "transcribe") and "ear" in heard.by_listener
    assert hearing.transcribe(SOUND) == "by ear"
    assert [lost.listener for lost in hearing.faults()] == ["vosk"]
    assert all(thread.daemon for thread in threading.enumerate() if thread.name == "vosk")
    forever.set()


def test_where_none_is_left_it_is_deaf_and_typed_words_never_are():
    hearing = Hearing([Listener("ear", where="hear", fault=MemoryError())], who)
    for _ in range(2):
        assert hearing.listen(SOUND, everything()).heard.decision == "reject"
    assert hearing.deaf and hearing.transcribe(SOUND) == ""
    assert not Hearing((), who).deaf


def test_a_lost_listener_is_said_and_recorded_and_the_last_one_ends_the_session_with_all_its_sound():
    ear = Listener("ear", where="hear", fault=RuntimeError("broken"))
    vosk = Listener("vosk", where="hear", fault=RuntimeError("broken too"))
    vosk.times = 0
    pieces = [part for _ in range(6) for part in (quiet(1.0), speech(0.8), quiet(1.5))]
    made = session(Script(*pieces), hearing=Hearing([ear, vosk], who))
    real_hear = vosk.hear

    def until_the_third(samples, grammar):
        vosk.times = 10**6 if len(list(heard_of(made))) >= 3 else 0
        return real_hear(samples, grammar)

    vosk.hear = until_the_third
    with pytest.raises(CannotHear, match="broken too"):
        made.run((OPENED, work()))
    told = [e for e in events_of(made) if e.kind == "trouble-found"]
    assert [e.what for e in told] == ["listener-lost", "no-listener"] and "broken" in told[0].detail
    said = " ".join(e.text for e in events_of(made) if e.kind == "prompt-spoken")
    assert "One of my listeners has failed." in said and "I can't hear any more. Everything is stored." in said
    kept = len(made.recording.audio.files)
    assert kept == len(list(heard_of(made))) + 1, "the sound of the utterance that ended it is not kept"


def heard_of(made):
    return (e for e in events_of(made) if e.kind == "utterance-heard")


def test_closing_waits_for_what_an_engine_has_begun():
    begun, go_on, done = threading.Event(), threading.Event(), []

    class Slow(Listener):
        def prepare(self, grammar) -> None:
            begun.set()
            go_on.wait(5)
            done.append(self.name)

    hearing = Hearing([Slow("vosk")], who)
    hearing.prepare(everything())
    assert begun.wait(5)
    threading.Timer(0.1, go_on.set).start()
    hearing.close()
    assert done == ["vosk"]
