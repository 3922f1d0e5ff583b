"""The head of a session's page: the verdict, the facts, and what verification found, as plain text."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_fields import as_written
from assistant.journal.findings import Finding, Report
from assistant.replay.record_fields import Sitting
from assistant.replay.story import Story
from assistant.replay.titles import length_words
from assistant.report.page_sound import Sounds
from assistant.report.record_tables import listener_words, tightened_by

_SOUND_STATES = {
    "changed": "{} on disk: not the sound that was recorded.",
    "damaged": "{} cannot be decoded.",
    "missing": "{} missing.",
}


def grave(story: Story, sounds: Sounds) -> tuple[str, ...]:
    """Sentences under the verdict about what is wrong with the record or its sound."""
    report_says = [f"{each}." for each in story.record.distrust[1:]]
    unread = [f"{_many(len(story.unread), 'line', 'lines')} cannot be read: left out here."] if story.unread else []
    missing = sounds.missing()
    gone = [_SOUND_STATES[state].format(_many(n, "recording", "recordings")) for state, n in missing.items()]
    return (*report_says, *unread, *gone)


def _many(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


def tags(story: Story) -> tuple[str, ...]:
    """What kind of session it was, beside the verdict: 'Rehearsal', 'Practice', 'Apprentice'."""
    played = {"rehearsal": "Rehearsal: nothing was tightened", "practice": "Practice: nothing was tightened"}
    found = [played.get(story.record.session.how, story.record.session.how)] if story.record.session.how else []
    return (*found, *(["Apprentice"] if story.record.session.apprentice else []))


def session_facts(story: Story) -> list[tuple[str, str]]:
    """(name, text) of who listened and spoke."""
    session = story.record.session
    listeners = dict.fromkeys(name for sitting in session.sittings for name in sitting.listeners)
    voices = dict.fromkeys(sitting.speaker for sitting in session.sittings if sitting.speaker)
    made_by = session.products
    found = [
        ("Tightened by", tightened_by(story.record)),
        ("Approval", session.approval),
        ("Listeners", listener_words(listeners)),
        ("Voice", ", ".join(voices)),
        ("Made with", ", ".join(made_by)),
    ]
    return [(name, text) for name, text in found if text]


def joint_facts(joint: Joint | None) -> list[tuple[str, str]]:
    """(name, text) of what identifies the joint, its tools and its people."""
    if joint is None:
        return []
    people = [
        each.role + (f" {each.name}" if each.name else "") + (f" ({each.task})" if each.task else "")
        for each in joint.people
    ]
    tools = [
        f"{wrench.name}, {wrench.kind}, serial {wrench.serial}, calibration holds until {wrench.calibration_due}"
        for wrench in joint.wrenches
    ]
    tools += [f"{gear.name}, multiplier, serial {gear.serial}" for gear in joint.multipliers]
    tools += [f"{part.name}, adapter, {as_written(part.length)}" for part in joint.extensions]
    bolts = [f"{g.name}: {g.count} x {g.thread}, {g.grade}, {g.condition}" for g in joint.groups]
    found = [
        ("Tag", joint.tag or ""),
        ("Place", joint.place),
        ("Kind", joint.kind),
        ("Instruction", f"{joint.instruction.title}, revision {joint.instruction.revision}"),
        ("Bolts", "; ".join(bolts)),
        ("Tools", "; ".join(tools)),
        ("People", "; ".join(people)),
    ]
    return [(name, text) for name, text in found if text]


def sitting_words(sittings: Sequence[Sitting]) -> list[tuple[datetime, datetime, str]]:
    """Start, end and length of each sitting."""
    return [
        (each.from_utc, each.to_utc, length_words((each.to_utc - each.from_utc).total_seconds())) for each in sittings
    ]


def record_words(report: Report | None) -> str:
    """One line about the journal and its seal."""
    if report is None:
        return "not verified"
    answer = "all as recorded" if report.good else "NOT as recorded"
    sealed = f", sealed with key {report.sealed_by}" if report.sealed_by else ", not sealed"
    return f"{report.lines} lines and {report.utterances} recordings, {answer}{sealed}"


def sorted_findings(report: Report | None) -> tuple[list[Finding], list[Finding]]:
    """Faults, gravest first, and mere notes."""
    findings = report.findings if report else ()
    faults = [f for f in findings if f.severity == "error"] + [f for f in findings if f.severity == "warning"]
    return faults, [f for f in findings if f.severity == "note"]
