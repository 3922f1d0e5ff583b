"""What to do about events, as data: words to say and what to listen for. Done by `session` after the sync."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.events import Event, Told
from assistant.procedure import prompts
from assistant.procedure.commands import INFORMATION, TIGHTEN_AGAIN
from assistant.procedure.evolve import evolve
from assistant.procedure.state import State
from assistant.speech.vocabulary import Expecting
from assistant.speech.wording import catalogue

CHANGES_THE_ASKING = frozenset({"figures-asked", "choice-offered", "helper-asked"})
_FREE = {"noting": ("note",), "reasoning": ("because",), "naming": ("name",), "explaining": ("because",)}
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
    before = state
    kinds = {e.kind for e in events}
    for event in events:
        after = evolve(state, event)
        replaced = kinds & (
            CHANGES_THE_ASKING if event.kind != "not-understood" else {*CHANGES_THE_ASKING, "reading-doubted"}
        )
        quiet = event.kind in REPLACED and replaced
        if not quiet:
            parts.append(prompts.prompt(state, event, after))
        state = after
    say = " ".join(p for p in parts if p)
    if say and say == before.last_prompt and not any(isinstance(e, Told) and e.what in INFORMATION for e in events):
        say = catalogue(state.work.language).again(say)  # nothing is asked twice word for word, unless it was wanted
    return Effects(say=say, listen=expecting(state), prepare=ahead(state))


def expecting(state: State) -> Expecting:
    """What the next utterance may be in this state. The wanted value never gets a preference."""
    values = state.current_pass is not None and state.current_pass.kind != "snug"
    asked_bolt = state.dialogue == "asked-back" and state.expects.isdecimal()
    standing = state.dialogue in ("paused", "stopped", "waiting", "naming", "supervisor", "asked-back")
    measures = state.measurement.quantity if state.measurement is not None else ""
    return Expecting(
        values=asked_bolt or (not standing and (values or bool(measures))),
        yes_no=state.dialogue in ("asking", "off-window", "choosing", "reasoning", "noting", "naming", "supervisor"),
        phrases=_phrases(state),
        free=_FREE.get(state.dialogue, ()),
        figures_only=state.dialogue == "figures",
        choices=state.dialogue == "choosing",
        measures="" if asked_bolt or standing else measures,
    )


def _phrases(state: State) -> tuple[str, ...]:
    """Sentences that mean something in this state alone."""
    if state.dialogue == "supervisor":
        return (state.work.supervisor,)
    if state.dialogue == "asked-back":
        ask = state.item.lesson.ask_back if state.item is not None else None
        return (ask.answer, *ask.others) if ask is not None else ()
    if state.dialogue == "off-window":
        return (TIGHTEN_AGAIN,)
    own = (state.question.phrase, *state.question.refused) if state.question is not None else ()
    if state.dialogue != "guiding":
        return own
    # the other hold points' phrases are heard for what they are, so that said out of order they pass nothing
    return tuple(dict.fromkeys((*own, *(q.phrase for q in state.work.questions if q.hold))))


def ahead(state: State) -> tuple[str, ...]:
    """The reply to a reading at the setting, which is the likeliest one, for rendering ahead."""
    due, bolt = state.current_pass, state.bolt
    if due is None or bolt is None or due.setting is None or state.dialogue != "guiding":
        return ()
    following = state.open_bolts[1:2]
    if not following:
        return ()
    w = catalogue(state.work.language)
    return (f"{prompts.read_back(w, bolt, due.setting, due)} {prompts.next_bolt(w, due, following[0])}",)
