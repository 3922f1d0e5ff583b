"""Which entries count, what is due, what is still open, and which answers are findings.

Asked by the guide while it works and of the record afterwards: nothing else works these out. Pure functions over a
`State`, which is itself the fold of the session's events.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from assistant.events import (
    BoltHeld,
    BoltMoved,
    ClickedAtSetting,
    Item,
    NameKept,
    Pass,
    Question,
    ReadingAccepted,
    ReadingKept,
)
from assistant.procedure.state import Entry, Recording, State

MOVEMENTS: frozenset[type[Recording]] = frozenset({BoltHeld, BoltMoved})
TORQUES: frozenset[type[Recording]] = frozenset({ReadingAccepted, ReadingKept, ClickedAtSetting})
Place = tuple[int, int, int | None]
"""Stage, round, bolt; bolt None for anything but a pass."""
Left = Literal["open", "outside", "moved", "done"]
"""What a bolt was left as; 'outside': with a reading that was kept outside its window."""


def item_of(state: State, stage: int) -> Item | None:
    """What a stage holds; None where there is no stage of that number."""
    return state.work.stages[stage - 1].item if 1 <= stage <= len(state.work.stages) else None


def sort_of(state: State, entry: Entry) -> str:
    """Entries of one sort and place replace each other: 'name', 'movement' or 'entry'.

    In a pass that goes round a torque and a movement stand side by side, and a name beside the answer it belongs to.
    """
    if entry.event is NameKept:
        return "name"
    item = item_of(state, entry.stage)
    goes_round = isinstance(item, Pass) and item.goes_round
    return "movement" if goes_round and entry.event in MOVEMENTS else "entry"


def counting(state: State) -> tuple[bool, ...]:
    """For each entry of the state whether it counts: it was not taken back, and nothing later took its place."""
    found: list[bool] = []
    seen: set[tuple[int, int, int | None, str]] = set()
    for entry in reversed(state.entries):
        key = (entry.stage, entry.round, entry.bolt, sort_of(state, entry))
        found.append(entry.valid and key not in seen)
        if entry.valid:
            seen.add(key)
    return tuple(reversed(found))


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """What is to be done next.

    Args:
        stage, round: where.
        bolt: the bolt; None for anything but a pass.
        item: what the stage holds.
        name: 'witness' or 'measured' where only the name of the person is missing, else ''.
    """

    stage: int
    round: int
    bolt: int | None
    item: Item
    name: str = ""


def due(state: State) -> Due | None:
    """What is due; None when every stage is done, or where a foreign record leaves nothing sensible."""
    item = item_of(state, state.stage)
    if item is None:
        return None
    return Due(stage=state.stage, round=state.round, bolt=state.bolt, item=item, name=state.name_due)


def last_rounds(state: State) -> dict[int, int]:
    """Stage -> the last round that was begun, for every pass; 1 where it goes round no further or was not begun."""
    found = {n: 1 for n, stage in enumerate(state.work.stages, start=1) if stage.bolts is not None}
    for entry in state.entries:
        item = item_of(state, entry.stage)
        if entry.valid and isinstance(item, Pass) and item.goes_round:
            found[entry.stage] = max(found[entry.stage], entry.round)
    if state.stage in found:
        found[state.stage] = max(found[state.stage], state.round)
    return found


def open_places(state: State) -> tuple[Place, ...]:
    """Every place that has no entry that finishes it, in the order of the work; of a pass its last round."""
    rounds = last_rounds(state)
    done: defaultdict[tuple[int, int], set[int | None]] = defaultdict(set)
    for entry in state.entries:
        if entry.valid and item_of(state, entry.stage) is not None and state.finishes(entry):
            done[entry.stage, entry.round].add(entry.bolt)
    found: list[Place] = []
    for stage, item in enumerate(state.stages, start=1):
        if isinstance(item, Pass):
            number = rounds[stage]
            found += [(stage, number, bolt) for bolt in item.bolts if bolt not in done[stage, number]]
        elif None not in done[stage, 1]:
            found.append((stage, 1, None))
    return tuple(found)


def moved_last(state: State) -> tuple[Place, ...]:
    """Places of the last round of each pass that goes round at which a nut still moved: that pass is not finished."""
    rounds = last_rounds(state)
    counts = counting(state)
    return tuple(
        (entry.stage, entry.round, entry.bolt)
        for entry, counted in zip(state.entries, counts, strict=True)
        if counted and entry.event is BoltMoved and entry.round == rounds.get(entry.stage)
    )


def whole(state: State) -> bool:
    """Closed by its phrase, with every place done and no nut moving in a last round."""
    return state.closed and bool(state.work.passes) and not open_places(state) and not moved_last(state)


def left_at(entries: Iterable[Entry], item: Pass) -> Left:
    """What one bolt was left as by its entries in one pass and round.

    Open until an entry finishes it: in a pass that goes round that is what its nut did, also where a reading was kept.

    Args:
        entries: those of the place, in order; of each sort the last valid one counts.
        item: the pass.
    """
    valid = [entry.event for entry in entries if entry.valid]
    movement = next((event for event in reversed(valid) if event in MOVEMENTS), None)
    others = [event for event in valid if event not in MOVEMENTS] if item.goes_round else valid
    if not valid or (item.goes_round and movement is None):
        return "open"
    if others and others[-1] is ReadingKept:
        return "outside"
    return "moved" if item.goes_round and movement is BoltMoved else "done"


def is_finding(item: Item | None, answer: str) -> bool:
    """Whether an answer that did not pass a question says that something is wrong: 'there is a leak', 'dry', 'no'.

    A bare 'yes' at a hold point is less than its phrase, and no finding.
    """
    return isinstance(item, Question) and (answer in item.refused or answer.split()[:1] in (["no"], ["not"]))
