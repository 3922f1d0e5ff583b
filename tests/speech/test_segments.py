"""All utterances of a recording; and a drowned one that was recorded on purpose."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.espeak_voices import speak
from assistant.devices.noise import make_noise, mix
from assistant.devices.voice_activity import SileroActivity
from assistant.speech.segments import liveliness_db, utterances

SECOND = 16_000


class Deaf:
    frame_samples = 512

    def probability(self, frame):
        return 0.0

    def reset(self):
        pass


def test_utterances_come_in_order_with_their_places():
    first, second = speak("three ten", "gmw/en-us+m3")[0], speak("say again", "gmw/en+f2")[0]
    gap = np.zeros(SECOND, np.int16)
    found = utterances(np.concatenate([gap, first, gap, second, gap]), SileroActivity())
    assert len(found) == 2
    assert 0.8 * SECOND < found[0].speech_start < 1.3 * SECOND
    assert found[1].speech_start > SECOND + len(first) + 0.8 * SECOND


def test_speech_that_fills_the_file_is_found_whole():
    said, first, past = speak("three hundred and ten newton metres", "gmw/en-us+m3")
    (found,) = utterances(said[first:past], SileroActivity())
    assert found.at_sample == 0 and len(found.samples) == past - first


@pytest.mark.parametrize("level", [0, 300, 20_000])
def test_silence_and_steady_noise_hold_nothing(level):
    samples = np.rint(make_noise("pink", 4 * SECOND, 1) * level / 4).astype(np.int16)
    assert utterances(samples, SileroActivity()) == []
    assert utterances(samples, Deaf()) == []


def test_what_nobody_finds_but_varies_is_given_whole_if_it_is_short():
    said = speak("three hundred and ten", "gmw/en-us+m3")[0]
    samples = mix(np.concatenate([np.zeros(SECOND, np.int16), said]), make_noise("fan", 60 * SECOND, 1), 3)
    (found,) = utterances(samples, Deaf())
    assert found.at_sample == 0 and len(found.samples) == len(samples) and found.whole
    assert utterances(np.tile(samples, 10), Deaf()) == []
    assert utterances(samples[:1000], Deaf()) == []


def test_liveliness():
    assert liveliness_db(np.zeros(SECOND, np.int16)) == 0.0 == liveliness_db(np.zeros(0, np.int16))
    assert liveliness_db(np.rint(make_noise("pink", SECOND, 1) * 1000).astype(np.int16)) < 5
