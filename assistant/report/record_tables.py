"""What a joint record says, as plain text in blocks and in order: one source for the terminal and the PDF."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from assistant.events import Measured
from assistant.replay.record_fields import JointRecord, Seal
from assistant.replay.record_work import Asked, Happening, Torque
from assistant.replay.titles import MISHEARD, UNIT_SIGNS, clock, figure
from assistant.replay.verdict import verdict
from assistant.report.printable import printable
from assistant.report.record_blocks import Block, cells

NONE = "none"


def headline(record: JointRecord) -> tuple[str, str, tuple[str, ...]]:
    """The verdict in a word or two, why, and what it rests on."""
    session, verification = record.session, record.verification
    found = "not verified" if verification is None else "as recorded" if verification.good else "NOT as recorded"
    bolts = {(p.group, b.bolt) for p in record.passes for b in p.bolts}
    readings = [b for p in record.passes for b in p.bolts if b.achieved is not None]
    typed = sum(b.typed for b in readings)
    clicks = sum(b.how == "clicked at setting" for p in record.passes for b in p.bolts)
    kept = sum(b.status == "kept outside window" for b in readings)
    how = "typed" if typed == len(readings) > 0 else "spoken" if not typed else f"given, {typed} of them typed"
    asked = sum(b.asked for p in record.passes for b in p.bolts)
    facts = (
        f"Session {session.state}; verification: {found}.",
        f"{_many(len(bolts), 'bolt')}: {_many(len(readings), 'reading')} {how}, {_many(clicks, 'click')} reported; "
        f"{kept} kept outside the window, {len(record.corrections)} corrected, {_count(record, 'skipped')} skipped, "
        f"{_many(asked, 'question')} asked about bolts.",
        _reviewed(record),
    )
    judged = verdict(record)
    named = record.verdict == "untrusted"  # begins with the name of a file, which stays as it is
    reason = printable(judged.reason if named else f"{judged.reason[:1].upper()}{judged.reason[1:]}")
    return judged.heading.upper(), reason, facts


def _many(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _count(record: JointRecord, kind: str) -> int:
    return sum(each.kind == kind for each in record.deviations)


def _reviewed(record: JointRecord) -> str:
    review = record.review
    if review is None:
        return "Not reviewed."
    accepted = f"accepted by {review.accepted_by}" if review.accepted_by else "not accepted"
    return printable(
        f"Review: {accepted}; " + (f"signed by {review.signed_by}." if review.signed_by else "not signed.")
    )


def identification(record: JointRecord) -> Block:
    """Joint, instruction, session, people."""
    joint, session = record.joint, record.session
    people = "; ".join(
        person.role + (f": {person.name}" if person.name else "") + (f" ({person.task})" if person.task else "")
        for person in record.people
    )
    facts = [
        ("Tag", joint.tag),
        ("Place", joint.place),
        ("Kind", joint.kind),
        ("Instruction", joint.instruction + (f", revision {joint.revision}" if joint.revision else "")),
        ("It says", joint.instruction_note),
        ("Flange", joint.flange),
        ("Gasket", joint.gasket),
        ("People", people),
        ("Tightened by", tightened_by(record)),
        ("Guided", "an apprentice, each step explained" if session.apprentice else ""),
        ("Cautions", _cautions(record)),
        ("Begun", when(session.opened_utc)),
        ("Last bolt", when(session.tightened_utc)),
        ("Closed", when(session.closed_utc) or "not closed"),
        ("Times are from", session.clock),
        ("Approval", session.approval),
        ("Session", session.folder),
        ("Follows up", session.follows_up),
    ]
    return Block(title="Joint", facts=_facts(facts))


def tightened_by(record: JointRecord) -> str:
    """Whoever said that they tighten, or took over, in order: names as they were said; '' where nobody did."""
    named = [n.text for n in record.names if n.purpose in ("tightens", "takes-over") and n.counts]
    return "; ".join(f"“{name}” (as said)" for name in dict.fromkeys(named))


def _cautions(record: JointRecord) -> str:
    """Each caution with when and how it was said, or that one of the plan was not."""
    said = [f"“{each.text}” {each.how} {when(each.utc)}" for each in record.cautions]
    return "; ".join(said) or ("none was said" if record.session.opened_utc is not None else "")


def _facts(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple((name, printable(neat(text))) for name, text in pairs if text)


def neat(text: str) -> str:
    """Units as they are printed elsewhere: 'N·m' for the 'N*m' of joint files."""
    for symbol, sign in UNIT_SIGNS.items():
        text = text.replace(symbol, sign)
    return text


def when(utc: datetime | None) -> str:
    """A time in print; '' for none."""
    return "" if utc is None else f"{clock(utc)} UTC"


def shown(value: Torque | None) -> str:
    """A torque in print; '' for none."""
    return "" if value is None else figure(Measured(value.value, value.unit))


def rounded(value: Torque | None) -> str:
    """A computed torque in print, to two decimals; '' for none."""
    return "" if value is None else figure(Measured(round(value.value, 2), value.unit))


def tools(record: JointRecord) -> Block:
    """Tools with serial and calibration."""
    rows = tuple(
        cells(
            t.name,
            t.kind,
            t.serial or "-",
            neat(t.scale),
            str(t.calibration_due or "-") + ("" if t.valid_on_day is not False else " RUN OUT"),
            ", ".join(t.groups),
        )
        for t in record.tools
    )
    head = ("Tool", "Kind", "Serial", "Scale", "Calibrated until", "For")
    return Block(title="Tools", head=head, rows=rows, widths=(18, 18, 22, 60, 24, 30), lines=() if rows else (NONE,))


def questions(record: JointRecord) -> Block:
    """Hold points, then checks."""
    rows = tuple(_asked(each) for each in (*record.hold_points, *record.checks))
    head = ("Hold point or check", "Asked", "Passed with", "Role, name", "When (UTC)", "Refused before")
    named = any(each.witness for each in record.hold_points)
    return Block(
        title="Hold points and checks",
        head=head,
        rows=rows,
        widths=(28, 40, 28, 28, 28, 30),
        lines=(MISHEARD,) if named else () if rows else (NONE,),
    )


def _asked(each: Asked) -> tuple[str, ...]:
    name = f"{'Hold point' if each.hold else 'Check'}: {each.name}"
    role = f"role: {each.role}" + (f" ({each.person} in the joint file)" if each.person else "") if each.role else ""
    said = "no name was asked for" if each.passed_utc is not None and each.role else ""
    if each.witness:
        said = f"named: “{each.witness}”, recording {each.witness_utterance or '-'}"
    elif each.witness_wanted and each.passed_utc is not None:
        said = "NOBODY NAMED"
    by = "; ".join(part for part in (role, said) if part)
    passed = each.passed_utc is not None
    time = clock(each.passed_utc) if each.passed_utc is not None else "OPEN"
    return cells(
        name,
        each.ask,
        f"'{each.phrase}'" + (" (typed)" if each.typed else "") if passed else "-",
        by or "-",
        time,
        "; ".join(each.refused) or "-",
    )


def events(record: JointRecord) -> tuple[Block, ...]:
    """Deviations, corrections, notes, breaks; those of which there are none in one sentence."""
    found = (
        _happened("Deviations", record.deviations),
        _happened("Prompts not heard whole", record.prompts_cut),
        Block(
            title="Corrections",
            head=("When (UTC)", "Where", "Was", "Is now", "How", "Lines"),
            rows=tuple(
                cells(
                    clock(c.utc),
                    ", ".join(part for part in (c.group, c.item, f"bolt {c.bolt}" if c.bolt else "") if part),
                    c.old,
                    c.new or "open",
                    c.how,
                    f"{c.old_line} -> {c.new_line or '-'}",
                )
                for c in record.corrections
            ),
            widths=(30, 60, 26, 26, 20, 18),
        ),
        _happened("Notes", record.notes),
        Block(
            title="Breaks",
            head=("From (UTC)", "To (UTC)", "Reason"),
            rows=tuple(
                cells(clock(b.from_utc), clock(b.to_utc) if b.to_utc else "not continued", b.reason)
                for b in record.breaks
            ),
            widths=(30, 30, 120),
        ),
    )
    absent = [each.title.lower() for each in found if not each.rows]
    nothing = Block(title="Nothing to tell", lines=(f"No {', no '.join(absent)}.",))
    return (*(each for each in found if each.rows), *((nothing,) if absent else ()))


def _happened(title: str, found: tuple[Happening, ...]) -> Block:
    rows = tuple(
        cells(clock(h.utc), _place(h), h.text + (f". Reason: {h.reason}" if h.reason else ""), h.utterance or "-")
        for h in found
    )
    head = ("When (UTC)", "Where", "What", "Recording")
    return Block(title=title, head=head, rows=rows, widths=(30, 40, 92, 18))


def _place(each: Happening) -> str:
    number = {None: "", 0: "snug"}.get(each.pass_number, f"pass {each.pass_number}")
    parts = (each.group, number, f"bolt {each.bolt}" if each.bolt is not None else "")
    return ", ".join(part for part in parts if part) or "-"


def later(record: JointRecord) -> Block:
    """Waits, re-checks, leak watch, other sessions on the joint."""
    facts = [(f"Wait, {w.group}", _span(w.wait, w.from_utc, w.over_utc)) for w in record.waits]
    for each in record.rechecks:
        due = " to ".join(when(t) for t in (each.earliest_utc, each.latest_utc) if t is not None)
        here = " ".join(found.words for found in record.recheck_results)
        done = "; ".join(part for part in (here, *each.results) if part) or "not done"
        facts.append(
            (f"{each.kind.capitalize()} re-check", f"due {due or 'after tightening'}; {each.condition}. Result: {done}")
        )
    watch = "; ".join(_watch(q) for q in record.leak_watch)
    facts.append(("Leak watch", watch or "not asked about in this session"))
    for other in record.related:
        changes = [c.change_percent for c in other.readings]
        change = f"; {len(changes)} bolts in both, {min(changes):+g} to {max(changes):+g} %" if changes else ""
        closed = when(other.closed_utc) or "not closed"
        doubt = (
            ""
            if other.believed or other.closed_utc is None
            else "; not sealed with a key known here: it counts for nothing"
        )
        facts.append((other.relation.capitalize(), f"{other.folder}, closed: {closed}{change}{doubt}"))
    return Block(title="Afterwards", facts=_facts(facts))


def _watch(each: Asked) -> str:
    before = f"{'; '.join(each.refused)}; then " if each.refused else ""
    return f"{before}“{each.phrase}” {when(each.passed_utc)}" if each.passed_utc else f"{before}OPEN: {each.ask}"


def _span(wait: str, start: datetime | None, end: datetime | None) -> str:
    if start is None:
        return f"{wait}, not begun"
    return f"{wait} from {when(start)}{f', over {when(end)}' if end else ''}; what was done then is not recorded here"


def listener_words(names: Iterable[str]) -> str:
    """'typed at a keyboard', or how many listeners there were, with their names."""
    known = tuple(dict.fromkeys(names))
    if known == ("typed",):
        return "none: typed at a keyboard"
    count = {1: "one listener", 2: "two listeners"}.get(len(known), f"{len(known)} listeners")
    return f"{count} ({', '.join(known)})" if known else ""


def trust(record: JointRecord) -> tuple[Block, ...]:
    """Verification and seals; the review; what is missing."""
    session, verification = record.session, record.verification
    facts = [
        ("Verification", "not run" if verification is None else "good" if verification.good else "NOT as recorded"),
        ("Journal", f"{session.lines} lines; last line {session.last_line_sha256}"),
        ("Joint file", session.joint_sha256),
        ("Plan", session.plan_sha256),
        ("Recorded by", "; ".join(session.products)),
        ("Listeners", listener_words(session.listeners)),
        ("Seal", _seal(record.seal)),
        ("Review's seal", _seal(record.review.seal) if record.review is not None else ""),
        ("Record made by", record.product),
    ]
    blocks = [Block(title="Verification and seals", facts=_facts(facts), lines=_findings(record))]
    if record.review is not None:
        rows = tuple(
            cells(
                clock(r.utc),
                r.by,
                r.kind + (f": {r.group}, bolt {r.bolt}" if r.bolt is not None else ""),
                r.text + (f" (done in {r.answered_by})" if r.answered_by else ""),
            )
            for r in record.review.rulings
        )
        blocks.append(
            Block(title="Review", head=("When (UTC)", "By", "Ruling", "Words"), rows=rows, widths=(30, 28, 44, 78))
        )
    if record.missing:
        blocks.append(Block(title="Missing", lines=tuple(printable(each) for each in record.missing)))
    return tuple(blocks)


def _findings(record: JointRecord) -> tuple[str, ...]:
    found = record.verification.findings if record.verification is not None else ()
    more = (f"... and {len(found) - MOST_FINDINGS} more",) if len(found) > MOST_FINDINGS else ()
    return (*(printable(each) for each in found[:MOST_FINDINGS]), *more)


MOST_FINDINGS = 50


def _seal(seal: Seal | None) -> str:
    if seal is None:
        return "none"
    fits = "fits" if seal.fits else "DOES NOT FIT what is here"
    return f"Ed25519 over {seal.lines} lines, {seal.utc}, {seal.product}, key {seal.key}: {fits}"
