"""Writes a WAV file: 16-bit mono at 16 000 Hz."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.errors import RecordNotWritable
from assistant.events import SAMPLE_RATE_HZ


def write_wav(path: Path, samples: npt.NDArray[np.int16]) -> None:
    """Write a sound.

    Args:
        samples: int16, shape (n,), mono, 16 000 Hz.

    Raises:
        RecordNotWritable: the folder or the disk refuses.
    """
    try:
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(SAMPLE_RATE_HZ)
            file.writeframes(np.ascontiguousarray(samples, "<i2").tobytes())
    except OSError as error:
        raise RecordNotWritable(
            f"{path} cannot be written ({error.strerror})",
            remedy="the session itself is stored; make room or name another folder",
        ) from None
