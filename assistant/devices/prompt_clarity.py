"""Makes a rendered prompt easier to understand over noise, without making it louder at its peaks.

Two well-known steps for speech that is played into noise: more of the high frequencies that carry the consonants, and
less difference between loud vowels and faint consonants (after Zorila, Kandia and Stylianou, "Speech-in-noise
intelligibility improvement based on spectral shaping and dynamic range compression", Interspeech 2012; from memory, and
much milder here). Heard back by our own ear at 5 dB SNR in six noises the numbers of 55 of 60 prompts were right
without it and of 59 with it; twice as strong was no better than none at all (56). It was tried on listeners of ours,
not on people.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.int16]

EMPHASIS = 0.9  # of the first difference that lifts the high frequencies ...
SHARE = 0.5  # ... and how much of it is mixed in
POWER = 0.3  # an envelope 10 dB below the loud parts is lifted by 3 dB
LOUD_PERCENT = 95  # percentile of the envelope that counts as loud
FAINTEST_DB = 35.0  # below the loud parts; fainter sound is lifted no further ...
SILENT_DB = 40.0  # ... and below this not at all
WINDOW_S = 0.012
EDGE_DB = 40.0  # below the peak: silence at both ends is cut off down to EDGE_S
EDGE_S = 0.02


def clearer(samples: Samples, rate_hz: int) -> Samples:
    """The prompt made clearer, and without the silence at its ends: the engine leaves 0.33 s behind each, for which the
    microphone would stay closed.

    Args:
        samples: int16, shape (n,), mono.
        rate_hz: of them.

    Returns:
        int16, shape (m,), m <= n, of the same peak; silence comes back as it is.
    """
    kept = _without_edges(samples, rate_hz)
    x = kept / 32768.0
    peak = float(np.abs(x).max()) if len(x) else 0.0
    if peak == 0.0:
        return samples
    high = x - EMPHASIS * np.concatenate([[0.0], x[:-1]])
    high *= np.sqrt((x**2).mean() / max(float((high**2).mean()), 1e-12))
    shaped = (1 - SHARE) * x + SHARE * high
    window = max(1, round(WINDOW_S * rate_hz)) | 1
    envelope = np.sqrt(_smooth(shaped**2, window))
    loud = float(np.percentile(envelope, LOUD_PERCENT))
    floor = loud * 10 ** (-FAINTEST_DB / 20)
    gain = (np.maximum(envelope, floor) / loud) ** -POWER
    gain[envelope < loud * 10 ** (-SILENT_DB / 20)] = 1.0
    lifted = shaped * _smooth(gain, window)
    return np.asarray(np.rint(lifted * (peak / np.abs(lifted).max()) * 32767.0), np.int16)


def _without_edges(samples: Samples, rate_hz: int) -> Samples:
    size = np.abs(samples.astype(np.int32))
    loud = np.flatnonzero(size > size.max(initial=0) * 10 ** (-EDGE_DB / 20))
    if not len(loud):
        return samples
    margin = round(EDGE_S * rate_hz)
    return samples[max(0, int(loud[0]) - margin) : int(loud[-1]) + 1 + margin]


def _smooth(x: npt.NDArray[np.float64], window: int) -> npt.NDArray[np.float64]:
    """Twice the mean over an odd window, ends repeated: as good as a bell, and quick."""
    for _ in range(2):
        padded = np.pad(x, (window // 2 + 1, window // 2), mode="edge")
        total = np.cumsum(padded)
        x = np.maximum((total[window:] - total[:-window]) / window, 0.0)
    return x
