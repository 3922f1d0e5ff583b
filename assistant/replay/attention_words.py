"""What each out-of-the-ordinary event says to a lead, and how it ended: (kind of item, text)."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from assistant import events as ev
from assistant.events import SAMPLE_RATE_HZ, Event, bolt_in
from assistant.procedure.answers import PART_COMMANDS as COMMANDS
from assistant.procedure.commands import LEAVE_OPEN
from assistant.procedure.standing import is_finding, item_of
from assistant.procedure.state import AtBolt, Recording
from assistant.replay.facts import DueBolt, Step
from assistant.replay.outcomes import heard_words, outcome, question_words
from assistant.replay.record_course import Named
from assistant.replay.record_fields import JointRecord
from assistant.replay.titles import AGREED_TO, figure, length_words

Reading = ev.ReadingAccepted | ev.ReadingKept


class Later:
    """What came of things said earlier, looked up by what they named."""

    def __init__(self, steps: Sequence[Step], record: JointRecord) -> None:
        self.record = record
        self.recorded_from: dict[str, Reading] = {}
        self.entries: dict[int, Recording] = {}
        self._by_bolt: dict[tuple[int, int, int], list[tuple[int, Reading]]] = {}
        self._entries: list[Recording] = []
        self._numbers: list[int] = []
        self._last_of: dict[tuple[int, int, int], int] = {}
        for step in steps:
            event = step.entry.event
            if isinstance(event, Reading):
                self.recorded_from[event.utterance] = event
                key = (event.stage, event.round, event.bolt)
                self._by_bolt.setdefault(key, []).append((step.number, event))
            if isinstance(event, Recording):
                self.entries[event.entry] = event
                self._entries.append(event)
                self._numbers.append(step.number)
                if isinstance(event, AtBolt):
                    self._last_of[event.stage, event.round, event.bolt] = step.number

    def next_entry(self, step: Step, bolt: int | None) -> Recording | None:
        """The next thing recorded of what was due at this step; None where something else came before it."""
        at = bisect_right(self._numbers, step.number)
        event = self._entries[at] if at < len(self._entries) else None
        if event is None or event.stage != step.before.stage or bolt_in(event) != bolt:
            return None
        return event

    def done_after(self, step: Step, stage: int, round_number: int, bolt: int) -> bool:
        """Whether anything was recorded of a bolt at this place after this step."""
        return self._last_of.get((stage, round_number, bolt), 0) > step.number

    def next_of(self, step: Step, stage: int, round_number: int, bolt: int) -> Reading | None:
        """The next reading recorded at this place after this step."""
        known = self._by_bolt.get((stage, round_number, bolt), [])
        return next((event for number, event in known if number > step.number), None)


def item_of_step(step: Step, later: Later) -> tuple[str, str] | None:
    """What an event says to a lead: kind of item and text; None for what is ordinary, or told by another item."""
    event = step.event
    match event:
        case ev.ReadingKept():
            what = f"Bolt {event.bolt}, pass {event.pass_number}: {figure(event.achieved)} kept."
            return "kept", f"{what} Reason given: “{event.reason}”"
        case ev.BoltSkipped():
            said = f"Bolt {event.bolt} was skipped. Reason given: “{event.reason}”"
            if later.done_after(step, event.stage, event.round, event.bolt):
                return "later", f"{said} It was done at the end of the pass."
            return "skipped", f"{said} It is still open."
        case ev.ReadingOutside():
            return _outside(step, event, later)
        case ev.EntryTakenBack():
            return "corrected", _corrected(step, event, later)
        case ev.ReadingDoubted():
            return _asked(step, event, later)
        case ev.ReadingImpossible() | ev.OtherBoltNamed():
            return "refused", _sentence(event)
        case ev.QuestionRefused():
            if is_finding(item_of(step.before, event.stage), event.answer):
                return None  # told among what is to be decided
            return "not passed", f"“{event.answer}” did not pass: {event.name}."
        case ev.CompetentPersonAsked():
            who = competent(later.record, step.number)
            named = f"; looked into by “{who.text}” (as heard)" if who is not None else "; nobody was named"
            return "person", f"Nuts still moved after round {event.round}{named}."
        case ev.WaitCutShort():
            return "cut short", _cut_short(step, event)
        case ev.MeasurementRefused():
            return "measured", _sentence(event)
        case ev.BoltReplaced() | ev.PassesRestarted():
            return "done over", _sentence(event)
        case ev.SupervisorAgreed():
            return "agreed", f"Supervisor agreed {AGREED_TO.get(event.purpose, '')}".rstrip() + "."
        case ev.NameKept(purpose="takes-over"):  # others are told with the stage that they belong to
            return "over to", f"Taken over by “{event.text}” (as heard)."
        case ev.HelperAsked():
            return "helper", "Three failures to understand in a row: a helper at the keyboard was asked for."
        case ev.NoteKept():
            return "note", (f"At bolt {event.bolt}: " if event.bolt else "") + f"“{event.text}”"
        case ev.SoundLost():
            return "sound", f"{event.samples / SAMPLE_RATE_HZ:.1f} s of sound were lost: {event.reason}."
        case ev.TroubleFound():
            return "sound", f"{event.detail[:1].upper()}{event.detail[1:]}."
        case ev.SessionLeft():
            if event.reason == "left open":
                return "broken off", "Left open for another day, by the spoken phrase."
            return "broken off", f"The session was left: {event.reason}."
        case ev.SessionResumed():
            torn = f" A half-written line of {event.torn_bytes} bytes was set aside." if event.torn_bytes else ""
            return "broken off", f"The session was continued.{torn}"
        case ev.Stopped():
            return "halt", "“Stop” was said."
        case ev.Paused():
            return "halt", "Handed over." if event.reason == "hand-over" else f"Paused: {event.reason}."
    return None


def _sentence(event: Event) -> str:
    words = outcome(event)
    return words[:1].upper() + words[1:] + "."


def _outside(step: Step, event: ev.ReadingOutside, later: Later) -> tuple[str, str] | None:
    said = f"Bolt {event.bolt}: {heard_words(event.heard)} was {figure(event.by)} too {event.side}"
    if isinstance(later.recorded_from.get(event.utterance), ev.ReadingKept):
        return None  # stands under what was kept
    then = later.next_of(step, step.before.stage, step.before.round, event.bolt)
    if then is None:
        return "outside", f"{said}; nothing was recorded for it afterwards."
    return "outside", f"{said}; not recorded, then {figure(then.achieved)} was."


def _corrected(step: Step, event: ev.EntryTakenBack, later: Later) -> str:
    old = later.entries.get(event.taken_back)
    if old is None:
        return f"Entry {event.taken_back} was taken back; the journal holds no such entry."
    if not isinstance(old, AtBolt):
        name = "" if isinstance(old, ev.NameKept | ev.WaitOver | ev.WaitCutShort) else old.name
        return f"The answer to '{name}' was taken back."
    was = figure(old.achieved) if isinstance(old, Reading) else old.kind.replace("-", " ")
    then = later.next_of(step, old.stage, old.round, old.bolt)
    if then is not None:
        return f"Bolt {old.bolt}: {was} was taken back, then {figure(then.achieved)} was recorded."
    return f"Bolt {old.bolt}: {was} was taken back; no reading was recorded in its place."


def _asked(step: Step, event: ev.ReadingDoubted, later: Later) -> tuple[str, str] | None:
    if step.before.measurement is not None or event.heard.command in ALWAYS_ASKED:
        return None  # asked however surely it was heard
    bolt = DueBolt().of(step.before)
    then = later.next_entry(step, bolt)
    place = f"Bolt {bolt}: asked" if bolt else "Asked"
    return "asked", f"{place} “{question_words(event.heard, event.other)}”; {_then(then)}."


ALWAYS_ASKED = COMMANDS | {LEAVE_OPEN}
"""Commands that are read back as a question, whatever was heard how surely."""


def _then(event: Recording | None) -> str:
    """What an entry recorded, after a question."""
    match event:
        case None:
            return "nothing was recorded for it"
        case ev.ReadingAccepted() | ev.ReadingKept():
            return f"then {figure(event.achieved)} was recorded"
        case ev.BoltSnugged():
            words = "snug"
        case ev.BoltHeld():
            words = "did not move"
        case ev.BoltMoved():
            words = "moved"
        case ev.ClickedAtSetting():
            words = "clicked"
        case _:
            words = "passed"
    return f"then it was recorded: {words}"


def competent(record: JointRecord, line: int) -> Named | None:
    """Who looked for the cause after a competent person was asked for at this line."""
    return next((n for n in record.names if n.purpose == "competent" and n.line > line), None)


def _cut_short(step: Step, event: ev.WaitCutShort) -> str:
    wait = step.before.wait
    planned = f" of {length_words(wait.seconds)}" if wait is not None else ""
    name = wait.name if wait is not None else "the wait"
    left = length_words(event.left_s)
    return f"{name[:1].upper()}{name[1:]}: {left}{planned} were left. Reason given: “{event.reason}”"
