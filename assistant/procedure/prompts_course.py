"""Sentences for what happens around the bolts: waits, measurements, names, replaced parts, an apprentice. Pure."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise
from typing import Any

from assistant.bolting import units
from assistant.events import Measurement
from assistant.procedure.introductions import breaths, warnings
from assistant.procedure.state import State
from assistant.speech.wording import Wording

Speak = Callable[[Wording, State, Any, State], str]


def expected_percent(due: Measurement, value: Decimal, unit: str) -> int:
    """What a measured value lets expect, in percent of the preload at assembly: between the tabled ones, in proportion.

    Args:
        due: with a table.
        value, unit: as measured.
    """
    at = units.magnitude(units.of(float(value), unit), due.unit, name=due.name)
    table = [(float(row.at), row.percent) for row in due.expected]
    if at <= table[0][0]:
        return 100 if at <= table[0][0] / 2 else table[0][1]
    for (low, first), (high, second) in pairwise(table):
        if low <= at <= high:
            return round(first + (second - first) * (at - low) / (high - low))
    return table[-1][1]


def _outside(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    due = before.measurement
    limit = None if due is None else (due.low if event.side == "low" else due.high)
    if due is None or limit is None:
        return ""
    return w.measured_outside(event.heard.value, event.heard.unit or due.unit, event.side, limit)


def wait_left(w: Wording, state: State, seconds: int) -> str:
    """How long the wait still lasts; nothing about one whose time is up, which is said by itself at once."""
    return w.wait_goes_on(state.wait.called, seconds) if state.wait is not None and seconds > 0 else ""


def _wait_begun(w: Wording, before: State, event: Any, after: State) -> str:
    del before
    item = after.item
    caution = w.caution(item.lesson.caution) if item is not None and item.lesson.caution else ""
    name = after.wait.called if after.wait is not None else event.name
    begins = f"{caution} {w.wait_begins(name, event.seconds, told=after.talk != 'brief')}".strip()
    return breaths(*warnings(w, after), begins)


def asked_back(w: Wording, state: State) -> str:
    """What an apprentice is being asked; with the answers to choose from once one was not understood."""
    due, item = state.current_pass, state.item
    if state.expects.isdecimal() and due is not None:
        return w.which_bolt_next(due.bolts[0])
    ask = item.lesson.ask_back if item is not None else None
    if ask is None:
        return ""
    return w.states(ask.ask, tuple(sorted((ask.answer, *ask.others)))) if state.misses else w.asked_back(ask.ask)


def _answered_back(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    item = before.item
    ask = item.lesson.ask_back if item is not None else None
    if ask is not None:
        return w.right(ask.because) if event.right else w.wrong(w.phrase_named(ask.answer), ask.because)
    why = item.lesson.why if item is not None else ""
    return w.right("") if event.right else w.wrong(w.bolt_named(int(before.expects)), why)


def _reason_given(w: Wording, before: State, event: Any, after: State) -> str:
    """An apprentice's own reason is not judged; the usual one follows, to compare."""
    del event, after
    return w.compare(before.item.lesson.why if before.item is not None else "")


def _clock_set(w: Wording, before: State, event: Any, after: State) -> str:
    if event.wait == "unsure":
        return clock_question(w, after)
    del before
    return w.clock_counted() if event.wait else ""


def clock_question(w: Wording, state: State) -> str:
    """Whether the running wait is over, asked after its clock was set."""
    return w.clock_asked(state.wait.seconds) if state.wait is not None else ""


COURSE: dict[str, Speak] = {
    "wait-begun": _wait_begun,
    "wait-goes-on": lambda w, _b, _e, a: wait_left(w, a, a.left_s if a.left_s is not None else 0),
    "clock-set": _clock_set,
    "off-the-record": lambda w, _b, _e, _a: w.off_the_record(),
    "on-the-record": lambda w, _b, _e, _a: w.on_the_record(),
    "wait-over": lambda w, b, _e, _a: w.wait_over(b.wait.called) if b.wait is not None else "",
    "wait-cut-short": lambda w, b, _e, _a: w.wait_cut_short(b.wait.called) if b.wait is not None else "",
    "measurement-kept": lambda w, _b, _e, _a: w.good(),
    "measurement-refused": _outside,
    "name-kept": lambda w, _b, _e, a: w.name_kept() if a.talk != "brief" else "",  # it was read back
    "bolt-replaced": lambda w, _b, e, _a: w.replaced(e.bolt),
    "passes-restarted": lambda w, _b, e, _a: w.restarted(e.reason),
    "asked-back": lambda w, _b, _e, a: asked_back(w, a),
    "answered-back": _answered_back,
    "reason-wanted": lambda w, _b, _e, _a: w.and_why(),
    "reason-given": _reason_given,
    "supervisor-asked": lambda w, _b, _e, _a: w.supervisor(),
}
