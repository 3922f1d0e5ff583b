"""The pieces that events are made of, and their base.

Numbers that were said are kept as said (`Decimal` and unit symbol); quantities are derived, so nobody's rounding
rewrites history.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

SAMPLE_RATE_HZ = 16_000


@dataclass(frozen=True, slots=True)
class Measured:
    """A number with its unit exactly as it was said or written.

    Args:
        value: finite.
        unit: a unit symbol of `bolting.units`, for torques one of TORQUE_UNITS.
    """

    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One possible meaning of an utterance, with its probability over the whole grammar of the state (0..1)."""

    kind: str  # value | command | bolt | note | none
    text: str
    probability: float
    value: Decimal | None = None
    unit: str | None = None
    command: str | None = None
    bolt: int | None = None
    corrected: bool = False  # said with 'correction ...' or 'no, ...' before the value
    by_figures: bool = False  # said figure by figure


@dataclass(frozen=True, slots=True, kw_only=True)
class EventBase:
    """Base of all events; `kind` is the name on disk and never changes, `version` rises when a field changes."""

    kind: ClassVar[str]
    version: ClassVar[int] = 1


# ------------------------------------------------------------------------------- what many events say, for any of them
# Looked up by name: every line of a session is asked, and `isinstance` with a protocol is slow.
def stage_in(event: EventBase) -> int | None:
    """The stage that an event names; None where it names none."""
    found: int | None = getattr(event, "stage", None)
    return found


def round_in(event: EventBase) -> int | None:
    """The round that an event names; None where it names none."""
    found: int | None = getattr(event, "round", None)
    return found


def bolt_in(event: EventBase) -> int | None:
    """The bolt that an event names; None where it names none."""
    found: int | None = getattr(event, "bolt", None)
    return found


def utterance_in(event: EventBase) -> str:
    """The utterance that an event came of; '' where it came of none."""
    found: str = getattr(event, "utterance", "")
    return found
