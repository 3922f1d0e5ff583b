"""Commands and free speech: what each leads to. Pure: state and answer in, events out."""

from __future__ import annotations

from collections.abc import Callable

from assistant.events import (
    Alternative,
    BoltSkipped,
    BoltTakenUp,
    EntryTakenBack,
    Event,
    FiguresAsked,
    NameTakenBack,
    NoteAsked,
    NoteKept,
    NotUnderstood,
    OtherBoltNamed,
    QuestionRefused,
    ReadingDoubted,
    ReadingTakenBack,
    ReasonAsked,
    RetightenAgreed,
    SessionLeft,
    SpeechAdjusted,
    SteppedBack,
    SteppedOn,
    SupervisorAsked,
    Told,
)
from assistant.procedure import answers, findings, parts
from assistant.procedure.answers import Answer
from assistant.procedure.free_words import INFORMATION, no_reason
from assistant.procedure.state import LEVELS, State

LEAVE_OPEN = "leave it open"
REPORTS = frozenset({"done", "clicked", "snug", "moved", "did not move", "same"})
TIGHTEN_AGAIN = "tighten again"


def command(state: State, answer: Answer) -> tuple[Event, ...]:
    """Events for a command, a report, or a phrase."""
    name = answer.heard.command or ""
    if name in INFORMATION:
        return (Told(what=name, utterance=answer.utterance),)
    if name.startswith("unclear-"):
        return (Told(what=name, utterance=answer.utterance),)
    if state.question is not None and name == state.question.phrase:
        return findings.phrase(state, answer)
    if findings.is_trouble(state, name):
        return (
            ask_first(state, answer) if answer.decision != "accept" else findings.trouble(state, name, answer.utterance)
        )
    if name in parts.COMMANDS:
        return parts.command(state, answer)
    if name in _COMMANDS:
        return _COMMANDS[name](state, answer)
    if state.question is not None:
        return findings.phrase(state, answer)
    if name == "not yet":
        return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)
    if any(name == question.phrase for question in state.work.questions):
        return (Told(what="out-of-order", utterance=answer.utterance),)
    if name in REPORTS:
        return answers.report(state, answer)
    if answer.heard.bolt is not None and answer.heard.bolt != state.bolt:
        return (OtherBoltNamed(announced=state.bolt, named=answer.heard.bolt, utterance=answer.utterance),)
    return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)


def ask_first(state: State, answer: Answer) -> tuple[Event, ...]:
    """Read a command back as a question."""
    return (ReadingDoubted(bolt=state.bolt, heard=answer.heard, other=answer.other, utterance=answer.utterance),)


def _sure(change: Callable[[State, Answer], tuple[Event, ...]]) -> Callable[[State, Answer], tuple[Event, ...]]:
    """A command that changes the record is read back as a question unless it is sure."""

    def asked_first(state: State, answer: Answer) -> tuple[Event, ...]:
        return ask_first(state, answer) if answer.decision != "accept" else change(state, answer)

    return asked_first


@_sure
def _correction(state: State, answer: Answer) -> tuple[Event, ...]:
    """What was said last no longer counts: an entry, or a name that is none."""
    last, (purpose, text) = state.last_entry, state.last_name
    if purpose:
        return (NameTakenBack(purpose=purpose, text=text, utterance=answer.utterance),)
    if last is None:
        return (Told(what="nothing-to-correct", utterance=answer.utterance),)
    return (EntryTakenBack(taken_back=last.number, utterance=answer.utterance),)


def _skip(state: State, answer: Answer) -> tuple[Event, ...]:
    if state.current_pass is None or state.bolt is None or state.movement_due:
        return (Told(what="cannot-skip", utterance=answer.utterance),)
    if answer.heard.bolt is not None and answer.heard.bolt != state.bolt:
        return (OtherBoltNamed(announced=state.bolt, named=answer.heard.bolt, utterance=answer.utterance),)
    return _skip_sure(state, answer)


@_sure
def _skip_sure(state: State, answer: Answer) -> tuple[Event, ...]:
    reason = answer.heard.text.strip()
    assert state.bolt is not None
    if state.work.apprentice:
        return (SupervisorAsked(purpose="skip", utterance=answer.utterance),)
    if reason == answer.heard.command or no_reason(reason):
        return (ReasonAsked(purpose="skip", utterance=answer.utterance),)
    return (
        BoltSkipped(stage=state.stage, round=state.round, bolt=state.bolt, reason=reason, utterance=answer.utterance),
    )


def _note(state: State, answer: Answer) -> tuple[Event, ...]:
    text = answer.heard.text.strip()
    if not text or text == "note":
        return (NoteAsked(utterance=answer.utterance),)
    return (NoteKept(bolt=state.bolt, text=text, utterance=answer.utterance),)


def _go_back(state: State, answer: Answer) -> tuple[Event, ...]:
    named = answer.heard.bolt
    if named is not None and state.current_pass is not None and not state.movement_due:
        if named not in state.current_pass.bolts:
            return (OtherBoltNamed(announced=state.bolt, named=named, utterance=answer.utterance),)
        if named in state.open_bolts:
            return (BoltTakenUp(bolt=named, utterance=answer.utterance),)
        return (SteppedBack(bolt=named, utterance=answer.utterance),)
    here = [e for e in state.entries if e.valid and (e.stage, e.round) == (state.stage, state.round)]
    before = [e.bolt for e in reversed(here) if e.bolt is not None and e.bolt not in state.ahead]
    if not before or state.current_pass is None:
        return (Told(what="nothing-back", utterance=answer.utterance),)
    return (SteppedBack(bolt=before[0], utterance=answer.utterance),)


def _next(state: State, answer: Answer) -> tuple[Event, ...]:
    bolt = state.bolt
    if bolt is not None and bolt in state.ahead and bolt in state.done(state.stage, state.round):
        return (SteppedOn(bolt=bolt, utterance=answer.utterance),)
    return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)


def _keep(state: State, answer: Answer) -> tuple[Event, ...]:
    if state.dialogue != "off-window":
        return (Told(what="not-now", utterance=answer.utterance),)
    if answer.decision != "accept":
        return (NotUnderstood(utterance=answer.utterance, aloud=True),)
    if state.work.apprentice:
        return (SupervisorAsked(purpose="keep", utterance=answer.utterance),)
    return (ReasonAsked(purpose="keep", utterance=answer.utterance),)


@_sure
def _leave_open(state: State, answer: Answer) -> tuple[Event, ...]:
    """The joint stays open; asked first while a bolt is in hand."""
    if state.dialogue not in ("waiting", "paused", "stopped") and not answer.confirmed_by:
        return ask_first(state, answer)
    return (SessionLeft(reason="left open"),)


def _tighten_again(state: State, answer: Answer) -> tuple[Event, ...]:
    if state.dialogue != "off-window" or state.bolt is None:
        return (Told(what="not-now", utterance=answer.utterance),)
    return (RetightenAgreed(bolt=state.bolt, utterance=answer.utterance),)


def _figures(state: State, answer: Answer) -> tuple[Event, ...]:
    torque_due = state.current_pass is not None and state.current_pass.kind != "snug"
    if not torque_due and state.measurement is None:
        return (Told(what="not-now", utterance=answer.utterance),)
    return (FiguresAsked(utterance=answer.utterance),)


def _yes(state: State, answer: Answer) -> tuple[Event, ...]:
    question = state.question
    if question is not None:
        return (QuestionRefused(stage=state.stage, name=question.name, answer="yes", utterance=answer.utterance),)
    if state.dialogue == "off-window":
        return (Told(what="keep-or-retighten", utterance=answer.utterance),)
    return (Told(what="moved-or-not" if state.movement_due else "say-the-reading", utterance=answer.utterance),)


def _no(state: State, answer: Answer) -> tuple[Event, ...]:
    """A bare no: it fails the question that is due, denies the value in question, or contests the last read-back."""
    if state.question is not None:
        return findings.phrase(state, answer)
    if state.dialogue == "off-window":
        return (ReadingTakenBack(utterance=answer.utterance),)
    if state.dialogue == "guiding" and (state.last_entry is not None or state.last_name[0]):
        take_back = Alternative(kind="command", text="correction", command="correction", probability=0.5)
        return (ReadingDoubted(bolt=state.bolt, heard=take_back, other=None, utterance=answer.utterance),)
    return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)


def _all(state: State, answer: Answer) -> tuple[Event, ...]:
    del state
    return (Told(what="one-at-a-time", utterance=answer.utterance),)


def _resume(state: State, answer: Answer) -> tuple[Event, ...]:
    del state
    return (Told(what="say again", utterance=answer.utterance),)


def _talk(state: State, answer: Answer) -> tuple[Event, ...]:
    """Say less or more: the next level of talk; at the end of the scale it stays."""
    at = LEVELS.index(state.talk) + (1 if answer.heard.command == "say more" else -1)
    level = LEVELS[min(max(at, 0), len(LEVELS) - 1)]
    return (SpeechAdjusted(what=level, utterance=answer.utterance),)


def _voice(state: State, answer: Answer) -> tuple[Event, ...]:
    del state
    return (SpeechAdjusted(what=str(answer.heard.command), utterance=answer.utterance),)


_COMMANDS: dict[str, Callable[[State, Answer], tuple[Event, ...]]] = {
    "correction": _correction,
    "skip": _skip,
    "note": _note,
    "go back": _go_back,
    "next": _next,
    "keep": _keep,
    TIGHTEN_AGAIN: _tighten_again,
    "figures": _figures,
    "yes": _yes,
    "no": _no,
    "all": _all,
    "resume": _resume,
    "say less": _talk,
    "say more": _talk,
    "louder": _voice,
    "quieter": _voice,
    "slower": _voice,
    "faster": _voice,
    LEAVE_OPEN: _leave_open,
}
