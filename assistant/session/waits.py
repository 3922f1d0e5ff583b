"""Waits by the journal's clock: a wait goes on while the assistant is off, and is over when its time has passed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from assistant.events import TimeLeft, WaitBegun
from assistant.journal.reading import Entry
from assistant.procedure.state import State


def waited_s(state: State, entries: Sequence[Entry], now: datetime) -> int | None:
    """Seconds since the wait of this stage began; None where no wait runs.

    Args:
        entries: of the session, in order.
        now: aware; before the beginning (a clock that was set back) counts as no time.
    """
    if state.wait is None or state.stage not in state.waits:
        return None
    for entry in reversed(entries):
        if isinstance(entry.event, WaitBegun) and entry.event.stage == state.stage:
            return max(0, int((now - entry.utc).total_seconds()))
    return None


def is_over(state: State, waited: int | None) -> bool:
    """Whether so many seconds are the whole wait."""
    return waited is not None and state.wait is not None and waited >= state.wait.seconds


def time_left(state: State, entries: Sequence[Entry], now: datetime) -> tuple[TimeLeft, ...]:
    """How much of the running wait is left, as the event that tells it; nothing where no wait runs."""
    waited, wait = waited_s(state, entries, now), state.wait
    if waited is None or wait is None:
        return ()
    return (TimeLeft(stage=state.stage, seconds=max(0, wait.seconds - waited)),)
