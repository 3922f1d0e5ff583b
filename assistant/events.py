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
    decision: str  # accept | ask | reject, by the calibrated thresholds alone
    accept_at: float  # probability from which this utterance would have been accepted
    state: str = ""  # dialogue state it was heard in
    snr_db: float | None = None  # estimated, over the steady noise
    clipped: bool = False
    while_speaking: bool = False  # begun while the assistant itself spoke (headset only)


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


# ------------------------------------------------------------------------------------------------- the work laid out
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


# ------------------------------------------------------------------------------------------------------ going through
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


# --------------------------------------------------------------------------------------------------- doubt and repair
@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingDoubted(Event):
    """Something was heard that is not sure enough: it is read back as a question. Nothing is recorded."""

    kind: ClassVar[str] = "reading-doubted"
    bolt: int | None
    heard: Alternative
    other: Alternative | None
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingOutside(Event):
    """A sure reading outside the window. Nothing is recorded until it is re-tightened or kept with a reason."""

    kind: ClassVar[str] = "reading-outside"
    bolt: int
    heard: Alternative
    side: str  # low | high
    by: Measured  # how far outside, on the wrench's scale
    hint: str  # "" | last-pass | bolt-target
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingImpossible(Event):
    """A number that cannot be this bolt's torque; never recorded as achieved."""

    kind: ClassVar[str] = "reading-impossible"
    bolt: int | None
    heard: Alternative
    reason: str  # tool-range | far-off | unit | not-a-torque | no-reading-due
    hint: str = ""  # unit: the unit that would explain it
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherBoltNamed(Event):
    """A bolt other than the announced one was named; the right one is asked for again."""

    kind: ClassVar[str] = "other-bolt-named"
    announced: int | None
    named: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTakenBack(Event):
    """A no to a question: what was asked about was not said."""

    kind: ClassVar[str] = "reading-taken-back"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RetightenAgreed(Event):
    """The bolt outside its window will be tightened again."""

    kind: ClassVar[str] = "retighten-agreed"
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryTakenBack(Event):
    """A correction: the named entry no longer counts. The entry itself stays in the journal."""

    kind: ClassVar[str] = "entry-taken-back"
    taken_back: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotUnderstood(Event):
    """Speech that could not be read; counted, so that the third in a row changes the way of asking."""

    kind: ClassVar[str] = "not-understood"
    utterance: str
    aloud: bool  # the assistant says so (otherwise it stays silent)


@dataclass(frozen=True, slots=True, kw_only=True)
class FiguresAsked(Event):
    """The value is asked for figure by figure."""

    kind: ClassVar[str] = "figures-asked"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceOffered(Event):
    """Two numbered choices are offered."""

    kind: ClassVar[str] = "choice-offered"
    choices: tuple[Alternative, ...]
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HelperAsked(Event):
    """The assistant cannot understand; a helper at the keyboard is asked for."""

    kind: ClassVar[str] = "helper-asked"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonAsked(Event):
    """A reason is asked for: to skip the bolt, or to keep a reading outside its window."""

    kind: ClassVar[str] = "reason-asked"
    purpose: str  # skip | keep
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltSkipped(Event):
    """A bolt is left for the end of its pass; the pass stays open."""

    kind: ClassVar[str] = "bolt-skipped"
    stage: int
    round: int
    bolt: int
    reason: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedBack(Event):
    """The previous bolt of the pass is taken up again; its entry stands until a new one replaces it."""

    kind: ClassVar[str] = "stepped-back"
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedOn(Event):
    """After stepping back, the bolt's entry is left as it is."""

    kind: ClassVar[str] = "stepped-on"
    bolt: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteAsked(Event):
    """Free speech for a note is awaited."""

    kind: ClassVar[str] = "note-asked"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteKept(Event):
    """A note: free speech, kept as audio and text, never read as a value."""

    kind: ClassVar[str] = "note-kept"
    bolt: int | None
    text: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told(Event):
    """A question of the person was answered: say again, status, help, why, target, or a refusal with its reason."""

    kind: ClassVar[str] = "told"
    what: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Paused(Event):
    """Guiding pauses; only resume goes on."""

    kind: ClassVar[str] = "paused"
    reason: str
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopped(Event):
    """Stop was said: guiding is silent; only resume goes on."""

    kind: ClassVar[str] = "stopped"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Resumed(Event):
    """Guiding goes on at the same item."""

    kind: ClassVar[str] = "resumed"
    utterance: str


def fields_of(event_class: type) -> dict[str, Any]:
    """Resolved type of each field of a record class of this module, by name."""
    hints = typing.get_type_hints(event_class)
    return {f.name: hints[f.name] for f in dataclasses.fields(event_class)}


def event_classes() -> types.MappingProxyType[str, type[Event]]:
    """All concrete events by their name on disk.

    Raises:
        TypeError: two classes carry the same name (our bug, found at import by the tests).
    """
    found: dict[str, type[Event]] = {}
    todo = list(Event.__subclasses__())
    while todo:
        event_class = todo.pop()
        todo += event_class.__subclasses__()
        if event_class.kind in found:
            raise TypeError(f"two events named {event_class.kind}")
        found[event_class.kind] = event_class
    return types.MappingProxyType(dict(sorted(found.items())))
