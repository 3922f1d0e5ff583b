"""Doubt, repair, and what a person may ask for at any time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from assistant.events.records import Alternative, EventBase, Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingDoubted(EventBase):
    """Something was heard that is not sure enough: it is read back as a question. Nothing is recorded."""

    kind: ClassVar[str] = "reading-doubted"
    bolt: int | None
    heard: Alternative
    other: Alternative | None
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingOutside(EventBase):
    """A sure reading outside the window. Nothing is recorded until it is re-tightened or kept with a reason."""

    kind: ClassVar[str] = "reading-outside"
    bolt: int
    heard: Alternative
    side: str  # low | high
    by: Measured  # how far outside, on the wrench's scale
    hint: str  # "" | last-pass | bolt-target
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingImpossible(EventBase):
    """A number that cannot be this bolt's torque; never recorded as achieved."""

    kind: ClassVar[str] = "reading-impossible"
    bolt: int | None
    heard: Alternative
    reason: str  # tool-range | far-off | unit | other-scale | bolt-value | not-a-torque | no-reading-due
    hint: str = ""  # unit: the unit that would explain it
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherBoltNamed(EventBase):
    """A bolt other than the announced one was named; the right one is asked for again."""

    kind: ClassVar[str] = "other-bolt-named"
    announced: int | None
    named: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTakenBack(EventBase):
    """A no to a question: what was asked about was not said."""

    kind: ClassVar[str] = "reading-taken-back"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RetightenAgreed(EventBase):
    """The bolt outside its window will be tightened again."""

    kind: ClassVar[str] = "retighten-agreed"
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryTakenBack(EventBase):
    """A correction: the named entry no longer counts. The entry itself stays in the journal."""

    kind: ClassVar[str] = "entry-taken-back"
    taken_back: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmationDoubted(EventBase):
    """A yes, or a numbered choice, that is not sure enough alone; said once more it may be."""

    kind: ClassVar[str] = "confirmation-doubted"
    heard: Alternative
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotUnderstood(EventBase):
    """Speech that could not be read; counted, so that the third in a row changes the way of asking."""

    kind: ClassVar[str] = "not-understood"
    utterance: str
    aloud: bool  # the assistant says so (otherwise it stays silent)


@dataclass(frozen=True, slots=True, kw_only=True)
class FiguresAsked(EventBase):
    """The value is asked for figure by figure."""

    kind: ClassVar[str] = "figures-asked"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceOffered(EventBase):
    """Two numbered choices are offered."""

    kind: ClassVar[str] = "choice-offered"
    choices: tuple[Alternative, ...]
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HelperAsked(EventBase):
    """The assistant cannot understand; a helper at the keyboard is asked for."""

    kind: ClassVar[str] = "helper-asked"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonAsked(EventBase):
    """Words are asked for: a reason to skip, keep, cut short or release, what is missing, or what changed."""

    kind: ClassVar[str] = "reason-asked"
    purpose: str  # skip | keep | cut-short | release | missing | changed
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltSkipped(EventBase):
    """A bolt is left for the end of its pass; the pass stays open."""

    kind: ClassVar[str] = "bolt-skipped"
    stage: int
    round: int
    bolt: int
    reason: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedBack(EventBase):
    """The previous bolt of the pass is taken up again; its entry stands until a new one replaces it."""

    kind: ClassVar[str] = "stepped-back"
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedOn(EventBase):
    """After stepping back, the bolt's entry is left as it is."""

    kind: ClassVar[str] = "stepped-on"
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteAsked(EventBase):
    """Free speech for a note is awaited."""

    kind: ClassVar[str] = "note-asked"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteKept(EventBase):
    """A note: free speech, kept as audio and text, never read as a value."""

    kind: ClassVar[str] = "note-kept"
    bolt: int | None
    text: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told(EventBase):
    """A question of the person was answered: say again, status, help, why, target, or a refusal with its reason."""

    kind: ClassVar[str] = "told"
    what: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Paused(EventBase):
    """Guiding pauses; only resume goes on."""

    kind: ClassVar[str] = "paused"
    reason: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopped(EventBase):
    """Stop was said: guiding is silent; only resume goes on."""

    kind: ClassVar[str] = "stopped"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Resumed(EventBase):
    """Guiding goes on at the same item."""

    kind: ClassVar[str] = "resumed"
    utterance: str


RepairEvent = (
    ReadingDoubted
    | ReadingOutside
    | ReadingImpossible
    | OtherBoltNamed
    | ReadingTakenBack
    | RetightenAgreed
    | EntryTakenBack
    | ConfirmationDoubted
    | NotUnderstood
    | FiguresAsked
    | ChoiceOffered
    | HelperAsked
    | ReasonAsked
    | BoltSkipped
    | SteppedBack
    | SteppedOn
    | NoteAsked
    | NoteKept
    | Told
    | Paused
    | Stopped
    | Resumed
)
