"""How good the sound of an utterance is: level, signal-to-noise ratio, clipping, length of speech."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

RATE_HZ = 16_000
FRAME = 320  # samples, 20 ms
FULL_SCALE = 32_768.0
QUIETEST_DBFS = -90.0  # about half of the last bit: below it there is no sound


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """Figures of one utterance.

    Args:
        seconds: its whole length.
        speech_s: length of its loud frames, about the length of what was said.
        level_dbfs: root mean square of the loud frames against full scale, dB.
        snr_db: loud against quiet frames, dB, 0..60. In speech without pauses it reads low.
        clipped: share of samples at full scale, 0..1.
    """

    seconds: float
    speech_s: float
    level_dbfs: float
    snr_db: float
    clipped: float

    @property
    def silent(self) -> bool:
        """No sound in it at all: a dead or muted microphone, or digital silence."""
        return self.level_dbfs <= -70.0


def measure(samples: npt.NDArray[np.int16]) -> Quality:
    """Figures of one utterance: int16 (n,), mono, 16 kHz; any length, also none."""
    x = samples.astype(np.float32) / FULL_SCALE
    seconds = len(x) / RATE_HZ
    if len(x) < FRAME:
        return Quality(seconds=seconds, speech_s=0.0, level_dbfs=QUIETEST_DBFS, snr_db=0.0, clipped=0.0)
    x = x - x.mean()
    power = (x[: len(x) // FRAME * FRAME].reshape(-1, FRAME) ** 2).mean(axis=1) + 10 ** (QUIETEST_DBFS / 10)
    floor = float(np.percentile(power, 10))
    top = float(np.percentile(power, 95))
    loud = power >= floor * (top / floor) ** 0.5  # half-way between quiet and loud, in dB
    level = float(power[loud].mean())
    return Quality(
        seconds=seconds,
        speech_s=float(loud.sum()) * FRAME / RATE_HZ,
        level_dbfs=float(10 * np.log10(level)),
        snr_db=float(np.clip(10 * np.log10(max(level - floor, 1e-12) / floor), 0.0, 60.0)),
        clipped=float((np.abs(samples.astype(np.int32)) >= 32_700).mean()),
    )
