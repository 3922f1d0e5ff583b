"""The wall clock of rehearsals and practices: it runs like the real one, and waits are skipped by setting it on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from assistant.journal.clock import Uptime, uptime_now, utc_now


@dataclass(slots=True)
class LaterClock:
    """Now, and later by what was skipped."""

    ahead: timedelta = timedelta(0)

    def __call__(self) -> datetime:
        """The time, aware."""
        return utc_now() + self.ahead

    def uptime(self) -> Uptime | None:
        """How long the machine has been running, as if it had run through what was skipped."""
        now = uptime_now()
        return None if now is None else Uptime(boot=now.boot, ms=now.ms + round(self.ahead.total_seconds() * 1000))

    def skip(self, seconds: int) -> None:
        """Let so much time pass at once."""
        self.ahead += timedelta(seconds=seconds)
