"""Seeded noise, mixing by level, and synthetic voices with known edges."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

from assistant.devices.espeak_voices import VOICES, speak, speech_edges
from assistant.devices.noise import KINDS, active_rms, make_noise, mix
from assistant.errors import BadAudio, BadSettings, ModelMissing

SECOND = 16_000


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_repeatable_loud_as_said_and_varies_with_the_seed(kind):
    noise = make_noise(kind, 3 * SECOND, 7)
    assert noise.shape == (3 * SECOND,) and np.isfinite(noise).all()
    assert np.sqrt(np.mean(noise**2)) == pytest.approx(1.0)
    np.testing.assert_array_equal(noise, make_noise(kind, 3 * SECOND, 7))
    assert not np.array_equal(noise, make_noise(kind, 3 * SECOND, 8))
    assert make_noise(kind, 0, 1).shape == (0,)


def band_share(noise, low_hz, high_hz):
    power = np.abs(np.fft.rfft(noise)) ** 2
    hertz = np.fft.rfftfreq(len(noise), 1 / SECOND)
    return power[(hertz >= low_hz) & (hertz < high_hz)].sum() / power.sum()


def test_colours_are_what_they_are_called():
    """Pink has equal power in every octave, brown a quarter in each one up (definitions)."""
    pink, brown = (make_noise(kind, 30 * SECOND, 1) for kind in ("pink", "brown"))
    assert band_share(pink, 1000, 2000) == pytest.approx(band_share(pink, 250, 500), rel=0.1)
    assert band_share(brown, 500, 1000) == pytest.approx(band_share(brown, 250, 500) / 2, rel=0.15)


def test_a_file_is_looped_to_any_length(tmp_path):
    soundfile.write(tmp_path / "short.wav", np.random.default_rng(1).uniform(-0.1, 0.1, 4 * SECOND), SECOND)
    noise = make_noise(str(tmp_path / "short.wav"), 20 * SECOND, 3)
    assert len(noise) == 20 * SECOND and np.sqrt(np.mean(noise**2)) == pytest.approx(1.0)
    pieces = (noise.reshape(-1, 1600) ** 2).mean(axis=1)
    assert pieces.max() / pieces.min() < 1.5, "a hole or a bang at the seam"


def test_neither_a_kind_nor_a_file_is_refused(tmp_path):
    with pytest.raises(BadSettings, match="waterfall") as caught:
        make_noise("waterfall", 100, 1)
    assert "hammering" in caught.value.remedy
    (tmp_path / "words.wav").write_text("words")
    with pytest.raises(BadAudio):
        make_noise(str(tmp_path / "words.wav"), 100, 1)


@pytest.mark.parametrize("snr_db", [20, 10, 0, -5])
def test_the_ratio_is_that_of_active_speech_to_noise(snr_db):
    said, _, _ = speak("three hundred and ten")
    speech = np.concatenate([np.zeros(5 * SECOND, np.int16), said // 8])  # pauses must not count
    noise = make_noise("pink", len(speech), 1)
    mixed = mix(speech, noise, snr_db)
    assert mixed.dtype == np.int16 and len(mixed) == len(speech)
    measured = 20 * np.log10(active_rms(speech) / np.sqrt(np.mean((mixed[: 5 * SECOND] / 32768.0) ** 2)))
    assert measured == pytest.approx(snr_db, abs=0.3)


def test_the_level_of_speech_leaves_pauses_out():
    tone = np.rint(0.4 * 32767 * np.sin(2 * np.pi * 500 * np.arange(SECOND) / SECOND)).astype(np.int16)
    assert active_rms(np.concatenate([np.zeros(3 * SECOND, np.int16), tone])) == pytest.approx(
        0.4 / np.sqrt(2), rel=0.01
    )


def test_a_loud_mix_is_turned_down_not_cut():
    said, _, _ = speak("three hundred and ten")
    mixed = mix(said, make_noise("hammering", len(said), 1), -20)
    assert np.abs(mixed.astype(int)).max() <= 32_500


def test_silence_stays_silence():
    assert active_rms(np.zeros(SECOND, np.int16)) == 0.0
    assert not mix(np.zeros(SECOND, np.int16), make_noise("pink", SECOND, 1), 0).any()


def test_the_edges_of_speech_are_found():
    samples = np.zeros(SECOND, np.int16)
    samples[4_000:9_000] = 5_000
    first, past = speech_edges(samples)
    assert 3_840 <= first <= 4_000 and 9_000 <= past <= 9_120
    assert speech_edges(np.zeros(SECOND, np.int16)) == (0, 0) == speech_edges(np.zeros(0, np.int16))


def test_a_voice_speaks_the_same_samples_for_the_same_request():
    speak.cache_clear()
    samples, first, past = speak("bolt seven", "gmw/en-us+f3", 150, 60)
    assert samples.dtype == np.int16 and 0 <= first < past <= len(samples)
    assert 0.3 < (past - first) / SECOND < 2.0
    assert np.abs(samples[:first].astype(int)).max(initial=0) < 0.1 * np.abs(samples.astype(int)).max()
    speak.cache_clear()
    np.testing.assert_array_equal(samples, speak("bolt seven", "gmw/en-us+f3", 150, 60)[0])
    with pytest.raises(ValueError, match="read-only"):
        samples[0] = 1


def test_voices_differ_and_there_are_many():
    assert len(set(VOICES)) == len(VOICES) > 100
    said = [speak("yes", voice)[0] for voice in VOICES[::16]]
    assert len({one.tobytes() for one in said}) == len(said)


def test_an_unknown_voice_is_refused():
    with pytest.raises(ModelMissing, match="martian"):
        speak("yes", "martian")
