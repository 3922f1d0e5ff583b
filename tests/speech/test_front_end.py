"""What the detector listens to: rumble off, level up, no seams between frames."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.speech.front_end import FrontEnd

FRAME = 512
SECOND = 16_000


def through(samples, front=None):
    front = front or FrontEnd(FRAME)
    frames = [front.frame(samples[at : at + FRAME]) for at in range(0, len(samples) - FRAME + 1, FRAME)]
    return np.concatenate([lifted for lifted, _ in frames]), np.array([level for _, level in frames])


def tone(hertz, level, seconds=2.0):
    time = np.arange(round(SECOND * seconds)) / SECOND
    return np.rint(level * 32767 * np.sin(2 * np.pi * hertz * time)).astype(np.int16)


def rms(samples):
    return float(np.sqrt(np.mean((samples / 32768.0) ** 2)))


@pytest.mark.parametrize(("hertz", "kept_db"), [(25, -35), (50, -20), (200, 0), (440, 0), (3000, 0), (7000, 0)])
def test_rumble_is_taken_off_and_speech_left(hertz, kept_db):
    _, levels_db = through(tone(hertz, 0.5))
    level_db = levels_db[10] - 20 * np.log10(0.5 / np.sqrt(2))
    assert level_db <= kept_db + 0.5
    if kept_db == 0:
        assert level_db >= -0.5


def test_an_offset_is_no_bang():
    _, levels_db = through(tone(440, 0.001) + np.int16(8000))
    assert levels_db.max() < -62


def test_hush_is_lifted_and_loud_left_as_it_is():
    faint, _ = through(tone(440, 0.003))
    loud, _ = through(tone(440, 0.5))
    assert rms(faint[FRAME:]) == pytest.approx(0.06, rel=0.1)
    assert rms(loud[FRAME:]) == pytest.approx(0.5 / np.sqrt(2), rel=0.02)


def test_nothing_is_lifted_without_end():
    whisper, _ = through(tone(440, 0.0005))
    assert rms(whisper[FRAME:]) == pytest.approx(32 * 0.0005 / np.sqrt(2), rel=0.1)
    assert not through(np.zeros(SECOND, np.int16))[0].any()


def test_a_shout_after_hush_does_not_overload():
    lifted, _ = through(np.concatenate([tone(440, 0.002), tone(440, 0.9)]))
    assert rms(lifted[len(lifted) // 2 + FRAME :]) < 0.7
    assert np.mean(np.abs(lifted.astype(int)) > 32_700) < 0.02


def test_hush_after_a_shout_is_lifted_again_within_seconds():
    lifted, _ = through(np.concatenate([tone(440, 0.5, 0.5), tone(440, 0.01, 6.0)]))
    assert rms(lifted[-SECOND:]) == pytest.approx(0.06, rel=0.15)
    assert rms(lifted[SECOND : SECOND + FRAME]) < 0.02, "it jumped"


def test_frames_have_no_seams():
    """A tone kept at one gain has no other frequency in it."""
    lifted, _ = through(tone(500, 0.5))
    piece = lifted[4 * FRAME : 44 * FRAME].astype(float)
    spectrum = np.abs(np.fft.rfft(piece * np.hanning(len(piece))))
    peak = int(spectrum.argmax())
    spectrum[peak - 3 : peak + 4] = 0
    assert spectrum.max() < 1e-3 * np.abs(np.fft.rfft(piece * np.hanning(len(piece)))).max()


def test_reset_forgets():
    front = FrontEnd(FRAME)
    once, levels = through(tone(440, 0.1), front)
    through(tone(50, 0.9), front)
    front.reset()
    again, levels_again = through(tone(440, 0.1), front)
    np.testing.assert_array_equal(once, again)
    np.testing.assert_array_equal(levels, levels_again)
