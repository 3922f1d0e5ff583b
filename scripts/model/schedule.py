"""How far a training run is, and the learning rate that goes with it: by steps, or by the clock where that is further
on.
"""

from __future__ import annotations

import math
import time

PATIENCE = 0.25  # share of the seconds in which a slow start does not count


class Schedule:
    """Ends after `steps`, or after `seconds` if those are up first.

    A run whose steps keep ahead of the clock, its first quarter aside, is repeatable to the number: nothing in it
    depends on the time. `by_clock` tells whether the clock was ever ahead.
    """

    def __init__(self, steps: int, seconds: float) -> None:
        self.steps, self.seconds, self.begin = steps, seconds, time.monotonic()
        self.by_clock = False

    @property
    def spent(self) -> float:
        """Seconds since the beginning."""
        return time.monotonic() - self.begin

    def done(self, step: int) -> float:
        """Share of the run behind us, 0 ... 1 and above."""
        by_steps, by_time = step / self.steps, self.spent / self.seconds
        if by_time < PATIENCE or by_steps >= by_time:
            return by_steps
        self.by_clock = True
        return by_time

    def rate(self, step: int, peak: float, warm: int, *, least: float = 0.0) -> float:
        """Learning rate of this step: up to `peak` within `warm` steps, down on a half cosine to the share `least` of
        it.
        """
        fall = 0.5 + 0.5 * math.cos(math.pi * min(1.0, self.done(step)))
        return peak * min(1.0, (step + 1) / warm) * (least + (1 - least) * fall)

    def told(self, step: int) -> str:
        """How the run ended, in words."""
        ended = "the clock was ahead, so not repeatable to the number" if self.by_clock else "repeatable"
        return f"{step} of {self.steps} steps in {self.spent:.0f} s, {ended}"
