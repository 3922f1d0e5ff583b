"""A clearer prompt: same peak, more high frequencies, less between loud and faint, no silence at its ends."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.prompt_clarity import EDGE_S, clearer

RATE = 22_050


def tone(hz: float, seconds: float, level: float) -> np.ndarray:
    t = np.arange(round(seconds * RATE)) / RATE
    return level * np.sin(2 * np.pi * hz * t)


def as_samples(*parts: np.ndarray) -> np.ndarray:
    return np.rint(np.concatenate(parts) * 32767).astype(np.int16)


def rms(x: np.ndarray) -> float:
    return float(np.sqrt((x.astype(float) ** 2).mean()))


def test_the_peak_stays():
    sound = as_samples(tone(300, 0.5, 0.6), tone(3000, 0.5, 0.05))
    assert np.abs(clearer(sound, RATE)).max() == pytest.approx(np.abs(sound).max(), rel=0.001)


def test_a_faint_consonant_comes_nearer_to_a_loud_vowel():
    sound = as_samples(tone(300, 0.5, 0.6), tone(3000, 0.5, 0.05))
    half = len(sound) // 2
    before = rms(sound[half:]) / rms(sound[:half])
    made = clearer(sound, RATE)
    after = rms(made[half + 600 : half + 9_000]) / rms(made[600:9_000])
    assert after > 2 * before


def test_high_frequencies_gain_on_low_ones_of_the_same_level():
    made = clearer(as_samples(tone(200, 0.5, 0.3) + tone(4000, 0.5, 0.3)), RATE)
    spectrum = np.abs(np.fft.rfft(made * np.hanning(len(made))))
    hz = np.fft.rfftfreq(len(made), 1 / RATE)
    low, high = (spectrum[(hz > f - 50) & (hz < f + 50)].max() for f in (200, 4000))
    assert high > 1.5 * low


def test_silence_at_the_ends_goes_and_a_pause_within_stays_silent():
    quiet = np.zeros(round(0.4 * RATE))
    sound = as_samples(quiet, tone(500, 0.3, 0.5), quiet, tone(500, 0.3, 0.5), quiet)
    made = clearer(sound, RATE)
    assert len(made) / RATE == pytest.approx(1.0 + 2 * EDGE_S, abs=0.005)
    middle = len(made) // 2
    assert np.abs(made[middle - 2_000 : middle + 2_000]).max() == 0


@pytest.mark.parametrize("sound", [np.zeros(0, np.int16), np.zeros(500, np.int16)])
def test_silence_comes_back_as_it_is(sound):
    assert np.array_equal(clearer(sound, RATE), sound)


@pytest.mark.parametrize("length", [1, 2, 50, 300])
def test_any_length_will_do(length):
    made = clearer(np.full(length, 1000, np.int16), RATE)
    assert made.dtype == np.int16 and 0 < len(made) <= length and np.abs(made).max() <= 1001
