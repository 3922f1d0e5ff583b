"""What it sounds like when nobody speaks to us: its level, and whether it is itself talk."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

import numpy as np

from assistant.speech.utterance import Frame

WINDOW_SECONDS = 6.0
KNOWN_SECONDS = 2.0  # of sound before any of it is believed
GROUND_SHARE = 20  # percent of the window that is quieter than the ground
SMOOTH_FRAMES = 3
TALK = (
    0.3  # mean speech probability of the quietest frames from which the ground is itself talk (radio, people near by)
)


class Background:
    """Follows the sound; the ground is the level that a fifth of the last seconds stays below.

    Args:
        frame_s: duration of a frame, seconds.
    """

    def __init__(self, frame_s: float) -> None:
        self._levels: deque[float] = deque(maxlen=round(WINDOW_SECONDS / frame_s))
        self._probabilities: deque[float] = deque(maxlen=round(WINDOW_SECONDS / frame_s))
        self._known = round(KNOWN_SECONDS / frame_s)
        self._ground_db: float | None = None
        self._talk = 0.0
        self._swing_db = 0.0

    @property
    def ground_db(self) -> float | None:
        """Level of the ground in dB of full scale, over 96 ms; None until enough was heard."""
        return self._ground_db

    @property
    def is_talk(self) -> bool:
        """Whether even the quietest of the last seconds sounds like speech: other people talk all around."""
        return self._ground_db is not None and self._talk >= TALK

    @property
    def swing_db(self) -> float:
        """How far the middle of the last seconds stands above the ground, dB: small in steady noise, more in beats."""
        return self._swing_db

    def learn(self, recent: Sequence[Frame]) -> None:
        """Take in the newest frame, the last of `recent`."""
        self._levels.append(smooth_db(recent))
        self._probabilities.append(recent[-1].probability)
        if len(self._levels) < self._known:
            return
        levels = np.array(self._levels)
        ground, middle = (float(level) for level in np.percentile(levels, (GROUND_SHARE, 50)))
        self._swing_db = middle - ground
        quiet = np.array(self._probabilities)[levels <= ground]
        self._ground_db, self._talk = ground, float(quiet.mean())

    def above_db(self, recent: Sequence[Frame]) -> float:
        """How far the last 96 ms stand above the ground, dB; infinite until it is known."""
        return float("inf") if self._ground_db is None else smooth_db(recent) - self._ground_db


def smooth_db(recent: Sequence[Frame]) -> float:
    """Mean power of the last SMOOTH_FRAMES frames, dB of full scale."""
    last = recent[-SMOOTH_FRAMES:]
    return float(10 * np.log10(max(1e-10, sum(10 ** (frame.level_db / 10) for frame in last) / len(last))))
