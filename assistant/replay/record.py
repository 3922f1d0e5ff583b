"""The joint record, made from what a session folder holds: journal, joint file, plan, seals, review. Pure.

Nothing is believed that the journal's chain does not hold: the record ends where the journal is damaged, and says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial
from typing import Any, Literal

from typing_extensions import assert_never

from assistant.bolting.joint_file.joint import Joint
from assistant.events import (
    Measurement,
    Question,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    Wait,
)
from assistant.events.review import CommentMade, JointAccepted, RedoOrdered, ReviewBegun, ReviewSigned, SoundErased
from assistant.journal.beginning import Beginning
from assistant.journal.findings import Report
from assistant.journal.reading import ReviewLine
from assistant.journal.review import Reviewed
from assistant.procedure import standing
from assistant.replay import around, record_joint
from assistant.replay.decisions import decisions
from assistant.replay.facts import Facts, read_facts
from assistant.replay.record_course import Decision, MeasuredFigure, Named
from assistant.replay.record_fields import JointRecord, Review, Ruling, Seal, Session, Sitting, Verification
from assistant.replay.record_open import last_rounds, open_points
from assistant.replay.record_recheck import recheck_results
from assistant.replay.record_steps import passes_done
from assistant.replay.record_story import breaks, corrections, happenings
from assistant.replay.record_work import Asked, PassDone
from assistant.replay.related import Other, answered_by, other, related, signed_for, with_results
from assistant.replay.titles import clock, length_words, stage_title
from assistant.replay.verdict import verdict


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
        others: the other sessions on the joint beside this one; a rehearsal among them does nothing for a real joint.
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


def joint_record(sources: Sources, facts: Facts | None = None) -> JointRecord:
    """Everything that a lead and an auditor look for in a session.

    Args:
        facts: the reading of the session's lines, where it was made already.
    """
    facts = read_facts(sources.beginning.entries) if facts is None else facts
    lines, joint, report = sources.beginning.entries, sources.joint, sources.report
    passes, waited, measured = passes_done(facts), around.waits(facts), around.measurements(facts)
    names = {p.role: p.name for p in joint.people if p.name} if joint is not None else {}
    questions, named = around.questions_asked(facts, names=names), around.names(facts)
    deviations, notes = happenings(facts)
    me = other(sources.folder, facts)
    sources = replace(sources, others=tuple(each for each in sources.others if each.how == me.how))
    beside = related(me, sources.others)
    day = lines[-1].utc.date() if lines else None
    tightened = tightened_at(passes)
    rechecks = tuple(with_results(each, beside) for each in record_joint.rechecks(joint, tightened))
    record = JointRecord(
        product=sources.product,
        verdict="open",
        verdict_words="",
        complete=False,
        whole=standing.whole(facts.state) and not facts.misfits,
        due=_due(facts),
        distrust=tuple(_distrust(sources, facts)),
        joint=record_joint.identification(joint, name=_name(facts)),
        people=record_joint.people(joint),
        session=_session(sources, facts, me, tightened),
        groups=record_joint.groups(joint, sources.plan, facts),
        tools=record_joint.tools(joint, day=day),
        hold_points=tuple(q for q in questions if q.hold),
        checks=tuple(q for q in questions if not q.hold),
        passes=passes,
        deviations=deviations,
        corrections=corrections(facts),
        notes=notes,
        breaks=breaks(facts),
        waits=() if waited else record_joint.waits(joint, passes),
        waited=waited,
        measurements=measured,
        names=named,
        done_over=around.done_over(facts),
        recheck_results=recheck_results(measured, passes),
        questions_back=around.questions_back(facts),
        agreements=around.agreements(facts),
        look_again=around.look_again(facts),
        rechecks=rechecks,
        cautions=around.cautions_said(facts),
        prompts_cut=around.prompts_cut(facts),
        leak_watch=tuple(q for q in questions if q.phase == "leak watch" or "leak" in f"{q.name} {q.ask}".casefold()),
        related=beside,
        open_points=(),
        verification=None if report is None else Verification(good=report.good, findings=_findings(report)),
        seal=sources.seal,
        review=_review(sources),
        not_recorded=_not_recorded(joint, measured, questions, named),
        missing=(*_trouble(sources, facts), *sources.missing),
    )
    warned = frozenset(each["name"] for each in sources.plan.get("cautions", ()))
    found = decisions(facts, warned, passes=passes, waited=waited, names=named, rechecks=rechecks)
    record = record.model_copy(update={"decisions": tuple(d for d in found if not _redone(d, record))})
    judged = verdict(record)
    last = {
        "open_points": open_points(record),
        "verdict": judged.token,
        "verdict_words": judged.line,
        "complete": judged.token in ("complete", "accepted"),
    }
    return record.model_copy(update=last)


def _redone(decision: Decision, record: JointRecord) -> bool:
    """Whether the bolt that it is about was done again since, in a session of its own."""
    rulings = record.review.rulings if record.review is not None else ()
    return decision.kind == "kept" and any(
        r.answered_by and (r.group, r.bolt) == (decision.group, decision.bolt) for r in rulings
    )


def tightened_at(passes: tuple[PassDone, ...]) -> datetime | None:
    """When the last bolt was recorded before the re-check; None while one is open."""
    first = [each for each in last_rounds(passes) if each.phase != "re-check"]
    if not first or any(bolt.status == "open" for each in first for bolt in each.bolts):
        return None
    return max((each.last_utc for each in passes if each.phase != "re-check" and each.last_utc), default=None)


def _due(facts: Facts) -> str:
    """What is to be done next, in words: 'bolt 5 of Pass 2, 102 N·m', 'the hold point lock-out'; '' for nothing."""
    state = facts.state
    if state.closed or not state.work.passes:
        return ""
    try:
        due = standing.due(state)
    except (IndexError, ValueError, StopIteration):  # a foreign record leaves nothing sensible
        return ""
    if due is None:
        return "the end: the session was not closed"
    match due.item:
        case Question():
            who = ", the name of whoever releases it" if due.name else ""
            return f"the {'hold point' if due.item.hold else 'check'} {due.item.name}{who}"
        case Wait():
            left = f", {length_words(state.left_s)} left when last looked at" if state.left_s is not None else ""
            return f"the wait {due.item.name}, {length_words(due.item.seconds)}{left}"
        case Measurement():
            return f"the measurement {due.item.name}" + (", the name of whoever measured" if due.name else "")
    return f"{f'bolt {due.bolt}' if due.bolt is not None else 'the end'} of {stage_title(state, due.stage, due.round)}"


def _distrust(sources: Sources, facts: Facts) -> Iterator[str]:
    """Why the record cannot be trusted, the gravest first; nothing where it can."""
    report, beginning = sources.report, sources.beginning
    if beginning.trouble:
        yield f"The journal is damaged after line {len(beginning.entries)}: {beginning.trouble}"
    if report is None:
        yield "Nobody has checked whether it is as it was recorded"
    else:
        yield from (text.rstrip(".") for text in report.trust.reasons)
        yield from (f"{each.where}: {each.message}".rstrip(".") for each in report.findings if each.code == "future")
    if facts.misfits and not beginning.trouble:
        at = ", ".join(str(step.number) for step in facts.misfits[:5])
        yield f"{len(facts.misfits)} lines do not fit what came before them (line {at})"
    if any(each.startswith("The review") for each in sources.missing):
        yield "There is a review that cannot be read"
    if sources.review is not None and (sources.review_seal is None or not sources.review_seal.fits):
        yield "The review is not sealed, or its seal does not fit"
    closed = facts.first(SessionClosed)
    early = [e for e in sources.review.entries if closed is not None and e.utc < closed.utc] if sources.review else []
    if early and not facts.played:  # a rehearsal's clock runs ahead of its waits
        yield f"The review of {clock(early[0].utc)} UTC is older than the end of the session"


def _name(facts: Facts) -> str:
    return facts.opened.joint if facts.opened is not None else facts.state.work.joint


CLOCK = (
    "the clock of the computer that recorded, stamped as each line was stored; no other clock confirms it. "
    "Waits are counted by it"
)


def _session(sources: Sources, facts: Facts, me: Other, tightened: datetime | None) -> Session:
    lines, work = sources.beginning.entries, facts.work
    begun = [s.event for s in facts.steps if isinstance(s.event, SessionOpened | SessionResumed)]
    closed = facts.first(SessionClosed)
    return Session(
        folder=sources.folder,
        state=_state(sources, closed.utc if closed is not None else None),
        opened_utc=lines[0].utc if lines else None,
        tightened_utc=tightened,
        closed_utc=closed.utc if closed is not None else None,
        lines=len(lines),
        last_line_sha256=lines[-1].sha256 if lines else "",
        joint_sha256=sources.joint_sha256,
        plan_sha256=sources.plan_sha256,
        products=tuple(dict.fromkeys(event.product for event in begun)),
        listeners=tuple(dict.fromkeys(name for event in begun for name in event.listeners)),
        follows_up=me.follows_up,
        how=facts.played,
        apprentice=work is not None and work.apprentice,
        language=work.language if work is not None else "",
        clock=CLOCK,
        approval=_approval(facts),
        sittings=tuple(
            Sitting(from_utc=s.start, to_utc=s.end, listeners=s.listeners, speaker=s.speaker) for s in facts.sittings
        ),
    )


def _approval(facts: Facts) -> str:
    """What `guide` found of the approval when the session was opened, in words."""
    found = facts.opened.settings.get("approval") if facts.opened is not None else None
    if not isinstance(found, dict):
        return ""
    state, by, utc, revision = (str(found.get(name, ""))[:80] for name in ("state", "by", "utc", "revision"))
    if state == "approved":
        return f"joint file and plan approved by {by} on {utc[:10]}, instruction revision {revision}"
    if state == "changed":
        return f"NOT approved: changed since {by} approved it on {utc[:10]} (instruction revision {revision})"
    return "NOT approved" + (": the approval is not signed with a key known there" if state == "not believed" else "")


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


def _trouble(sources: Sources, facts: Facts) -> tuple[str, ...]:
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
    if facts.work is None:
        found.append("No work was laid out in the journal, so there are no bolts to show")
    strays = [f"Line {s.number} does not fit what came before it ({s.event.kind}): left out" for s in facts.misfits]
    return (*found, *strays[:_MOST_STRAYS])


_MOST_STRAYS = 20


def _not_recorded(
    joint: Joint | None, measured: Sequence[MeasuredFigure], questions: Sequence[Asked], names: Sequence[Named]
) -> tuple[str, ...]:
    """What an auditor looks for and the events do not hold."""
    gasketed = joint is None or joint.gasket is not None
    watched = any(q.phase == "leak watch" for q in questions)
    quantities = {each.quantity for each in measured}
    found = [
        "Heat or batch of bolts and nuts; new or used before",
        "Batch of the gasket" if gasketed else "",
        "" if any(n.purpose == "tightens" for n in names) else "Who tightened",
        "Competence of the people (certificate, valid until)",
        "" if "length" in quantities else "Gaps or alignment readings before and after",
        ("Test pressure and result" if watched else "Test pressure and result; leak watch") if gasketed else "",
        "" if "temperature" in quantities else "Temperature at a re-check, and who measured it",
        "Who spoke: voices are not told apart",
    ]
    return tuple(each for each in found if each)


def _review(sources: Sources) -> Review | None:
    if sources.review is None:
        return None
    same_key = sources.report is not None and any(f.code == "review-same-key" for f in sources.report.findings)
    rulings: list[Ruling] = []
    accepted: Ruling | None = None
    signed: Ruling | None = None
    for entry in sources.review.entries:
        ruling = _ruling(entry, sources)
        if ruling.kind == "accepted":
            own = signed_for(entry, sources.review.entries) and not same_key
            accepted = ruling = ruling.model_copy(update={"signed": own})
        elif ruling.kind == "redo":
            accepted = None
        elif ruling.kind == "signed":
            signed = ruling
        rulings.append(ruling)
    return Review(
        rulings=tuple(rulings),
        accepted_by=accepted.by if accepted is not None else "",
        accepted_utc=accepted.utc if accepted is not None else None,
        accepted_signed=accepted is not None and accepted.signed,
        signed_by=signed.by if signed is not None else "",
        signed_utc=signed.utc if signed is not None else None,
        by_name_only=same_key,
        seal=sources.review_seal,
    )


def _ruling(entry: ReviewLine, sources: Sources) -> Ruling:
    event = entry.event
    made = partial(Ruling, line=entry.seq, utc=entry.utc, by=event.by)
    match event:
        case ReviewBegun():
            text = f"of {event.session_lines} lines" + ("" if event.as_recorded else ", NOT as recorded")
            return made(kind="begun", text=text)
        case RedoOrdered():
            done = answered_by((event.group, event.bolt), entry.utc, sources.others)
            return made(kind="redo", group=event.group, bolt=event.bolt, text=event.reason, answered_by=done)
        case JointAccepted():
            return made(kind="accepted", text=event.reason)
        case SoundErased():
            text = f"sound of {len(event.utterances)} utterances" + (f": {event.reason}" if event.reason else "")
            return made(kind="erased", text=text)
        case CommentMade():
            return made(kind="comment", text=event.text)
        case ReviewSigned():
            return made(kind="signed")
        case _:
            assert_never(event)
