"""What follows an utterance answers as if it had not, and tells words on the way."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.vosk_follower import STEP_SAMPLES, VoskFollower, read_partial
from assistant.devices.vosk_listener import VoskListener
from assistant.errors import ModelMissing
from assistant.ports import Follower
from assistant.speech.vocabulary import Expecting, everything, grammar_for
from tests.devices.clips import FOLDER, MODELS, clip, hiss, in_noise
from tests.devices.listener_contract import ListenerContract

CLIPS = sorted(path.stem for path in FOLDER.glob("*.flac"))
COMMANDS = grammar_for(Expecting(values=False, yes_no=True))


@pytest.fixture(scope="module")
def listener():
    return VoskFollower(MODELS / "vosk")


@pytest.fixture(scope="module")
def plain_one():
    return VoskListener(MODELS / "vosk")


@pytest.fixture
def plain(plain_one, listener):
    """The listener that does not follow. Both begin with new recogniser objects: what an engine heard before moves its
    log-probabilities by up to 3e-4, whether it follows or not, so that only equal histories can be compared exactly.
    """
    listener._stop()
    listener._recognisers.clear()
    plain_one._recognisers.clear()
    return plain_one


def told(reading):
    """All of a reading but the time that it took."""
    return reading.candidates, reading.free_text, reading.extra


def follow(listener, samples, grammar, *, piece=512):
    listener.follow(grammar)
    for start in range(0, len(samples), piece):
        listener.take(samples[start : start + piece])


class TestVoskFollower(ListenerContract):
    def test_is_a_follower(self, listener, plain):
        assert isinstance(listener, Follower)
        assert not isinstance(plain, Follower)

    @pytest.mark.parametrize("piece", [320, 512, 7_001])
    def test_what_was_followed_is_heard_the_same(self, listener, plain, piece):
        """Same candidates, same log-probabilities to the last bit, same figures, words asked or not."""
        for place, name in enumerate(CLIPS * 2):
            x = in_noise(clip(name), 0 if place < len(CLIPS) else 800)
            follow(listener, x, everything(), piece=piece)
            if place % 2:
                listener.words_so_far()
            assert told(listener.hear(x, everything())) == told(plain.hear(x, everything())), name

    def test_the_engine_has_only_the_rest_left_to_decode(self, listener):
        x = clip("three-hundred-and-ten")
        follow(listener, x[: 4 * STEP_SAMPLES + 100], everything())
        assert len(listener._followed.rest_of(x)) == len(x) - 4 * STEP_SAMPLES
        follow(listener, x, everything())
        listener.words_so_far()
        assert len(listener._followed.rest_of(x)) == 0

    @pytest.mark.parametrize("asked_at", [1_000, STEP_SAMPLES, 20_000])
    def test_words_asked_in_between_change_nothing(self, listener, plain, asked_at):
        x = in_noise(clip("two-seventy-point-five"), 800)
        listener.follow(everything())
        listener.take(x[:asked_at])
        listener.words_so_far()
        listener.take(x[asked_at:])
        assert told(listener.hear(x, everything())) == told(plain.hear(x, everything()))

    def test_other_sound_than_was_followed_is_heard_as_it_is(self, listener, plain):
        x = clip("ninety-five")
        for followed in (clip("stop"), np.concatenate([x, hiss(0.5, 500.0)]), x[100:]):
            follow(listener, followed, everything())
            assert told(listener.hear(x, everything())) == told(plain.hear(x, everything()))

    def test_hearing_ends_the_following(self, listener):
        x = clip("ninety-five")
        follow(listener, x, everything())
        listener.hear(x, everything())
        assert listener.words_so_far() == ()
        listener.take(x)
        assert listener.words_so_far() == ()

    def test_an_utterance_that_was_given_up_leaves_nothing_behind(self, listener, plain):
        x = clip("ninety-five")
        follow(listener, clip("three-hundred-and-ten")[:25_000], everything())
        follow(listener, x, everything())
        assert told(listener.hear(x, everything())) == told(plain.hear(x, everything()))

    def test_each_grammar_has_a_recogniser_of_its_own_and_keeps_it(self, listener, plain):
        listener.prepare(everything())
        listener.prepare(COMMANDS)
        kept = dict(listener._recognisers)
        x = clip("stop")
        follow(listener, x, everything())
        assert listener._followed.recogniser is kept[everything()]
        assert told(listener.hear(x, COMMANDS)) == told(plain.hear(x, COMMANDS))
        assert listener._followed is not None  # the other grammar's recogniser was at work
        assert told(listener.hear(x, everything())) == told(plain.hear(x, everything()))
        follow(listener, x, COMMANDS)
        assert listener._followed.recogniser is kept[COMMANDS] is not kept[everything()]

    def test_words_come_while_it_is_spoken(self, listener):
        x = clip("two-seventy-point-five")
        listener.follow(everything())
        assert listener.words_so_far() == ()
        seen = []
        for start in range(0, len(x), 1_600):
            listener.take(x[start : start + 1_600])
            seen.append(listener.words_so_far())
        assert () in seen and ("two", "seventy") in seen
        assert seen[-1] == ("two", "seventy", "point", "five")

    def test_breath_before_the_first_word_is_no_word(self, listener):
        follow(listener, in_noise(clip("talk-hammer"), 0), everything())
        assert listener.words_so_far()[:1] != ("[unk]",)


def test_partial_answers_are_read_strictly():
    assert read_partial('{"partial": "three [unk]"}') == ("three", "[unk]")
    assert read_partial('{"partial": ""}') == ()
    for odd in ('{"text": ""}', "{}", "[]", "three", '{"partial": 5}', '{"partial": "a", "partial_result": []}'):
        with pytest.raises(ModelMissing, match="unknown shape"):
            read_partial(odd)
