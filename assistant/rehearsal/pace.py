"""A microphone slowed down to the pace of real life."""

from __future__ import annotations

import time
from dataclasses import dataclass, field

from assistant.events import SAMPLE_RATE_HZ
from assistant.ports import Block, Microphone, Piece


@dataclass(slots=True)
class RealPace:
    """Gives each piece no sooner than it would sound."""

    inner: Microphone
    name: str = "simulated technician"
    _started: float | None = field(default=None)

    def read(self) -> Piece | None:
        """Wait until the piece is over, then give it."""
        piece = self.inner.read()
        if isinstance(piece, Block):
            now = time.monotonic()
            if self._started is None:
                self._started = now
            over = self._started + (piece.at_sample + len(piece.samples)) / SAMPLE_RATE_HZ
            time.sleep(max(0.0, over - now))
        return piece

    def close(self) -> None:
        """Stop."""
        self.inner.close()
