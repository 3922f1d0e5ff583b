"""The spoken clips of tests/audio, and noise to lay over them."""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile as sf

FOLDER = Path(__file__).resolve().parents[1] / "audio"
MODELS = Path(__file__).resolve().parents[2] / "models"
Samples = npt.NDArray[np.int16]

SAID = {
    "three-hundred-and-ten": ("310", None),
    "one-two-zero": ("120", None),
    "two-seventy-point-five": ("270.5", None),
    "bolt-five-one-eighty-newton-metres": ("180", "N*m"),
    "four-oh-five-foot-pounds": ("405", "lbf*ft"),
    "ninety-five": ("95", None),
}


@functools.cache
def clip(name: str) -> Samples:
    """int16 (n,), 16 kHz."""
    x, rate = sf.read(FOLDER / f"{name}.flac", dtype="int16")
    assert rate == 16_000
    return x


def hiss(seconds: float, level: float, seed: int = 0) -> Samples:
    """White noise of this root mean square, in steps of 16 bits."""
    n = int(seconds * 16_000)
    return np.clip(np.random.default_rng(seed).standard_normal(n) * level, -32_768, 32_767).astype(np.int16)


def in_noise(x: Samples, level: float, seed: int = 0) -> Samples:
    """The clip with noise over it."""
    total = x.astype(np.int32) + hiss(len(x) / 16_000, level, seed).astype(np.int32)
    return np.clip(total, -32_768, 32_767).astype(np.int16)
