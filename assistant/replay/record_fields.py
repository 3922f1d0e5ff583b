"""The joint record as a frozen model: what `assistant record --json` prints and `--schema` describes.

Figures are as they were said or planned, with their unit beside them; times are UTC; lines are those of the journal.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from assistant.replay.record_basis import Group, Joint, Person, Tool, Wait
from assistant.replay.record_course import (
    Agreed,
    BackQuestion,
    CautionSaid,
    Decision,
    DoneOver,
    LookAgain,
    MeasuredFigure,
    Named,
    RecheckDone,
    Waited,
)
from assistant.replay.record_work import Asked, Break, Correction, Happening, Part, PassDone, Torque

Token = Literal["open", "complete", "to-decide", "accepted", "to-redo", "rehearsal", "untrusted"]
"""A verdict on a joint; `replay.verdict` gives it."""


class Sitting(Part):
    """One stretch of work without a break."""

    from_utc: datetime
    to_utc: datetime
    listeners: tuple[str, ...]
    speaker: str


class Session(Part):
    """Where the record comes from."""

    folder: str
    """Name of the session folder."""
    state: Literal["empty", "unfinished", "closed", "sealed", "damaged"]
    opened_utc: datetime | None
    tightened_utc: datetime | None
    """Last recorded bolt."""
    closed_utc: datetime | None
    lines: int
    last_line_sha256: str
    joint_sha256: str = ""
    plan_sha256: str = ""
    products: tuple[str, ...] = ()
    """Versions that recorded."""
    listeners: tuple[str, ...] = ()
    follows_up: str = ""
    """Session whose review called for this one."""
    how: str = ""
    """'rehearsal' or 'practice' where nothing was tightened; '' for work at a joint."""
    apprentice: bool = False
    """An apprentice was guided: each step was explained, and things were asked back."""
    language: str = ""
    """Of what was said: 'en', 'de'."""
    clock: str = ""
    """Which clock the times are from, in words."""
    approval: str = ""
    """Whether joint file and plan were approved when it began, by whom, in which revision; "" where nobody looked."""
    sittings: tuple[Sitting, ...] = ()


class Recheck(Part):
    """A re-check that the joint file asks for, with the days it is due and what was recorded of it."""

    kind: Literal["cold", "hot"]
    earliest_utc: datetime | None
    latest_utc: datetime | None
    condition: str
    results: tuple[str, ...] = ()
    """Sessions on this joint in that time; their readings are in `related`."""


class Compared(Part):
    """One bolt's last recorded torque in this session and in another; change in percent of this one's."""

    group: str
    bolt: int
    here: Torque
    there: Torque
    change_percent: float


class Related(Part):
    """Another session on the same joint beside this one; of a rehearsal another rehearsal."""

    folder: str
    relation: Literal["followed up by", "follows up", "later session", "earlier session"]
    opened_utc: datetime | None
    closed_utc: datetime | None
    believed: bool = True
    """It is as it was sealed, with a key that is known; what cannot be trusted answers no review and is no re-check."""
    readings: tuple[Compared, ...] = ()


class Ruling(Part):
    """One line of the lead's review."""

    line: int
    """Of review.jsonl."""
    utc: datetime
    by: str
    kind: Literal["begun", "comment", "accepted", "redo", "signed", "erased"]
    group: str = ""
    bolt: int | None = None
    text: str = ""
    answered_by: str = ""
    """Redo: the later session that did it."""
    signed: bool = False
    """Accepted: signed later on by the same person with a key of their own; a name alone may be typed by anybody."""


class Seal(Part):
    """A signature over a journal: Ed25519 over its number of lines and the hash of the last."""

    utc: str
    product: str
    lines: int
    last_hash: str
    key: str
    """Fingerprint of the public key: its first 16 figures."""
    fits: bool
    """The signature fits, and the journal is as it was sealed."""


class Review(Part):
    """The lead's review, kept beside the technician's journal and signed by itself."""

    rulings: tuple[Ruling, ...] = ()
    accepted_by: str = ""
    """Whoever accepted the joint; '' where nobody did, or a later ruling took it back."""
    accepted_utc: datetime | None = None
    signed_by: str = ""
    signed_utc: datetime | None = None
    by_name_only: bool = False
    """Signed with the key of the machine that recorded, which anybody at it may use: it shows no second person."""
    accepted_signed: bool = False
    """Whoever accepted the joint signed that with a key of their own."""
    seal: Seal | None = None


class Verification(Part):
    """What `assistant verify` said when the record was made."""

    good: bool
    findings: tuple[str, ...] = ()
    """Warnings and errors, each with its place."""


class JointRecord(Part):
    """The joint record: everything that a lead and an auditor look for, made from the session folder alone."""

    format: Literal["joint record 2"] = "joint record 2"
    """Rises when a field changes its meaning or goes; a field that is added does not raise it."""
    product: str
    """Version that made this record."""
    verdict: Token
    """'open', 'complete', 'to-decide', 'accepted', 'to-redo', 'rehearsal' or 'untrusted'."""
    verdict_words: str
    """The verdict and its reason in a sentence or two."""
    complete: bool
    """The verdict is 'complete' or 'accepted'."""
    whole: bool
    """Closed by its phrase, every place of the work done, and no nut moving in a last round."""
    due: str = ""
    """What is to be done next, by the state that the guide would go on from; '' where nothing is."""
    distrust: tuple[str, ...] = ()
    """Why the record cannot be trusted; empty where it can."""
    decisions: tuple[Decision, ...] = ()
    """What waits for a lead's ruling, or waited for it before the joint was accepted."""
    joint: Joint
    people: tuple[Person, ...]
    session: Session
    groups: tuple[Group, ...]
    tools: tuple[Tool, ...]
    hold_points: tuple[Asked, ...]
    checks: tuple[Asked, ...]
    passes: tuple[PassDone, ...]
    deviations: tuple[Happening, ...]
    corrections: tuple[Correction, ...]
    notes: tuple[Happening, ...]
    breaks: tuple[Break, ...]
    waits: tuple[Wait, ...]
    waited: tuple[Waited, ...] = ()
    """The waits of the work: planned, waited, cut short."""
    measurements: tuple[MeasuredFigure, ...] = ()
    names: tuple[Named, ...] = ()
    """Names that were spoken: witnesses, whoever measured, took over, or looked into a cause."""
    done_over: tuple[DoneOver, ...] = ()
    """Replaced bolts, and passes done over."""
    recheck_results: tuple[RecheckDone, ...] = ()
    """What the re-check of this session found."""
    questions_back: tuple[BackQuestion, ...] = ()
    """Asked of an apprentice."""
    agreements: tuple[Agreed, ...] = ()
    """By the supervisor of an apprentice."""
    look_again: tuple[LookAgain, ...] = ()
    """Moments that an apprentice should look at again."""
    rechecks: tuple[Recheck, ...]
    cautions: tuple[CautionSaid, ...] = ()
    """Cautions at the moments in which they were said; those of the plan also where they were due and were not."""
    prompts_cut: tuple[Happening, ...] = ()
    """Prompts that did not sound to their end."""
    leak_watch: tuple[Asked, ...]
    """Questions about leaks, from the hold points and checks; empty where none was asked."""
    related: tuple[Related, ...]
    open_points: tuple[str, ...]
    verification: Verification | None
    seal: Seal | None
    review: Review | None
    not_recorded: tuple[str, ...]
    """What an auditor looks for and the assistant does not record; to be filled in by hand."""
    missing: tuple[str, ...]
    """What could not be read from the session folder, and what follows from it."""


def record_schema() -> dict[str, Any]:
    """The JSON schema (draft 2020-12) of `assistant record --json`."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **JointRecord.model_json_schema(mode="serialization"),
        "title": "Joint record",
    }
