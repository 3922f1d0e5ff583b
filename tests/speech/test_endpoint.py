"""The endpointer's rules, with a detector that follows the level. Its worth is tried in test_endpoint_in_noise."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.speech.endpoint import Endpointer
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.utterance import InputDead, SpeechBegan, SpeechEnded, SpeechPaused, SpeechResumed, Utterance

FRAME = 512
SECOND = 16_000


class LevelDetector:
    """Sound of more than a hundredth of full scale is speech; stands for the network where only the rules matter."""

    frame_samples = FRAME

    def __init__(self) -> None:
        self.resets = 0

    def probability(self, frame):
        assert frame.dtype == np.int16 and frame.shape == (FRAME,)
        return 0.95 if np.abs(frame.astype(int)).mean() > 1000 else 0.02

    def reset(self):
        self.resets += 1


def tone(seconds: float, level: float = 0.3) -> np.ndarray:
    time = np.arange(round(seconds * SECOND)) / SECOND
    return np.rint(level * 32767 * np.sin(2 * np.pi * 440 * time)).astype(np.int16)


def hush(seconds: float, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).integers(-3, 4, round(seconds * SECOND)).astype(np.int16)


def sound(*pieces: np.ndarray) -> np.ndarray:
    return np.concatenate(pieces)


def events_of(samples, *, cuts=(), patience=None, react=None, settings=None, detector=None):
    """All events of a sound fed in blocks that end at `cuts`; `react` may set the patience at each event."""
    endpointer = Endpointer(detector or LevelDetector(), settings)
    if patience is not None:
        endpointer.patience_ms = patience
    found = []
    edges = [0, *sorted(cut for cut in cuts if 0 < cut < len(samples)), len(samples)]
    for start, end in itertools.pairwise(edges):
        for event in endpointer.feed(samples[start:end]):
            found.append(event)
            if react:
                endpointer.patience_ms = react(event)
    return found + list(endpointer.finish())


def plain(events):
    """Events as comparable tuples, sound included."""
    return [
        (
            type(event).__name__,
            (
                event.utterance.at_sample,
                event.utterance.samples.tobytes(),
                event.utterance.speech_start,
                event.utterance.speech_end,
            )
            if isinstance(event, SpeechEnded | SpeechPaused)
            else event.at_sample,
        )
        for event in events
    ]


def ended(events) -> list[Utterance]:
    return [event.utterance for event in events if isinstance(event, SpeechEnded)]


def talk(seconds: float) -> np.ndarray:
    """Syllables: a quarter of a second loud, a fifth nearly silent."""
    samples = tone(seconds)
    weak = np.arange(len(samples)) % round(0.45 * SECOND) >= round(0.25 * SECOND)
    return np.where(weak, samples // 100, samples)


TWO_WORDS = sound(hush(1.0), tone(0.5), hush(0.3, 1), tone(0.4), hush(1.5, 2))


def test_one_phrase_gives_began_paused_ended_with_its_edges():
    samples = sound(hush(1.0), tone(0.5), hush(1.5, 1))
    events = events_of(samples)
    assert [type(event) for event in events] == [SpeechBegan, SpeechPaused, SpeechEnded]
    (utterance,) = ended(events)
    assert abs(utterance.speech_start - SECOND) <= FRAME and abs(utterance.speech_end - 1.5 * SECOND) <= FRAME + 200
    assert utterance.at_sample <= SECOND - 0.25 * SECOND, "no pre-roll"
    assert utterance.at_sample + len(utterance.samples) >= 1.5 * SECOND + 0.15 * SECOND, "no tail"
    assert utterance.whole
    np.testing.assert_array_equal(
        utterance.samples,
        samples[utterance.at_sample : utterance.at_sample + len(utterance.samples)],
        "not the microphone's own samples",
    )


@settings(max_examples=40)
@given(
    st.lists(st.integers(1, len(TWO_WORDS) - 1), max_size=30, unique=True), st.sampled_from([200, 250, 400, 600, 900])
)
def test_the_way_sound_is_cut_never_changes_what_is_found(cuts, patience):
    assert plain(events_of(TWO_WORDS, cuts=cuts, patience=patience)) == plain(events_of(TWO_WORDS, patience=patience))


@settings(max_examples=40)
@given(st.lists(st.integers(1, len(TWO_WORDS) - 1), max_size=20, unique=True))
def test_nor_when_the_session_sets_the_patience_at_each_event(cuts):
    def react(event):
        return 150 if isinstance(event, SpeechPaused) else 600  # 'complete': end it soon

    found = plain(events_of(TWO_WORDS, cuts=cuts, react=react))
    assert found == plain(events_of(TWO_WORDS, react=react))
    assert [name for name, _ in found].count("SpeechEnded") == 2, "patience set at the pause did not end the first word"


def test_patience_joins_or_parts_two_words():
    assert len(ended(events_of(TWO_WORDS, patience=200))) == 2
    joined = events_of(TWO_WORDS, patience=600)
    assert [type(event) for event in joined] == [SpeechBegan, SpeechPaused, SpeechResumed, SpeechPaused, SpeechEnded]
    (utterance,) = ended(joined)
    assert utterance.speech_end - utterance.speech_start > 1.1 * SECOND


def test_what_was_offered_at_the_pause_is_the_beginning_of_what_ends():
    events = events_of(sound(hush(1.0), tone(0.5), hush(1.5, 1)))
    offered, final = events[1].utterance, events[2].utterance
    assert offered.at_sample == final.at_sample and offered.speech_end == final.speech_end
    np.testing.assert_array_equal(offered.samples, final.samples[: len(offered.samples)])


@pytest.mark.parametrize("pieces", [1, 2, 7])
def test_the_sound_of_an_utterance_can_be_had_while_it_is_under_way(pieces):
    """Piece by piece it is the sound that the pause holds; before and after there is none."""
    endpointer, taken = Endpointer(LevelDetector()), np.zeros(0, np.int16)
    paused = []
    for number, start in enumerate(range(0, len(TWO_WORDS), 320)):
        for event in endpointer.feed(TWO_WORDS[start : start + 320]):
            if isinstance(event, SpeechPaused):
                paused.append(event.utterance.samples)
                np.testing.assert_array_equal(endpointer.under_way(), paused[-1])
                taken = np.concatenate([taken, endpointer.under_way(len(taken))])
                np.testing.assert_array_equal(taken, paused[-1])
        if not endpointer.in_speech:
            assert len(endpointer.under_way()) == 0
        elif number % pieces == 0:
            taken = np.concatenate([taken, endpointer.under_way(len(taken))])
            assert len(endpointer.under_way(len(taken))) == 0 and len(endpointer.under_way(len(taken) + 9_999)) == 0
            np.testing.assert_array_equal(endpointer.under_way(700), endpointer.under_way()[700:])
    assert len(paused) == 2


def test_a_click_is_not_speech():
    assert events_of(sound(hush(1.0), tone(0.005), hush(1.5, 1))) == []


class Scripted(LevelDetector):
    """Says what it was told to, frame by frame."""

    def __init__(self, said):
        super().__init__()
        self.said = iter(said)

    def probability(self, frame):
        return next(self.said, 0.02)


@pytest.mark.parametrize(("probability", "level", "found"), [(0.35, 0.1, 1), (0.35, 0.0, 0), (0.06, 0.1, 0)])
def test_half_drowned_speech_counts_where_the_level_rises_too(probability, level, found):
    """At 0 dB the network gives short words 0.2 to 0.5; the same without more sound is noise."""
    quiet = 100  # frames
    samples = sound(hush(quiet * FRAME / SECOND), hush(0.5, 1) + tone(0.5, level), hush(1.5, 2))
    assert len(ended(events_of(samples, detector=Scripted([0.02] * quiet + [probability] * 14)))) == found


def test_the_beginning_is_moved_back_over_sound_that_rises_first():
    """A first fricative has level but hardly any probability."""
    quiet = 100
    samples = sound(hush(quiet * FRAME / SECOND), tone(0.8, 0.1), hush(1.5, 2))
    (utterance,) = ended(events_of(samples, detector=Scripted([0.02] * (quiet + 8) + [0.9] * 14)))
    assert abs(utterance.speech_start - quiet * FRAME) <= FRAME


def test_the_end_is_told_by_the_level_when_the_probability_lingers():
    quiet = 100
    samples = sound(hush(quiet * FRAME / SECOND), tone(16 * FRAME / SECOND, 0.0003), hush(1.5, 2))
    (utterance,) = ended(events_of(samples, detector=Scripted([0.02] * quiet + [0.9] * 16 + [0.5] * 12)))
    assert utterance.speech_end <= (quiet + 16 + 3) * FRAME


def test_somebody_far_fainter_is_not_part_of_the_utterance():
    quiet = 100
    samples = sound(hush(quiet * FRAME / SECOND), tone(16 * FRAME / SECOND, 0.3), tone(1.0, 0.02), hush(1.5, 2))
    (utterance, *_rest) = ended(events_of(samples, detector=Scripted([0.02] * quiet + [0.9] * (16 + 31))))
    assert utterance.speech_end <= (quiet + 16 + 3) * FRAME


def test_a_monologue_is_cut_and_its_pieces_say_that_words_may_be_missing():
    pieces = ended(events_of(sound(hush(1.0), talk(30.0), hush(2.0, 1), tone(0.5), hush(1.5, 2))))
    assert [(one.cut, one.continued, one.whole) for one in pieces] == [
        (True, False, False),
        (True, True, False),
        (False, True, False),
        (False, False, True),
    ]
    assert all(len(one.samples) <= 12.5 * SECOND for one in pieces)
    assert pieces[0].at_sample + len(pieces[0].samples) == pieces[1].at_sample, "sound was lost at the cut"


def test_speech_under_way_at_the_end_of_the_sound_is_given():
    (utterance,) = ended(events_of(sound(hush(1.0), tone(0.507))))
    assert utterance.at_sample + len(utterance.samples) == len(hush(1.0)) + len(tone(0.507))


def test_our_own_prompt_is_skipped_and_what_began_in_it_is_marked():
    endpointer = Endpointer(LevelDetector())
    assert list(endpointer.feed(sound(hush(1.0), tone(0.3)))) != []
    endpointer.skip(2 * SECOND)
    assert not endpointer.in_speech
    (utterance,) = ended([*endpointer.feed(sound(tone(0.4), hush(1.0, 1))), *endpointer.finish()])
    assert utterance.from_gate and not utterance.whole
    assert utterance.at_sample >= 3.3 * SECOND, "sound from before the gate got in"
    endpointer.skip(SECOND)
    (utterance,) = ended([*endpointer.feed(sound(hush(0.5), tone(0.4), hush(1.0, 1))), *endpointer.finish()])
    assert not utterance.from_gate and utterance.whole


def test_skipping_while_events_are_being_handed_out_is_safe():
    endpointer = Endpointer(LevelDetector())
    seen = []
    for event in endpointer.feed(TWO_WORDS):
        seen.append(type(event))
        if isinstance(event, SpeechPaused):
            endpointer.skip(SECOND)
    assert seen == [SpeechBegan, SpeechPaused]
    assert list(endpointer.finish()) == []


def test_a_short_hole_marks_the_utterance_and_keeps_time():
    endpointer = Endpointer(LevelDetector())
    events = list(endpointer.feed(sound(hush(1.0), tone(0.4))))
    events += endpointer.lost(800)
    events += endpointer.feed(sound(tone(0.4), hush(1.5, 1)))
    (utterance,) = ended(events)
    assert utterance.holed and not utterance.whole
    assert abs(utterance.speech_end - (1.8 * SECOND + 800)) <= FRAME + 200
    events = [*endpointer.feed(sound(hush(0.5), tone(0.4), hush(1.5, 1))), *endpointer.finish()]
    assert ended(events)[0].whole, "the mark stuck to the next utterance"


def test_a_hole_in_the_pre_roll_marks_too():
    endpointer = Endpointer(LevelDetector())
    events = list(endpointer.feed(hush(1.0)))
    events += endpointer.lost(320)
    events += endpointer.feed(sound(hush(0.1), tone(0.4), hush(1.5, 1)))
    assert ended(events)[0].holed


def test_a_long_hole_ends_the_utterance_and_speech_right_after_it_is_marked():
    endpointer = Endpointer(LevelDetector())
    events = list(endpointer.feed(sound(hush(1.0), tone(0.4))))
    events += endpointer.lost(3 * SECOND)
    events += endpointer.feed(sound(tone(0.4), hush(1.5, 1)))
    first, second = ended(events)
    assert first.cut and first.holed and not first.whole
    assert not second.whole and second.at_sample >= 4.4 * SECOND - 1


def test_dead_input_is_reported_once_a_spell():
    zeros = np.zeros(5 * SECOND, np.int16)
    events = events_of(sound(zeros, hush(1.0), zeros))
    assert [type(event) for event in events] == [InputDead, InputDead]
    assert abs(events[0].at_sample - 3 * SECOND) <= FRAME
    assert events_of(hush(10.0)) == []


def test_clipping_and_level_are_told():
    loud = np.clip(tone(0.5).astype(int) * 30, -32768, 32767).astype(np.int16)
    (clipped,) = ended(events_of(sound(hush(1.0), loud, hush(1.5, 1))))
    (good,) = ended(events_of(sound(hush(1.0), tone(0.5), hush(1.5, 1))))
    assert clipped.clipped > 0.2 > 0.0 == good.clipped
    assert clipped.level_dbfs > good.level_dbfs + 6


def test_somebody_elses_endless_talk_is_ended_long_before_the_longest():
    """A steady level that never stops becomes the ground; only what stands above it is speech to us."""
    found = ended(events_of(sound(tone(20.0, 0.05), sound(tone(0.6, 0.5)), tone(3.0, 0.05))))
    assert len(found[0].samples) < 8 * SECOND
    assert any(one.at_sample <= 20 * SECOND and one.speech_end >= 20.6 * SECOND - FRAME for one in found[1:]), (
        "speech over it was not found"
    )
    assert found[-1].over_talk and not ended(events_of(TWO_WORDS))[0].over_talk


def test_of_the_wrong_kind_is_an_error():
    endpointer = Endpointer(LevelDetector())
    with pytest.raises(ValueError, match="int16"):
        endpointer.feed(np.zeros(10, np.float32))
    with pytest.raises(ValueError, match="one dimension"):
        endpointer.feed(np.zeros((10, 2), np.int16))
    assert list(endpointer.feed(np.zeros(0, np.int16))) == []


def test_the_longest_may_be_set():
    short = EndpointSettings(longest_s=2.0)
    assert ended(events_of(sound(hush(1.0), talk(3.0), hush(1.0, 1)), settings=short))[0].cut


@pytest.mark.parametrize(
    ("over_talk", "snr_db", "cut", "believed"),
    [
        (False, 0.0, False, True),
        (True, 12.0, False, True),
        (True, 3.0, False, False),
        (True, None, False, False),
        (False, 20.0, True, False),
    ],
)
def test_an_utterance_half_drowned_in_talk_is_not_believed_at_once(over_talk, snr_db, cut, believed):
    utterance = Utterance(
        samples=np.zeros(320, np.int16),
        at_sample=0,
        speech_start=0,
        speech_end=320,
        snr_db=snr_db,
        level_dbfs=-30.0,
        clipped=0.0,
        cut=cut,
        continued=False,
        holed=False,
        from_gate=False,
        over_talk=over_talk,
    )
    assert utterance.believable is believed
