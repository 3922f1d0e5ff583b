"""State after an event. Knows no rule and never refuses: what may happen was settled in `decide`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from assistant.events import (
    BoltHeld,
    BoltMoved,
    BoltSkipped,
    BoltSnugged,
    ChoiceOffered,
    ClickedAtSetting,
    ConfirmationDoubted,
    EntryTakenBack,
    Event,
    ItemAnnounced,
    Measured,
    NoteKept,
    NotUnderstood,
    PromptSpoken,
    QuestionAnswered,
    ReadingAccepted,
    ReadingDoubted,
    ReadingImpossible,
    ReadingKept,
    ReadingOutside,
    ReadingTakenBack,
    ReasonAsked,
    StageFinished,
    SteppedBack,
    WorkLaidOut,
)
from assistant.procedure.state import Entry, Pending, State
from assistant.procedure.table import next_state

CLEARS = frozenset({"guiding", "paused", "stopped", "noting"})
"""States on the way into which a doubt is dropped: what was interrupted is never half-recorded."""


REPAIRING = 3
"""Failures in a row from which a doubt counts as a failure too: figures were asked for and did not help."""


def evolve(state: State, event: Event) -> State:
    """Fold one event into the state.

    An event without a row in the table (a foreign or damaged record) changes nothing.
    """
    dialogue = next_state(state.dialogue, event.kind)
    if dialogue is None:
        return state
    changed = replace(state, dialogue=dialogue)
    if dialogue != state.dialogue or event.kind not in ("utterance-heard", "prompt-spoken", "sound-lost"):
        changed = replace(changed, half=None)
        changed = replace(changed, pending=None, choices=(), purpose="") if dialogue in CLEARS else changed
    step = _STEPS.get(event.kind)
    return step(changed, event) if step else changed


def fold(state: State, events: Iterable[Event]) -> State:
    """Fold many events, in order."""
    for event in events:
        state = evolve(state, event)
    return state


def _laid_out(state: State, event: WorkLaidOut) -> State:
    return replace(state, work=event, stage=1, round=1)


_Recording = QuestionAnswered | BoltSnugged | ReadingAccepted | ReadingKept | ClickedAtSetting | BoltHeld | BoltMoved


def _announced(state: State, event: ItemAnnounced) -> State:
    return replace(state, announced=(event.stage, event.round))


def _record(state: State, event: _Recording) -> State:
    reading: Measured | None = getattr(event, "achieved", None)
    entry = Entry(
        number=event.entry,
        stage=event.stage,
        round=getattr(event, "round", 1),
        bolt=getattr(event, "bolt", None),
        kind=event.kind,
        reading=reading,
        utterance=event.utterance,
    )
    # a bolt that was stepped back to is finished with its new entry; a circular reading still waits for 'moved or not'
    recorded = replace(state, entries=(*state.entries, entry), misses=0)
    if recorded.movement_due and entry.kind not in ("bolt-held", "bolt-moved"):
        return recorded
    return replace(
        recorded,
        ahead=tuple(b for b in state.ahead if b != entry.bolt),
        deferred=tuple(b for b in state.deferred if b != entry.bolt),
    )


def _introduce_again(state: State, event: Any) -> State:
    del event
    return replace(state, announced=(0, 0))


def _finished(state: State, event: StageFinished) -> State:
    if event.again:
        return replace(state, round=event.round + 1, ahead=(), deferred=())
    return replace(state, stage=event.stage + 1, round=1, ahead=(), deferred=())


def _take_back(state: State, event: EntryTakenBack) -> State:
    gone = next(e for e in state.entries if e.number == event.taken_back)
    entries = tuple(replace(e, valid=False) if e.number == event.taken_back else e for e in state.entries)
    same_place = (gone.stage, gone.round) == (state.stage, state.round)
    ahead = tuple(b for b in state.ahead if b != gone.bolt) if same_place else ()
    return replace(
        state,
        entries=entries,
        stage=gone.stage,
        round=gone.round,
        ahead=(gone.bolt, *ahead) if gone.bolt is not None else (),
        deferred=state.deferred if same_place else (),
    )


def _doubted(state: State, event: ReadingDoubted) -> State:
    asked_twice = state.pending is not None and not state.pending.reason
    again = 1 if asked_twice or state.misses >= REPAIRING else 0
    pending = Pending(heard=event.heard, other=event.other, utterance=event.utterance)
    return replace(state, pending=pending, misses=state.misses + again)


def _outside(state: State, event: ReadingOutside) -> State:
    return replace(
        state, misses=0, pending=Pending(heard=event.heard, other=None, utterance=event.utterance, reason=event.side)
    )


def _missed(state: State, event: ReadingImpossible | NotUnderstood | ReadingTakenBack) -> State:
    del event
    return replace(state, misses=state.misses + 1)


def _offered(state: State, event: ChoiceOffered) -> State:
    return replace(state, choices=event.choices, choices_from=event.utterance, pending=None)


def _half(state: State, event: ConfirmationDoubted) -> State:
    return replace(state, half=event.heard)


def _reason(state: State, event: ReasonAsked) -> State:
    return replace(state, purpose=event.purpose)


def _skipped(state: State, event: BoltSkipped) -> State:
    return replace(
        state,
        skipped=(*state.skipped, (event.stage, event.bolt, event.reason)),
        ahead=tuple(b for b in state.ahead if b != event.bolt),
        deferred=(*(b for b in state.deferred if b != event.bolt), event.bolt),
        misses=0,
    )


def _stepped_back(state: State, event: SteppedBack) -> State:
    return replace(state, ahead=(event.bolt, *(b for b in state.ahead if b != event.bolt)))


def _stepped_on(state: State, event: Any) -> State:
    return replace(state, ahead=tuple(b for b in state.ahead if b != event.bolt))


def _noted(state: State, event: NoteKept) -> State:
    del event
    return replace(state, notes=state.notes + 1)


def _spoken(state: State, event: PromptSpoken) -> State:
    return replace(state, last_prompt=event.text)


def _closed(state: State, event: Any) -> State:
    del event
    return replace(state, closed=True)


_STEPS: dict[str, Callable[[State, Any], State]] = {
    "work-laid-out": _laid_out,
    "item-announced": _announced,
    "question-answered": _record,
    "bolt-snugged": _record,
    "reading-accepted": _record,
    "reading-kept": _record,
    "clicked-at-setting": _record,
    "bolt-held": _record,
    "bolt-moved": _record,
    "stage-finished": _finished,
    "entry-taken-back": _take_back,
    "reading-doubted": _doubted,
    "reading-outside": _outside,
    "reading-impossible": _missed,
    "not-understood": _missed,
    "reading-taken-back": _missed,
    "choice-offered": _offered,
    "confirmation-doubted": _half,
    "reason-asked": _reason,
    "bolt-skipped": _skipped,
    "stepped-back": _stepped_back,
    "stepped-on": _stepped_on,
    "note-kept": _noted,
    "prompt-spoken": _spoken,
    "resumed": _introduce_again,
    "session-resumed": _introduce_again,
    "session-closed": _closed,
}
