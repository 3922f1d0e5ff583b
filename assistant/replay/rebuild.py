"""The state of a session, from its events alone: the same fold that guides it live."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.events import Event
from assistant.procedure.evolve import fold
from assistant.procedure.state import State


def rebuild_state(events: Iterable[Event]) -> State:
    """The last state of a session.

    Args:
        events: in order, from the first line of the journal.
    """
    return fold(State(), events)
