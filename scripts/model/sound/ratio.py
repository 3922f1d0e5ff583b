"""Speaking level and signal-to-noise ratio, the same for numpy arrays and for tensors.

The ratio of a mix is the speaking level (20 ms frames in which somebody speaks) over the root mean square of the
background, in dB. `xp` is the module that the arrays belong to: numpy or torch.
"""

from __future__ import annotations

from types import ModuleType
from typing import Any

FRAME = 320  # samples, 20 ms
SPEAKING = 0.1  # a frame speaks when its level is above this share of the 95th percentile: 20 dB under the loud ones


def speaking_level(x: Any, xp: ModuleType) -> Any:
    """Root mean square over the frames in which somebody speaks; x: rows x samples (320 at least) -> rows x 1."""
    frames = (x[:, : x.shape[1] // FRAME * FRAME].reshape(len(x), -1, FRAME) ** 2).mean(2) ** 0.5
    loud = frames > SPEAKING * xp.quantile(frames, 0.95, 1)[:, None]
    return ((frames**2 * loud).sum(1) / loud.sum(1).clip(1))[:, None] ** 0.5 + 1e-6


def evened(x: Any) -> Any:
    """Each row with root mean square 1; rows x samples."""
    return x / ((x**2).mean(1)[:, None] ** 0.5 + 1e-6)


def at_ratio(speech: Any, background: Any, snr_db: Any, xp: ModuleType) -> Any:
    """Speech at speaking level 1 with the background under it.

    Args:
        speech, background: rows x samples, any level.
        snr_db: rows x 1, or one number for all rows.
        xp: numpy or torch.

    Returns:
        rows x samples.
    """
    return speech / speaking_level(speech, xp) + evened(background) * 10 ** (-snr_db / 20)
