"""The real network: speech is likely in speech and unlikely in noise; frames are checked."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.espeak_voices import speak
from assistant.devices.noise import make_noise
from assistant.devices.voice_activity import SileroActivity


def probabilities(samples):
    activity = SileroActivity()
    size = activity.frame_samples
    return np.array([activity.probability(samples[at : at + size]) for at in range(0, len(samples) - size + 1, size)])


def test_speech_and_noise_are_told_apart():
    samples, first, past = speak("three hundred and ten newton metres", "gmw/en-us+m3")
    within = probabilities(np.concatenate([np.zeros(8_000, np.int16), samples]))[
        (8_000 + first) // 512 + 2 : (8_000 + past) // 512 - 2
    ]
    noise = np.rint(make_noise("fan", 80_000, 1) * 1500).astype(np.int16)
    assert np.median(within) > 0.9
    assert probabilities(noise)[5:].max() < 0.3


def test_reset_forgets():
    samples, _, _ = speak("three hundred and ten newton metres", "gmw/en-us+m3")
    activity = SileroActivity()
    once = [activity.probability(samples[at : at + 512]) for at in range(0, 8192, 512)]
    activity.reset()
    assert once == [activity.probability(samples[at : at + 512]) for at in range(0, 8192, 512)]


@pytest.mark.parametrize("frame", [np.zeros(511, np.int16), np.zeros(512, np.float32), np.zeros((512, 1), np.int16)])
def test_other_frames_are_refused(frame):
    with pytest.raises(ValueError, match="512 int16"):
        SileroActivity().probability(frame)
