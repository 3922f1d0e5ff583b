"""What every listener promises, whatever engine is behind it: one body of checks for all of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from assistant.ports import Follower, Recogniser, Transcriber
from assistant.speech.meaning import Command, Value
from assistant.speech.vocabulary import Expecting, everything, grammar_for
from tests.devices.clips import SAID, clip, hiss

ODD = {
    "nothing at all": np.zeros(0, np.int16),
    "one sample": np.array([5], np.int16),
    "digital silence": np.zeros(32_000, np.int16),
    "the least noise": hiss(1.0, 1.0),
    "a constant": np.full(16_000, 12_000, np.int16),
    "full scale noise": np.where(hiss(1.0, 100.0) > 0, 32_767, -32_768).astype(np.int16),
    "a click": np.concatenate([np.zeros(8_000, np.int16), np.array([32_767], np.int16), np.zeros(8_000, np.int16)]),
    "a very short burst": hiss(0.02, 3_000.0),
}


class RecogniserContract:
    """What `ports.Recogniser` and the ports beside it promise, also of the tests' engines: a `listener` fixture."""

    def test_it_prepares_for_a_grammar_and_knows_what_it_lacks(self, listener):
        assert isinstance(listener, Recogniser)
        listener.prepare(everything())
        assert set(listener.unknown_words(everything())) <= set(everything().vocabulary())

    def test_it_says_who_heard_and_takes_odd_sound(self, listener):
        assert all(listener.hear(sound, everything()).listener == listener.name for sound in ODD.values())

    def test_what_it_writes_down_is_text_and_what_it_follows_are_words(self, listener):
        if isinstance(listener, Transcriber):
            assert isinstance(listener.transcribe(ODD["digital silence"]), str)
        if isinstance(listener, Follower):
            listener.follow(everything())
            listener.take(ODD["digital silence"])
            assert all(isinstance(word, str) for word in listener.words_so_far())


class ListenerContract(RecogniserContract):
    """The same, and what it makes of recorded speech. Subclass with a `listener` fixture."""

    def best(self, listener: Recogniser, name: str):
        reading = listener.hear(clip(name), everything())
        return reading.candidates[0].meaning if reading.candidates else None

    def test_says_its_name_and_what_it_took(self, listener):
        reading = listener.hear(clip("ninety-five"), everything())
        assert reading.listener == listener.name
        assert reading.seconds > 0
        assert reading.free_text

    @pytest.mark.parametrize("name", SAID)
    def test_values_said_clearly_are_among_its_candidates(self, listener, name):
        number, unit = SAID[name]
        reading = listener.hear(clip(name), everything())
        values = [c.meaning for c in reading.candidates if isinstance(c.meaning, Value)]
        assert (number, unit) in [(str(v.number), v.unit) for v in values]

    def test_candidates_come_best_first_and_each_meaning_once(self, listener):
        found = listener.hear(clip("one-two-zero"), everything()).candidates
        scores = [c.log_probability for c in found]
        assert scores == sorted(scores, reverse=True)
        assert all(math.isfinite(s) for s in scores)
        assert len({c.meaning for c in found}) == len(found)

    def test_hears_a_command(self, listener):
        assert self.best(listener, "say-again") == Command("say again")

    def test_the_grammar_of_the_state_decides_what_can_be_heard(self, listener):
        commands_only = grammar_for(Expecting(values=False, yes_no=False))
        reading = listener.hear(clip("three-hundred-and-ten"), commands_only)
        assert not any(isinstance(c.meaning, Value) for c in reading.candidates)

    def test_one_utterance_leaves_nothing_behind_for_the_next(self, listener):
        before = listener.hear(clip("ninety-five"), everything()).candidates
        listener.hear(clip("three-hundred-and-ten"), everything())
        listener.hear(hiss(1.0, 3_000.0), everything())
        after = listener.hear(clip("ninety-five"), everything()).candidates
        assert [(c.meaning, c.log_probability) for c in before] == [(c.meaning, c.log_probability) for c in after]

    @pytest.mark.parametrize("name", ODD)
    def test_odd_sound_is_no_error(self, listener, name):
        reading = listener.hear(ODD[name], everything())
        assert all(math.isfinite(c.log_probability) for c in reading.candidates)

    @pytest.mark.parametrize(
        "name", ["nothing at all", "one sample", "digital silence", "the least noise", "a constant"]
    )
    def test_where_there_is_no_sound_nothing_is_heard(self, listener, name):
        assert listener.hear(ODD[name], everything()).candidates == ()

    def test_a_monologue_is_refused_at_once(self, listener):
        """Twenty minutes would take an encoder with attention over all of it more memory than there is."""
        monologue = np.tile(hiss(60.0, 2_000.0), 20)
        reading = listener.hear(monologue, everything())
        assert reading.candidates == () and reading.seconds < 5

    def test_half_a_sample_of_shift_in_time_does_not_change_what_is_heard(self, listener):
        x = clip("three-hundred-and-ten")
        for cut in (160, 777, 1_600):
            found = listener.hear(x[cut:], everything()).candidates
            assert str(found[0].meaning.number) == "310"
