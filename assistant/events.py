"""What happened in a session, as frozen records in our own words: no pint, clock or path inside.

Numbers that were said are kept as said (`Decimal` and unit symbol); quantities are derived, so nobody's rounding
rewrites history. The journal adds sequence, UTC time and chain hash. An event is never deleted or edited: a
correction is a new event that names the one it takes back. Samples are counted at 16 000 Hz from the session's start.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, ClassVar

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
class Event:
    """Base of all events; `kind` is the name on disk and never changes, `version` rises when a field changes."""

    kind: ClassVar[str]
    version: ClassVar[int] = 1


# ---------------------------------------------------------------------------------------------- the session itself
@dataclass(frozen=True, slots=True, kw_only=True)
class SessionOpened(Event):
    """A new session began on a joint."""

    kind: ClassVar[str] = "session-opened"
    joint: str
    joint_sha256: str
    plan_sha256: str
    product: str
    listeners: tuple[str, ...]
    speaker: str
    settings: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionResumed(Event):
    """An unfinished session was opened again, at the item where it stopped."""

    kind: ClassVar[str] = "session-resumed"
    product: str
    listeners: tuple[str, ...]
    speaker: str
    torn_bytes: int = 0  # bytes of a half-written last line that were set aside


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLeft(Event):
    """The session ended before the joint was finished; it can be resumed."""

    kind: ClassVar[str] = "session-left"
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionClosed(Event):
    """Every item is done and the closing phrase was spoken; nothing follows but the seal."""

    kind: ClassVar[str] = "session-closed"
    utterance: str


# ---------------------------------------------------------------------------------------------- hearing and saying
@dataclass(frozen=True, slots=True, kw_only=True)
class UtteranceHeard(Event):
    """One stretch of speech (or noise), kept with its audio whatever came of it."""

    kind: ClassVar[str] = "utterance-heard"
    utterance: str  # "0007", also the name of its audio file
    start_sample: int
    end_sample: int
    audio_sha256: str | None  # of audio/NNNN.flac; None when it was typed
    alternatives: tuple[Alternative, ...]  # best first; empty when nothing in the grammar fits
    fit: float | None  # log-likelihood of the best in-grammar reading minus that of free wording
    free_text: str  # what free wording would make of it
    listeners: dict[str, str]  # listener -> its own best text
    agreed: bool  # all listeners present read the same meaning
    state: str = ""  # dialogue state it was heard in
    clipped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptSpoken(Event):
    """Something was said to the person; written when its last sample left."""

    kind: ClassVar[str] = "prompt-spoken"
    text: str
    start_sample: int
    end_sample: int
    cut_short: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundLost(Event):
    """Samples never arrived: queue overrun, microphone gone, dead or muted."""

    kind: ClassVar[str] = "sound-lost"
    reason: str
    at_sample: int
    samples: int


