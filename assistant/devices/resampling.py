"""int16 sound at another rate. soxr dithers its own int16 output, so that digital silence would no longer be zeros."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import soxr

Samples = npt.NDArray[np.int16]  # shape (n,), mono


def resampled(samples: Samples, from_hz: int, to_hz: int) -> Samples:
    """A whole sound at another rate; zeros stay zeros, equal rates change nothing."""
    if from_hz == to_hz:
        return samples
    return _as_int16(soxr.resample(samples.astype(np.float32), from_hz, to_hz))


class Resampler:
    """A stream of sound at another rate, block by block: 3 ms late where the one rate is a multiple of the other, which
    most devices' are, else 20 to 60 ms, because the library works in blocks of its own.
    """

    def __init__(self, from_hz: int, to_hz: int) -> None:
        self._stream: _Decimator | soxr.ResampleStream | None = None
        if from_hz != to_hz:
            whole = from_hz % to_hz == 0
            self._stream = (
                _Decimator(from_hz // to_hz)
                if whole
                else soxr.ResampleStream(from_hz, to_hz, 1, dtype="float32", quality="HQ")
            )

    def take(self, samples: Samples) -> Samples:
        """Give a block; returns what is ready, perhaps nothing yet."""
        if self._stream is None:
            return samples
        return _as_int16(self._stream.resample_chunk(samples.astype(np.float32)))


PASSES, STOPS = 0.94, 1.06
"""Of half the new rate: below the first all passes, above the second nothing does (what folds back lands above the
first). Measured from 48 to 16 kHz: 0.3 dB down at 7.7 kHz, 29 dB at 8.3, 90 dB and more from 8.5 kHz on."""
KAISER = 8.0
"""Of the window: 80 dB, J. F. Kaiser 1974, from memory."""


class _Decimator:
    """Every nth sample of sound without what is too high for the new rate; sample k stands where n * k stood."""

    def __init__(self, n: int) -> None:
        half = int(np.ceil((80 - 7.95) / (14.36 * (STOPS - PASSES)) * n))  # Kaiser's rule, from memory too
        at = np.arange(-half, half + 1)
        taps = np.sinc(at / n) * np.kaiser(len(at), KAISER)
        self._taps = (taps / taps.sum()).astype(np.float32)
        self._n = n
        self._held = np.zeros(half, np.float32)

    def resample_chunk(self, samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
        """The new samples that these complete."""
        sound = np.concatenate([self._held, samples])
        count = max(0, (len(sound) - len(self._taps)) // self._n + 1)
        self._held = sound[count * self._n :]
        if not count:
            return np.zeros(0, np.float32)
        windows = np.lib.stride_tricks.sliding_window_view(sound, len(self._taps))[:: self._n][:count]
        made: npt.NDArray[np.float32] = (windows @ self._taps).astype(np.float32)
        return made


def _as_int16(sound: npt.NDArray[np.float32]) -> Samples:
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)
