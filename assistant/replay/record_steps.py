"""Every pass with its bolts as the record shows them, made from the ledger. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Literal, cast

from assistant.events import Measured, Pass
from assistant.journal.reading import Entry as Line
from assistant.procedure.acceptance import TINY
from assistant.replay.record_ledger import KINDS, MOVEMENTS, TORQUES, Cell, Ledger, Place, Standing
from assistant.replay.record_work import Bolt, Entry, PassDone, Torque
from assistant.replay.titles import comes_after_wait, figure, on_scale


def passes_done(ledger: Ledger) -> tuple[PassDone, ...]:
    """Every pass of the work, each round by itself, with all its bolts; what was not reached is open."""
    found = []
    last: dict[int, int] = {}
    for (stage, number, _), cell in ledger.cells.items():
        # a round whose entries were all taken back by a replaced bolt or a restart was done over from round one
        if any(getattr(line.event, "entry", 0) not in ledger.done_over for line in cell.lines):
            last[stage] = max(last.get(stage, 1), number)
    for stage, item in enumerate(ledger.stages, start=1):
        if isinstance(item, Pass):
            rounds = last.get(stage, 1) if item.goes_round else 1
            found += [_pass(ledger, item, stage, number) for number in range(1, min(rounds, _MOST_ROUNDS) + 1)]
    return tuple(found)


_MOST_ROUNDS = 1000
"""More rounds than any joint was ever given; a foreign record cannot make the list longer."""


def _pass(ledger: Ledger, item: Pass, stage: int, number: int) -> PassDone:
    bolts = tuple(
        _bolt(ledger, item, (stage, number, bolt), position) for position, bolt in enumerate(item.bolts, start=1)
    )
    times = [entry.utc for bolt in bolts for entry in bolt.entries]
    moved = tuple(bolt.bolt for bolt in bolts if bolt.movement == "moved")
    open_bolts = any(bolt.status == "open" for bolt in bolts)
    return PassDone(
        stage=stage,
        group=item.group,
        kind=_pass_kind(item.kind),
        phase=item.phase,
        after_wait=comes_after_wait(ledger.stages, stage),
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
        bolts=bolts,
    )


def _pass_kind(kind: str) -> Literal["snug", "pattern", "circular", "seat"]:
    known = kind if kind in ("snug", "circular", "seat") else "pattern"
    return cast("Literal['snug', 'pattern', 'circular', 'seat']", known)


def _bolt(ledger: Ledger, item: Pass, place: Place, position: int) -> Bolt:
    cell = ledger.cells.get(place, Cell())
    entries = entries_of(ledger, place)
    counting = [entry for entry in entries if entry.standing == "counts"]
    reading = next((entry for entry in reversed(counting) if entry.kind in TORQUES), None)
    movement = next((entry.kind for entry in reversed(counting) if entry.kind in MOVEMENTS), "")
    done = bool(movement) if item.goes_round else bool(counting)
    kept = reading is not None and reading.kind == "reading kept"
    said = reading is not None and reading.kind != "clicked"
    assert place[2] is not None
    return Bolt(
        bolt=place[2],
        position=position,
        status="open" if not done else "kept outside window" if kept else "done",
        achieved=reading.value if reading is not None and said else None,
        on_scale=reading.on_scale if reading is not None else None,
        inside_window=_inside(reading, item) if said else None,
        how=_how(reading, counting),
        movement=movement,  # type: ignore[arg-type]
        asked=cell.asked,
        attempts=cell.outside + (reading is not None and not kept),
        remark=_remark(cell, entries),
        entries=entries,
    )


def _how(
    reading: Entry | None, counting: Sequence[Entry]
) -> Literal["", "snug reported", "reading spoken", "clicked at setting", "movement reported"]:
    if reading is not None:
        return "clicked at setting" if reading.kind == "clicked" else "reading spoken"
    if not counting:
        return ""
    return "movement reported" if counting[-1].kind in MOVEMENTS else "snug reported"


def _remark(cell: Cell, entries: Sequence[Entry]) -> str:
    parts = [f"left for the end of the pass: {reason}" for reason in cell.skipped]
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


def entries_of(ledger: Ledger, place: Place) -> tuple[Entry, ...]:
    """The entries of a place, in order, each with its standing."""
    if place not in ledger.cells:
        return ()
    item = ledger.item(place[0])
    scale = item.setting.unit if isinstance(item, Pass) and item.setting is not None else None
    both = zip(ledger.cells[place].lines, ledger.standings(place), strict=True)
    return tuple(_entry(line, standing, scale) for line, standing in both)


def _entry(line: Line, standing: Standing, scale: str | None) -> Entry:
    event: Any = line.event
    value: Measured | None = getattr(event, "achieved", None) or getattr(event, "setting", None)
    return Entry(
        line=line.seq,
        utc=line.utc,
        entry=event.entry,
        kind=KINDS[event.kind],
        value=torque(value),
        on_scale=None if value is None or scale is None else converted(value, scale),
        utterance=event.utterance,
        confirmed_by=getattr(event, "confirmed_by", ""),
        probability=getattr(event, "probability", None),
        reason=getattr(event, "reason", ""),
        standing=standing,
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
