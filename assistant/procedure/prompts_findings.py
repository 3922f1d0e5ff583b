"""Sentences for what is wrong and what was done about it, for reasons, names, and stops of the plan. Pure."""

from __future__ import annotations

from assistant.events import (
    ChangeTold,
    FindingMade,
    FindingSettled,
    NameAsked,
    ReasonDoubted,
)
from assistant.procedure.answers import FAILING
from assistant.procedure.state import State
from assistant.speech.wording import Wording


def finding_made(w: Wording, event: FindingMade) -> str:
    """What trouble calls for, or that nothing goes on before a bare no is put right."""
    if event.sort == "trouble":
        return w.troubles[event.what]
    return w.not_yet() if event.what in FAILING else ""  # what else failed is told with what was needed


def words_for(w: Wording, state: State) -> str:
    """Words are asked for: a reason, what is missing, or what changed."""
    if state.purpose == "missing":
        made, question = state.findings[-1].what if state.findings else "", state.question
        if question is not None and made not in FAILING and question.name.startswith(("tool ", "scale of ")):
            return w.why_that_one()
        return w.what_is_missing(bare=made in FAILING or (question is not None and question.hold))
    if state.purpose == "changed":
        return w.what_changed(state.finding.what if state.finding is not None else "")
    return w.why_release() if state.purpose == "release" else w.reason_please(state.purpose)


def no_reason(w: Wording, event: ReasonDoubted) -> str:
    """Why what was said is no reason."""
    if event.heard is not None and event.heard.value is not None:
        return w.new_reading(w.number(event.heard.value))
    return w.no_reason[event.why]


def name_asked(w: Wording, before: State, event: NameAsked) -> str:
    """Who it was, or the name once more where it was misheard."""
    return w.name_again() if before.name_heard else w.name_please(event.purpose, event.role)


def change_told(w: Wording, event: ChangeTold, after: State) -> str:
    """Told at once where the name that the question asks for settles the finding later."""
    (found,) = [f for f in after.findings if f.number == event.finding]
    return w.settled() if after.names_at(found) else ""


def settled(w: Wording, before: State, event: FindingSettled) -> str:
    """Told where the finding was settled, but not where the name behind a hold point did it in passing."""
    (found,) = [f for f in before.findings if f.number == event.finding]
    return "" if before.names_at(found) else w.settled()
