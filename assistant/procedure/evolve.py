"""State after an event. Knows no rule and never refuses: what may happen was settled in `decide`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from assistant.events import (
    SAMPLE_RATE_HZ,
    AnsweredBack,
    ClockSet,
    Event,
    FindingMade,
    NameKept,
    PromptSpoken,
    QuestionAnswered,
    ReadingImpossible,
    ReadingOutside,
    ReadingTakenBack,
    SupervisorAgreed,
    UtteranceHeard,
)
from assistant.procedure.evolve_steps import step
from assistant.procedure.state import State
from assistant.procedure.table import MEANS, next_state

CLEARS = frozenset({"guiding", "paused", "stopped", "noting"})
"""States on the way into which a doubt is dropped: what was interrupted is never half-recorded."""


def _supervised(state: State, event: Event) -> bool:
    return isinstance(event, SupervisorAgreed) or (bool(state.agreed) and isinstance(event, NameKept))


RUNNING_ON_S = 1.5
"""Speech that begins sooner than this after other speech that was for nobody here goes on from it (our own choice)."""
NEWEST = 0.3
"""Share of the newest answer in how loud answers usually are: people turn their heads."""


def evolve(state: State, event: Event) -> State:
    """Fold one event into the state.

    An event without a row in the table (a foreign or damaged record) changes nothing.
    """
    dialogue, means = next_state(state.dialogue, type(event)), MEANS[type(event)]
    if isinstance(event, ClockSet) and event.wait == "unsure" and state.dialogue == "waiting":
        return replace(state, clock_asked=True)
    if dialogue is not None and isinstance(event, UtteranceHeard):
        return _listened(state, event)
    if dialogue is None or not means.noticed:
        return state
    changes: dict[str, Any] = {} if dialogue == state.dialogue else {"dialogue": dialogue}
    if changes or not isinstance(event, PromptSpoken):
        if state.half is not None:
            changes["half"] = None
        if dialogue in CLEARS:
            changes |= _dropped(state, agreed=not _supervised(state, event))
    if isinstance(event, ReadingTakenBack):
        changes["denied"] = (*state.denied, *_asked_about(state))
    elif state.denied and means.other_item:
        changes["denied"] = ()
    if state.work.apprentice and means.lesson and not (isinstance(event, AnsweredBack) and event.right):
        changes["lessons"] = (*state.lessons, (type(event), state.stage, _bolt_of(event)))
    if state.clock_asked and means.answers_clock:
        changes["clock_asked"] = False
    if means.read_back is not None and state.read_back != means.read_back:
        changes["read_back"] = means.read_back
    if state.last_name[0] and (means.read_back or isinstance(event, QuestionAnswered)):
        changes["last_name"] = ("", "")
    return step(replace(state, **changes) if changes else state, event)


def _dropped(state: State, *, agreed: bool) -> dict[str, Any]:
    """What is dropped on the way into one of CLEARS; `agreed`: what a supervisor agreed to as well."""
    changes: dict[str, Any] = {}
    if state.choices or state.purpose or state.phrase_in or state.new_reading is not None or state.name_heard:
        changes |= {"choices": (), "purpose": "", "phrase_in": "", "new_reading": None, "name_heard": ""}
    if agreed and (state.pending is not None or state.agreed):
        changes |= {"pending": None, "agreed": ""}
    return changes


def _bolt_of(event: Event) -> int | None:
    return event.bolt if isinstance(event, ReadingOutside | ReadingImpossible | FindingMade) else None


def _listened(state: State, heard: UtteranceHeard) -> State:
    """What is known of talk near by, and of the speaker's loudness; nothing else comes of an utterance by itself."""
    if heard.typed or heard.while_speaking:
        return state
    if heard.decision == "reject":
        goes_on = 0 <= heard.start_sample - state.talk_to <= RUNNING_ON_S * SAMPLE_RATE_HZ
        return replace(state, talk_from=state.talk_from if goes_on else heard.start_sample, talk_to=heard.end_sample)
    if heard.decision != "accept" or heard.snr_db is None:
        return state
    before = heard.snr_db if state.usual_snr_db is None else state.usual_snr_db
    return replace(state, usual_snr_db=(1 - NEWEST) * before + NEWEST * heard.snr_db)


def has_row(state: State, event: Event) -> bool:
    """Whether an event has its place after what came before it; one without changes nothing."""
    return next_state(state.dialogue, type(event)) is not None


def _asked_about(state: State) -> tuple[Decimal, ...]:
    """Values that a no denies: the one read back, or both choices. A measured figure that was read back in another
    unit than was asked for may be wrong by its unit alone: it may be said again.
    """
    heard = (*state.choices, *((state.pending.heard,) if state.pending is not None else ()))
    due = state.measurement
    return tuple(
        each.value for each in heard if each.value is not None and (due is None or each.unit in (None, "", due.unit))
    )


def fold(state: State, events: Iterable[Event]) -> State:
    """Fold many events, in order."""
    for event in events:
        state = evolve(state, event)
    return state
