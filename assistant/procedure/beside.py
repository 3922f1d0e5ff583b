"""What is said while time passes, and what an apprentice is asked before a stage. Pure."""

from __future__ import annotations

from assistant.events import (
    Alternative,
    AnsweredBack,
    EntryTakenBack,
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
    WaitGoesOn,
    WaitOver,
)
from assistant.procedure.announce import go_on
from assistant.procedure.commands import LEAVE_OPEN
from assistant.procedure.evolve import fold
from assistant.procedure.free_words import INFORMATION
from assistant.procedure.missed import unfitting
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
    open_question = state.dialogue in ASKED or state.clock_asked
    open_question = open_question or (state.dialogue == "guiding" and state.question is not None)
    return (Told(what="say again", utterance=""),) if open_question else ()


def waiting(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """While time passes only a few things can be said; a correction takes back what the wait rests on."""
    best = heard.alternatives[0] if heard.alternatives else None
    name = (best.command or best.kind) if best is not None and heard.decision != "reject" else ""
    if name in INFORMATION:
        return (Told(what=name, utterance=heard.utterance),)
    if best is None or heard.decision != "accept":
        not_sure = name in ("skip", "note", "correction", LEAVE_OPEN) or (state.clock_asked and name in ("yes", "no"))
        return (Told(what="not-sure", utterance=heard.utterance),) if not_sure else unfitting(state, heard)
    if state.clock_asked and name == "yes" and state.wait is not None:
        counted = 0 if state.left_s is None else state.wait.seconds - state.left_s
        entry = len(state.entries) + 1
        return (WaitOver(entry=entry, stage=state.stage, waited_s=counted, utterance=heard.utterance),)
    if state.clock_asked and name == "no":
        return (WaitGoesOn(stage=state.stage),)
    last = state.last_entry
    if name == "correction" and last is not None:
        return (EntryTakenBack(taken_back=last.number, utterance=heard.utterance),)
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
    return (Told(what="not-now", utterance=heard.utterance),)


def apprentice(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """The answer to what was asked back, or the supervisor's phrase; an answer near to one of the choices counts."""
    best = heard.alternatives[0] if heard.alternatives else None
    if best is None or heard.decision == "reject":
        near = _near(state, heard.free_text) if state.dialogue == "asked-back" else ""
        if near:
            return (_answered(state, near, heard.utterance),)
        return unfitting(state, heard)
    if best.command in INFORMATION:
        return (Told(what=best.command, utterance=heard.utterance),)
    if state.dialogue == "supervisor":
        return _supervisor(state, heard, best)
    answer = _answer(state, best) or _near(state, heard.free_text)
    if not answer:
        return (Told(what="answer-first", utterance=heard.utterance),)
    told = _answered(state, answer, heard.utterance)
    if told.right and state.expects.isdecimal():
        return (told, ReasonWanted(stage=state.asks_of))
    return (told,)


def _answered(state: State, answer: str, utterance: str) -> AnsweredBack:
    return AnsweredBack(stage=state.asks_of, answer=answer, right=answer == state.expects, utterance=utterance)


_SMALL = frozenset("a an the it is that of to on at in and or one you i we do does be by".split())
"""Words that tell no answer from another."""


def _near(state: State, said: str) -> str:
    """The one choice that shares a telling word with what was said ('trying', 'you try it' for 'try it'), else ''."""
    item = state.asked_item
    ask = item.lesson.ask_back if item is not None else None
    if ask is None or state.expects.isdecimal():
        return ""
    heard = _stems(said)
    shares = {choice: len(heard & _stems(choice)) for choice in (ask.answer, *ask.others)}
    best = max(shares.values())
    near = [choice for choice, count in shares.items() if count == best]
    return near[0] if best and len(near) == 1 else ""


def _stems(text: str) -> frozenset[str]:
    words = (word.strip(".,!?'") for word in text.casefold().split())
    return frozenset(_stem(word) for word in words if word and word not in _SMALL)


def _stem(word: str) -> str:
    """A word without its usual ending: 'tried', 'trying' and 'try' are one."""
    for ending, put in (("ied", "y"), ("ies", "y"), ("ing", ""), ("ed", ""), ("s", "")):
        if word.endswith(ending) and len(word) > len(ending) + 1:
            return word.removesuffix(ending) + put
    return word


def _answer(state: State, best: Alternative) -> str:
    """What was answered, in the form of what is expected; '' for anything else."""
    if state.expects.isdecimal():
        bolt = best.bolt if best.bolt is not None else best.value
        return "" if bolt is None or bolt != int(bolt) else str(int(bolt))
    item = state.asked_item
    ask = item.lesson.ask_back if item is not None else None
    return best.command if ask is not None and best.command in (ask.answer, *ask.others) and best.command else ""


def _supervisor(state: State, heard: UtteranceHeard, best: Alternative) -> tuple[Event, ...]:
    if best.command == state.work.supervisor and heard.decision == "accept":
        agreed = SupervisorAgreed(purpose=state.purpose, phrase=state.work.supervisor, utterance=heard.utterance)
        return (agreed,)
    if best.command in ("no", "go back", "correction", "resume"):
        return (ReadingTakenBack(utterance=heard.utterance),)
    return (Told(what="supervisor-phrase", utterance=heard.utterance),)
