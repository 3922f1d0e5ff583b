"""Following and reading ahead: what the follower is given, in which thread, and what its words may do."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from assistant.journal.recording import MemoryStore
from assistant.ports import Recogniser
from assistant.session.ahead import ReadAhead
from assistant.session.hearing import (
    FINISHED_MS,
    HALF_HEARD_MS,
    MORE_TO_COME_MS,
    USUAL_MS,
    Hearing,
    first_patience_ms,
    patience_ms,
)
from assistant.speech.endpoint import Endpointer
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard, Ranked, Reading
from assistant.speech.utterance import SpeechEnded, SpeechPaused, SpeechResumed
from assistant.speech.vocabulary import everything
from tests.devices.listener_contract import RecogniserContract
from tests.procedure.talk import work
from tests.session.house import OPENED, LongVoice, LoudIsSpeech, events_of, session, typed
from tests.session.test_loop import PREPARED, Script, quiet, speech


class Follows(Recogniser):
    """ports.Follower that notes what it is given and has its words laid out."""

    name = "follows"

    def __init__(self, *words: str) -> None:
        self.words, self.given, self.begun, self.heard = words, np.zeros(0, np.int16), 0, []
        self.threads: set[int] = set()
        self.at_hearing = lambda: None

    def follow(self, grammar: Grammar) -> None:
        self.threads.add(threading.get_ident())
        self.begun, self.given = self.begun + 1, np.zeros(0, np.int16)

    def take(self, samples) -> None:
        self.threads.add(threading.get_ident())
        self.given = np.concatenate([self.given, samples])

    def words_so_far(self) -> tuple[str, ...]:
        self.threads.add(threading.get_ident())
        return self.words

    def hear(self, samples, grammar: Grammar) -> Reading:
        self.threads.add(threading.get_ident())
        self.heard.append((self.given, samples))
        self.at_hearing()
        return Reading(self.name, (), fit=0.0)


class TestTheFollowerOfTheTests(RecogniserContract):
    @pytest.fixture
    def listener(self):
        return Follows("stop")


def verdict(text: str = "", decision: str = "reject"):
    def combine(_readings, _samples) -> Heard:
        meaning = everything().parse(text)
        ranked = () if meaning is None else (Ranked(meaning, text, 0.99),)
        return Heard(ranked, decision, 0.0, text, {}, True)

    return combine


def read(
    follows: Follows, *sound: np.ndarray, combine=None, step: int = 320, go_on=lambda _: False, comes_of=lambda *_: ""
) -> Endpointer:
    """Let the reading ahead run over made-up sound; the endpointer as it was at the last pause."""
    endpointer = Endpointer(LoudIsSpeech(), EndpointSettings())
    reading = ReadAhead(Hearing([follows], combine or verdict()), endpointer, everything, go_on, comes_of)
    follows.at_hearing = lambda: follows.patience.append(endpointer.patience_ms)
    follows.patience, follows.after = [], []
    samples = np.concatenate(sound)
    for start in range(0, len(samples), step):
        now = start + step
        for event in endpointer.feed(samples[start:now]):
            if isinstance(event, SpeechPaused):
                reading.paused(event.utterance, now=now)
                follows.after.append(endpointer.patience_ms)
            elif isinstance(event, SpeechResumed):
                reading.resumed()
            elif isinstance(event, SpeechEnded):
                reading.ended(event.utterance, now=now)
        reading.follow()
    return endpointer


@pytest.mark.parametrize("step", [160, 320, 512, 4_000])
def test_at_a_pause_the_follower_has_exactly_the_utterance_pre_roll_included(step):
    follows = Follows()
    read(follows, quiet(1.0), speech(1.0), quiet(2.0), step=step)
    given, heard = follows.heard[0]
    assert len(heard) > 16_000
    assert np.array_equal(given, heard)


def test_after_a_pause_it_is_followed_from_its_beginning_again():
    follows = Follows("three", "hundred", "and")
    read(follows, quiet(1.0), speech(0.6), quiet(0.3), speech(0.6), quiet(2.0))
    assert len(follows.heard) == 2 and follows.begun == 2
    for given, heard in follows.heard:
        assert np.array_equal(given, heard)


def test_all_of_a_listener_runs_in_one_thread_and_not_in_ours():
    follows = Follows()
    read(follows, quiet(1.0), speech(0.6), quiet(0.3), speech(0.6), quiet(2.0))
    assert len(follows.threads) == 1 and threading.get_ident() not in follows.threads


def test_partial_words_give_the_first_patience_before_anybody_has_heard_the_utterance():
    for words in (("stop",), ("three", "ten"), ("three", "hundred"), ("three", "hundred", "and"), ()):
        follows = Follows(*words)
        read(follows, quiet(1.0), speech(1.0), quiet(2.0), combine=verdict("stop", "accept"))
        assert follows.patience == [first_patience_ms(words, everything())]


def test_the_verdict_refines_it():
    for text in ("stop", "three hundred", "one two"):
        for decision in ("accept", "ask"):
            follows = Follows("three", "hundred", "and")
            combine = verdict(text, decision)
            read(follows, quiet(1.0), speech(1.0), quiet(2.0), combine=combine)
            assert follows.after == [patience_ms(combine((), ()), everything())]


def test_what_is_taken_though_nobody_is_sure_ends_as_soon_as_what_is_sure():
    for text in ("snug", "two eighty"):
        sure, unsure = (verdict(text, decision) for decision in ("accept", "ask"))
        follows = Follows(*text.split())
        read(follows, quiet(1.0), speech(1.0), quiet(2.0), combine=unsure, comes_of=lambda *_: "taken")
        assert follows.after == [patience_ms(sure((), ()), everything())]
        assert follows.after[0] <= patience_ms(unsure((), ()), everything())
    follows = Follows("snug")
    read(follows, quiet(1.0), speech(1.0), quiet(2.0), combine=verdict("snug", "reject"), comes_of=lambda *_: "taken")
    assert follows.after == [HALF_HEARD_MS], "what was not understood is never taken"


@pytest.mark.parametrize("text", ["one eight two", "one eight", "two hundred"])
def test_a_reading_that_the_window_takes_is_whole_and_is_not_waited_for(text):
    """Figures one by one are else waited for, as another may follow: so they are where nothing takes them, too."""
    for outcome, decision, waits_ms in (
        ("taken", "accept", FINISHED_MS),
        ("taken", "ask", FINISHED_MS),
        ("", "accept", patience_ms(verdict(text, "accept")((), ()), everything())),
    ):
        follows = Follows(*text.split())
        made = {"combine": verdict(text, decision), "comes_of": lambda *_, made=outcome: made}
        read(follows, quiet(1.0), speech(1.0), quiet(2.0), **made)
        assert follows.after == [waits_ms]
    assert patience_ms(verdict(text, "accept")((), ()), everything()) > FINISHED_MS
    follows = Follows(*text.split())
    made = {"combine": verdict(text, "accept"), "comes_of": lambda *_: "taken", "go_on": lambda _: True}
    read(follows, quiet(1.0), speech(1.0), quiet(2.0), **made)
    assert follows.after == [MORE_TO_COME_MS], "a longer number fits as well"


def test_what_would_only_be_refused_may_be_the_beginning_of_talk_and_is_waited_for():
    for text, decision in (("snug", "accept"), ("", "reject")):
        follows = Follows("snug")
        made = {"combine": verdict(text, decision), "comes_of": lambda *_: "refused"}
        read(follows, quiet(1.0), speech(1.0), quiet(2.0), **made)
        assert follows.after == [MORE_TO_COME_MS]


@pytest.mark.parametrize(
    ("words", "waits_ms"),
    [("stop", HALF_HEARD_MS), ("three ten", HALF_HEARD_MS), ("three hundred and", MORE_TO_COME_MS), ("", USUAL_MS)],
)
def test_where_nothing_was_understood_partial_words_still_tell_whether_more_comes(words, waits_ms):
    for combine in (verdict(), verdict("stop", "reject")):
        follows = Follows(*words.split())
        read(follows, quiet(1.0), speech(1.0), quiet(2.0), combine=combine)
        assert follows.after == [waits_ms]


def test_a_listener_that_lacks_a_word_does_not_follow():
    class Lacks(Follows):
        def unknown_words(self, grammar):
            return ("tried",)

    follows = Lacks("stop")
    read(follows, quiet(1.0), speech(1.0), quiet(2.0))
    assert follows.begun == 0 and len(follows.given) == 0
    assert follows.after == [USUAL_MS]


def test_a_follower_that_goes_wrong_costs_its_partial_words_and_nothing_else():
    class Breaks(Follows):
        def take(self, samples):
            raise RuntimeError("engine gone")

    breaks = Breaks("stop")
    read(breaks, quiet(1.0), speech(1.0), quiet(2.0))
    assert breaks.begun == 1 and len(breaks.heard) == 1


def test_partial_words_enter_nothing():
    """However clear they are: what the listeners did not understand is no reading and no command."""
    for words in (("ninety",), ("stop",), ("ninety", "newton", "metres")):
        store = MemoryStore()
        typed(PREPARED, recording=store)
        again = store.reopened()
        before = len(again.entries)
        follows = Follows(*words)
        sound = Script(quiet(1.0), speech(1.0), quiet(2.0))
        made = session(sound, recording=again, hearing=Hearing([follows], verdict()))
        made.run(())
        assert follows.begun == 1
        assert made.state.dialogue == "guiding" and not any(e.reading for e in made.state.entries)
        heard = [e for e in events_of(made)[before:] if e.kind == "utterance-heard"]
        assert len(heard) == 1 and heard[0].alternatives == () and not heard[0].listeners


def test_sound_under_a_prompt_is_not_followed():
    follows = Follows("stop")
    made = session(
        Script(quiet(0.5), speech(1.0), quiet(3.0)), speaker=LongVoice(32_000), hearing=Hearing([follows], verdict())
    )
    made.run((OPENED, work()))
    assert follows.begun == 0 and not follows.heard


def test_a_number_that_is_not_over_by_its_window_is_waited_for_and_a_whole_one_is_not():
    part = Follows("one", "seven")
    read(part, quiet(1.0), speech(1.0), quiet(0.4), combine=verdict("one seven", "accept"), go_on=lambda heard: True)
    assert part.after[0] == MORE_TO_COME_MS
    whole = Follows("one", "seven", "two")
    read(whole, quiet(1.0), speech(1.0), quiet(0.4), combine=verdict("one seven two", "accept"))
    assert whole.after[0] < MORE_TO_COME_MS
    nothing = Follows()
    read(nothing, quiet(1.0), speech(1.0), quiet(0.4), combine=verdict("one seven"), go_on=lambda heard: True)
    assert nothing.after[0] < MORE_TO_COME_MS  # refused: noise is not waited for
