"""What follows an answer: the stage that is finished by it, and the next item, as events. Pure."""

from __future__ import annotations

from assistant.events import CompetentPersonAsked, Event, ItemAnnounced, StageFinished
from assistant.procedure.evolve import evolve
from assistant.procedure.state import State


def go_on(state: State) -> tuple[Event, ...]:
    """Finish every stage that has nothing open, then announce what is due; nothing when all is done or at rest.

    A circular pass in which a nut moved starts another round; after the last round that the plan allows, a competent
    person is asked for and guiding stops.
    """
    events: list[Event] = []
    while state.dialogue == "guiding" and state.item is not None and not _open(state):
        item = state.current_pass
        again = item is not None and item.kind == "circular" and state.moved_in_round
        finished = StageFinished(stage=state.stage, round=state.round, again=again)
        if again and item is not None and state.round >= item.last_round:
            asked = CompetentPersonAsked(stage=state.stage, round=state.round)
            events += [finished, asked]
            state = evolve(evolve(state, finished), asked)
            break
        events.append(finished)
        state = evolve(state, finished)
    if state.dialogue == "guiding" and state.item is not None:
        events.append(announcement(state))
    return tuple(events)


def announcement(state: State) -> ItemAnnounced:
    """The event that asks for the item that is due."""
    first = state.current_pass is not None and state.announced != (state.stage, state.round)
    return ItemAnnounced(stage=state.stage, round=state.round, bolt=state.bolt, first_of_pass=first)


def _open(state: State) -> bool:
    if state.question is not None:
        return None not in state.done(state.stage, 1)
    return bool(state.open_bolts)
