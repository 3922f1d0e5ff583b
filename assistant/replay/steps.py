"""A session walked through event by event, with the state before and after each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from assistant.events import Pass
from assistant.journal.reading import Entry as Line
from assistant.procedure.evolve import evolve
from assistant.procedure.state import Entry, State


class Places:
    """The entries of a state by stage and round, kept in step while walking: what the state would look for anew each
    time among all its entries.
    """

    def __init__(self) -> None:
        self._entries: tuple[Entry, ...] = ()
        self._by_place: dict[tuple[int, int], list[Entry]] = {}

    def of(self, state: State, stage: int, round_number: int) -> Sequence[Entry]:
        """The entries of one place, in order, those that were taken back too."""
        if state.entries is not self._entries:
            self._follow(state.entries)
        return self._by_place.get((stage, round_number), ())

    def _follow(self, entries: tuple[Entry, ...]) -> None:
        known = self._entries
        one_more = len(entries) == len(known) + 1 and (not known or entries[-2] is known[-1])
        if not one_more:  # something was taken back: the entries are others
            self._by_place = {}
        for entry in entries[-1:] if one_more else entries:
            self._by_place.setdefault((entry.stage, entry.round), []).append(entry)
        self._entries = entries


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked(State):
    """A state that looks up its entries by place: a long session is walked through in a time that grows with it."""

    places: Places = field(default_factory=Places, compare=False, repr=False)

    def done(self, stage: int, round_number: int) -> frozenset[int | None]:
        """As `State.done`."""
        kinds = self._finishing(stage)
        here = self.places.of(self, stage, round_number)
        return frozenset(e.bolt for e in here if e.valid and (kinds is None or e.kind in kinds))

    def entry_of(self, bolt: int | None) -> Entry | None:
        """As `State.entry_of`."""
        here = self.places.of(self, self.stage, self.round)
        return next((e for e in reversed(here) if e.valid and e.bolt == bolt), None)


@dataclass(frozen=True, slots=True)
class Step:
    """One event and what it changed.

    Args:
        number: 1.. in the order of the entries; the line number where the journal is whole.
        folded: the event could be folded; where not (foreign or damaged records only), `after` is `before`.
    """

    number: int
    entry: Line
    before: State
    after: State
    folded: bool = True


def walk(entries: Iterable[Line]) -> list[Step]:
    """Every step of a session. Never raises: events that do not fit what came before them change nothing."""
    steps: list[Step] = []
    state: State = Walked()
    for number, entry in enumerate(entries, start=1):
        try:
            after, folded = evolve(state, entry.event), True
        except Exception:  # whatever the fold raises over a foreign journal is only marked
            after, folded = state, False
        steps.append(Step(number, entry, state, after, folded))
        state = after
    return steps


class DueBolt:
    """The bolt that is due in a state, remembered while nothing that decides it has changed."""

    def __init__(self) -> None:
        self.places = Places()
        self._key: object = None
        self._bolt: int | None = None

    def of(self, state: State) -> int | None:
        """The bolt, as `State.bolt` has it, or None; also where a foreign record leaves no sensible answer."""
        key = (id(state.entries), state.stage, state.round, state.ahead, state.deferred, id(state.work))
        if key != self._key:
            self._key = key
            self._bolt = self._due(state)
            self._held = (state.entries, state.work)  # kept alive, so that no other object takes their identity
        return self._bolt

    def _due(self, state: State) -> int | None:
        item = pass_of(state)
        if item is None:
            return None
        if state.ahead:
            return state.ahead[0]
        kinds = {"bolt-held", "bolt-moved"} if item.goes_round else None
        here = self.places.of(state, state.stage, state.round)
        done = {e.bolt for e in here if e.valid and (kinds is None or e.kind in kinds)}
        rest = [bolt for bolt in item.bolts if bolt not in done]
        return next((b for b in rest if b not in state.deferred), rest[0] if rest else None)


def pass_of(state: State) -> Pass | None:
    """The pass being worked on; None while anything else is due, also past either end of a foreign record's work."""
    return state.current_pass if 1 <= state.stage <= len(state.work.stages) else None
