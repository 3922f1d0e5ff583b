"""Mel-frequency cepstra as Kaldi computes them with `CONF`, with numpy; training uses the same constants.

Frames of 25 ms every 10 ms, only whole ones; each is freed of its mean, pre-emphasised (0.97; the first sample is its
own predecessor) and windowed (Hann to the power 0.85); 40 triangles on the mel scale 1127 ln(1 + f/700) from 20 to
7600 Hz, natural log floored at the smallest single-precision step, cosine transform and lifter 22. Source: Kaldi's
feature code, read; that the wheel computes the same is checked by `check.py` and by the tests.
"""

from __future__ import annotations

import numpy as np

RATE, FRAME, HOP, FFT = 16_000, 400, 160, 512  # Hz, samples
DIM = 40
FLOOR = 1.1920929e-07
LOW_HZ, HIGH_HZ = 20.0, 7600.0
KNEE_HZ = 5600.0  # above it a warp fades out
CONF = f"""--use-energy=false
--num-mel-bins={DIM}
--num-ceps={DIM}
--low-freq={LOW_HZ:.0f}
--high-freq={HIGH_HZ:.0f}
--dither=0
--allow-upsample=true
--allow-downsample=true
"""


def window() -> np.ndarray:
    """float32, shape (FRAME,)."""
    n = np.arange(FRAME)
    return ((0.5 - 0.5 * np.cos(2 * np.pi * n / (FRAME - 1))) ** 0.85).astype(np.float32)


def warped(f: np.ndarray, warp: float) -> np.ndarray:
    """Frequencies in Hz as another length of the vocal tract would have them: times `warp` up to the knee, then
    straight to half the rate, which stays.

    Source: vocal tract length perturbation, common practice of recogniser training; the knee is ours.
    """
    knee, end = KNEE_HZ / max(1.0, warp), RATE / 2
    return np.where(f <= knee, warp * f, end - (end - f) * (end - warp * knee) / (end - knee))


def triangles(warp: float = 1.0) -> np.ndarray:
    """Weights of the power spectrum in each band: float32, shape (FFT // 2 + 1, DIM); `warp`: see `warped`."""

    def mel(f: float | np.ndarray) -> np.ndarray:
        return 1127.0 * np.log(1.0 + np.asarray(f) / 700.0)

    step = (mel(HIGH_HZ) - mel(LOW_HZ)) / (DIM + 1)
    f = mel(warped(np.arange(FFT // 2) * RATE / FFT, warp))
    left = mel(LOW_HZ) + np.arange(DIM)[:, None] * step
    up, down = (f - left) / step, (left + 2 * step - f) / step
    out = np.zeros((FFT // 2 + 1, DIM), np.float32)
    out[:-1] = np.maximum(np.minimum(up, down), 0).T
    return out


def cosines() -> np.ndarray:
    """Cosine transform with the lifter: float32, shape (DIM, DIM), to be multiplied from the right."""
    k = np.arange(DIM)
    out = np.sqrt(2.0 / DIM) * np.cos(np.pi / DIM * (k[None] + 0.5) * k[:, None])
    out[0] = np.sqrt(1.0 / DIM)
    return (out * (1 + 11 * np.sin(np.pi * k / 22))[:, None]).T.astype(np.float32)


WINDOW, TRIANGLES, COSINES = window(), triangles(), cosines()


def frames_of(samples: int) -> int:
    """Frames that so many samples give."""
    return max(0, 1 + (samples - FRAME) // HOP)


def mfcc(x: np.ndarray) -> np.ndarray:
    """Samples on the 16-bit scale (int16 or float, shape (n,)) -> float32, shape (frames, DIM)."""
    n = frames_of(len(x))
    if n == 0:
        return np.zeros((0, DIM), np.float32)
    f = np.lib.stride_tricks.sliding_window_view(np.asarray(x, np.float32), FRAME)[::HOP][:n]
    f = f - f.mean(1, keepdims=True)
    f = np.concatenate([f[:, :1] * 0.03, f[:, 1:] - 0.97 * f[:, :-1]], 1) * WINDOW
    power = np.abs(np.fft.rfft(f, FFT)) ** 2
    return (np.log(np.maximum(power @ TRIANGLES, FLOOR)) @ COSINES).astype(np.float32)


def with_edges(f: np.ndarray, context: int) -> np.ndarray:
    """First and last frame repeated as the wheel does, so that a network with this context gives ceil(frames / 3)
    outputs.

    Args:
        f: shape (frames, DIM), at least one frame.
        context: frames that an output sees on each side.
    """
    outputs = (len(f) + 2) // 3
    right = 3 * (outputs - 1) + 1 + context - len(f)
    padded = [np.repeat(f[:1], context, 0), f, np.repeat(f[-1:], max(0, right), 0)]
    return np.concatenate(padded)[: 3 * (outputs - 1) + 1 + 2 * context]
