"""What is open about a joint by its record: what somebody still has to do. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.events import Measured
from assistant.replay.record_fields import JointRecord, Ruling
from assistant.replay.record_work import PassDone
from assistant.replay.titles import clock, figure


def last_rounds(passes: tuple[PassDone, ...]) -> tuple[PassDone, ...]:
    """Each pass once, a circular one by its last round."""
    return tuple({each.stage: each for each in passes}.values())


def redos_open(record: JointRecord) -> tuple[Ruling, ...]:
    """Bolts that the review wants done again, lifted by no signed acceptance, answered by no later session.

    An acceptance by name alone lifts nothing: anybody at the machine may have typed the name. Neither does one in a
    record that cannot be trusted: anybody may have signed it.
    """
    found: list[Ruling] = []
    for ruling in record.review.rulings if record.review is not None else ():
        if ruling.kind == "accepted" and ruling.signed and not record.distrust:
            found = []
        elif ruling.kind == "redo" and not ruling.answered_by:
            found.append(ruling)
    return tuple(found)


def open_points(record: JointRecord) -> tuple[str, ...]:
    """Everything that somebody still has to do or decide, the gravest first."""
    return (
        *record.distrust,
        *_of_the_review(record),
        *(f"To be decided: {each.text}" for each in record.decisions if not _accepted(record)),
        *_of_the_session(record),
        *open_work(record),
        *_due_later(record),
    )


def nearest_open(record: JointRecord) -> str:
    """Why the joint is not finished, in one sentence: what is due, or what is missing."""
    if record.due:
        return f"next is {record.due}."
    missing = next(iter((*open_work(record), *_of_the_session(record))), "it was not closed")
    return f"{missing}."


def _accepted(record: JointRecord) -> bool:
    return record.review is not None and record.review.accepted_signed


def _of_the_session(record: JointRecord) -> Iterator[str]:
    if record.session.state == "closed":
        yield "The session is closed but not sealed"
    if record.session.how:
        yield f"This was a {record.session.how}: nothing was tightened at a joint"
    if record.session.state in ("unfinished", "empty", "damaged"):
        yield "The joint was not closed" + (f"; next is {record.due}" if record.due else "")
    for tool in record.tools:
        if tool.valid_on_day is False:
            yield f"Calibration of {tool.name} ran out on {tool.calibration_due}"


def open_work(record: JointRecord) -> Iterator[str]:
    """What of the work is still to be done."""
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
    name = each.method or kinds.get(each.kind, f"pass {each.number}")
    name = "re-check" if each.phase == "re-check" else f"{name} after the wait" if each.after_wait else name
    return f"{name}, round {each.round}" if each.goes_round else name


def _of_the_review(record: JointRecord) -> Iterator[str]:
    for ruling in redos_open(record):
        why = f" ({ruling.text})" if ruling.text else ""
        yield f"Review: {ruling.group}, bolt {ruling.bolt} to be done again{why}"
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
