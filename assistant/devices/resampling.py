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
    """A stream of sound at another rate, block by block; about 20 ms late."""

    def __init__(self, from_hz: int, to_hz: int) -> None:
        self._stream = (
            None if from_hz == to_hz else soxr.ResampleStream(from_hz, to_hz, 1, dtype="float32", quality="HQ")
        )

    def take(self, samples: Samples) -> Samples:
        """Give a block; returns what is ready, perhaps nothing yet."""
        if self._stream is None:
            return samples
        return _as_int16(self._stream.resample_chunk(samples.astype(np.float32)))


def _as_int16(sound: npt.NDArray[np.float32]) -> Samples:
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)
