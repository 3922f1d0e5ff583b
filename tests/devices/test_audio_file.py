"""Sound files of any kind, as people really have them."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

from assistant.devices.audio_file import read_audio
from assistant.errors import BadAudio

TONE_HZ = 440


def tone(rate, seconds=1.0, level=0.5):
    return level * np.sin(2 * np.pi * TONE_HZ * np.arange(round(rate * seconds)) / rate)


def loudest_hz(samples):
    return float(np.abs(np.fft.rfft(samples * np.hanning(len(samples)))).argmax() * 16_000 / len(samples))


@pytest.mark.parametrize(
    ("name", "rate", "options"),
    [
        ("eight-bit.wav", 8_000, {"subtype": "PCM_U8"}),
        ("sixteen-bit.wav", 16_000, {"subtype": "PCM_16"}),
        ("cd.wav", 44_100, {"subtype": "PCM_16"}),
        ("studio.wav", 96_000, {"subtype": "PCM_24"}),
        ("wide.wav", 48_000, {"subtype": "PCM_32"}),
        ("float.wav", 48_000, {"subtype": "FLOAT"}),
        ("double.wav", 22_050, {"subtype": "DOUBLE"}),
        ("telephone.wav", 8_000, {"subtype": "ULAW"}),
        ("packed.flac", 96_000, {"subtype": "PCM_24"}),
        ("vorbis.ogg", 44_100, {"subtype": "VORBIS"}),
        ("opus.ogg", 48_000, {"format": "OGG", "subtype": "OPUS"}),
    ],
)
@pytest.mark.parametrize("channels", [1, 2])
def test_every_kind_becomes_sixteen_kilohertz_mono(tmp_path, name, rate, options, channels):
    path = tmp_path / name
    soundfile.write(path, np.stack([tone(rate)] * channels, axis=1), rate, **options)
    recording = read_audio(path)
    assert recording.samples.dtype == np.int16 and recording.samples.ndim == 1
    assert abs(len(recording.samples) - 16_000) <= 32
    assert recording.seconds == pytest.approx(1.0, abs=0.002)
    assert (recording.rate_hz, recording.channels) == (rate, channels)
    assert loudest_hz(recording.samples) == pytest.approx(TONE_HZ, abs=2)
    assert recording.rms_dbfs == pytest.approx(-9.03, abs=0.7)
    assert recording.peak == pytest.approx(0.5, abs=0.12)
    assert not recording.silent and recording.clipped == 0 and recording.notes == ()


def test_six_channels_are_mixed(tmp_path):
    soundfile.write(tmp_path / "room.wav", np.stack([tone(48_000)] * 6, axis=1), 48_000)
    assert read_audio(tmp_path / "room.wav").rms_dbfs == pytest.approx(-9.03, abs=0.2)


def test_channels_that_cancel_are_not_mixed_to_silence(tmp_path):
    soundfile.write(tmp_path / "wired.wav", np.stack([tone(16_000), -tone(16_000)], axis=1), 16_000)
    recording = read_audio(tmp_path / "wired.wav")
    assert recording.rms_dbfs == pytest.approx(-9.03, abs=0.2)
    assert "cancel" in recording.notes[0]


def test_one_dead_channel_of_two_leaves_the_other(tmp_path):
    soundfile.write(tmp_path / "half.wav", np.stack([tone(16_000), np.zeros(16_000)], axis=1), 16_000)
    assert read_audio(tmp_path / "half.wav").rms_dbfs == pytest.approx(-15.05, abs=0.2)


def test_not_numbers_become_silence_and_are_noted(tmp_path):
    samples = tone(16_000)
    samples[1000:1100] = np.nan
    samples[2000] = np.inf
    soundfile.write(tmp_path / "broken.wav", samples, 16_000, subtype="DOUBLE")
    recording = read_audio(tmp_path / "broken.wav")
    assert not recording.samples[1000:1100].any() and recording.samples[2000] == 0
    assert recording.samples[3000:3100].any()
    assert "101 samples are not numbers" in recording.notes[0]


def test_clipping_is_measured(tmp_path):
    soundfile.write(tmp_path / "loud.wav", np.clip(tone(16_000, level=4.0), -1, 1), 16_000)
    recording = read_audio(tmp_path / "loud.wav")
    assert recording.clipped == pytest.approx(0.84, abs=0.03)  # 1 - 2/pi * asin(1/4)
    assert any("clipped" in note for note in recording.notes)
    soundfile.write(tmp_path / "full.wav", tone(16_000, level=0.9999), 16_000)
    assert read_audio(tmp_path / "full.wav").clipped < 0.1


def test_louder_than_full_scale_is_scaled_not_cut(tmp_path):
    soundfile.write(tmp_path / "hot.wav", tone(16_000, level=20.0), 16_000, subtype="FLOAT")
    recording = read_audio(tmp_path / "hot.wav")
    assert recording.peak == pytest.approx(20, rel=0.01) and np.abs(recording.samples).max() < 32_700
    assert loudest_hz(recording.samples) == pytest.approx(TONE_HZ, abs=2)
    spectrum = np.abs(np.fft.rfft(recording.samples * np.hanning(16_000)))
    assert spectrum[3 * TONE_HZ] < 0.001 * spectrum[TONE_HZ], "it was cut: third harmonic"


def test_silence_is_flagged_and_hush_is_not(tmp_path):
    soundfile.write(tmp_path / "zero.wav", np.zeros(16_000), 16_000)
    soundfile.write(tmp_path / "hush.wav", tone(16_000, level=0.001), 16_000)
    assert read_audio(tmp_path / "zero.wav").silent and "silent" in read_audio(tmp_path / "zero.wav").notes[0]
    assert not read_audio(tmp_path / "hush.wav").silent


def test_bad_files_are_named_with_a_remedy(tmp_path):
    (tmp_path / "empty.wav").write_bytes(b"")
    (tmp_path / "words.wav").write_text("this is no sound\n" * 100)
    soundfile.write(tmp_path / "none.wav", np.zeros(0), 16_000)
    soundfile.write(tmp_path / "blip.wav", np.ones(8), 16_000)
    soundfile.write(tmp_path / "whole.flac", tone(16_000, 3.0), 16_000)
    whole = (tmp_path / "whole.flac").read_bytes()
    (tmp_path / "cut.flac").write_bytes(whole[: len(whole) // 2])
    for name in ("empty.wav", "words.wav", "none.wav", "blip.wav", "cut.flac", "missing.wav", ""):
        with pytest.raises(BadAudio) as caught:
            read_audio(tmp_path / name)
        assert str(tmp_path / name) in caught.value.message and caught.value.remedy, name


def test_a_wav_that_was_cut_off_says_so(tmp_path):
    soundfile.write(tmp_path / "whole.wav", tone(16_000, 3.0), 16_000)
    whole = (tmp_path / "whole.wav").read_bytes()
    (tmp_path / "cut.wav").write_bytes(whole[: len(whole) // 2])
    recording = read_audio(tmp_path / "cut.wav")
    assert recording.seconds == pytest.approx(1.5, abs=0.1)
    assert "cut off" in recording.notes[0]


def test_a_flipped_byte_is_refused_or_read_never_a_crash(tmp_path):
    soundfile.write(tmp_path / "whole.flac", tone(16_000, 0.5), 16_000)
    whole = bytearray((tmp_path / "whole.flac").read_bytes())
    for place in range(0, len(whole), 97):
        damaged = bytearray(whole)
        damaged[place] ^= 0xFF
        (tmp_path / "damaged.flac").write_bytes(damaged)
        try:
            recording = read_audio(tmp_path / "damaged.flac")
        except BadAudio:
            continue
        assert recording.samples.dtype == np.int16


def test_a_long_file_is_read_in_blocks(tmp_path):
    soundfile.write(tmp_path / "long.wav", np.tile(tone(8_000), 120), 8_000)
    recording = read_audio(tmp_path / "long.wav")
    assert recording.seconds == 120 and abs(len(recording.samples) - 120 * 16_000) <= 32
    assert loudest_hz(recording.samples[-16_000:]) == pytest.approx(TONE_HZ, abs=2), "seams between blocks"
