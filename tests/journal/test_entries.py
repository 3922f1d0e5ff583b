"""Each entry follows from what was heard: honest courses give nothing to say, a changed figure or phrase does."""

import dataclasses
import json
from decimal import Decimal
from pathlib import Path

import pytest

from assistant.events import (
    Alternative,
    BoltHeld,
    Measured,
    MeasurementKept,
    QuestionAnswered,
    ReadingAccepted,
    ReadingDoubted,
    ReadingKept,
)
from assistant.journal.encoding import EVENT_FORMAT
from assistant.journal.verify_entries import examine_entries
from tests.journal.short_record import accepted, heard

GOLDEN = sorted((Path(__file__).parents[1] / "golden").glob("*.events.jsonl"))


def course(path):
    events = []
    for number, line in enumerate(path.read_text("utf-8").splitlines(), start=1):
        body = json.loads(line)
        kind, version = body.pop("kind"), body.pop("version", 1)
        events.append((number, EVENT_FORMAT.decode(kind, version, body, where=f"line {number}")))
    return events


def codes(*events):
    return [finding.code for finding in examine_entries(enumerate(events, start=1))]


@pytest.mark.parametrize("path", GOLDEN, ids=lambda path: path.stem)
def test_the_golden_courses_follow_from_what_was_heard_and_no_other_figure_does(path):
    events = course(path)
    assert list(examine_entries(events)) == []
    changed = 0
    for at, (number, event) in enumerate(events):
        other = elsewhere(event)
        if other is not None:
            found = list(examine_entries([*events[:at], (number, other), *events[at + 1 :]]))
            assert f"line {number}" in {each.where.removeprefix("journal.jsonl ") for each in found}, other
            changed += 1
    assert changed >= 3


def elsewhere(event):
    """The entry with another figure or phrase in it; None where it records none."""
    if isinstance(event, ReadingAccepted | ReadingKept):
        return dataclasses.replace(
            event, achieved=Measured(event.achieved.value + Decimal("4.25"), event.achieved.unit)
        )
    if isinstance(event, MeasurementKept):
        return dataclasses.replace(event, value=event.value + Decimal("4.25"))
    return dataclasses.replace(event, phrase="the other way round") if isinstance(event, QuestionAnswered) else None


def test_what_was_asked_and_confirmed_was_heard():
    doubt = Alternative(kind="value", text="318", probability=0.6, value=Decimal("318"))
    asked = ReadingDoubted(bolt=5, heard=doubt, other=None, utterance="0001")
    confirmed = dataclasses.replace(accepted(1, "318", "0001"), confirmed_by="0002")
    assert codes(heard("0001", None), asked, heard("0002", None), confirmed) == []
    assert codes(heard("0001", None), heard("0002", None), confirmed) == ["entry-not-heard"]
    assert codes(heard("0001", None), asked, confirmed) == ["entry-without-words"]


def test_a_figure_converted_to_the_wrenchs_scale_was_heard_and_another_was_not():
    said = dataclasses.replace(
        heard("0001", None),
        alternatives=(Alternative(kind="value", text="230", probability=1.0, value=Decimal("230"), unit="lbf*ft"),),
    )
    assert codes(said, accepted(1, "312", "0001")) == []
    assert codes(said, accepted(1, "320", "0001")) == ["entry-not-heard"]


def test_held_is_not_what_moved_says():
    moved = dataclasses.replace(
        heard("0001", None),
        alternatives=(Alternative(kind="command", text="it moved", probability=1.0, command="moved"),),
    )
    held = BoltHeld(entry=1, stage=2, round=1, bolt=5, utterance="0001")
    assert codes(moved, held) == ["entry-not-heard"]
