"""The one wall clock of the product: UTC, aware, and its text form in the journal.

Everything else counts samples; a second reader of the clock would be a second truth.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timezone

Clock = Callable[[], datetime]  # answers an aware time

_TEXT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z")


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
        raise ValueError(f"time is {text!r}, not like 2026-11-25T10:15:00.000000Z")
    return datetime.fromisoformat(text[:-1] + "+00:00")
