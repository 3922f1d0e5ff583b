from __future__ import annotations

import numpy as np
import pytest

from assistant.speech.quality import measure


def tone(seconds: float, peak: float) -> np.ndarray:
    return peak * np.sin(2 * np.pi * 300 * np.arange(int(seconds * 16_000)) / 16_000)


def in_hiss(tones: np.ndarray, level: float) -> np.ndarray:
    noise = np.random.default_rng(0).standard_normal(len(tones)) * level
    return np.clip(np.rint(tones + noise), -32_768, 32_767).astype(np.int16)


@pytest.mark.parametrize("snr_db", [5, 10, 20, 30])
def test_signal_to_noise_ratio_of_a_tone_in_hiss(snr_db):
    level = 4_000 / np.sqrt(2) / 10 ** (snr_db / 20)
    x = in_hiss(np.concatenate([np.zeros(8_000), tone(1.0, 4_000), np.zeros(8_000)]), level)
    found = measure(x)
    assert found.snr_db == pytest.approx(snr_db, abs=2.5)
    assert found.speech_s == pytest.approx(1.0, abs=0.25)
    assert found.level_dbfs == pytest.approx(20 * np.log10(4_000 / np.sqrt(2) / 32_768), abs=1.5)


def test_clipping_is_the_share_of_samples_at_full_scale():
    x = np.zeros(16_000, np.int16)
    x[:160] = 32_767
    x[160:320] = -32_768
    assert measure(x).clipped == pytest.approx(0.02)


@pytest.mark.parametrize("x", [np.zeros(0), np.zeros(100), np.zeros(16_000), np.full(16_000, 12_000)])
def test_no_sound_is_silent(x):
    found = measure(x.astype(np.int16))
    assert found.silent
    assert found.seconds == len(x) / 16_000


def test_sound_is_not_silent():
    assert not measure(in_hiss(tone(1.0, 60), 1.0)).silent
