"""What is not as the work needs it: failing answers, trouble at the wrench, and what was done about them. Pure.

The rules (a finding is an observation; the words are ours, the practice common, no source):
- A failing answer to a check or hold point is a finding of that stage. The passing answer counts again only after
  somebody said what changed, and at a hold point with the name of whoever releases it: a question that asks for a
  name anyway asks for it once, and that name settles the finding.
- Trouble at the wrench is a finding at once. What can hurt somebody or spoils the joint stops the work; to go on,
  somebody says what was done about it.
- A finding is never taken back, as a reading is: it stays for the lead. One that was misheard is settled by saying so.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.events import (
    EntryTakenBack,
    Event,
    FindingMade,
    FindingSettled,
    QuestionAnswered,
    QuestionRefused,
    ReasonAsked,
    Stopped,
    Told,
)
from assistant.procedure.answers import Answer, doubt
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.speech.commands import TROUBLES

FAILING = frozenset({"no", "not yet"})
"""Answers that fail every check and hold point."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """What trouble calls for: `stops` the work at once; `hold`: only a named person lets it go on."""

    stops: bool
    hold: bool


CALLS_FOR = {
    "somebody is hurt": Trouble(stops=True, hold=True),
    "alarm": Trouble(stops=True, hold=True),
    "there is a leak": Trouble(stops=True, hold=True),
    "bolt broke": Trouble(stops=True, hold=True),
    "nut turns free": Trouble(stops=True, hold=False),
    "thread damaged": Trouble(stops=True, hold=False),
    "wrench dropped": Trouble(stops=True, hold=False),
    "socket slipped": Trouble(stops=False, hold=False),
}
assert CALLS_FOR.keys() == TROUBLES.keys()


def is_trouble(state: State, name: str | None) -> bool:
    """Whether a command tells of trouble; where the question itself asks about it, it is an answer."""
    own = () if state.question is None else (state.question.phrase, *state.question.refused)
    return name in CALLS_FOR and name not in own


def trouble(state: State, name: str, utterance: str) -> tuple[Event, ...]:
    """Trouble at the wrench: the finding, and what it calls for."""
    calls = CALLS_FOR[name]
    if any(
        f.open and (f.sort, f.what, f.stage, f.bolt) == ("trouble", name, state.stage, state.bolt)
        for f in state.findings
    ):
        told = Told(what=name, utterance=utterance)
        return (told,) if state.dialogue == "stopped" else (told, Stopped(utterance=utterance))
    made = FindingMade(
        finding=len(state.findings) + 1,
        stage=state.stage,
        round=state.round,
        bolt=state.bolt,
        name="",
        sort="trouble",
        what=name,
        blocks=calls.stops,
        hold=calls.hold,
        utterance=utterance,
    )
    return (made, Stopped(utterance=utterance)) if calls.stops and state.dialogue != "stopped" else (made,)


def phrase(state: State, answer: Answer) -> tuple[Event, ...]:
    """The answer to a question: its agreed phrase passes it, a failing one is a finding, anything else is refused.

    A phrase that is not sure is asked for once more: heard twice, it may be sure enough
    (`answers.confirmed_probability`).
    """
    question, said = state.question, answer.heard.command or ""
    if question is None:
        return (Told(what="not-now", utterance=answer.utterance),)
    known = said == question.phrase or said in FAILING or said in question.refused
    if known and answer.decision != "accept":
        return (doubt(answer),)
    if said == question.phrase:
        return passed(state, answer)
    if known:
        return failed(state, said, answer.utterance)
    return (QuestionRefused(stage=state.stage, name=question.name, answer=said, utterance=answer.utterance),)


def failed(state: State, said: str, utterance: str) -> tuple[Event, ...]:
    """A failing answer to the check or hold point that is due: recorded, and what is missing is asked."""
    question = state.question
    assert question is not None
    made = FindingMade(
        finding=len(state.findings) + 1,
        stage=state.stage,
        round=state.round,
        bolt=None,
        name=question.name,
        sort="answer",
        what=said,
        blocks=True,
        hold=question.hold,
        utterance=utterance,
    )
    refused = QuestionRefused(stage=state.stage, name=question.name, answer=said, utterance=utterance)
    known = (f for f in state.findings if f.open and not f.changed)
    if any((f.sort, f.what, f.stage) == ("answer", said, state.stage) for f in known):
        return (refused,)  # known already
    return (refused, made, ReasonAsked(purpose="missing", utterance=utterance))


def passed(state: State, answer: Answer) -> tuple[Event, ...]:
    """The passing phrase: it counts unless a finding is open here, or a stop of the plan wants its reason first."""
    question = state.question
    assert question is not None
    if state.finding is not None:
        return (ReasonAsked(purpose="changed", utterance=answer.utterance),)
    if question.reason:
        return (ReasonAsked(purpose="release", utterance=answer.utterance),)
    return (
        QuestionAnswered(
            entry=len(state.entries) + 1,
            stage=state.stage,
            name=question.name,
            phrase=question.phrase,
            role=question.role,
            hold=question.hold,
            utterance=answer.utterance,
        ),
    )


def settled(state: State, by: str) -> tuple[FindingSettled, ...]:
    """Every finding of which the change was told counts as settled now; `by` is "" where no name was needed.

    What failed at a question that asks for a name is settled by that name alone.
    """
    return tuple(
        FindingSettled(finding=f.number, changed=f.changed, by=by, utterance=f.changed_in)
        for f in state.findings
        if f.open and f.changed and (by or not f.hold) and not state.names_at(f)
    )


def settled_by_name(state: State, by: str) -> tuple[FindingSettled, ...]:
    """What failed at the question that is due counts as settled by the name of whoever passed it."""
    return tuple(
        FindingSettled(finding=f.number, changed=f.changed, by=by, utterance=f.changed_in)
        for f in state.findings
        if f.open and f.changed and f.stage == state.stage and state.names_at(f)
    )


def contested(state: State, said: str, utterance: str) -> tuple[Event, ...]:
    """While the name behind a hold point is asked for, somebody says that it does not hold: it is due again, failed."""
    last = state.entry_of(None)
    gone = () if last is None else (EntryTakenBack(taken_back=last.number, utterance=utterance),)
    return (*gone, *failed(fold(state, gone), said, utterance))
