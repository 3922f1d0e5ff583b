"""Sentences for what happens around the bolts: waits, measurements, names, replaced parts, an apprentice. Pure."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from assistant.bolting import units
from assistant.events import (
    AnsweredBack,
    ClockSet,
    Measurement,
    MeasurementRefused,
    Pass,
    WaitBegun,
)
from assistant.procedure.introductions import breaths, warnings
from assistant.procedure.state import State
from assistant.speech.wording import Wording


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


def measured_outside(w: Wording, before: State, event: MeasurementRefused) -> str:
    """A measured figure outside of what is allowed, and the limit."""
    due, value = before.measurement, event.heard.value
    limit = None if due is None else (due.low if event.side == "low" else due.high)
    if due is None or limit is None or value is None:
        return ""
    return w.measured_outside(value, event.heard.unit or due.unit, event.side, limit)


def wait_left(w: Wording, state: State, seconds: int) -> str:
    """How long the wait still lasts; nothing about one whose time is up, which is said by itself at once."""
    return w.wait_goes_on(state.wait.called, seconds) if state.wait is not None and seconds > 0 else ""


def wait_begun(w: Wording, event: WaitBegun, after: State) -> str:
    """The caution of a wait and how long it lasts."""
    item = after.item
    caution = w.caution(item.lesson.caution) if item is not None and item.lesson.caution else ""
    name = after.wait.called if after.wait is not None else event.name
    begins = f"{caution} {w.wait_begins(name, event.seconds, told=after.talk != 'brief')}".strip()
    return breaths(*warnings(w, after), begins)


def asked_back(w: Wording, state: State) -> str:
    """What an apprentice is being asked; with the answers to choose from once one was not understood."""
    item, again = state.asked_item, state.asks_of in state.comes_back
    if state.expects.isdecimal() and isinstance(item, Pass):
        return w.which_bolt_next(item.bolts[0], again=again)
    ask = item.lesson.ask_back if item is not None else None
    if ask is None:
        return ""
    told = w.states(ask.ask, tuple(sorted((ask.answer, *ask.others)))) if state.misses else ask.ask
    return told if state.misses else w.asked_back(told, again=again)


def answered_back(w: Wording, before: State, event: AnsweredBack) -> str:
    """Right or wrong, with the reason."""
    item = before.asked_item
    ask = item.lesson.ask_back if item is not None else None
    if ask is not None:
        return w.right(ask.because) if event.right else w.wrong(w.phrase_named(ask.answer), ask.because)
    why = item.lesson.why if item is not None else ""
    return w.right("") if event.right else w.wrong(w.bolt_named(int(before.expects)), why)


def reason_given(w: Wording, before: State) -> str:
    """An apprentice's own reason is not judged; the usual one follows, to compare."""
    return w.compare(before.asked_item.lesson.why if before.asked_item is not None else "")


def clock_set(w: Wording, event: ClockSet, after: State) -> str:
    """How the wait is counted on, or the question whether it is over; nothing while none runs."""
    if event.wait == "unsure":
        return clock_question(w, after)
    return w.clock_counted() if event.wait else ""


def clock_question(w: Wording, state: State) -> str:
    """Whether the running wait is over, asked after its clock was set."""
    return w.clock_asked(state.wait.seconds) if state.wait is not None else ""
