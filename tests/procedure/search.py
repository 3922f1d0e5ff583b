"""Exhaustive search over the states of a small work. A state is told from others by what can follow from it alone."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field, replace

from assistant.events import Event, PromptSpoken, WorkLaidOut
from assistant.procedure.decide import begin
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from tests.procedure.small_works import Action

Check = Callable[[State, Action, Sequence[Event], State], None]
"""Looks at one step: state before, what happened, its events, state after. Raises AssertionError."""


def key(state: State) -> Hashable:
    """All of a state that can have a consequence: no texts, utterances, notes, lessons, numbers of entries.

    Entries that no longer count are left out, but for the place of the very last one: a correction asks for it.
    """
    pending = state.pending
    if state.dialogue in ("reasoning", "supervisor") and state.purpose != "keep":
        pending = None  # every way out of here drops it
    latest = state.entries[-1] if state.entries else None
    return (
        *(state.dialogue, state.stage, state.round, state.ahead, state.deferred, state.purpose, state.misses),
        tuple((e.stage, e.round, e.bolt, e.event, e.reading) for e in state.entries if e.valid),
        None if latest is None or latest.valid else (latest.stage, latest.round, latest.bolt),
        None if pending is None else (pending.heard, pending.other, pending.reason),
        *(state.choices, state.half, state.announced == (state.stage, state.round), frozenset(state.waits)),
        *(state.left_s, state.expects, frozenset(state.asked_back), state.name_wanted, state.cause_sought),
        *(frozenset(state.denied), state.left, state.closed, state.agreed, state.new_reading, bool(state.name_heard)),
        frozenset((f.stage, f.bolt, f.sort, f.what, bool(f.changed)) for f in state.findings if f.open),
        *(state.last_name[0], bool(state.phrase_in)),
    )


@dataclass
class Found:
    """What a search found.

    Args:
        states: one of each kind, by its key.
        came: key -> (key before, events that led here), for replaying.
        before: key -> keys from which it is reached.
        steps: steps taken.
        beyond: keys at the bound, which were not gone on from.
    """

    states: dict[Hashable, State] = field(default_factory=dict)
    came: dict[Hashable, tuple[Hashable | None, tuple[Event, ...]]] = field(default_factory=dict)
    before: dict[Hashable, set[Hashable]] = field(default_factory=dict)
    steps: int = 0
    beyond: set[Hashable] = field(default_factory=set)

    def story(self, at: Hashable | None) -> list[Event]:
        """All events from the beginning to this state."""
        parts = []
        while at is not None:
            at, events = self.came[at]
            parts.append(events)
        return [event for events in reversed(parts) for event in events]

    def without_a_way(self, ends: Callable[[State], bool]) -> list[State]:
        """States from which no such end can be reached."""
        reached = {k for k, state in self.states.items() if ends(state)} | self.beyond
        todo = list(reached)
        while todo:
            for earlier in self.before.get(todo.pop(), ()):
                if earlier not in reached:
                    reached.add(earlier)
                    todo.append(earlier)
        return [state for k, state in self.states.items() if k not in reached]


def search(
    work: WorkLaidOut,
    actions: Sequence[Action],
    *,
    checks: Sequence[Check],
    probes: Sequence[str] = (),
    most_misses: int = 1,
    most_rounds: int = 2,
) -> Found:
    """Every state that these actions reach.

    Args:
        probes: actions that are looked at in every state, but not gone on from.
        most_misses: failures in a row beyond this count like so many.
        most_rounds: a state in a later round is not gone on from.
    """
    found = Found()
    spoken = PromptSpoken(text="Before.", start_sample=0, end_sample=1)
    first = (work, *begin(work, fold(State(), (work,))), spoken)
    start = fold(State(), first)
    found.states[key(start)] = start
    found.came[key(start)] = (None, first)
    todo = deque([key(start)])
    while todo:
        here = todo.popleft()
        state = found.states[here]
        if state.closed:
            continue
        if state.round > most_rounds:
            found.beyond.add(here)
            continue
        for action in actions:
            if state.left and action.name != "back again":
                continue
            events = action.events(state)
            if not events:
                continue
            after = fold(state, events)
            if after.misses > most_misses:
                after = replace(after, misses=most_misses)
            found.steps += 1
            for check in checks:
                check(state, action, events, after)
            if after is state:
                continue
            if action.name.removeprefix("sure ") in probes:
                continue
            there = key(after)
            found.before.setdefault(there, set()).add(here)
            if there not in found.states:
                found.states[there] = after
                found.came[there] = (here, events)
                todo.append(there)
    return found
