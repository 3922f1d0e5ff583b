"""State after an event. Knows no rule and never refuses: what may happen was settled in `decide`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from assistant.events import Event
from assistant.procedure.evolve_steps import STEPS
from assistant.procedure.state import State
from assistant.procedure.table import next_state

CLEARS = frozenset({"guiding", "paused", "stopped", "noting"})
"""States on the way into which a doubt is dropped: what was interrupted is never half-recorded."""

UNNOTICED = frozenset({"utterance-heard", "sound-lost"})
"""What is in the record and changes nothing; 'prompt-spoken' changes but what 'say again' repeats."""

LESSONS = frozenset(
    "answered-back question-refused reading-outside reading-impossible other-bolt-named entry-taken-back "
    "supervisor-asked measurement-refused".split()
)
"""What an apprentice looks at again afterwards (an answer only when it was wrong)."""
OTHER_ITEM = frozenset(
    "question-answered bolt-snugged reading-accepted reading-kept clicked-at-setting bolt-held bolt-moved "
    "measurement-kept stage-finished entry-taken-back bolt-skipped stepped-back stepped-on bolt-taken-up "
    "bolt-replaced passes-restarted".split()
)
"""Events after which another item is due, so that what was denied about the last one no longer counts."""


def evolve(state: State, event: Event) -> State:
    """Fold one event into the state.

    An event without a row in the table (a foreign or damaged record) changes nothing.
    """
    dialogue = next_state(state.dialogue, event.kind)
    if dialogue is None or event.kind in UNNOTICED:
        return state
    changes: dict[str, Any] = {} if dialogue == state.dialogue else {"dialogue": dialogue}
    if changes or event.kind != "prompt-spoken":
        if state.half is not None:
            changes["half"] = None
        if dialogue in CLEARS and (state.pending is not None or state.choices or state.purpose):
            changes |= {"pending": None, "choices": (), "purpose": ""}
    if event.kind == "reading-taken-back":
        changes["denied"] = (*state.denied, *_asked_about(state))
    elif state.denied and event.kind in OTHER_ITEM:
        changes["denied"] = ()
    if state.work.apprentice and event.kind in LESSONS and not getattr(event, "right", False):
        moment = (event.kind, state.stage, getattr(event, "bolt", None))
        changes["lessons"] = (*state.lessons, moment)
    changed = replace(state, **changes) if changes else state
    step = STEPS.get(event.kind)
    return step(changed, event) if step else changed


def _asked_about(state: State) -> tuple[Decimal, ...]:
    """Values that a no denies: the one read back, or both choices."""
    heard = (*state.choices, *((state.pending.heard,) if state.pending is not None else ()))
    return tuple(each.value for each in heard if each.value is not None)


def fold(state: State, events: Iterable[Event]) -> State:
    """Fold many events, in order."""
    for event in events:
        state = evolve(state, event)
    return state
