"""The head of a session's page: the verdict, the facts, and what verification found, as plain text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from assistant.bolting.joint import Joint
from assistant.bolting.joint_fields import as_written
from assistant.journal.findings import Finding, Report
from assistant.replay.attention import HEADINGS
from assistant.replay.head import Sitting
from assistant.replay.story import Story
from assistant.replay.titles import length_words
from assistant.report.page_sound import Sounds
from assistant.report.record_tables import listener_words

_SIGNS = {
    "tampering": "This record was changed after it was made. Do not rely on it.",
    "damage": "This record is damaged. What is shown may be incomplete.",
    "crash": "The machine stopped while this record was being written. Nothing that was acted on is lost.",
}
_SOUND_STATES = {
    "changed": "{} on disk: not the sound that was recorded.",
    "damaged": "{} cannot be decoded.",
    "missing": "{} missing.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The first thing that is read.

    Args:
        level: 'done', 'open' or 'bad'.
        words: a few words.
        grave: sentences about what is open, out of its window or wrong with the record.
        more: other sentences.
    """

    level: str
    words: str
    grave: tuple[str, ...]
    more: tuple[str, ...]


def verdict(story: Story, sounds: Sounds) -> Verdict:
    """Whether the joint is done, and whether the record can be relied on."""
    report = story.report
    grave = [_SIGNS[sign] for sign in (report.signs if report else ())]
    if story.misfits:
        grave.append(f"{_many(len(story.misfits), 'entry does', 'entries do')} not fit what came before.")
    if story.unread:
        grave.append(f"{_many(len(story.unread), 'line', 'lines')} cannot be read: left out here.")
    grave += [_SOUND_STATES[state].format(_many(n, "recording", "recordings")) for state, n in sounds.missing().items()]
    left = Counter(item.kind for item in story.items if item.grade == "act" and item.kind != "open")
    grave += [f"{HEADINGS[kind]}: {count}." for kind, count in left.items()]
    level, words = _level(story)
    return Verdict(level=level, words=words, grave=tuple(grave), more=(story.head.standing,))


def _many(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


def _level(story: Story) -> tuple[str, str]:
    report = story.report
    broken = report is not None and any(f.severity == "error" for f in report.findings)
    if broken or story.misfits or story.unread:
        return "bad", "The record is not as it was made"
    if not story.head.closed:
        return "open", "Not finished"
    if report is None:
        return "open", "Complete and closed; not checked"
    if report.status != "sealed" or not report.sealed_by:
        return "open", "Complete and closed, not sealed"
    if not report.good:
        return "open", "Complete, closed and sealed; the check has something to say"
    return "done", "Complete and closed; checked: sealed, unchanged since"


def tags(story: Story) -> tuple[str, ...]:
    """What kind of session it was, beside the verdict: 'Rehearsal', 'Practice', 'Apprentice'."""
    played = {"rehearsal": "Rehearsal: nothing was tightened", "practice": "Practice: nothing was tightened"}
    found = [played.get(story.head.how, story.head.how)] if story.head.how else []
    return (*found, *(["Apprentice"] if story.head.apprentice else []))


def session_facts(story: Story) -> list[tuple[str, str]]:
    """(name, text) of who listened and spoke."""
    sittings = story.head.sittings
    listeners = dict.fromkeys(name for sitting in sittings for name in sitting.listeners)
    voices = dict.fromkeys(sitting.speaker for sitting in sittings if sitting.speaker)
    made_by = dict.fromkeys(sitting.product for sitting in sittings if sitting.product)
    found = [
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
    return [(each.start, each.end, length_words((each.end - each.start).total_seconds())) for each in sittings]


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
