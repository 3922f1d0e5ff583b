"""What each part of the joint record rests on: for every sentence the line of the journal that says it.

A part is either in `RESTS`, with a check of the event at the line that it names, or in `ELSEWHERE`, with the file that
it is taken from. A part that is in neither claims something that nobody can look up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, get_args

from assistant.journal.reading import Entry as Line
from assistant.replay.facts import read_facts
from assistant.replay.outcomes import outcome_of
from assistant.replay.record_basis import Calculated, Group, Input, Joint, Person, Tool, Wait
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
from assistant.replay.record_fields import (
    Compared,
    JointRecord,
    Recheck,
    Related,
    Review,
    Ruling,
    Seal,
    Session,
    Sitting,
    Verification,
)
from assistant.replay.record_steps import KINDS
from assistant.replay.record_work import (
    Asked,
    Bolt,
    Break,
    Correction,
    Entry,
    Happening,
    Part,
    PassDone,
    Said,
    Torque,
)

At = Callable[[int], Any]
"""Line number -> its event."""
FINDINGS = {"finding-made", "question-refused"}
DECIDED_BY: dict[str, set[str] | None] = {
    "finding": FINDINGS,
    "approval": {"session-opened"},
    "stop": {"stop-released"},
    "kept": {"reading-kept"},
    "wait": {"wait-over", "wait-cut-short"},
    "early": {event.kind for event in KINDS},
    "pace": {event.kind for event in KINDS},
    "typed": None,  # the first answer that was typed, of any kind
    "one listener": None,  # the first line of the sitting
    "prompts": {"prompt-spoken"},
    "names": {"name-kept"},
}
"""Kind of decision -> kinds of event that it rests on."""


def _entry(part: Entry, event: Any) -> bool:
    value = getattr(event, "achieved", None) or getattr(event, "setting", None)
    same = part.value is None or (
        value is not None and (value.value, value.unit) == (part.value.value, part.value.unit)
    )
    return KINDS[type(event)] == part.kind and same and part.reason == getattr(event, "reason", "")


def _asked(part: Asked, event: Any) -> bool:
    return event.kind in ("question-answered", "stop-released") and event.stage == part.stage


def _measured(part: MeasuredFigure, event: Any) -> bool:
    return event.kind == "measurement-kept" and (event.value, event.unit) == (part.value, part.said_unit)


def _waited(part: Waited, event: Any) -> bool:
    kinds = {"running": "wait-begun", "over": "wait-over", "cut short": "wait-cut-short"}
    return event.kind == kinds[part.state] and event.stage == part.stage


def _happening(part: Happening, event: Any) -> bool:
    if part.kind == "prompt not heard whole":
        return event.kind == "prompt-spoken" and event.text in part.text and (event.cut_short or event.whole is False)
    return (outcome_of(event).deviation or "note") == part.kind and part.reason in (getattr(event, "reason", ""), "")


def _said(part: Said, event: Any) -> bool:
    kinds = {"outside": "reading-outside", "refused": "reading-impossible"}
    return event.kind == kinds[part.why] and event.heard.value == part.value.value


def _decision(part: Decision, event: Any) -> bool:
    kinds = DECIDED_BY[part.kind]
    said = getattr(event, "what", None) or getattr(event, "answer", None) or getattr(event, "reason", "")
    quoted = part.kind not in ("finding", "kept", "stop") or str(said) in part.text
    return (kinds is None or event.kind in kinds) and quoted


RESTS: dict[type[Part], Callable[[Any, Any], bool]] = {
    Entry: _entry,
    Asked: _asked,
    MeasuredFigure: _measured,
    Waited: _waited,
    Happening: _happening,
    Said: _said,
    Decision: _decision,
    Named: lambda part, event: event.kind == "name-kept" and (event.text, event.purpose) == (part.text, part.purpose),
    CautionSaid: lambda part, event: event.kind == "prompt-spoken" and part.text in event.text,
    DoneOver: lambda _, event: event.kind in ("bolt-replaced", "passes-restarted"),
    BackQuestion: lambda part, event: event.kind == "asked-back" and event.expects in part.expects,
    LookAgain: lambda part, event: part.utterance == getattr(event, "utterance", ""),
    Agreed: lambda part, event: event.kind == "supervisor-agreed" and event.phrase == part.phrase,
    Correction: lambda part, event: (
        event.kind in ("entry-taken-back", "name-taken-back", "bolt-replaced", "passes-restarted")
        or (part.how == "replaced" and type(event) in KINDS)
    ),
    Break: lambda part, event: event.kind in BREAKS,
}
"""Part -> whether the event at its line says it."""
BREAKS = {"paused", "stopped", "session-left", "competent-person-asked", "session-resumed"}
FOLDED = "made of other parts, which are looked at themselves"
ELSEWHERE: dict[type[Part], str] = {
    Joint: "joint file",
    Person: "joint file",
    Group: "joint file and plan",
    Calculated: "plan",
    Input: "plan",
    Tool: "joint file",
    Wait: "joint file",
    Recheck: "joint file",
    Session: "session-opened, seal, and the lines as a whole; compared in `check_rests`",
    Sitting: "session-opened and session-resumed; compared in `check_rests`",
    Related: "another session",
    Compared: "another session",
    Verification: "verification",
    Seal: "seal.json",
    Review: "review.jsonl",
    Ruling: "review.jsonl",
    PassDone: FOLDED,
    Bolt: FOLDED,
    RecheckDone: FOLDED,
    Torque: FOLDED,
}
OTHER_LINES = {"witness_line": "witness", "who_line": "who"}
"""A second line that a part names -> its field with the name that is kept there."""


def kinds_of_part() -> set[type[Part]]:
    """Every model that a joint record can hold."""
    found: set[type[Part]] = set()

    def look(annotation: Any) -> None:
        if isinstance(annotation, type) and issubclass(annotation, Part) and annotation not in found:
            found.add(annotation)
            for each in annotation.model_fields.values():
                look(each.annotation)
        for inner in get_args(annotation):
            look(inner)

    for each in JointRecord.model_fields.values():
        look(each.annotation)
    return found


def parts_of(part: object) -> Iterator[Part]:
    """A record and every part in it."""
    if isinstance(part, Part):
        yield part
        for name in type(part).model_fields:
            yield from parts_of(getattr(part, name))
    elif isinstance(part, tuple):
        for each in part:
            yield from parts_of(each)


def check_rests(record: JointRecord, lines: Sequence[Line]) -> int:
    """Look every part up in the journal; how many were. AssertionError names the one that does not stand there."""
    looked_up = 0
    for part in parts_of(record.model_copy(update={"review": None, "related": ()})):
        says = RESTS.get(type(part))
        line = getattr(part, "line", None)
        if says is None or line is None:
            continue
        there = lines[line - 1]
        assert says(part, there.event), (part, there.event)
        utc = getattr(part, "utc", None)
        assert utc is None or utc == there.utc, part
        for field, name in OTHER_LINES.items():
            number = getattr(part, field, None)
            assert number is None or lines[number - 1].event.text == getattr(part, name), part  # type: ignore[attr-defined]
        looked_up += 1
    begun = [each for each in lines if each.event.kind in ("session-opened", "session-resumed")]
    assert [s.from_utc for s in record.session.sittings] == [each.utc for each in begun]
    assert {s.speaker for s in record.session.sittings} <= {each.event.speaker for each in begun}  # type: ignore[attr-defined]
    heard = {n for each in begun for n in each.event.listeners}  # type: ignore[attr-defined]
    assert set(record.session.listeners) == heard
    typed = read_facts(lines).typed
    for bolt in (bolt for each in record.passes for bolt in each.bolts if bolt.how.startswith("reading")):
        counted = [entry.utterance for entry in bolt.entries if entry.standing == "counts"]
        assert bolt.how == ("reading typed" if any(map(typed, counted)) else "reading spoken")
    return looked_up
