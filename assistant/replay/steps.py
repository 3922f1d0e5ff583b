"""A session walked through event by event, with the state before and after each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.journal.reading import Entry
from assistant.procedure.evolve import evolve
from assistant.procedure.state import State


@dataclass(frozen=True, slots=True)
class Step:
    """One event and what it changed.

    Args:
        number: 1.. in the order of the entries; the line number where the journal is whole.
        folded: the event could be folded; where not (foreign or damaged records only), `after` is `before`.
    """

    number: int
    entry: Entry
    before: State
    after: State
    folded: bool = True


def walk(entries: Iterable[Entry]) -> list[Step]:
    """Every step of a session. Never raises: events that do not fit what came before them change nothing."""
    steps: list[Step] = []
    state = State()
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
        self._key: object = None
        self._bolt: int | None = None

    def of(self, state: State) -> int | None:
        """The bolt, or None; also where a foreign record leaves no sensible answer."""
        key = (id(state.entries), state.stage, state.round, state.ahead, state.deferred, id(state.work))
        if key != self._key:
            self._key = key
            try:
                self._bolt = state.bolt
            except IndexError:
                self._bolt = None
            self._held = (state.entries, state.work)  # kept alive, so that no other object takes their identity
        return self._bolt
