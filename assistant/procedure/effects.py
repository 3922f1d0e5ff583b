"""What to do about events, as data: words to say and what to listen for. Done by `session` after the sync."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.events import (
    ChoiceOffered,
    Event,
    FiguresAsked,
    HelperAsked,
    ItemAnnounced,
    NotUnderstood,
    QuestionAnswered,
    ReadingDoubted,
    ReadingImpossible,
    SessionClosed,
    SpeechAdjusted,
    Told,
    WaitGoesOn,
    WaitOver,
)
from assistant.procedure import prompts
from assistant.procedure.commands import INFORMATION, TIGHTEN_AGAIN
from assistant.procedure.evolve import evolve
from assistant.procedure.introductions import BREATH
from assistant.procedure.state import LEVELS, State
from assistant.speech.vocabulary import Expecting, phrase_words
from assistant.speech.wording import catalogue

CHANGES_THE_ASKING: frozenset[type[Event]] = frozenset({FiguresAsked, ChoiceOffered, HelperAsked})
_FREE = {"noting": ("note",), "reasoning": ("because",), "naming": ("name",), "explaining": ("because",)}

YES_OR_NO = frozenset({"asking", "off-window", "choosing", "reasoning", "noting", "supervisor"})
"""States in which a short yes or no is an answer; so it is at a check that asks for a yes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """What to do after a batch of events.

    Args:
        say: sentences to speak now, "" for silence.
        breaths: the same in the pieces in which it is spoken, a pause between two.
        adjust: how the voice is to change before it speaks: "louder", "quieter", "slower", "faster".
        listen: what the next utterance may be.
        prepare: sentences likely to be needed next, to be rendered ahead.
    """

    say: str
    listen: Expecting
    prepare: tuple[str, ...] = ()
    breaths: tuple[str, ...] = ()
    adjust: tuple[str, ...] = ()


def effects(state: State, events: Sequence[Event]) -> Effects:
    """Effects of a batch of events.

    Args:
        state: before the first of them.
        events: in order, as decided.
    """
    parts: list[str] = []
    before = state
    kinds = {type(e) for e in events}
    for event in events:
        after = evolve(state, event)
        if not _quiet(event, kinds):
            parts.append(prompts.prompt(state, event, after))
        state = after
    breaths = tuple(" ".join(piece.split()) for piece in " ".join(p for p in parts if p).split(BREATH))
    breaths = tuple(piece for piece in breaths if piece)
    asked_to = any(isinstance(e, Told) and e.what in INFORMATION for e in events)
    if breaths and breaths[-1] == before.last_prompt and not asked_to:
        # nothing is asked twice word for word, unless it was wanted
        breaths = (*breaths[:-1], catalogue(state.work.language).again(breaths[-1]))
    adjust = tuple(e.what for e in events if isinstance(e, SpeechAdjusted) and e.what not in LEVELS)
    return Effects(say=" ".join(breaths), listen=expecting(state), prepare=ahead(state), breaths=breaths, adjust=adjust)


def _quiet(event: Event, kinds: set[type[Event]]) -> bool:
    """Whether another sentence of the same batch says it, or says what takes its place: the way of asking changes."""
    match event:
        case QuestionAnswered():
            return SessionClosed in kinds
        case WaitGoesOn():
            return WaitOver in kinds
        case ItemAnnounced() | ReadingDoubted() | ReadingImpossible():
            return bool(kinds & CHANGES_THE_ASKING)
        case NotUnderstood():
            return bool(kinds & {*CHANGES_THE_ASKING, ReadingDoubted})
    return False


def expecting(state: State) -> Expecting:
    """What the next utterance may be in this state. The wanted value never gets a preference."""
    values = state.current_pass is not None and state.current_pass.kind != "snug"
    asked_bolt = state.dialogue == "asked-back" and state.expects.isdecimal()
    standing = state.dialogue in ("paused", "stopped", "waiting", "naming", "supervisor", "asked-back")
    bare: tuple[str, ...] = ()
    if state.dialogue == "guiding":
        bare = ("yes", "no") if state.question is not None else ("no",)
    measures = state.measurement.quantity if state.measurement is not None else ""
    if state.current_pass is not None:
        measures = state.current_pass.measures
    return Expecting(
        values=asked_bolt or (not standing and (values or bool(measures))),
        yes_no=state.dialogue in YES_OR_NO
        or state.clock_asked
        or bool(state.dialogue == "naming" and state.name_heard),
        bare=("no",) if state.dialogue == "naming" and not state.name_heard else bare,
        phrases=_phrases(state),
        free=_FREE.get(state.dialogue, ()),
        # a measured figure may be said anew in any form: it was perhaps not misheard but read anew
        figures_only=state.dialogue == "figures" and not measures,
        choices=state.dialogue == "choosing",
        measures="" if asked_bolt or standing else measures,
    )


def _phrases(state: State) -> tuple[str, ...]:
    """Sentences that mean something in this state alone."""
    if state.dialogue == "supervisor":
        return (state.work.supervisor,)
    if state.dialogue == "asked-back":
        ask = state.asked_item.lesson.ask_back if state.asked_item is not None else None
        return (ask.answer, *ask.others) if ask is not None else ()
    if state.dialogue == "off-window":
        return (TIGHTEN_AGAIN,)
    if state.dialogue == "naming":
        named = () if state.name_heard else tuple(p.name for p in state.work.people if phrase_words(p.name))
        contests = state.question.refused if state.question is not None and state.purpose == "witness" else ()
        return tuple(dict.fromkeys((*named, *contests)))
    question = state.question
    own = tuple(p for p in (question.phrase, *question.refused) if p != prompts.YES) if question is not None else ()
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
    w, full = catalogue(state.work.language), state.talk == "full"
    if due.goes_round:
        return tuple(f"{word} {w.circle(following[0])}" for word in (w.held(), w.moved()))
    said_back = w.clicked() if due.clicks else prompts.read_back(w, bolt, due.setting, due, full=full)
    return (f"{said_back} {prompts.next_bolt(w, due, following[0], full=full)}",)


def likely(state: State) -> tuple[str, ...]:
    """Words of the likeliest answers other than readings, so that what follows them can be rendered ahead."""
    if state.dialogue == "asking":
        return ("yes",)
    if state.dialogue != "guiding":
        return ()
    if state.question is not None:
        return (state.question.phrase,)
    return ("snug",) if state.current_pass is not None and state.current_pass.kind == "snug" else ()
