"""What follows an answer: the stage that is finished by it, and the next item, as events. Pure."""

from __future__ import annotations

from assistant.events import (
    AskedBack,
    CompetentPersonAsked,
    Event,
    Item,
    ItemAnnounced,
    NameAsked,
    Pass,
    ReasonAsked,
    StageFinished,
    WaitBegun,
    WaitGoesOn,
)
from assistant.events.stages import PHASES
from assistant.procedure.evolve import evolve
from assistant.procedure.state import State


def go_on(state: State, *, utterance: str = "") -> tuple[Event, ...]:
    """Finish every stage that has nothing open, then ask for what is due; nothing when all is done or at rest.

    A pass that goes round and in which a nut moved starts another round; after the last round that the plan allows, a
    competent person is asked for and guiding stops. When it is resumed, that person's name is kept and there is one
    round more.
    """
    events: list[Event] = []
    while state.dialogue == "guiding" and state.item is not None and not _open(state) and not _held_up(state):
        item = state.current_pass
        again = item is not None and item.goes_round and state.moved_in_round
        finished = StageFinished(stage=state.stage, round=state.round, again=again)
        sought = state.cause_sought == (state.stage, state.round)
        if again and item is not None and state.round >= item.last_round and not sought:
            asked = CompetentPersonAsked(stage=state.stage, round=state.round)
            events += [finished, asked]
            state = evolve(evolve(state, finished), asked)
            break
        events.append(finished)
        state = evolve(state, finished)
    if state.dialogue == "guiding" and (state.item is not None or _held_up(state)):
        events.append(_due(state, utterance))
    return tuple(events)


def _held_up(state: State) -> bool:
    """Whether a name, or what was done about some trouble, comes before the work."""
    return bool(state.name_wanted) or state.trouble is not None


def _due(state: State, utterance: str) -> Event:
    """The event that asks for what is due: a name, an apprentice's answer, time, or the item itself."""
    if state.name_wanted:
        return NameAsked(stage=state.stage, purpose=state.name_wanted[0], role="", utterance=utterance)
    if state.trouble is not None:
        return ReasonAsked(purpose="changed", utterance=utterance)
    if state.name_due:
        role = state.question.role if state.question is not None else ""
        return NameAsked(stage=state.stage, purpose=state.name_due, role=role, utterance=utterance)
    asked = _ask_back(state)
    if asked is not None:
        return asked
    if state.wait is not None:
        if state.stage in state.waits:
            return WaitGoesOn(stage=state.stage)
        return WaitBegun(stage=state.stage, name=state.wait.name, seconds=state.wait.seconds)
    return announcement(state)


def announcement(state: State) -> ItemAnnounced:
    """The event that asks for the item that is due."""
    first = state.current_pass is not None and state.announced != (state.stage, state.round)
    return ItemAnnounced(stage=state.stage, round=state.round, bolt=state.bolt, first_of_pass=first)


def _ask_back(state: State) -> AskedBack | None:
    """What an apprentice is asked before this stage, once: its own question, or which bolt comes second and why.

    One that was answered wrongly comes back once, before a stage of a later phase that has no question of its own.
    """
    if not state.work.apprentice or state.stage in state.asked_back:
        return None
    item = state.item
    if item is not None and item.lesson.ask_back is not None and None not in state.done(state.stage, 1):
        return _question_of(state.stage, item)
    if isinstance(item, Pass) and item.kind == "pattern" and item.tools == 1 and _first_pattern(state, item):
        return _question_of(state.stage, item)
    if item is None or state.announced[0] == state.stage or state.entry_of(None) is not None:
        return None
    for stage in state.comes_back:
        if PHASES.index(state.stages[stage - 1].phase) < PHASES.index(item.phase):
            return _question_of(stage, state.stages[stage - 1])
    return None


def _question_of(stage: int, item: Item) -> AskedBack:
    if item.lesson.ask_back is not None:
        return AskedBack(stage=stage, about="phrase", expects=item.lesson.ask_back.answer)
    assert isinstance(item, Pass)
    return AskedBack(stage=stage, about="next-bolt", expects=str(item.bolts[1]))


def _first_pattern(state: State, item: Pass) -> bool:
    """The first pattern pass of its group, before its first bolt."""
    own = [p for p in state.work.passes if p.group == item.group and p.kind == "pattern"]
    return own[0] == item and len(item.bolts) > 2 and state.open_bolts == item.bolts


def _open(state: State) -> bool:
    if state.current_pass is not None:
        return bool(state.open_bolts)
    return None not in state.done(state.stage, 1)
