"""Other manners of speaking, imitated from calm recordings. All functions take and give float32 sound at 16 kHz."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from scripts.bench.corpus import RATE_HZ, Sound, active_level

WINDOW, HOP = 512, 128  # of the short spectra, samples
ENVELOPE = 30  # cepstral numbers that are kept as the shape of the vocal tract


def whispered(x: Sound, r: np.random.Generator) -> Sound:
    """The shape of the vocal tract stays, noise takes the place of the voice, and low notes are weak."""
    shape = np.exp(_smooth(np.log(np.abs(_spectra(x)) + 1e-7)))
    noise = r.standard_normal(shape.shape) + 1j * r.standard_normal(shape.shape)
    f = np.maximum(np.fft.rfftfreq(WINDOW, 1 / RATE_HZ), 30)
    return _sound(shape * noise / (1 + (500 / f) ** 2), len(x))


def raised(x: Sound, r: np.random.Generator) -> Sound:
    """Higher in pitch and in the tract's notes, brighter, and on the edge of overload."""
    y = _played(x, r.uniform(1.06, 1.14))
    f = np.maximum(np.fft.rfftfreq(len(y), 1 / RATE_HZ), 30)
    tilt_db = 5.0 * np.clip(np.log2(f / 300), 0, 3.5)
    y = np.fft.irfft(np.fft.rfft(y) * 10 ** (tilt_db / 20), len(y))
    level = active_level(y.astype(np.float32))
    return np.tanh(y / (2.5 * level)).astype(np.float32)


def hasty(x: Sound, _r: np.random.Generator) -> Sound:
    """A quarter faster at the same pitch."""
    return _stretched(x, 1.25)


def drawled(x: Sound, _r: np.random.Generator) -> Sound:
    """A quarter slower at the same pitch."""
    return _stretched(x, 0.75)


def mumbled(x: Sound, _r: np.random.Generator) -> Sound:
    """Dull above 1.5 kHz, a little hasty, and fading to a third of its level at the end."""
    y = _stretched(x, 1.1)
    f = np.maximum(np.fft.rfftfreq(len(y), 1 / RATE_HZ), 30)
    y = np.fft.irfft(np.fft.rfft(y) / (1 + (f / 1500) ** 2), len(y))
    return (y * np.linspace(1, 0.33, len(y))).astype(np.float32)


def far(x: Sound, r: np.random.Generator) -> Sound:
    """Through a hard room: 0.5 s until its sound has died away by 60 dB, and as loud as the voice itself."""
    n = RATE_HZ // 2
    tail = r.standard_normal(n) * np.exp(-6.9 * np.arange(n) / n)
    tail[:160] = 0
    tail /= np.sqrt((tail**2).sum())
    tail[0] = 1
    size = len(x) + n
    return np.fft.irfft(np.fft.rfft(x, size) * np.fft.rfft(tail, size), size).astype(np.float32)


def by_radio(x: Sound, r: np.random.Generator) -> Sound:
    """300 to 3000 Hz, hard clipped, with a hiss."""
    f = np.fft.rfftfreq(len(x), 1 / RATE_HZ)
    y = np.fft.irfft(np.fft.rfft(x) * ((f > 300) & (f < 3000)), len(x)).astype(np.float32)
    top = 1.5 * active_level(y)
    return (np.clip(y, -top, top) + 0.03 * top * r.standard_normal(len(y))).astype(np.float32)


def as_recorded(x: Sound, _r: np.random.Generator) -> Sound:
    """Unchanged."""
    return x


MANNERS: dict[str, Callable[[Sound, np.random.Generator], Sound]] = {
    "as recorded": as_recorded,
    "whispered": whispered,
    "raised voice": raised,
    "hasty": hasty,
    "drawled": drawled,
    "mumbled": mumbled,
    "far, hard room": far,
    "hand radio": by_radio,
}


def _spectra(x: Sound) -> np.ndarray:
    """Short spectra, complex (frames, WINDOW / 2 + 1)."""
    padded = np.pad(x, WINDOW)
    starts = np.arange(0, len(padded) - WINDOW, HOP)
    return np.fft.rfft(padded[starts[:, None] + np.arange(WINDOW)] * np.hanning(WINDOW))


def _sound(spectra: np.ndarray, length: int) -> Sound:
    """The sound whose short spectra are nearest to these (overlapped and added), float32 (length,)."""
    frames = np.fft.irfft(spectra, WINDOW) * np.hanning(WINDOW)
    out = np.zeros(WINDOW + HOP * len(frames))
    for i, frame in enumerate(frames):
        out[i * HOP : i * HOP + WINDOW] += frame
    whole = np.pad(out, (0, max(0, length + WINDOW - len(out))))
    return (whole[WINDOW : WINDOW + length] / (1.5 * WINDOW / HOP / 4)).astype(np.float32)


def _smooth(logs: np.ndarray) -> np.ndarray:
    """Log spectra without the fine lines of the voice: the lowest cepstral numbers alone."""
    cepstra = np.fft.irfft(logs, WINDOW)
    cepstra[:, ENVELOPE : WINDOW - ENVELOPE] = 0
    return np.fft.rfft(cepstra, WINDOW).real


def _stretched(x: Sound, pace: float) -> Sound:
    """`pace` times as fast at the same pitch (phase vocoder: Flanagan and Golden 1966)."""
    spectra = _spectra(x)
    at = np.arange(0, len(spectra) - 1, pace)
    low = at.astype(int)
    share = (at - low)[:, None]
    size = (1 - share) * np.abs(spectra[low]) + share * np.abs(spectra[low + 1])
    turn = 2 * np.pi * HOP * np.arange(WINDOW // 2 + 1) / WINDOW
    step = np.angle(spectra[low + 1]) - np.angle(spectra[low]) - turn
    step = turn + step - 2 * np.pi * np.round(step / (2 * np.pi))
    phase = np.angle(spectra[0]) + np.concatenate([np.zeros((1, len(turn))), np.cumsum(step[:-1], 0)])
    return _sound(size * np.exp(1j * phase), int(len(x) / pace))


def _played(x: Sound, pace: float) -> Sound:
    """Played faster: pitch and tract rise together."""
    return np.interp(np.arange(0, len(x) - 1, pace), np.arange(len(x)), x).astype(np.float32)
