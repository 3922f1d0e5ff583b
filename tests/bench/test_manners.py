"""Imitated manners of speaking: what they say they change changes, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest

from scripts.bench.corpus import RATE_HZ
from scripts.bench.imitated import MANNERS
from scripts.bench.manners import said_so
from scripts.bench.spoken import said

PITCH_HZ = 125


@pytest.fixture
def voice() -> np.ndarray:
    """A second of a hummed vowel: harmonics of one pitch under two humps."""
    t = np.arange(RATE_HZ) / RATE_HZ
    tones = ((h, np.exp(-(((h * PITCH_HZ - 700) / 400) ** 2)) + 0.05) for h in range(1, 40))
    return sum(a * np.sin(2 * np.pi * h * PITCH_HZ * t + h * h) for h, a in tones).astype(np.float32)


def changed(name: str, x: np.ndarray) -> np.ndarray:
    return MANNERS[name](x, np.random.default_rng(3))


def periodic(x: np.ndarray) -> float:
    """How alike the sound is to itself one period of the pitch later, -1 ... 1."""
    middle = x[len(x) // 4 : -len(x) // 4].astype(float)
    lag = RATE_HZ // PITCH_HZ
    return float(np.corrcoef(middle[:-lag], middle[lag:])[0, 1])


@pytest.mark.parametrize("name", MANNERS)
def test_every_manner_gives_finite_sound(name, voice):
    y = changed(name, voice)
    assert y.dtype == np.float32 and np.isfinite(y).all()
    assert y.std() > 0.01


def test_whispering_takes_the_voice_and_leaves_the_tract(voice):
    y = changed("whispered", voice)
    assert periodic(voice) > 0.95 and abs(periodic(y)) < 0.4
    spectrum = np.abs(np.fft.rfft(y)) ** 2
    assert spectrum[600:1000].mean() > 5 * spectrum[2000:3000].mean()


@pytest.mark.parametrize(("name", "pace"), [("hasty", 1.25), ("drawled", 0.75)])
def test_haste_and_drawl_change_the_length_and_keep_the_pitch(name, pace, voice):
    y = changed(name, voice)
    assert len(y) == pytest.approx(len(voice) / pace, rel=0.01)
    assert periodic(y) > 0.85


def test_a_raised_voice_is_higher(voice):
    assert abs(periodic(changed("raised voice", voice))) < 0.9


def test_mumbling_is_dull_and_fades(voice):
    y = changed("mumbled", voice)
    quarter = len(y) // 4
    assert y[-quarter:].std() < 0.6 * y[:quarter].std()
    before, after = (np.abs(np.fft.rfft(x)) ** 2 for x in (voice, y))
    assert after[3000:4000].sum() / after.sum() < 0.2 * before[3000:4000].sum() / before.sum()


def test_a_radio_has_no_low_notes(voice):
    rumble = (voice + 3 * np.sin(2 * np.pi * 50 * np.arange(len(voice)) / RATE_HZ)).astype(np.float32)
    spectrum = np.abs(np.fft.rfft(changed("hand radio", rumble)))
    assert spectrum[40:60].max() < 0.05 * spectrum.max()


def test_each_manner_is_another_utterance_and_the_same_each_time(voice):
    s = said("a", "ten", "nobody", "digits", voice)
    keys = {said_so(s, name).key for name in MANNERS}
    assert len(keys) == len(MANNERS)
    assert said_so(s, "as recorded") is s
    assert np.array_equal(said_so(s, "whispered").sound, said_so(s, "whispered").sound)
