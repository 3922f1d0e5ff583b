"""The work laid out, and going through it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from assistant.events.records import Event, Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something that is asked before or after the tightening and passes by a spoken phrase."""

    name: str
    phase: str  # prepare | close
    ask: str  # the words of the question
    phrase: str  # the agreed phrase that passes it
    hold: bool  # a hold point: nothing but the phrase releases it
    role: str = ""  # who may release it
    refused: tuple[str, ...] = ()  # answers that are understood and stop the work ('dry' where anti-seize is due)
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One visit to every bolt of a group. All figures but `target` are on the wrench's own scale.

    Args:
        kind: "snug", "pattern" or "circular".
        number: 0 for snug, then 1.. as in the plan.
        bolts: marked bolt numbers in the order they are visited.
        target: what the bolt shall get; None when snugging, as are all other figures.
        setting: what the wrench shall show.
        low, high: accepted window of the reading.
        tool_low, tool_high: what the wrench can show at all.
        clicks: the wrench clicks at its setting and shows no reading.
        unit_words: how the people say the wrench's unit; "" for the usual words.
        last_round: circular only: rounds after which a competent person is asked for.
    """

    group: str
    kind: str
    number: int
    bolts: tuple[int, ...]
    target: Measured | None = None
    setting: Measured | None = None
    low: Measured | None = None
    high: Measured | None = None
    tool_low: Measured | None = None
    tool_high: Measured | None = None
    clicks: bool = False
    unit_words: str = ""
    last_round: int = 1
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkLaidOut(Event):
    """All that has to be done, in order, as computed from the joint file: questions, passes, questions."""

    kind: ClassVar[str] = "work-laid-out"
    joint: str
    before: tuple[Question, ...]
    passes: tuple[Pass, ...]
    after: tuple[Question, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemAnnounced(Event):
    """The assistant asked for the current item: a question (bolt None) or a bolt of a pass."""

    kind: ClassVar[str] = "item-announced"
    stage: int  # 1.., counted through before + passes + after
    round: int
    bolt: int | None
    first_of_pass: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionAnswered(Event):
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
class QuestionRefused(Event):
    """A check was answered with something else than the plan rests on, or a hold point with less than its phrase."""

    kind: ClassVar[str] = "question-refused"
    stage: int
    name: str
    answer: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltSnugged(Event):
    """A bolt was reported snug."""

    kind: ClassVar[str] = "bolt-snugged"
    entry: int
    stage: int
    round: int
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingAccepted(Event):
    """An achieved torque that the acceptance table lets into the record."""

    kind: ClassVar[str] = "reading-accepted"
    entry: int
    stage: int
    round: int
    pass_number: int
    bolt: int
    achieved: Measured  # as said; on the wrench's scale
    utterance: str
    confirmed_by: str = ""  # utterance of the yes, the repeat or the choice; "" when sure at once
    probability: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingKept(Event):
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
class ClickedAtSetting(Event):
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
class BoltHeld(Event):
    """At full target the nut did not move."""

    kind: ClassVar[str] = "bolt-held"
    entry: int
    stage: int
    round: int
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltMoved(Event):
    """At full target the nut still moved; the round has to be repeated."""

    kind: ClassVar[str] = "bolt-moved"
    entry: int
    stage: int
    round: int
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StageFinished(Event):
    """Every item of a stage (and round) has its entry."""

    kind: ClassVar[str] = "stage-finished"
    stage: int
    round: int
    again: bool = False  # a circular round in which a nut moved: the round is repeated


@dataclass(frozen=True, slots=True, kw_only=True)
class CompetentPersonAsked(Event):
    """Nuts still move after the last round that the plan allows: stop and find the cause."""

    kind: ClassVar[str] = "competent-person-asked"
    stage: int
    round: int
