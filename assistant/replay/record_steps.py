"""Every pass with its bolts as the record shows them, made from the session's one reading. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal, cast

from assistant.events import (
    BoltHeld,
    BoltMoved,
    BoltSkipped,
    BoltSnugged,
    ClickedAtSetting,
    Item,
    Measured,
    MeasurementKept,
    NameKept,
    NotUnderstood,
    Pass,
    QuestionAnswered,
    ReadingAccepted,
    ReadingDoubted,
    ReadingImpossible,
    ReadingKept,
    ReadingOutside,
    StopReleased,
    WaitCutShort,
    WaitOver,
)
from assistant.procedure import standing
from assistant.procedure.acceptance import TINY
from assistant.procedure.standing import Place
from assistant.procedure.state import Recording
from assistant.replay.facts import Facts, Step
from assistant.replay.record_work import Bolt, Entry, How, Kind, PassDone, Said, Torque
from assistant.replay.titles import comes_after_wait, figure, on_scale

KINDS: dict[type[Recording], Kind] = {
    BoltSnugged: "snug",
    ReadingAccepted: "reading",
    ReadingKept: "reading kept",
    ClickedAtSetting: "clicked",
    BoltHeld: "held",
    BoltMoved: "moved",
    QuestionAnswered: "passed",
    StopReleased: "passed",
    MeasurementKept: "measured",
    NameKept: "named",
    WaitOver: "waited",
    WaitCutShort: "wait cut short",
}
"""Event that records an entry -> what the record calls it."""
TORQUES = ("reading", "reading kept", "clicked")
MOVEMENTS = ("held", "moved")


@dataclass(slots=True)
class _Beside:
    """What was said at a place besides what was recorded."""

    asked: int = 0
    said: list[Said] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)


def passes_done(facts: Facts) -> tuple[PassDone, ...]:
    """Every pass of the work, each round by itself, with all its bolts; what was not reached is open.

    A round of which everything was taken back, and which was not gone again, is told among the corrections alone.
    """
    rounds = standing.last_rounds(facts.state)
    beside = _beside(facts)
    found = []
    for stage, item in enumerate(facts.items, start=1):
        if isinstance(item, Pass):
            last = min(rounds[stage], _MOST_ROUNDS) if item.goes_round else 1
            found += [_pass(facts, beside, item, stage, number) for number in range(1, last + 1)]
    return tuple(found)


_MOST_ROUNDS = 1000
"""More rounds than any joint was ever given; a foreign record cannot make the list longer."""


def _beside(facts: Facts) -> dict[Place, _Beside]:
    found: dict[Place, _Beside] = {}
    for step in facts.steps:
        event = step.event
        if isinstance(event, BoltSkipped):
            found.setdefault((event.stage, event.round, event.bolt), _Beside()).skipped.append(event.reason)
        elif step.number in facts.due_at and isinstance(
            event, ReadingDoubted | ReadingImpossible | NotUnderstood | ReadingOutside
        ):
            here = found.setdefault(facts.due_at[step.number], _Beside())
            here.asked += event.aloud if isinstance(event, NotUnderstood) else not isinstance(event, ReadingOutside)
            if isinstance(event, ReadingOutside | ReadingImpossible) and event.heard.value is not None:
                item = standing.item_of(facts.state, step.before.stage)
                here.said.append(_said(step, event, event.heard.value, item))
    return found


def _said(step: Step, event: ReadingOutside | ReadingImpossible, figure: Decimal, item: Item | None) -> Said:
    scale = item.setting.unit if isinstance(item, Pass) and item.setting is not None else ""
    value = Measured(figure, event.heard.unit or scale)
    return Said(
        line=step.number,
        utc=step.utc,
        value=Torque(value=value.value, unit=value.unit),
        on_scale=converted(value, scale) if scale and isinstance(event, ReadingOutside) else None,
        why="outside" if isinstance(event, ReadingOutside) else "refused",
        utterance=event.utterance,
    )


def _pass(facts: Facts, beside: dict[Place, _Beside], item: Pass, stage: int, number: int) -> PassDone:
    bolts = [
        _bolt(facts, beside, item, (stage, number, bolt), position) for position, bolt in enumerate(item.bolts, start=1)
    ]
    lasts = {b.bolt: max(e.line for e in b.entries if e.standing == "counts") for b in bolts if b.status != "open"}
    turns = {bolt: turn for turn, bolt in enumerate(sorted(lasts, key=lasts.__getitem__), start=1)}
    bolts = [b.model_copy(update={"turn": turns.get(b.bolt)}) for b in bolts]
    times = [entry.utc for bolt in bolts for entry in bolt.entries]
    moved = tuple(bolt.bolt for bolt in bolts if bolt.movement == "moved")
    open_bolts = any(bolt.status == "open" for bolt in bolts)
    return PassDone(
        stage=stage,
        group=item.group,
        kind=_pass_kind(item.kind),
        phase=item.phase,
        measures=cast('Literal["", "angle", "length"]', item.measures if item.measures in _MEASURED else ""),
        method=item.method,
        after_wait=comes_after_wait(facts.items, stage),
        tools=item.tools,
        tap=item.tap,
        number=item.number,
        round=number,
        target=torque(item.target),
        setting=torque(item.setting),
        low=torque(item.low),
        high=torque(item.high),
        clicks=item.clicks,
        first_utc=min(times, default=None),
        last_utc=max(times, default=None),
        moved=moved,
        still=(not moved and not open_bolts) if item.goes_round else None,
        bolts=tuple(bolts),
    )


_MEASURED = ("angle", "length")


def _pass_kind(kind: str) -> Literal["snug", "pattern", "circular", "seat"]:
    known = kind if kind in ("snug", "circular", "seat") else "pattern"
    return cast("Literal['snug', 'pattern', 'circular', 'seat']", known)


def _bolt(facts: Facts, beside: dict[Place, _Beside], item: Pass, place: Place, position: int) -> Bolt:
    here = beside.get(place, _Beside())
    entries = entries_of(facts, place)
    counted = [entry for entry in entries if entry.standing == "counts"]
    reading = next((entry for entry in reversed(counted) if entry.kind in TORQUES), None)
    movement = next((entry.kind for entry in reversed(counted) if entry.kind in MOVEMENTS), "")
    left = standing.left_at((facts.state.entries[at] for at in facts.at_place.get(place, ())), item)
    kept = reading is not None and reading.kind == "reading kept"
    said = reading is not None and reading.kind != "clicked"
    typed = any(facts.typed(entry.utterance) for entry in counted)
    assert place[2] is not None
    return Bolt(
        bolt=place[2],
        position=position,
        status=_STATUS[left],
        achieved=reading.value if reading is not None and said else None,
        on_scale=reading.on_scale if reading is not None else None,
        inside_window=_inside(reading, item) if said else None,
        how=_how(reading, counted, typed=typed),
        typed=typed,
        movement=movement,  # type: ignore[arg-type]
        asked=here.asked,
        attempts=sum(each.why == "outside" for each in here.said) + (reading is not None and not kept),
        remark=_remark(here, entries),
        said=tuple(here.said),
        entries=entries,
    )


_STATUS: Mapping[standing.Left, Literal["open", "kept outside window", "done"]] = {
    "open": "open",
    "outside": "kept outside window",
    "moved": "done",
    "done": "done",
}


def _how(reading: Entry | None, counted: Sequence[Entry], *, typed: bool) -> How:
    if reading is not None:
        return "clicked at setting" if reading.kind == "clicked" else "reading typed" if typed else "reading spoken"
    if not counted:
        return ""
    return "movement reported" if counted[-1].kind in MOVEMENTS else "snug reported"


def _remark(here: _Beside, entries: Sequence[Entry]) -> str:
    parts = [f"left for the end of the pass: {reason}" for reason in here.skipped]
    parts += [f"{words(entry)} {entry.standing}" for entry in entries if entry.standing != "counts"]
    parts += [
        f"kept: {entry.reason}" for entry in entries if entry.kind == "reading kept" and entry.standing == "counts"
    ]
    return "; ".join(parts)


def words(entry: Entry) -> str:
    """An entry in a few words: '53 N·m', 'snug', 'clicked at 150 lbf·ft'."""
    if entry.value is None:
        return entry.kind
    shown = figure(Measured(entry.value.value, entry.value.unit))
    return f"clicked at {shown}" if entry.kind == "clicked" else shown


def entries_of(facts: Facts, place: Place) -> tuple[Entry, ...]:
    """The entries of a place, in order, each with its standing."""
    item = standing.item_of(facts.state, place[0])
    scale = item.setting.unit if isinstance(item, Pass) and item.setting is not None else None
    return tuple(_entry(facts, at, scale) for at in facts.at_place.get(place, ()))


def _entry(facts: Facts, at: int, scale: str | None) -> Entry:
    step, kept = facts.recorded_by[at], facts.state.entries[at]
    event = step.event
    value: Measured | None = None
    if isinstance(event, ReadingAccepted | ReadingKept):
        value = event.achieved
    elif isinstance(event, ClickedAtSetting):
        value = event.setting
    return Entry(
        line=step.number,
        utc=step.utc,
        entry=kept.number,
        kind=KINDS[kept.event],
        value=torque(value),
        on_scale=None if value is None or scale is None else converted(value, scale),
        utterance=kept.utterance,
        confirmed_by=event.confirmed_by if isinstance(event, ReadingAccepted | MeasurementKept | NameKept) else "",
        probability=event.probability if isinstance(event, ReadingAccepted) else None,
        reason=event.reason if isinstance(event, ReadingKept | StopReleased | WaitCutShort) else "",
        standing="counts" if facts.counts[at] else "replaced" if kept.valid else "taken back",
    )


def torque(value: Measured | None) -> Torque | None:
    """A measured value as the record holds it."""
    return None if value is None else Torque(value=value.value, unit=value.unit)


def converted(value: Measured, unit: str) -> Torque | None:
    """The value in another unit, to two decimals; as it was said where the unit is the same; None where it has none."""
    if value.unit == unit:
        return torque(value)
    number = on_scale(value, unit)
    return None if number is None else Torque(value=Decimal(f"{number:.2f}"), unit=unit)


def _inside(reading: Entry | None, item: Pass) -> bool | None:
    if reading is None or reading.value is None or item.setting is None or item.low is None or item.high is None:
        return None
    number = on_scale(Measured(reading.value.value, reading.value.unit), item.setting.unit)
    return None if number is None else float(item.low.value) - TINY <= number <= float(item.high.value) + TINY
