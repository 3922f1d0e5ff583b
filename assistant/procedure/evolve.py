"""State after an event. Knows no rule and never refuses: what may happen was settled in `decide`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from assistant.events import ClockSet, Event
from assistant.procedure.evolve_steps import STEPS
from assistant.procedure.state import State
from assistant.procedure.table import next_state

CLEARS = frozenset({"guiding", "paused", "stopped", "noting"})
"""States on the way into which a doubt is dropped: what was interrupted is never half-recorded."""

DOUBTS: dict[str, Any] = {"choices": (), "purpose": "", "phrase_in": "", "new_reading": None, "name_heard": ""}
AGREED: dict[str, Any] = {"pending": None, "agreed": ""}
"""What is dropped then; the latter not while a supervisor who agreed is asked for the name."""


def _supervised(state: State, event: Event) -> bool:
    named = state.agreed and event.kind == "name-kept"
    return event.kind == "supervisor-agreed" or bool(named)


UNNOTICED = frozenset({"utterance-heard", "sound-lost", "trouble-found", "clock-set"})
"""What is in the record and changes nothing; 'prompt-spoken' changes but what 'say again' repeats.

A clock that was set during a wait opens a question where the time cannot be counted otherwise.
"""

ANSWERS_CLOCK = frozenset("wait-over wait-cut-short wait-goes-on session-left session-resumed".split())
"""Events after which it is no longer asked whether the time of a wait has passed."""

LESSONS = frozenset(
    "answered-back question-refused reading-outside reading-impossible other-bolt-named entry-taken-back "
    "supervisor-asked measurement-refused finding-made".split()
)
"""What an apprentice looks at again afterwards (an answer only when it was wrong)."""
OTHER_ITEM = frozenset(
    "question-answered bolt-snugged reading-accepted reading-kept clicked-at-setting bolt-held bolt-moved "
    "measurement-kept stage-finished entry-taken-back bolt-skipped stepped-back stepped-on bolt-taken-up "
    "bolt-replaced passes-restarted stop-released finding-made".split()
)
"""Events after which another item is due, so that what was denied about the last one no longer counts."""


READ_BACK = frozenset(
    "bolt-snugged reading-accepted reading-kept clicked-at-setting bolt-held bolt-moved measurement-kept".split()
)
"""Events that are read back in passing: a bare no just after one contests it."""
KEEPS_READ_BACK = frozenset(
    "stage-finished item-announced prompt-spoken not-understood told time-left asked-back name-asked wait-begun".split()
)
"""Events that leave that as it is."""


def evolve(state: State, event: Event) -> State:
    """Fold one event into the state.

    An event without a row in the table (a foreign or damaged record) changes nothing.
    """
    dialogue = next_state(state.dialogue, event.kind)
    if isinstance(event, ClockSet) and event.wait == "unsure" and state.dialogue == "waiting":
        return replace(state, clock_asked=True)
    if dialogue is None or event.kind in UNNOTICED:
        return state
    changes: dict[str, Any] = {} if dialogue == state.dialogue else {"dialogue": dialogue}
    if changes or event.kind != "prompt-spoken":
        if state.half is not None:
            changes["half"] = None
        if dialogue in CLEARS:
            changes |= {key: empty for key, empty in DOUBTS.items() if getattr(state, key) != empty}
        if dialogue in CLEARS and not _supervised(state, event):
            changes |= {key: empty for key, empty in AGREED.items() if getattr(state, key) != empty}
    if event.kind == "reading-taken-back":
        changes["denied"] = (*state.denied, *_asked_about(state))
    elif state.denied and event.kind in OTHER_ITEM:
        changes["denied"] = ()
    if state.work.apprentice and event.kind in LESSONS and not getattr(event, "right", False):
        moment = (event.kind, state.stage, getattr(event, "bolt", None))
        changes["lessons"] = (*state.lessons, moment)
    if state.clock_asked and event.kind in ANSWERS_CLOCK:
        changes["clock_asked"] = False
    if event.kind not in KEEPS_READ_BACK and state.read_back != (event.kind in READ_BACK):
        changes["read_back"] = event.kind in READ_BACK
    if state.last_name[0] and event.kind in (*READ_BACK, "question-answered"):
        changes["last_name"] = ("", "")
    changed = replace(state, **changes) if changes else state
    step = STEPS.get(event.kind)
    return step(changed, event) if step else changed


def has_row(state: State, event: Event) -> bool:
    """Whether an event has its place after what came before it; one without changes nothing."""
    return next_state(state.dialogue, event.kind) is not None


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
