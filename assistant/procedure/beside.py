"""What is said while time passes, and what an apprentice is asked before a stage. Pure."""

from __future__ import annotations

from assistant.events import (
    Alternative,
    AnsweredBack,
    Event,
    NoteAsked,
    NoteKept,
    ReadingTakenBack,
    ReasonAsked,
    ReasonWanted,
    SessionLeft,
    SupervisorAgreed,
    SupervisorAsked,
    Told,
    UtteranceHeard,
    WaitOver,
)
from assistant.procedure.announce import go_on
from assistant.procedure.commands import INFORMATION, LEAVE_OPEN
from assistant.procedure.evolve import fold
from assistant.procedure.state import State


def time_is_up(state: State, *, waited_s: int) -> tuple[Event, ...]:
    """The running wait is over: said at once, and what is due next is asked for.

    Args:
        state: its dialogue is "waiting".
        waited_s: seconds since the wait began.
    """
    over = WaitOver(entry=len(state.entries) + 1, stage=state.stage, waited_s=waited_s)
    return (over, *go_on(fold(state, (over,))))


ASKED = frozenset("asking figures choosing reasoning naming asked-back explaining supervisor".split())
"""States in which a question is open and nobody's hands are at work."""


def unanswered(state: State) -> tuple[Event, ...]:
    """The open question once more, where nobody answered it. Never while a bolt is pulled or a figure measured."""
    open_question = state.dialogue in ASKED or (state.dialogue == "guiding" and state.question is not None)
    return (Told(what="say again", utterance=""),) if open_question else ()


def waiting(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """While time passes only a few things can be said; talk to others stays unanswered."""
    best = heard.alternatives[0] if heard.alternatives else None
    name = (best.command or best.kind) if best is not None and heard.decision != "reject" else ""
    if name in INFORMATION:
        return (Told(what=name, utterance=heard.utterance),)
    if best is None or heard.decision != "accept":
        return (Told(what="not-sure", utterance=heard.utterance),) if name in ("skip", "note", LEAVE_OPEN) else ()
    if name == LEAVE_OPEN:
        return (SessionLeft(reason="left open"),)
    if name == "skip":
        asks = SupervisorAsked if state.work.apprentice else ReasonAsked
        return (asks(purpose="cut-short", utterance=heard.utterance),)
    if best.kind == "note" or name == "note":
        text = best.text.strip()
        if not text or text == "note":
            return (NoteAsked(utterance=heard.utterance),)
        return (NoteKept(bolt=None, text=text, utterance=heard.utterance),)
    return (Told(what="not-now", utterance=heard.utterance),) if name in ("go back", "correction", "next") else ()


def apprentice(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """The answer to what was asked back, or the supervisor's phrase."""
    best = heard.alternatives[0] if heard.alternatives else None
    if best is None or heard.decision == "reject":
        return ()
    if best.command in INFORMATION:
        return (Told(what=best.command, utterance=heard.utterance),)
    if state.dialogue == "supervisor":
        return _supervisor(state, heard, best)
    answer = _answer(state, best)
    if not answer:
        return (Told(what="answer-first", utterance=heard.utterance),)
    right = answer == state.expects
    told = AnsweredBack(stage=state.stage, answer=answer, right=right, utterance=heard.utterance)
    if right and state.expects.isdecimal():
        return (told, ReasonWanted(stage=state.stage))
    return (told,)


def _answer(state: State, best: Alternative) -> str:
    """What was answered, in the form of what is expected; '' for anything else."""
    if state.expects.isdecimal():
        bolt = best.bolt if best.bolt is not None else best.value
        return "" if bolt is None or bolt != int(bolt) else str(int(bolt))
    item = state.item
    ask = item.lesson.ask_back if item is not None else None
    return best.command if ask is not None and best.command in (ask.answer, *ask.others) and best.command else ""


def _supervisor(state: State, heard: UtteranceHeard, best: Alternative) -> tuple[Event, ...]:
    if best.command == state.work.supervisor and heard.decision == "accept":
        agreed = SupervisorAgreed(purpose=state.purpose, phrase=state.work.supervisor, utterance=heard.utterance)
        return (agreed,)
    if best.command in ("no", "go back", "correction", "resume"):
        return (ReadingTakenBack(utterance=heard.utterance),)
    return (Told(what="supervisor-phrase", utterance=heard.utterance),)
