"""The work laid out, and going through it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from assistant.events.records import EventBase, Measured
from assistant.events.stages import Item, Pass, Person, Question, Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkLaidOut(EventBase):
    """All that has to be done, stage after stage, as computed from joint file and procedure.

    Args:
        stages: in the order of the work; events name them by their number from 1.
        apprentice: each step is explained before it, and things are asked back.
        language: of what is said, "en" or "de"; what is listened for stays English.
        supervisor: the phrase without which an apprentice skips nothing.
        people: whose names are known beforehand.
        asks_who: who tightens is asked for at the start.
    """

    kind: ClassVar[str] = "work-laid-out"
    version: ClassVar[int] = 5
    joint: str
    stages: tuple[Stage, ...]
    cautions: tuple[str, ...] = ()
    apprentice: bool = False
    language: str = "en"
    supervisor: str = "supervisor agrees"
    people: tuple[Person, ...] = ()
    asks_who: bool = False

    @property
    def items(self) -> tuple[Item, ...]:
        """What each stage holds, in order."""
        return tuple(stage.item for stage in self.stages)

    @property
    def passes(self) -> tuple[Pass, ...]:
        """The passes among the stages, in order."""
        return tuple(item for item in self.items if isinstance(item, Pass))

    @property
    def questions(self) -> tuple[Question, ...]:
        """The checks and hold points among the stages, in order."""
        return tuple(item for item in self.items if isinstance(item, Question))


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemAnnounced(EventBase):
    """The assistant asked for the current item: a question (bolt None) or a bolt of a pass."""

    kind: ClassVar[str] = "item-announced"
    stage: int  # 1.., counted through before + passes + after
    round: int
    bolt: int | None
    first_of_pass: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionAnswered(EventBase):
    """A check or hold point was passed with its phrase."""

    kind: ClassVar[str] = "question-answered"
    entry: int
    stage: int
    name: str
    phrase: str
    role: str
    hold: bool
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionRefused(EventBase):
    """A check was answered with something else than the plan rests on, or a hold point with less than its phrase."""

    kind: ClassVar[str] = "question-refused"
    stage: int
    name: str
    answer: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltSnugged(EventBase):
    """A bolt was reported snug."""

    kind: ClassVar[str] = "bolt-snugged"
    entry: int
    stage: int
    round: int
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingAccepted(EventBase):
    """An achieved torque that the acceptance table lets into the record.

    Args:
        probability: of this figure, 0..1.
        inside: that any figure inside the window was said, as heard, before the lift; None in old records and where it
            was not weighed (a confirmed reading, a typed one).
        lift: by how much the odds for the window were raised (`procedure.acceptance`); 1 for not at all.
    """

    kind: ClassVar[str] = "reading-accepted"
    version: ClassVar[int] = 2
    entry: int
    stage: int
    round: int
    pass_number: int
    bolt: int
    achieved: Measured  # as said; on the wrench's scale
    utterance: str
    confirmed_by: str = ""  # utterance of the yes, the repeat or the choice; "" when sure at once
    probability: float = 1.0
    inside: float | None = None
    lift: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingKept(EventBase):
    """A reading outside the window, kept in the record because the person gave a reason."""

    kind: ClassVar[str] = "reading-kept"
    entry: int
    stage: int
    round: int
    pass_number: int
    bolt: int
    achieved: Measured
    reason: str
    utterance: str
    reason_utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClickedAtSetting(EventBase):
    """A click wrench was released at its setting; not a reading."""

    kind: ClassVar[str] = "clicked-at-setting"
    entry: int
    stage: int
    round: int
    pass_number: int
    bolt: int
    setting: Measured
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltHeld(EventBase):
    """At full target the nut did not move."""

    kind: ClassVar[str] = "bolt-held"
    entry: int
    stage: int
    round: int
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltMoved(EventBase):
    """At full target the nut still moved; the round has to be repeated."""

    kind: ClassVar[str] = "bolt-moved"
    entry: int
    stage: int
    round: int
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StageFinished(EventBase):
    """Every item of a stage (and round) has its entry."""

    kind: ClassVar[str] = "stage-finished"
    stage: int
    round: int
    again: bool = False  # a circular round in which a nut moved: the round is repeated


@dataclass(frozen=True, slots=True, kw_only=True)
class CompetentPersonAsked(EventBase):
    """Nuts still move after the last round that the plan allows: stop and find the cause."""

    kind: ClassVar[str] = "competent-person-asked"
    stage: int
    round: int


WorkEvent = (
    WorkLaidOut
    | ItemAnnounced
    | QuestionAnswered
    | QuestionRefused
    | BoltSnugged
    | ReadingAccepted
    | ReadingKept
    | ClickedAtSetting
    | BoltHeld
    | BoltMoved
    | StageFinished
    | CompetentPersonAsked
)
