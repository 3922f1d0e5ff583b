"""Verification that each entry follows from what was heard. Pure.

Whoever makes a whole new chain has to change the entry and what was heard of it alike, and then the sound says
otherwise. An entry whose figure or phrase nobody said, and that nobody was asked about either, was not recorded by the
assistant.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from assistant.errors import BadQuantity
from assistant.events import (
    Alternative,
    BoltHeld,
    BoltMoved,
    ChoiceOffered,
    Event,
    Measured,
    MeasurementKept,
    MeasurementRefused,
    NameKept,
    QuestionAnswered,
    ReadingAccepted,
    ReadingDoubted,
    ReadingKept,
    ReadingOutside,
    StopReleased,
    UtteranceHeard,
    WaitOver,
    utterance_in,
)
from assistant.journal.findings import Finding, error
from assistant.journal.tape import JOURNAL_NAME

ROUNDING = 0.006
"""How far a figure converted to the wrench's own scale may be off, as a part of it: it is written as people say it."""
_NEWEST = 40
"""So many questions back an entry may rest on: far more than are ever open at once."""


def examine_entries(events: Iterable[tuple[int, Event]]) -> Iterator[Finding]:
    """What was recorded without having been heard.

    Args:
        events: (line number, event) in order, of a journal without a gap.
    """
    heard: dict[str, UtteranceHeard] = {}
    asked: list[Alternative] = []
    recorded: set[Decimal] = set()
    for number, event in events:
        where = f"{JOURNAL_NAME} line {number}"
        if isinstance(event, UtteranceHeard):
            heard[event.utterance] = event
            continue
        missing = [name for name in _rests_on(event) if name not in heard]
        if missing:
            message = f"It rests on the utterance {missing[0][:20]!r}, which was not heard before it."
            yield error("entry-without-words", where, message, "tampering")
            continue
        said = [each for name in _rests_on(event) for each in heard[name].alternatives] + asked[-_NEWEST:]
        wrong = _not_said(event, said, recorded)
        if wrong:
            message = f"{wrong}, but neither was it heard in the utterance that the line names, nor was it asked about."
            yield error("entry-not-heard", where, message, "tampering")
        asked += _asked(event)
        recorded |= _figures(event)


def _rests_on(event: Event) -> list[str]:
    names = [utterance_in(event)]
    if isinstance(event, ReadingAccepted | MeasurementKept | NameKept):
        names.append(event.confirmed_by)
    if isinstance(event, ReadingKept | StopReleased):
        names.append(event.reason_utterance)
    return [name for name in names if name]


def _not_said(event: Event, said: Sequence[Alternative], recorded: set[Decimal]) -> str:
    """What is recorded without having been said, in words; "" where all was."""
    if isinstance(event, ReadingAccepted | ReadingKept):
        return "" if _heard(event.achieved, said, recorded) else f"{_plain(event.achieved)} is recorded"
    if isinstance(event, MeasurementKept):
        measured = Measured(event.value, event.unit)
        return "" if _heard(measured, said, recorded) else f"{_plain(measured)} is recorded"
    if isinstance(event, QuestionAnswered):
        return "" if any(event.phrase in (a.command, a.text) for a in said) else f"'{event.phrase[:60]}' is recorded"
    if isinstance(event, WaitOver) and event.utterance:
        return "" if any(each.command == "yes" for each in said) else "That the time has passed is recorded"
    if isinstance(event, BoltHeld | BoltMoved):
        wanted = "did not move" if isinstance(event, BoltHeld) else "moved"
        return "" if any(each.command == wanted for each in said) else f"'{wanted}' is recorded"
    return ""


def _heard(measured: Measured, said: Sequence[Alternative], recorded: set[Decimal]) -> bool:
    if any(each.value == measured.value for each in said):
        return True
    if any(each.command == "same" for each in said) and measured.value in recorded:
        return True
    return any(_converted(each, measured) for each in said)


def _converted(said: Alternative, measured: Measured) -> bool:
    """Whether it is what was said, on another scale."""
    if said.value is None or said.unit is None or said.unit == measured.unit:
        return False
    from assistant.bolting import units  # seldom needed, and slow to load

    try:
        figure = units.magnitude(units.of(float(said.value), said.unit), measured.unit, name="what was said")
    except BadQuantity:
        return False
    return abs(figure - float(measured.value)) <= max(0.5, ROUNDING * abs(figure))


def _asked(event: Event) -> tuple[Alternative, ...]:
    if isinstance(event, ReadingDoubted):
        return (event.heard,) if event.other is None else (event.heard, event.other)
    if isinstance(event, ReadingOutside | MeasurementRefused):
        return (event.heard,)
    return event.choices if isinstance(event, ChoiceOffered) else ()


def _figures(event: Event) -> set[Decimal]:
    return {event.achieved.value} if isinstance(event, ReadingAccepted | ReadingKept) else set()


def _plain(measured: Measured) -> str:
    return f"{measured.value} {measured.unit}"
