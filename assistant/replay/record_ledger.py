"""The entries of a journal sorted by place: recorded, asked, skipped, taken back at each bolt. One walk, pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from assistant.events import (
    EntryTakenBack,
    Item,
    ItemAnnounced,
    Measurement,
    NotUnderstood,
    Pass,
    Question,
    ReadingDoubted,
    ReadingImpossible,
    ReadingOutside,
    Wait,
    WorkLaidOut,
)
from assistant.journal.reading import Entry as Line

Place = tuple[int, int, int | None]
"""Stage, round, bolt; bolt None for a question."""
Kind = Literal[
    "snug",
    "reading",
    "reading kept",
    "clicked",
    "held",
    "moved",
    "passed",
    "measured",
    "named",
    "waited",
    "wait cut short",
]
KINDS: dict[str, Kind] = {
    "bolt-snugged": "snug",
    "reading-accepted": "reading",
    "reading-kept": "reading kept",
    "clicked-at-setting": "clicked",
    "bolt-held": "held",
    "bolt-moved": "moved",
    "question-answered": "passed",
    "stop-released": "passed",
    "measurement-kept": "measured",
    "name-kept": "named",
    "wait-over": "waited",
    "wait-cut-short": "wait cut short",
}
_FITTING: tuple[tuple[type, frozenset[str]], ...] = (
    (Question, frozenset({"question-answered", "stop-released", "name-kept"})),
    (Measurement, frozenset({"measurement-kept", "name-kept"})),
    (Wait, frozenset({"wait-over", "wait-cut-short"})),
)
Standing = Literal["counts", "taken back", "replaced"]
TORQUES = ("reading", "reading kept", "clicked")
MOVEMENTS = ("held", "moved")


@dataclass(slots=True)
class Cell:
    """Everything about one place: its entries as they came, and what went before them."""

    lines: list[Line] = field(default_factory=list)
    asked: int = 0
    outside: int = 0
    skipped: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Ledger:
    """All places of a session.

    Args:
        work: as laid out in the journal; None where nothing was.
        cells: by place.
        place_of: entry number -> its place and line.
        taken_back: entry number -> the line that takes it back.
        done_over: entry numbers that a replaced bolt or a restarted pass took back.
        strays: lines that record something that is not in the work, in words.
        last_bolt: when a bolt was last recorded, the re-check left out.
    """

    work: WorkLaidOut | None = None
    cells: dict[Place, Cell] = field(default_factory=dict)
    place_of: dict[int, tuple[Place, Line]] = field(default_factory=dict)
    taken_back: dict[int, Line] = field(default_factory=dict)
    done_over: set[int] = field(default_factory=set)
    strays: list[str] = field(default_factory=list)
    last_bolt: datetime | None = None

    @property
    def stages(self) -> tuple[Item, ...]:
        """What all stages hold, in order."""
        return () if self.work is None else self.work.items

    def item(self, stage: int) -> Item | None:
        """The stage of that number, or None."""
        return self.stages[stage - 1] if 1 <= stage <= len(self.stages) else None

    def standings(self, place: Place) -> list[Standing]:
        """Which entries of a place still count: of each sort the last one that was not taken back."""
        circular = _is_circular(self.item(place[0]))
        found: list[Standing] = []
        taken: set[str] = set()
        for line in reversed(self.cells[place].lines):
            sort = _sort(line.event.kind, circular=circular)
            if line.event.entry in self.taken_back:  # type: ignore[attr-defined]
                found.append("taken back")
            else:
                found.append("replaced" if sort in taken else "counts")
                taken.add(sort)
        return found[::-1]


def gather(lines: Iterable[Line]) -> Ledger:
    """Walk through a journal once. Never raises for what stands in it: what fits nowhere is a stray."""
    ledger = Ledger()
    here: Place = (0, 1, None)
    for line in lines:
        event: Any = line.event
        if isinstance(event, WorkLaidOut):
            ledger.work = ledger.work or event
        elif isinstance(event, ItemAnnounced):
            here = (event.stage, event.round, event.bolt)
        elif event.kind in KINDS:
            if event.entry:  # the name of somebody who takes over, or looks into a cause, is no entry of a stage
                _record(ledger, line)
        elif event.kind in ("bolt-replaced", "passes-restarted"):
            for number in event.taken_back:
                if number in ledger.place_of:
                    ledger.taken_back.setdefault(number, line)
                    ledger.done_over.add(number)
        elif isinstance(event, EntryTakenBack):
            if event.taken_back in ledger.place_of:
                ledger.taken_back[event.taken_back] = line
            else:
                ledger.strays.append(f"line {line.seq} takes back entry {event.taken_back}, which is not there")
        elif isinstance(event, ReadingOutside):
            _cell(ledger, here).outside += 1
        elif isinstance(event, ReadingDoubted | ReadingImpossible) or (
            isinstance(event, NotUnderstood) and event.aloud
        ):
            _cell(ledger, here).asked += 1
        elif event.kind == "bolt-skipped":
            _cell(ledger, (event.stage, event.round, event.bolt)).skipped.append(event.reason)
    return ledger


def _record(ledger: Ledger, line: Line) -> None:
    event: Any = line.event
    place: Place = (event.stage, getattr(event, "round", 1), getattr(event, "bolt", None))
    item = ledger.item(event.stage)
    fits = (
        place[2] in item.bolts
        if isinstance(item, Pass)
        else any(isinstance(item, cls) and event.kind in kinds for cls, kinds in _FITTING)
    )
    if not fits or event.entry in ledger.place_of:
        ledger.strays.append(f"line {line.seq} records something that is not in the work laid out")
        return
    _cell(ledger, place).lines.append(line)
    ledger.place_of[event.entry] = (place, line)
    if isinstance(item, Pass) and item.phase != "re-check":
        ledger.last_bolt = line.utc


def _cell(ledger: Ledger, place: Place) -> Cell:
    return ledger.cells.setdefault(place, Cell())


def _is_circular(item: Item | None) -> bool:
    return isinstance(item, Pass) and item.goes_round


def _sort(kind: str, *, circular: bool) -> str:
    """Entries of one sort replace each other: in a circular pass a torque and a movement stand side by side, and a
    name beside the answer that it belongs to.
    """
    if kind == "name-kept":
        return "name"
    return "movement" if circular and KINDS[kind] in MOVEMENTS else "entry"
