"""The clocks of the record: the machine's wall clock (UTC, aware), and how long the machine has been running.

Anybody can set the wall clock, and so can a time server. Nobody can set the running time: it goes on while the machine
sleeps and starts from zero when it is switched on. Each line of a journal holds both, so a clock that was set is seen,
and waits are counted by the time that really passed. Everything else counts samples.
"""

from __future__ import annotations

import hashlib
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timezone
from functools import lru_cache
from pathlib import Path
from typing import Protocol, runtime_checkable

Clock = Callable[[], datetime]  # answers an aware time; may be a `RunningClock`
BOOT = re.compile("[0-9a-f]{16}")
_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")

_TEXT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class Uptime:
    """How long the machine has been running, sleep counted in.

    Args:
        boot: 16 hexadecimal figures that stay the same until the machine restarts, and say nothing else about it.
        ms: milliseconds since it was started.
    """

    boot: str
    ms: int


Running = Callable[[], Uptime | None]  # None where the system does not tell


@runtime_checkable
class RunningClock(Protocol):
    """A made-up clock that also tells how long its machine has been running."""

    def __call__(self) -> datetime:
        """The time, aware."""

    def uptime(self) -> Uptime | None:
        """As `uptime_now`."""


def uptime_now() -> Uptime | None:
    """How long the machine has been running; None where the system does not tell both figures."""
    boot, clock = _boot(), getattr(time, "CLOCK_BOOTTIME", None)
    return None if not boot or clock is None else Uptime(boot=boot, ms=time.clock_gettime_ns(clock) // 1_000_000)


@lru_cache(maxsize=1)
def _boot() -> str:
    try:
        return hashlib.sha256(b"assistant:" + _BOOT_ID.read_bytes()).hexdigest()[:16]
    except OSError:
        return ""


def running_beside(clock: Clock) -> Running:
    """The running time that belongs to a clock: the machine's own beside its wall clock; that of a made-up clock where
    it tells one, else none.
    """
    if clock is utc_now:
        return uptime_now
    return clock.uptime if isinstance(clock, RunningClock) else _untold


def _untold() -> Uptime | None:
    return None


def utc_now() -> datetime:
    """The present moment, aware, in UTC."""
    return datetime.now(timezone.utc)  # noqa: TID251 - this is the journal's clock, the one allowed call


def utc_text(moment: datetime) -> str:
    """The moment as the journal writes it: `2026-11-25T10:15:00.000000Z`.

    Raises:
        ValueError: the moment does not say its zone (our bug: a clock must be aware).
    """
    if moment.tzinfo is None:
        raise ValueError("the journal's clock must give an aware time")
    return moment.astimezone(timezone.utc).strftime("%Y-%m-%dT%H:%M:%S.%f") + "Z"


def utc_read(text: object) -> datetime:
    """The moment that `utc_text` wrote.

    Raises:
        ValueError: not in exactly that form, or no such day or hour.
    """
    if not isinstance(text, str) or not _TEXT.fullmatch(text):
        raise ValueError(f"time is {repr(text)[:60]}, not like 2026-11-25T10:15:00.000000Z")
    return datetime.fromisoformat(text[:-1] + "+00:00")
