"""What happens around the bolts: waits, measurements, names, parts replaced, and what an apprentice is asked."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from assistant.events.records import Alternative, EventBase


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitBegun(EventBase):
    """A wait begins now; the journal's time of this line counts."""

    kind: ClassVar[str] = "wait-begun"
    stage: int
    name: str
    seconds: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitGoesOn(EventBase):
    """A wait continues after an interruption."""

    kind: ClassVar[str] = "wait-goes-on"
    stage: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeLeft(EventBase):
    """How much of the wait was left at this moment, by the journal's clock."""

    kind: ClassVar[str] = "time-left"
    stage: int
    seconds: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitOver(EventBase):
    """The time has passed."""

    kind: ClassVar[str] = "wait-over"
    entry: int
    stage: int
    waited_s: int
    utterance: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitCutShort(EventBase):
    """The wait was ended before its time, for a reason; a deviation."""

    kind: ClassVar[str] = "wait-cut-short"
    entry: int
    stage: int
    left_s: int
    reason: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementKept(EventBase):
    """A measured figure within what is allowed."""

    kind: ClassVar[str] = "measurement-kept"
    entry: int
    stage: int
    name: str
    value: Decimal
    unit: str
    utterance: str
    confirmed_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementRefused(EventBase):
    """A figure outside of what is allowed; nothing is recorded and the work does not go on."""

    kind: ClassVar[str] = "measurement-refused"
    stage: int
    heard: Alternative
    side: str  # low | high
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NameAsked(EventBase):
    """The name of a person is asked for; free speech is awaited."""

    kind: ClassVar[str] = "name-asked"
    stage: int
    purpose: str  # tightens | witness | measured | takes-over | competent | settles | supervisor
    role: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NameKept(EventBase):
    """Who it was, as read back and confirmed.

    Version 1 had no read-back: such a name is as heard, and nobody confirmed it.
    """

    kind: ClassVar[str] = "name-kept"
    version: ClassVar[int] = 2
    entry: int  # 0 for a name that belongs to no stage
    stage: int
    purpose: str
    role: str
    text: str
    utterance: str
    how: str = "as heard"  # roster | spelled | as heard
    confirmed_by: str = ""  # utterance of the yes


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltReplaced(EventBase):
    """A damaged bolt was replaced: its entries no longer count, and in a circular pass all of that pass's.

    The new bolt is brought up alone through every pass so far, then the pattern goes on.
    """

    kind: ClassVar[str] = "bolt-replaced"
    stage: int  # the first stage that is worked on again
    group: str
    bolt: int
    taken_back: tuple[int, ...]
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PassesRestarted(EventBase):
    """Passes are done over from their first bolt: one that was disturbed, or all after a disturbed gasket."""

    kind: ClassVar[str] = "passes-restarted"
    stage: int  # the first stage that is worked on again
    reason: str  # pass | gasket
    taken_back: tuple[int, ...]
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltTakenUp(EventBase):
    """A bolt of this pass was named out of turn and is taken up first."""

    kind: ClassVar[str] = "bolt-taken-up"
    bolt: int
    utterance: str


# -------------------------------------------------------------------------------------------------------- apprentice
@dataclass(frozen=True, slots=True, kw_only=True)
class AskedBack(EventBase):
    """An apprentice is asked something before the stage begins."""

    kind: ClassVar[str] = "asked-back"
    stage: int
    about: str  # phrase | next-bolt
    expects: str  # the right answer: a phrase, or a bolt number


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredBack(EventBase):
    """What the apprentice answered; right or wrong, the reason is told."""

    kind: ClassVar[str] = "answered-back"
    stage: int
    answer: str
    right: bool
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonWanted(EventBase):
    """The apprentice is asked why, in free speech."""

    kind: ClassVar[str] = "reason-wanted"
    stage: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonGiven(EventBase):
    """Why, in the apprentice's own words; kept, not judged."""

    kind: ClassVar[str] = "reason-given"
    stage: int
    text: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupervisorAsked(EventBase):
    """An apprentice wants to skip: the supervisor's phrase is needed."""

    kind: ClassVar[str] = "supervisor-asked"
    purpose: str  # skip | keep | cut-short
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupervisorAgreed(EventBase):
    """The supervisor's phrase was spoken."""

    kind: ClassVar[str] = "supervisor-agreed"
    purpose: str
    phrase: str
    utterance: str


CourseEvent = (
    WaitBegun
    | WaitGoesOn
    | TimeLeft
    | WaitOver
    | WaitCutShort
    | MeasurementKept
    | MeasurementRefused
    | NameAsked
    | NameKept
    | BoltReplaced
    | PassesRestarted
    | BoltTakenUp
    | AskedBack
    | AnsweredBack
    | ReasonWanted
    | ReasonGiven
    | SupervisorAsked
    | SupervisorAgreed
)
