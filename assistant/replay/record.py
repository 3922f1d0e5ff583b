"""The joint record, made from what a session folder holds: journal, joint file, plan, seals, review. Pure.

Nothing is believed that the journal's chain does not hold: the record ends where the journal is damaged, and says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from assistant.bolting.joint import Joint
from assistant.events import SessionClosed, SessionOpened, SessionResumed, WorkLaidOut
from assistant.events.review import CommentMade, JointAccepted, RedoOrdered, ReviewBegun, ReviewSigned
from assistant.journal.beginning import Beginning
from assistant.journal.findings import Report
from assistant.journal.reading import Entry
from assistant.journal.review import Reviewed
from assistant.journal.sessions import PLAYED
from assistant.replay import record_joint
from assistant.replay.course import Course, course
from assistant.replay.record_fields import JointRecord, Review, Ruling, Seal, Session, Verification
from assistant.replay.record_ledger import Ledger, gather
from assistant.replay.record_open import complete, last_rounds, open_points
from assistant.replay.record_recheck import recheck_results
from assistant.replay.record_steps import passes_done
from assistant.replay.record_story import asked, breaks, corrections, happenings
from assistant.replay.record_work import Asked, PassDone
from assistant.replay.related import Other, answered_by, other, related, with_results


@dataclass(frozen=True, slots=True, kw_only=True)
class Sources:
    """What a session folder holds, as far as it could be read.

    Args:
        folder: its name.
        beginning: the journal.
        joint: the kept joint file; None where it is missing or cannot be read.
        plan: content of plan.json, an object; empty where it is missing.
        joint_sha256, plan_sha256: of the kept files; "" where missing.
        seal, review_seal: as they are there; None for none.
        review: the lead's review; None for none.
        report: what verification says.
        others: the other sessions on the joint beside this one.
        product: name and version that makes the record.
        missing: what could not be read, in words.
    """

    folder: str
    beginning: Beginning
    product: str
    joint: Joint | None = None
    plan: Mapping[str, Any] = field(default_factory=dict)
    joint_sha256: str = ""
    plan_sha256: str = ""
    seal: Seal | None = None
    review: Reviewed | None = None
    review_seal: Seal | None = None
    report: Report | None = None
    others: tuple[Other, ...] = ()
    missing: tuple[str, ...] = ()


def joint_record(sources: Sources) -> JointRecord:
    """Everything that a lead and an auditor look for in a session."""
    lines, joint = sources.beginning.entries, sources.joint
    ledger = gather(lines)
    beside_bolts = course((line.seq, line) for line in lines)
    passes = passes_done(ledger)
    names = {p.role: p.name for p in joint.people if p.name} if joint is not None else {}
    questions = asked(ledger, lines, names=names, found_course=beside_bolts)
    deviations, notes = happenings(ledger, lines)
    me = other(sources.folder, lines)
    beside = related(me, sources.others)
    report = sources.report
    day = lines[-1].utc.date() if lines else None
    first = [each for each in last_rounds(passes) if each.phase != "re-check"]
    whole = bool(first) and all(bolt.status != "open" for each in first for bolt in each.bolts)
    tightened = ledger.last_bolt if whole else None
    record = JointRecord(
        product=sources.product,
        complete=False,
        joint=record_joint.identification(joint, name=_name(ledger, lines)),
        people=record_joint.people(joint),
        session=_session(sources, ledger, me),
        groups=record_joint.groups(joint, sources.plan, ledger),
        tools=record_joint.tools(joint, day=day),
        hold_points=tuple(q for q in questions if q.hold),
        checks=tuple(q for q in questions if not q.hold),
        passes=passes,
        deviations=deviations,
        corrections=corrections(ledger),
        notes=notes,
        breaks=breaks(lines),
        waits=() if beside_bolts.waits else record_joint.waits(joint, passes),
        **_beside(beside_bolts, passes),
        rechecks=tuple(with_results(each, beside) for each in record_joint.rechecks(joint, tightened)),
        leak_watch=tuple(q for q in questions if q.phase == "leak watch" or "leak" in f"{q.name} {q.ask}".casefold()),
        related=beside,
        open_points=(),
        verification=None if report is None else Verification(good=report.good, findings=_findings(report)),
        seal=sources.seal,
        review=_review(sources),
        not_recorded=_not_recorded(joint, beside_bolts, questions),
        missing=(*_trouble(sources, ledger), *sources.missing),
    )
    record = record.model_copy(update={"open_points": open_points(record)})
    return record.model_copy(update={"complete": complete(record)})


def _beside(found: Course, passes: tuple[PassDone, ...]) -> dict[str, Any]:
    """What happened around the bolts."""
    return {
        "waited": tuple(found.waits.values()),
        "measurements": tuple(found.measured.values()),
        "names": tuple(found.names),
        "done_over": tuple(found.done_over),
        "recheck_results": recheck_results(found, passes),
        "questions_back": tuple(found.questions),
        "agreements": tuple(found.agreed),
        "look_again": tuple(found.look_again),
    }


def _name(ledger: Ledger, lines: Sequence[Entry]) -> str:
    opened = next((e.event for e in lines if isinstance(e.event, SessionOpened)), None)
    return opened.joint if opened is not None else ledger.work.joint if ledger.work is not None else ""


def _session(sources: Sources, ledger: Ledger, me: Other) -> Session:
    lines = sources.beginning.entries
    begun = [e.event for e in lines if isinstance(e.event, SessionOpened | SessionResumed)]
    closed = next((e.utc for e in lines if isinstance(e.event, SessionClosed)), None)
    work: WorkLaidOut | None = ledger.work
    return Session(
        folder=sources.folder,
        state=_state(sources, closed),
        opened_utc=lines[0].utc if lines else None,
        tightened_utc=ledger.last_bolt,
        closed_utc=closed,
        lines=len(lines),
        last_line_sha256=lines[-1].sha256 if lines else "",
        joint_sha256=sources.joint_sha256,
        plan_sha256=sources.plan_sha256,
        products=tuple(dict.fromkeys(event.product for event in begun)),
        listeners=tuple(dict.fromkeys(name for event in begun for name in event.listeners)),
        follows_up=me.follows_up,
        how=_how(lines),
        apprentice=work is not None and work.apprentice,
        language=work.language if work is not None else "",
        cautions=work.cautions if work is not None else (),
    )


def _how(lines: Sequence[Entry]) -> str:
    """'rehearsal' or 'practice' where nothing was tightened."""
    opened = next((e.event for e in lines if isinstance(e.event, SessionOpened)), None)
    played = opened.settings.get(PLAYED, "") if opened is not None else ""
    return played if isinstance(played, str) else ""


def _state(sources: Sources, closed: datetime | None) -> Literal["empty", "unfinished", "closed", "sealed", "damaged"]:
    if sources.beginning.trouble:
        return "damaged"
    if not sources.beginning.entries:
        return "empty"
    if closed is None:
        return "unfinished"
    return "sealed" if sources.seal is not None and sources.seal.fits else "closed"


def _findings(report: Report) -> tuple[str, ...]:
    return tuple(
        f"{f.severity}: {f.where}: {f.message}" + (f" [{f.sign}]" if f.sign != "none" else "")
        for f in report.findings
        if f.severity != "note"
    )


def _trouble(sources: Sources, ledger: Ledger) -> tuple[str, ...]:
    found = []
    beginning = sources.beginning
    if beginning.trouble:
        left = beginning.lines - len(beginning.entries)
        found.append(
            f"The journal is believed up to line {len(beginning.entries)} only ({beginning.trouble}); "
            f"{left} line{'' if left == 1 else 's'} after it are not in this record"
        )
    if beginning.torn_bytes and not beginning.trouble:
        found.append(f"The last {beginning.torn_bytes} bytes of the journal are a line that was never finished")
    if ledger.work is None:
        found.append("No work was laid out in the journal, so there are no bolts to show")
    return (*found, *(f"{stray[0].upper()}{stray[1:]}" for stray in ledger.strays[:_MOST_STRAYS]))


_MOST_STRAYS = 20


def _not_recorded(joint: Joint | None, found_course: Course, questions: Sequence[Asked]) -> tuple[str, ...]:
    """What an auditor looks for and the events do not hold."""
    gasketed = joint is None or joint.gasket is not None
    watched = any(q.phase == "leak watch" for q in questions)
    lengths = any(each.quantity == "length" for each in found_course.measured.values())
    temperature = any(each.quantity == "temperature" for each in found_course.measured.values())
    found = [
        "Heat or batch of bolts and nuts; new or used before",
        "Batch of the gasket" if gasketed else "",
        "Competence of the people (certificate, valid until)",
        "" if lengths else "Gaps or alignment readings before and after",
        ("Test pressure and result" if watched else "Test pressure and result; leak watch") if gasketed else "",
        "" if temperature else "Temperature at a re-check, and who measured it",
        "Who spoke: voices are not told apart",
    ]
    return tuple(each for each in found if each)


def _review(sources: Sources) -> Review | None:
    if sources.review is None:
        return None
    rulings, accepted, signed = [], "", None
    for entry in sources.review.entries:
        rulings.append(_ruling(entry, sources))
        event = entry.event
        if isinstance(event, JointAccepted):
            accepted = event.by
        elif isinstance(event, RedoOrdered):
            accepted = ""
        elif isinstance(event, ReviewSigned):
            signed = (event.by, entry.utc)
    return Review(
        rulings=tuple(rulings),
        accepted_by=accepted,
        signed_by=signed[0] if signed else "",
        signed_utc=signed[1] if signed else None,
        seal=sources.review_seal,
    )


def _ruling(entry: Entry, sources: Sources) -> Ruling:
    event: Any = entry.event
    common: dict[str, Any] = {"line": entry.seq, "utc": entry.utc, "by": event.by}
    if isinstance(event, ReviewBegun):
        text = f"of {event.session_lines} lines" + ("" if event.as_recorded else ", NOT as recorded")
        return Ruling(**common, kind="begun", text=text)
    if isinstance(event, RedoOrdered):
        done = answered_by((event.group, event.bolt), entry.utc, sources.others)
        return Ruling(**common, kind="redo", group=event.group, bolt=event.bolt, text=event.reason, answered_by=done)
    if isinstance(event, JointAccepted):
        return Ruling(**common, kind="accepted", text=event.reason)
    return (
        Ruling(**common, kind="comment", text=event.text)
        if isinstance(event, CommentMade)
        else Ruling(**common, kind="signed")
    )
