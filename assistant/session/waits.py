"""Waits by what really passed: by the time the machine ran, and across a restart by its clock, where that was not set.

A wait goes on while the assistant is off. The wall clock alone would end one early when it is set on, and never when it
is set back.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from assistant.events import ClockSet, TimeLeft, WaitBegun
from assistant.journal.clock import Uptime
from assistant.journal.reading import Entry
from assistant.procedure.state import State

SMALL_STEP_S = 2.0
"""A clock is corrected by less than this while the machine runs; our own choice, as in verification."""
Moment = tuple[datetime, Uptime | None]


def waited_s(state: State, entries: Sequence[Entry], now: datetime, uptime: Uptime | None = None) -> int | None:
    """Seconds since the wait of this stage began; None where no wait runs.

    Within one run of the machine its running time counts. Across a restart the wall clock does, unless it was set
    since the wait began: then that part counts as no time, and `unsure` is true.

    Args:
        entries: of the session, in order.
        now: aware; before the beginning (a clock that was set back) counts as no time.
        uptime: of now; None where the machine does not tell it, and the wall clock alone counts.
    """
    moments = _moments(state, entries, now, uptime)
    if moments is None:
        return None
    if any(up is None for _, up in moments):
        return max(0, int((now - moments[0][0]).total_seconds()))
    trusted = not _clock_was_set(moments)
    return int(sum(_passed(a, b, wall_counts=trusted) for a, b in pairwise(moments)))


def unsure(state: State, entries: Sequence[Entry], now: datetime, uptime: Uptime | None = None) -> bool:
    """Whether part of the running wait passed while the machine was off, and its clock was set since it began."""
    moments = _moments(state, entries, now, uptime)
    return moments is not None and _clock_was_set(moments) and any(_restarted(a, b) for a, b in pairwise(moments))


def _moments(state: State, entries: Sequence[Entry], now: datetime, uptime: Uptime | None) -> list[Moment] | None:
    if state.wait is None or state.stage not in state.waits:
        return None
    for at in reversed(range(len(entries))):
        event = entries[at].event
        if isinstance(event, WaitBegun) and event.stage == state.stage:
            return [*((entry.utc, entry.uptime) for entry in entries[at:]), (now, uptime)]
    return None


def _passed(before: Moment, after: Moment, *, wall_counts: bool) -> float:
    (utc, up), (later, later_up) = before, after
    if up is not None and later_up is not None and up.boot == later_up.boot:
        return max(0.0, (later_up.ms - up.ms) / 1000)
    return max(0.0, (later - utc).total_seconds()) if wall_counts else 0.0


def _restarted(before: Moment, after: Moment) -> bool:
    up, later_up = before[1], after[1]
    return up is not None and later_up is not None and up.boot != later_up.boot


def _clock_was_set(moments: Sequence[Moment]) -> bool:
    return any(
        abs(clock_step_s(a, b)) > SMALL_STEP_S or (_restarted(a, b) and b[0] < a[0]) for a, b in pairwise(moments)
    )


def clock_step_s(before: Moment, after: Moment) -> float:
    """By how many seconds the wall clock was set between two moments of one run; 0 where that cannot be told."""
    (utc, up), (later, later_up) = before, after
    if up is None or later_up is None or up.boot != later_up.boot:
        return 0.0
    return (later - utc).total_seconds() - (later_up.ms - up.ms) / 1000


def clock_set(state: State, entries: Sequence[Entry], now: datetime, uptime: Uptime | None) -> tuple[ClockSet, ...]:
    """What there is to record about the clock since the last entry: nothing, or by how much it was set."""
    if not entries:
        return ()
    step = clock_step_s((entries[-1].utc, entries[-1].uptime), (now, uptime))
    if abs(step) <= SMALL_STEP_S:
        return ()
    waits = waited_s(state, entries, now, uptime) is not None
    how = "" if not waits else "unsure" if unsure(state, entries, now, uptime) else "counted"
    return (ClockSet(seconds=round(step), wait=how),)


def is_over(state: State, waited: int | None) -> bool:
    """Whether so many seconds are the whole wait."""
    return waited is not None and state.wait is not None and waited >= state.wait.seconds


def time_left(
    state: State, entries: Sequence[Entry], now: datetime, uptime: Uptime | None = None
) -> tuple[TimeLeft, ...]:
    """How much of the running wait is left, as the event that tells it; nothing where no wait runs."""
    waited, wait = waited_s(state, entries, now, uptime), state.wait
    if waited is None or wait is None:
        return ()
    return (TimeLeft(stage=state.stage, seconds=max(0, wait.seconds - waited)),)
