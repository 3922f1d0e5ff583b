"""Readings by pass and bolt: what was recorded, against target and window, and what was said but not recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from assistant.events import Event, Measured, Pass, ReadingImpossible, ReadingOutside
from assistant.replay.moments import MOVES
from assistant.replay.steps import Step
from assistant.replay.titles import on_scale, stage_title

KIND_OF = {
    "reading-accepted": "recorded",
    "reading-kept": "kept",
    "clicked-at-setting": "clicked",
    "bolt-snugged": "snug",
    "bolt-held": "held",
    "bolt-moved": "moved",
}


@dataclass(slots=True, kw_only=True)
class BoltEntry:
    """One thing recorded (or said and not recorded) of a bolt.

    Args:
        bolt: marked number.
        kind: a value of KIND_OF; or 'outside', 'refused' for what was said and not recorded.
        value: as said; None where there is no figure. Of 'clicked', the setting.
        scale: the same on the wrench's scale, in the unit of the pass's setting; None where there is none.
        number: of the journal's entry among all entries.
        utterance: in which it was said.
        asked: recorded after a question.
        stands: not taken back, and no later entry of the same place replaced it.
        over: taken back by a replaced bolt or a restarted pass.
    """

    bolt: int
    kind: str
    value: Measured | None
    scale: float | None
    number: int
    utterance: str = ""
    asked: bool = False
    stands: bool = True
    over: bool = False


@dataclass(slots=True, kw_only=True)
class PassRound:
    """One pass, or one round of a circular pass, with all that came of it, in order of time.

    Args:
        stage, round: as in the events.
        title: 'Pass 2, 102 N·m'.
        item: the pass as laid out; its figures are on the wrench's scale.
        finished: every bolt has its entry.
    """

    stage: int
    round: int
    title: str
    item: Pass
    entries: list[BoltEntry] = field(default_factory=list)
    finished: bool = False

    def of(self, bolt: int) -> list[BoltEntry]:
        """What stands of a bolt, in order."""
        return [each for each in self.entries if each.bolt == bolt and each.stands and each.kind in KIND_OF.values()]


def pass_rounds(steps: Sequence[Step]) -> list[PassRound]:
    """Every pass and round of a session, in order; passes that were not begun come without entries."""
    last = steps[-1].after if steps else None
    if last is None:
        return []
    found: dict[tuple[int, int], PassRound] = {}
    for stage, item in enumerate(last.stages, start=1):
        if isinstance(item, Pass):
            found[stage, 1] = PassRound(stage=stage, round=1, title=stage_title(last, stage, 1), item=item)
    by_entry: dict[int, BoltEntry] = {}
    for step in steps:
        _take(step, found, by_entry)
    # rounds of which nothing stands any more, before a replaced bolt or a restart, are no rounds of the pass
    kept = [key for key in sorted(found) if key[1] == 1 or _shown(found[key])]
    return [found[key] for key in kept]


def _shown(each: PassRound) -> bool:
    return not all(entry.over for entry in each.entries if entry.kind in KIND_OF.values())


def _take(step: Step, found: dict[tuple[int, int], PassRound], by_entry: dict[int, BoltEntry]) -> None:
    event, state = step.entry.event, step.before
    if event.kind in ("entry-taken-back", "bolt-replaced", "passes-restarted"):
        _take_back(event, found, by_entry)
        return
    if event.kind == "stage-finished":
        done = found.get((getattr(event, "stage", 0), getattr(event, "round", 0)))
        if done is not None:
            done.finished = True
        return
    said = isinstance(event, ReadingOutside | ReadingImpossible)
    if event.kind not in MOVES and not said:
        return
    where = (state.stage, state.round) if said else (getattr(event, "stage", 0), getattr(event, "round", 0))
    place = _place(where, found, step)
    entry = _entry(step, place) if place is not None else None
    if place is None or entry is None:
        return
    if not said:
        for earlier in place.entries:
            if earlier.bolt == entry.bolt and earlier.stands and _same_sort(earlier, entry):
                earlier.stands = False
        by_entry[getattr(event, "entry", 0)] = entry
    place.entries.append(entry)


def _take_back(event: Any, found: dict[tuple[int, int], PassRound], by_entry: dict[int, BoltEntry]) -> None:
    """Entries that no longer count; of a pass that is done over the rounds after the first are gone with them."""
    one = event.kind == "entry-taken-back"
    for number in (event.taken_back,) if one else event.taken_back:
        gone = by_entry.get(number)
        if gone is not None:
            gone.stands, gone.over = False, not one
    if one:
        return
    for each in found.values():
        if each.stage >= event.stage and not any(entry.stands for entry in each.entries):
            each.finished = False


def _place(where: tuple[int, int], found: dict[tuple[int, int], PassRound], step: Step) -> PassRound | None:
    """The pass and round, made when it is a further round of a pass that is laid out."""
    if where not in found and (where[0], 1) in found and 1 < where[1] <= 10_000:
        item = found[where[0], 1].item
        found[where] = PassRound(stage=where[0], round=where[1], title=stage_title(step.after, *where), item=item)
    return found.get(where)


def _entry(step: Step, place: PassRound) -> BoltEntry | None:
    event = step.entry.event
    bolt = getattr(event, "bolt", None)
    if not isinstance(bolt, int):
        return None
    value = _value(event, place.item)
    unit = place.item.setting.unit if place.item.setting is not None else None
    kind = KIND_OF.get(event.kind) or ("outside" if isinstance(event, ReadingOutside) else "refused")
    return BoltEntry(
        bolt=bolt,
        kind=kind,
        value=value,
        scale=on_scale(value, unit) if value is not None and unit is not None else None,
        number=step.number,
        utterance=getattr(event, "utterance", ""),
        asked=bool(getattr(event, "confirmed_by", "")),
        stands=event.kind in MOVES,
    )


def _value(event: Event, item: Pass) -> Measured | None:
    if isinstance(event, ReadingOutside | ReadingImpossible):
        unit = event.heard.unit or (item.setting.unit if item.setting else "")
        return Measured(event.heard.value, unit) if event.heard.value is not None else None
    value = getattr(event, "achieved", None) or getattr(event, "setting", None)
    return value if isinstance(value, Measured) else None


def _same_sort(earlier: BoltEntry, later: BoltEntry) -> bool:
    """A reading replaces a reading, a movement a movement; a movement leaves the reading of its round as it is."""
    moves = {"held", "moved"}
    return (earlier.kind in moves) == (later.kind in moves) and earlier.kind in KIND_OF.values()
