"""What is open about a joint by its record, and whether it is complete. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.events import Measured
from assistant.replay.record_fields import JointRecord, Ruling
from assistant.replay.record_work import PassDone
from assistant.replay.titles import clock, figure


def complete(record: JointRecord) -> bool:
    """Closed, as recorded, every bolt and question done, no redo of the review open."""
    questions = (*record.hold_points, *record.checks)
    around = (
        *(each.state in ("over", "cut short") for each in record.waited),
        *(each.value is not None and bool(each.who or not each.who_wanted) for each in record.measurements),
        *(bool(each.witness or not each.witness_wanted) for each in questions),
    )
    return (
        record.session.state in ("closed", "sealed")
        and (record.verification is None or record.verification.good)
        and bool(record.passes)
        and all(bolt.status != "open" for each in last_rounds(record.passes) for bolt in each.bolts)
        and all(each.passed_utc is not None for each in questions)
        and all(around)
        and not redos_open(record)
    )


def last_rounds(passes: tuple[PassDone, ...]) -> tuple[PassDone, ...]:
    """Each pass once, a circular one by its last round."""
    return tuple({each.stage: each for each in passes}.values())


def redos_open(record: JointRecord) -> tuple[Ruling, ...]:
    """Bolts that the review wants done again, lifted by no later acceptance, answered by no later session."""
    found: list[Ruling] = []
    for ruling in record.review.rulings if record.review is not None else ():
        if ruling.kind == "accepted":
            found = []
        elif ruling.kind == "redo" and not ruling.answered_by:
            found.append(ruling)
    return tuple(found)


def open_points(record: JointRecord) -> tuple[str, ...]:
    """Everything that somebody still has to do or decide, the gravest first."""
    return (*_of_the_record(record), *_of_the_work(record), *_of_the_review(record), *_due_later(record))


def _of_the_record(record: JointRecord) -> Iterator[str]:
    if record.verification is not None and not record.verification.good:
        yield "Verification found that the session is not as recorded"
    if record.session.state == "closed":
        yield "The session is closed but not sealed"
    if record.session.how:
        yield f"This was a {record.session.how}: nothing was tightened at a joint"
    if record.session.state in ("unfinished", "empty", "damaged"):
        yield "The joint was not closed"
    for tool in record.tools:
        if tool.valid_on_day is False:
            yield f"Calibration of {tool.name} ran out on {tool.calibration_due}"


def _of_the_work(record: JointRecord) -> Iterator[str]:
    for each in (*record.hold_points, *record.checks):
        if each.passed_utc is None:
            yield f"{'Hold point' if each.hold else 'Check'} open: {each.name}"
        elif each.witness_wanted and not each.witness:
            yield f"Nobody was named as releasing: {each.name}"
    for figure_ in record.measurements:
        if figure_.value is None:
            yield f"Not measured: {figure_.name}"
        elif figure_.who_wanted and not figure_.who:
            yield f"Nobody was named as having measured: {figure_.name}"
    for wait in record.waited:
        if wait.state in ("not begun", "running"):
            yield f"Wait {'not over' if wait.state == 'running' else 'not begun'}: {wait.name}"
    for done in last_rounds(record.passes):
        left = [str(bolt.bolt) for bolt in done.bolts if bolt.status == "open"]
        if left:
            count = "no bolt done" if len(left) == len(done.bolts) else f"bolt{'s' * (len(left) > 1)} {', '.join(left)}"
            yield f"Open: {name_of(done)}: {count}"
        elif done.moved:
            yield f"{name_of(done)}: nuts still moved at {', '.join(map(str, done.moved))}"


def name_of(each: PassDone) -> str:
    """'flange bolts, pass 2 at 102 N·m', 'flange bolts, re-check, round 1 at 170 N·m'."""
    at = "" if each.setting is None else f" at {figure(Measured(each.setting.value, each.setting.unit))}"
    return f"{each.group}, {pass_words(each)}{at}"


def pass_words(each: PassDone) -> str:
    """'snug', 'pass 2', 'circular pass after the wait, round 2', 're-check, round 1'."""
    kinds = {"snug": "snug", "circular": "circular pass", "seat": "tap and re-torque"}
    name = kinds.get(each.kind, f"pass {each.number}")
    name = "re-check" if each.phase == "re-check" else f"{name} after the wait" if each.after_wait else name
    return f"{name}, round {each.round}" if each.goes_round else name


def _of_the_review(record: JointRecord) -> Iterator[str]:
    for ruling in redos_open(record):
        why = f" ({ruling.text})" if ruling.text else ""
        yield f"Review: {ruling.group}, bolt {ruling.bolt} to be done again{why}"
    accepted = record.review is not None and record.review.accepted_by
    if not accepted:
        for each in record.passes:
            kept = [str(bolt.bolt) for bolt in each.bolts if bolt.status == "kept outside window"]
            if kept:
                which = f"bolt{'s' * (len(kept) > 1)} {', '.join(kept)}"
                yield f"To be decided by the lead: {which} kept outside the window, {name_of(each)}"
    if record.review is None or not record.review.signed_by:
        yield "Not reviewed and signed by the lead yet"


def _due_later(record: JointRecord) -> Iterator[str]:
    done_here = any(each.finished for each in record.recheck_results)
    for wait in record.waits:
        until = f", over {clock(wait.over_utc)} UTC" if wait.over_utc is not None else ""
        yield f"Wait of {wait.wait} after {wait.group}, then once more round: not recorded here{until}"
    for each in record.rechecks:
        if not each.results and not done_here:
            begin, end = (clock(t) if t is not None else "" for t in (each.earliest_utc, each.latest_utc))
            when = f"{f' from {begin}' if begin else ''}{f' to {end}' if end else ''}{' UTC' if begin else ''}"
            yield f"Due: {each.kind} re-check{when} ({each.condition})"
