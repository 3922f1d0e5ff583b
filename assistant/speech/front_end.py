"""What voice activity detection listens to: rumble taken off, level brought up. Counted frames, no clock.

Measured on 36 clips of the train split of the speech folder, share of speech frames that the Silero network gives >=
0.5: mains hum 20 dB over the speech 2 % as it is, 86 % high-passed; speech 40 dB too quiet 51 % as it is (97 % at full
level).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

RATE_HZ = 16_000
HIGH_PASS_HZ = 90.0
_TAPS = 401
_TARGET_RMS = 0.06  # of full scale, for the loudest of the last seconds
_MOST_GAIN = 32.0
_RELEASE = 10 ** (-6.0 / 20)  # the memory of the loudest frame fades by 6 dB a second
_HUSH = 1e-5


class FrontEnd:
    """Conditions one frame after the other; keeps the filter's and the level's memory.

    Args:
        frame_samples: samples of a frame, more than 400.
    """

    def __init__(self, frame_samples: int) -> None:
        self._kernel = high_pass(HIGH_PASS_HZ)
        self._frame_samples = frame_samples
        self._release = _RELEASE ** (frame_samples / RATE_HZ)
        self.reset()

    def reset(self) -> None:
        """Forget the past (after a gap in the sound)."""
        self._tail: npt.NDArray[np.float64] | None = None
        self._loudest = 0.0

    def frame(self, samples: npt.NDArray[np.int16]) -> tuple[npt.NDArray[np.int16], float]:
        """Condition one frame.

        Args:
            samples: int16, shape (frame_samples,), 16 000 Hz.

        Returns:
            The frame high-passed and lifted (int16, same shape, 12.5 ms late), and its level in dB of full scale
            before lifting.
        """
        scaled = samples / 32768.0
        if self._tail is None:  # as if it had always stood at the first sample: an offset is no bang
            self._tail = np.full(_TAPS - 1, scaled[0])
        line = np.concatenate([self._tail, scaled])
        self._tail = line[len(line) - (_TAPS - 1) :]
        clean = np.convolve(line, self._kernel, mode="valid")
        rms = float(np.sqrt(np.mean(clean * clean)))
        self._loudest = max(rms, self._loudest * self._release, _HUSH)
        gain = min(_MOST_GAIN, max(1.0, _TARGET_RMS / self._loudest))
        lifted = np.clip(np.rint(clean * gain * 32768.0), -32768, 32767).astype(np.int16)
        return lifted, 20 * math.log10(max(rms, _HUSH))


def high_pass(edge_hz: float) -> npt.NDArray[np.float64]:
    """Linear-phase high-pass, 401 taps: a delta less a Hamming-windowed sinc (common practice, no source)."""
    steps = np.arange(_TAPS) - _TAPS // 2
    low = np.sinc(2 * edge_hz / RATE_HZ * steps) * np.hamming(_TAPS)
    kernel: npt.NDArray[np.float64] = -low / low.sum()
    kernel[_TAPS // 2] += 1.0
    return kernel
