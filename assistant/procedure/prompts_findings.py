"""Sentences for what is wrong and what was done about it, for reasons, names, and stops of the plan. Pure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assistant.procedure.findings import FAILING
from assistant.procedure.state import State
from assistant.speech.wording import Wording

Speak = Callable[[Wording, State, Any, State], str]


def _made(w: Wording, before: State, event: Any, after: State) -> str:
    del before, after
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


def _no_reason(w: Wording, before: State, event: Any, after: State) -> str:
    del before, after
    if event.heard is not None and event.heard.value is not None:
        return w.new_reading(w.number(event.heard.value))
    return w.no_reason[event.why]


def _name_asked(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    return w.name_again() if before.name_heard else w.name_please(event.purpose, event.role)


FINDINGS: dict[str, Speak] = {
    "finding-made": _made,
    "finding-described": lambda w, _b, _e, _a: w.described(),
    "finding-settled": lambda w, _b, _e, _a: w.settled(),
    "reason-asked": lambda w, _b, _e, a: words_for(w, a),
    "reason-doubted": _no_reason,
    "stop-released": lambda w, _b, e, _a: w.released(e.name),
    "name-asked": _name_asked,
    "name-read-back": lambda w, _b, e, _a: w.name_back(e.text),
    "name-taken-back": lambda w, _b, e, _a: w.taken_back(w.name_named(e.text)),
}
