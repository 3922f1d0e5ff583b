"""Whether the microphone hears the loudspeaker although the settings say headset: then what it hears is what we say."""

from __future__ import annotations

from assistant.events import SAMPLE_RATE_HZ
from assistant.ports import Samples
from assistant.session.echo_level import echo_of

STRETCH = 2 * SAMPLE_RATE_HZ
"""Of a prompt, looked at by itself: over longer ones the clocks of two devices drift apart."""
SPOKEN_SHARE = 0.25  # of a stretch must sound for it to tell anything
SAME_MS = 15
"""A finding counts when two stretches have the echo equally late: a person who talks meanwhile has no such lag."""
CLEAN = 2
"""Stretches in a row without an echo, until what is said under a prompt is taken for an answer."""


class SelfHearing:
    """Looks at what the microphone heard under each prompt."""

    def __init__(self) -> None:
        self._found: list[tuple[float, int]] = []
        self._clean = 0

    @property
    def clean(self) -> bool:
        """Whether it is known by now that the microphone does not hear us."""
        return self._clean >= CLEAN

    def under_prompt(self, near: Samples, far: Samples) -> tuple[float, int] | None:
        """A prompt has sounded.

        Args:
            near: what the microphone heard meanwhile.
            far: what was played, as long and on the same clock.

        Returns:
            Level (dBFS) and delay (ms) of the loudspeaker in the microphone once that is sure; else None.
        """
        for at in range(0, len(near) - STRETCH // 2, STRETCH):
            heard, played = near[at : at + STRETCH], far[at : at + STRETCH]
            if (played != 0).mean() < SPOKEN_SHARE:
                continue
            echo = echo_of(heard, played)
            if echo is None:
                self._clean += 1
                continue
            self._clean = 0
            if any(abs(echo[1] - late_ms) <= SAME_MS for _level, late_ms in self._found):
                return echo
            self._found.append(echo)
        return None
