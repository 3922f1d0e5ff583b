"""What each out-of-the-ordinary event says to a lead, and how it ended: (kind of item, text)."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import Any

from assistant.events import SAMPLE_RATE_HZ, EntryTakenBack, Event, ReadingAccepted, ReadingKept
from assistant.procedure.commands import LEAVE_OPEN
from assistant.procedure.parts import COMMANDS
from assistant.procedure.standing import is_finding, item_of
from assistant.replay.course_words import AGREED_TO
from assistant.replay.facts import DueBolt, Step
from assistant.replay.outcomes import heard_words, outcome, question_words
from assistant.replay.record_course import Named
from assistant.replay.record_fields import JointRecord
from assistant.replay.titles import figure, length_words


class Later:
    """What came of things said earlier, looked up by what they named."""

    def __init__(self, steps: Sequence[Step], record: JointRecord) -> None:
        self.record = record
        self.recorded_from: dict[str, Event] = {}
        self.entries: dict[int, Event] = {}
        self._by_bolt: dict[tuple[int, int, int], list[tuple[int, Event]]] = {}
        self._entries: list[Event] = []
        self._numbers: list[int] = []
        self._last_of: dict[tuple[int, int, int], int] = {}
        for step in steps:
            event = step.entry.event
            if isinstance(event, ReadingAccepted | ReadingKept):
                self.recorded_from[event.utterance] = event
                key = (event.stage, event.round, event.bolt)
                self._by_bolt.setdefault(key, []).append((step.number, event))
            number = getattr(event, "entry", None)
            if isinstance(number, int):
                self.entries[number] = event
                self._entries.append(event)
                self._numbers.append(step.number)
                bolt, stage = getattr(event, "bolt", None), getattr(event, "stage", 0)
                if bolt is not None:
                    self._last_of[stage, getattr(event, "round", 1), bolt] = step.number

    def next_entry(self, step: Step, bolt: int | None) -> Event | None:
        """The next thing recorded of what was due at this step; None where something else came before it."""
        at = bisect_right(self._numbers, step.number)
        event = self._entries[at] if at < len(self._entries) else None
        if event is None or getattr(event, "stage", 0) != step.before.stage or getattr(event, "bolt", None) != bolt:
            return None
        return event

    def done_after(self, step: Step, stage: int, round_number: int, bolt: int) -> bool:
        """Whether anything was recorded of a bolt at this place after this step."""
        return self._last_of.get((stage, round_number, bolt), 0) > step.number

    def next_of(self, step: Step, stage: int, round_number: int, bolt: int) -> Event | None:
        """The next reading recorded at this place after this step."""
        known = self._by_bolt.get((stage, round_number, bolt), [])
        return next((event for number, event in known if number > step.number), None)


def _kept(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    text = f"Bolt {event.bolt}, pass {event.pass_number}: {figure(event.achieved)} kept. Reason given: “{event.reason}”"
    return "kept", text


def _skipped(step: Step, later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    after = later.done_after(step, event.stage, event.round, event.bolt)
    said = f"Bolt {event.bolt} was skipped. Reason given: “{event.reason}”"
    return (
        ("later", f"{said} It was done at the end of the pass.") if after else ("skipped", f"{said} It is still open.")
    )


def _outside(step: Step, later: Later) -> tuple[str, str] | None:
    event: Any = step.entry.event
    said = f"Bolt {event.bolt}: {heard_words(event.heard)} was {figure(event.by)} too {event.side}"
    then = later.recorded_from.get(event.utterance)
    if isinstance(then, ReadingKept):
        return None  # stands under what was kept
    then = later.next_of(step, step.before.stage, step.before.round, event.bolt)
    if then is None:
        return "outside", f"{said}; nothing was recorded for it afterwards."
    achieved = figure(then.achieved) if isinstance(then, ReadingAccepted | ReadingKept) else ""
    return "outside", f"{said}; not recorded, then {achieved} was."


def _corrected(step: Step, later: Later) -> tuple[str, str]:
    event = step.entry.event
    assert isinstance(event, EntryTakenBack)
    old: Any = later.entries.get(event.taken_back)
    if old is None:
        return "corrected", f"Entry {event.taken_back} was taken back; the journal holds no such entry."
    if getattr(old, "bolt", None) is None:
        return "corrected", f"The answer to '{getattr(old, 'name', '')}' was taken back."
    was = figure(old.achieved) if hasattr(old, "achieved") else old.kind.replace("-", " ")
    then = later.next_of(step, old.stage, old.round, old.bolt)
    if isinstance(then, ReadingAccepted | ReadingKept):
        return "corrected", f"Bolt {old.bolt}: {was} was taken back, then {figure(then.achieved)} was recorded."
    return "corrected", f"Bolt {old.bolt}: {was} was taken back; no reading was recorded in its place."


def _asked(step: Step, later: Later) -> tuple[str, str] | None:
    event: Any = step.entry.event
    if step.before.measurement is not None or event.heard.command in ALWAYS_ASKED:
        return None  # asked however surely it was heard
    bolt = DueBolt().of(step.before)
    then = later.next_entry(step, bolt)
    place = f"Bolt {bolt}: asked" if bolt else "Asked"
    return "asked", f"{place} “{question_words(event.heard, event.other)}”; {_then(then)}."


ALWAYS_ASKED = COMMANDS | {LEAVE_OPEN}
"""Commands that are read back as a question, whatever was heard how surely."""


def _then(event: Any) -> str:
    """What an entry recorded, after a question."""
    if event is None:
        return "nothing was recorded for it"
    if isinstance(event, ReadingAccepted | ReadingKept):
        return f"then {figure(event.achieved)} was recorded"
    words = {
        "bolt-snugged": "snug",
        "bolt-held": "did not move",
        "bolt-moved": "moved",
        "clicked-at-setting": "clicked",
    }
    return f"then it was recorded: {words.get(event.kind, 'passed')}"


def _told(kind: str, words: str) -> Callable[[Step, Later], tuple[str, str]]:
    def tell(step: Step, _later: Later) -> tuple[str, str]:
        event: Any = step.entry.event
        fields = {name: getattr(event, name, "") for name in ("bolt", "round", "name", "answer", "reason", "text")}
        return kind, words.format(**fields)

    return tell


def _refused(step: Step, _later: Later) -> tuple[str, str]:
    words = outcome(step.entry.event)
    return "refused", words[0].upper() + words[1:] + "."


def _not_passed(step: Step, _later: Later) -> tuple[str, str] | None:
    event: Any = step.entry.event
    if is_finding(item_of(step.before, event.stage), event.answer):
        return None  # told among what is to be decided
    return "not passed", f"“{event.answer}” did not pass: {event.name}."


def _person(step: Step, later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    who = competent(later.record, step.number)
    named = f"; looked into by “{who.text}” (as heard)" if who is not None else "; nobody was named"
    return "person", f"Nuts still moved after round {event.round}{named}."


def competent(record: JointRecord, line: int) -> Named | None:
    """Who looked for the cause after a competent person was asked for at this line."""
    return next((n for n in record.names if n.purpose == "competent" and n.line > line), None)


def _cut_short(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    wait = step.before.wait
    planned = f" of {length_words(wait.seconds)}" if wait is not None else ""
    name = wait.name if wait is not None else "the wait"
    left = length_words(event.left_s)
    return "cut short", f"{name[:1].upper()}{name[1:]}: {left}{planned} were left. Reason given: “{event.reason}”"


def _agreed(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    return "agreed", f"Supervisor agreed {AGREED_TO.get(event.purpose, '')}".rstrip() + "."


def _over_to(step: Step, _later: Later) -> tuple[str, str] | None:
    event: Any = step.entry.event
    if event.purpose != "takes-over":
        return None  # told with the hold point, the measurement or the stop that it belongs to
    return "over to", f"Taken over by “{event.text}” (as heard)."


def _said(kind: str) -> Callable[[Step, Later], tuple[str, str]]:
    def tell(step: Step, _later: Later) -> tuple[str, str]:
        words = outcome(step.entry.event)
        return kind, words[:1].upper() + words[1:] + "."

    return tell


def _left(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    if event.reason == "left open":
        return "broken off", "Left open for another day, by the spoken phrase."
    return "broken off", f"The session was left: {event.reason}."


def _paused(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    return "halt", "Handed over." if event.reason == "hand-over" else f"Paused: {event.reason}."


def _note(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    return "note", (f"At bolt {event.bolt}: " if event.bolt else "") + f"“{event.text}”"


def _lost(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    return "sound", f"{event.samples / SAMPLE_RATE_HZ:.1f} s of sound were lost: {event.reason}."


def _trouble(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    return "sound", f"{event.detail[:1].upper()}{event.detail[1:]}."


def _resumed(step: Step, _later: Later) -> tuple[str, str]:
    event: Any = step.entry.event
    torn = f" A half-written line of {event.torn_bytes} bytes was set aside." if event.torn_bytes else ""
    return "broken off", f"The session was gone on with.{torn}"


ITEMS: dict[str, Callable[[Step, Later], tuple[str, str] | None]] = {
    "reading-kept": _kept,
    "bolt-skipped": _skipped,
    "reading-outside": _outside,
    "entry-taken-back": _corrected,
    "reading-doubted": _asked,
    "reading-impossible": _refused,
    "other-bolt-named": _refused,
    "question-refused": _not_passed,
    "competent-person-asked": _person,
    "wait-cut-short": _cut_short,
    "measurement-refused": _said("measured"),
    "bolt-replaced": _said("done over"),
    "passes-restarted": _said("done over"),
    "supervisor-agreed": _agreed,
    "name-kept": _over_to,
    "helper-asked": _told("helper", "Three failures to understand in a row: a helper at the keyboard was asked for."),
    "note-kept": _note,
    "sound-lost": _lost,
    "trouble-found": _trouble,
    "session-left": _left,
    "session-resumed": _resumed,
    "stopped": _told("halt", "“Stop” was said."),
    "paused": _paused,
}
"""Kind of event -> what it says, given its step and what came later; None where another item says it."""
