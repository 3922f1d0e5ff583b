"""ports.Canceller: takes our own prompts out of what the microphone hears, so that 'stop' under them can be understood.

The canceller is WebRTC's (`pywebrtc-audio`): it is told what the loudspeaker plays and learns the way through the room.
"""

from __future__ import annotations

import numpy as np

from assistant.errors import DeviceMissing
from assistant.ports import Samples

RATE_HZ = 16_000


class EchoCanceller:
    """One for a session: what it has learnt of the room serves the next prompt too. Not for several threads at once.

    Raises:
        DeviceMissing: the package is not there.
    """

    step = 160  # samples, 10 ms

    def __init__(self) -> None:
        try:
            import pywebrtc_audio
        except ImportError as error:
            raise DeviceMissing(
                f"the echo canceller does not load: {error}", remedy="Install pywebrtc-audio: run scripts/setup."
            ) from error
        self._canceller = pywebrtc_audio.EchoCanceller(sample_rate=RATE_HZ)

    def take(self, near: Samples, far: Samples) -> Samples:
        """See `ports.Canceller.take`."""
        if not len(near):
            return near
        cleaned: Samples = self._canceller.process(np.ascontiguousarray(near), np.ascontiguousarray(far))
        return cleaned
