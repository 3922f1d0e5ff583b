"""What to do about events, as data: words to say and what to listen for. Done by `session` after the sync."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.events import Event
from assistant.procedure import prompts
from assistant.procedure.commands import TIGHTEN_AGAIN
from assistant.procedure.evolve import evolve
from assistant.procedure.state import State
from assistant.speech.vocabulary import Expecting

CHANGES_THE_ASKING = frozenset({"figures-asked", "choice-offered", "helper-asked"})
_FREE = {"noting": ("note",), "reasoning": ("because",)}
REPLACED = frozenset({"item-announced", "reading-doubted", "reading-impossible", "not-understood"})
"""What is not said when the way of asking changes in the same breath."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """What to do after a batch of events.

    Args:
        say: sentences to speak now, "" for silence.
        listen: what the next utterance may be.
        prepare: sentences likely to be needed next, to be rendered ahead.
    """

    say: str
    listen: Expecting
    prepare: tuple[str, ...] = ()


def effects(state: State, events: Sequence[Event]) -> Effects:
    """Effects of a batch of events.

    Args:
        state: before the first of them.
        events: in order, as decided.
    """
    parts: list[str] = []
    kinds = {e.kind for e in events}
    for event in events:
        after = evolve(state, event)
        quiet = event.kind in REPLACED and kinds & CHANGES_THE_ASKING
        if not quiet:
            parts.append(prompts.prompt(state, event, after))
        state = after
    return Effects(say=" ".join(p for p in parts if p), listen=expecting(state), prepare=ahead(state))


def expecting(state: State) -> Expecting:
    """What the next utterance may be in this state. The wanted value never gets a preference."""
    question, due = state.question, state.current_pass
    phrases: tuple[str, ...] = ()
    if question is not None:
        phrases = (question.phrase, *question.refused)
    if state.dialogue == "off-window":
        phrases = (TIGHTEN_AGAIN,)
    values = due is not None and due.kind != "snug" and state.dialogue not in ("paused", "stopped")
    return Expecting(
        values=values,
        yes_no=state.dialogue in ("asking", "off-window", "choosing", "reasoning", "noting"),
        phrases=phrases,
        free=_FREE.get(state.dialogue, ()),
        figures_only=state.dialogue == "figures",
        choices=state.dialogue == "choosing",
    )


def ahead(state: State) -> tuple[str, ...]:
    """The reply to a reading at the setting, which is the likeliest one, for rendering ahead."""
    due, bolt = state.current_pass, state.bolt
    if due is None or bolt is None or due.setting is None or state.dialogue != "guiding":
        return ()
    following = state.open_bolts[1:2]
    if not following:
        return ()
    return (f"{prompts.read_back(bolt, due.setting, due)} {prompts.next_bolt(due, following[0])}",)
