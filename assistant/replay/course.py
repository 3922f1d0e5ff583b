"""What happened around the bolts, gathered in one walk through a journal: waits, measurements, names, work done over,
an apprentice's questions. Never raises for what stands in it; what fits nowhere is left out. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from assistant.errors import AssistantError
from assistant.events import Item, ItemAnnounced, Measurement, Pass, Wait, WorkLaidOut
from assistant.journal.reading import Entry as Line
from assistant.procedure.evolve import LESSONS
from assistant.procedure.prompts_course import expected_percent
from assistant.replay.outcomes import outcome
from assistant.replay.record_course import Agreed, BackQuestion, DoneOver, LookAgain, MeasuredFigure, Named, Waited
from assistant.replay.titles import clock, figure_in, item_title

DONE_OVER = {"pass": "pass done over", "gasket": "gasket disturbed"}


@dataclass(slots=True)
class Course:
    """All of it, in order; `line` of each part is the number that the walk was given."""

    work: WorkLaidOut | None = None
    waits: dict[int, Waited] = field(default_factory=dict)
    measured: dict[int, MeasuredFigure] = field(default_factory=dict)
    names: list[Named] = field(default_factory=list)
    done_over: list[DoneOver] = field(default_factory=list)
    questions: list[BackQuestion] = field(default_factory=list)
    look_again: list[LookAgain] = field(default_factory=list)
    agreed: list[Agreed] = field(default_factory=list)
    entries: dict[int, tuple[str, int]] = field(default_factory=dict)
    """Entry number -> what it recorded, in words, and its stage."""

    @property
    def items(self) -> tuple[Item, ...]:
        """What all stages hold."""
        return () if self.work is None else self.work.items

    def item(self, stage: int) -> Item | None:
        """What a stage holds; None where there is no such stage."""
        return self.items[stage - 1] if 1 <= stage <= len(self.items) else None

    def witness(self, stage: int) -> Named | None:
        """Who released a hold point: the last name that counts."""
        found = (n for n in reversed(self.names) if n.stage == stage and n.purpose == "witness" and n.counts)
        return next(found, None)

    def competent(self, line: int) -> Named | None:
        """Who looked for the cause after a competent person was asked for at this line."""
        return next((n for n in self.names if n.purpose == "competent" and n.line > line), None)


def course(lines: Iterable[tuple[int, Line]]) -> Course:
    """Walk through a journal once.

    Args:
        lines: entries in order, each with its number.
    """
    walk = _Walk()
    for number, line in lines:
        walk.take(number, line)
    return walk.found


class _Walk:
    def __init__(self) -> None:
        self.found = Course()
        self._here: tuple[int, int | None] = (0, None)
        self._named: dict[int, Named] = {}

    def take(self, number: int, line: Line) -> None:
        event: Any = line.event
        if isinstance(event, WorkLaidOut):
            if self.found.work is None:
                self.found.work = event
                self._lay_out(event)
            return
        if isinstance(event, ItemAnnounced):
            self._here = (event.stage, event.bolt)
        step = _STEPS.get(event.kind)
        if step is not None:
            step(self, number, line, event)
        entry = getattr(event, "entry", 0)
        if entry:
            self.found.entries[entry] = (outcome(event).removeprefix("recorded: "), getattr(event, "stage", 0))
        lesson = event.kind in LESSONS and not getattr(event, "right", False)
        if lesson and self.found.work is not None and self.found.work.apprentice:
            self._look_again(number, line, event)

    def _lay_out(self, work: WorkLaidOut) -> None:
        for stage, item in enumerate(work.items, start=1):
            if isinstance(item, Wait):
                self.found.waits[stage] = Waited(stage=stage, name=item.name, phase=item.phase, planned_s=item.seconds)
            elif isinstance(item, Measurement):
                self.found.measured[stage] = MeasuredFigure(
                    stage=stage,
                    name=item.name,
                    phase=item.phase,
                    ask=item.ask,
                    quantity=item.quantity,
                    unit=item.unit,
                    low=item.low,
                    high=item.high,
                    who_wanted=item.who,
                )

    def _title(self, stage: int) -> str:
        return item_title(self.found.items, stage).replace(", round 1", "")

    # -------------------------------------------------------------------------------------------------------- waits
    def _wait(self, number: int, line: Line, event: Any) -> None:
        known = self.found.waits.get(event.stage)
        if known is None:
            return
        kind = event.kind
        self._here = (event.stage, None)
        if kind == "wait-begun":
            fresh = Waited(stage=known.stage, name=known.name, phase=known.phase, planned_s=event.seconds)
            change: dict[str, Any] = {"state": "running", "begun_utc": line.utc, "line": number}
            self.found.waits[event.stage] = fresh.model_copy(update=change)
            return
        waited = getattr(event, "waited_s", None)
        if kind == "wait-cut-short":
            waited = max(0, known.planned_s - event.left_s)
        change = {
            "state": "over" if kind == "wait-over" else "cut short",
            "ended_utc": line.utc,
            "waited_s": waited,
            "left_s": getattr(event, "left_s", None),
            "reason": getattr(event, "reason", ""),
            "line": number,
            "utterance": event.utterance,
        }
        self.found.waits[event.stage] = known.model_copy(update=change)

    # ------------------------------------------------------------------------------------------- measurements, names
    def _measured(self, number: int, line: Line, event: Any) -> None:
        known = self.found.measured.get(event.stage)
        item = self.found.item(event.stage)
        if known is None or not isinstance(item, Measurement):
            return
        percent = None
        if item.expected:
            try:
                percent = expected_percent(item, event.value, event.unit)
            except (AssistantError, ArithmeticError, ValueError):
                percent = None  # a foreign record's unit
        change = {"value": event.value, "said_unit": event.unit, "utc": line.utc, "line": number}
        change |= {"utterance": event.utterance, "expected_percent": percent, "who": "", "who_utterance": ""}
        self.found.measured[event.stage] = known.model_copy(update=change)

    def _refused(self, number: int, line: Line, event: Any) -> None:
        del number
        known = self.found.measured.get(event.stage)
        if known is not None and event.heard.value is not None:
            said = figure_in(event.heard.value, event.heard.unit or known.unit)
            refused = (*known.refused, f"{said}, too {event.side} ({clock(line.utc)})")
            self.found.measured[event.stage] = known.model_copy(update={"refused": refused})

    def _name(self, number: int, line: Line, event: Any) -> None:
        named = Named(
            line=number,
            utc=line.utc,
            stage=event.stage,
            item=self._title(event.stage),
            purpose=event.purpose,
            role=event.role,
            text=event.text,
            utterance=event.utterance,
        )
        self.found.names.append(named)
        if event.entry:
            self._named[event.entry] = named
        known = self.found.measured.get(event.stage)
        if event.purpose == "measured" and known is not None:
            change = {"who": event.text, "who_utterance": event.utterance}
            self.found.measured[event.stage] = known.model_copy(update=change)

    # ------------------------------------------------------------------------------------------------ taken back
    def _taken_back(self, number: int, line: Line, event: Any) -> None:
        del number, line
        self._drop((event.taken_back,))

    def _drop(self, entries: Iterable[int]) -> None:
        """Entries that no longer count: their name, measured figure or wait is open again."""
        gone = set(entries)
        for entry in gone & self._named.keys():
            old = self._named.pop(entry)
            self.found.names = [n.model_copy(update={"counts": False}) if n is old else n for n in self.found.names]
        for stage in {self.found.entries[e][1] for e in gone if e in self.found.entries}:
            empty = {"value": None, "said_unit": "", "who": "", "utc": None, "line": None, "utterance": ""}
            if stage in self.found.measured:
                self.found.measured[stage] = self.found.measured[stage].model_copy(
                    update=empty | {"expected_percent": None, "who_utterance": ""}
                )

    def _over(self, number: int, line: Line, event: Any) -> None:
        replaced = event.kind == "bolt-replaced"
        item = self.found.item(event.stage)
        told = [self.found.entries[e][0] for e in event.taken_back if e in self.found.entries]
        made = DoneOver(
            line=number,
            utc=line.utc,
            kind="bolt replaced" if replaced else DONE_OVER.get(event.reason, "pass done over"),  # type: ignore[arg-type]
            group=event.group if replaced else item.group if isinstance(item, Pass) else "",
            bolt=event.bolt if replaced else None,
            since=self._title(event.stage),
            taken_back=tuple(told),
            utterance=event.utterance,
        )
        self.found.done_over.append(made)
        self._drop(event.taken_back)
        if not replaced:
            for stage, wait in self.found.waits.items():
                if stage >= event.stage and wait.state == "running":
                    self.found.waits[stage] = wait.model_copy(update={"state": "not begun", "begun_utc": None})

    # ------------------------------------------------------------------------------------------------ apprentice
    def _asked_back(self, number: int, line: Line, event: Any) -> None:
        item = self.found.item(event.stage)
        asks = item.lesson.ask_back if item is not None else None
        question = asks.ask if asks is not None and event.about == "phrase" else ""
        if event.about == "next-bolt":
            first = item.bolts[0] if isinstance(item, Pass) else "the first"
            question = f"After bolt {first}, which bolt comes next?"
        expects = f"bolt {event.expects}" if event.about == "next-bolt" else event.expects
        made = BackQuestion(
            line=number, utc=line.utc, item=self._title(event.stage), question=question, expects=expects
        )
        self.found.questions.append(made)

    def _answered(self, number: int, line: Line, event: Any) -> None:
        del number, line
        if self.found.questions:
            answer = f"bolt {event.answer}" if event.answer.isdecimal() else event.answer
            change = {"answer": answer, "right": event.right, "utterance": event.utterance}
            self.found.questions[-1] = self.found.questions[-1].model_copy(update=change)

    def _reason(self, number: int, line: Line, event: Any) -> None:
        del number, line
        if self.found.questions:
            change = {"reason": event.text, "reason_utterance": event.utterance}
            self.found.questions[-1] = self.found.questions[-1].model_copy(update=change)

    def _agreed(self, number: int, line: Line, event: Any) -> None:
        stage, bolt = self._here
        made = Agreed(
            line=number,
            utc=line.utc,
            item=self._title(stage),
            bolt=bolt,
            purpose=event.purpose,
            phrase=event.phrase,
            utterance=event.utterance,
        )
        self.found.agreed.append(made)

    def _look_again(self, number: int, line: Line, event: Any) -> None:
        stage = getattr(event, "stage", 0) or self._here[0]
        bolt = getattr(event, "bolt", None)
        made = LookAgain(
            line=number,
            utc=line.utc,
            item=self._title(stage),
            bolt=bolt if bolt is not None else self._here[1] if stage == self._here[0] else None,
            text=outcome(event),
            utterance=getattr(event, "utterance", ""),
        )
        self.found.look_again.append(made)


_STEPS = {
    "wait-begun": _Walk._wait,
    "wait-over": _Walk._wait,
    "wait-cut-short": _Walk._wait,
    "measurement-kept": _Walk._measured,
    "measurement-refused": _Walk._refused,
    "name-kept": _Walk._name,
    "entry-taken-back": _Walk._taken_back,
    "bolt-replaced": _Walk._over,
    "passes-restarted": _Walk._over,
    "asked-back": _Walk._asked_back,
    "answered-back": _Walk._answered,
    "reason-given": _Walk._reason,
    "supervisor-agreed": _Walk._agreed,
}
