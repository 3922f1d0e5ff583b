"""The loudspeaker in what the microphone hears: how loud, and how late."""

from __future__ import annotations

import numpy as np

from assistant.events import SAMPLE_RATE_HZ
from assistant.ports import Samples

LATEST_ECHO_S = 0.6
ECHO_STANDS_OUT = 8.0
"""The echo's peak over the usual size of the correlation: noise alone stays below 6 in 100 000 lags (normal law)."""


def echo_of(near: Samples, far: Samples) -> tuple[float, int] | None:
    """Level (dBFS) and delay (ms) of the loudspeaker in what the microphone hears; None where it is not in it.

    Args:
        near, far: as long, on one clock; the echo comes later, by LATEST_ECHO_S at most.
    """
    played = far.astype(np.float64)
    energy = float((played**2).sum())
    if not energy or not near.any():
        return None
    size = 1 << (2 * len(near)).bit_length()
    cross = np.fft.rfft(near.astype(np.float64), size) * np.conj(np.fft.rfft(played, size))
    latest = round(LATEST_ECHO_S * SAMPLE_RATE_HZ)
    # Phases alone tell the lag (generalised cross-correlation, Knapp and Carter 1976, from memory): two people who talk
    # at once are alike in strength at some lag or other, never in the phases of all frequencies.
    lags = np.abs(np.fft.irfft(cross / (np.abs(cross) + 1e-9 * np.abs(cross).max()), size)[:latest])
    best = int(lags.argmax())
    if lags[best] < ECHO_STANDS_OUT * float(np.median(lags)) / 0.6745:  # of a normal law
        return None
    near_best = np.abs(np.fft.irfft(cross, size)[max(0, best - 2) : best + 3])
    level = near_best.max() / energy * np.sqrt(energy / max(1, int((played != 0).sum())))
    return float(20 * np.log10(level / 32768 + 1e-9)), round(1000 * best / SAMPLE_RATE_HZ)
