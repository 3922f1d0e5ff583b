"""What is wrong, as somebody said it, and what was done about it; reasons that are none; stops that the lead releases.

A finding is never taken off the record. It is open until somebody said what changed, and at a hold point until the name
of whoever may release it is known; nothing that it holds up goes on before.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from assistant.events.records import Alternative, EventBase


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingMade(EventBase):
    """Something is not as the work needs it: a failing answer to a check or hold point, or trouble at the wrench."""

    kind: ClassVar[str] = "finding-made"
    finding: int  # 1.. in the order in which they were made
    stage: int
    round: int
    bolt: int | None  # the bolt that was due; None at a question
    name: str  # of the check or hold point; "" for trouble at the wrench
    sort: str  # answer | trouble
    what: str  # the failing answer ("no", "there is a leak"), or the trouble ("bolt broke")
    blocks: bool  # what it concerns does not go on before somebody said what changed
    hold: bool  # the name of whoever may release it is needed too
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingDescribed(EventBase):
    """What is missing, in free words; kept, not judged."""

    kind: ClassVar[str] = "finding-described"
    finding: int
    text: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeTold(EventBase):
    """What changed since the finding, in words. The finding stays open until `FindingSettled`."""

    kind: ClassVar[str] = "change-told"
    finding: int
    text: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingSettled(EventBase):
    """The finding holds nothing up any more. It stays in the record, for the lead to decide."""

    kind: ClassVar[str] = "finding-settled"
    finding: int
    changed: str  # what was done about it
    by: str  # the name of whoever released it; "" where none was needed
    utterance: str  # in which the change was told


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonDoubted(EventBase):
    """What was said instead of a reason: it is asked for again, and nothing is kept."""

    kind: ClassVar[str] = "reason-doubted"
    purpose: str  # as of ReasonAsked
    text: str
    why: str  # reading | words | short
    heard: Alternative | None  # the reading that it may have been
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StopReleased(EventBase):
    """A stop of the plan was released by its phrase and for a reason; the name of whoever did is kept next."""

    kind: ClassVar[str] = "stop-released"
    entry: int
    stage: int
    name: str
    reason: str
    role: str
    utterance: str  # of the phrase
    reason_utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NameReadBack(EventBase):
    """A name was heard and is read back; it is kept when somebody says yes."""

    kind: ClassVar[str] = "name-read-back"
    stage: int
    purpose: str
    role: str
    text: str
    how: str  # roster | spelled | as heard
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NameTakenBack(EventBase):
    """A correction of a name that is no entry of a stage (who tightens, who takes over ...): it is asked for again."""

    kind: ClassVar[str] = "name-taken-back"
    purpose: str
    text: str
    utterance: str


FindingEvent = (
    FindingMade
    | FindingDescribed
    | ChangeTold
    | FindingSettled
    | ReasonDoubted
    | StopReleased
    | NameReadBack
    | NameTakenBack
)
