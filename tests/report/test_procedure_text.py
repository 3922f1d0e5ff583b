"""The steps of a joint's work as text and as data."""

from decimal import Decimal

import pytest

from assistant.events import Measurement, Wait
from assistant.report.procedure_text import duration, procedure_document, procedure_text, step_text
from tests.procedure.talk import LOCK_OUT, THREADS, work


def test_all_steps_stand_under_their_phases_in_order():
    text = procedure_text(work())
    phases = [line.strip() for line in text.splitlines() if line[:2] == "  " and line[2:3].isalpha()]
    assert phases == list(dict.fromkeys(item.phase for item in work().items))
    assert (
        "     1  HOLD POINT lock-out: Is the line locked out? -> 'locked out and tried', released by the technician"
        in text
    )
    assert "flange bolts: all round until no nut moves at 180 N·m, 4 bolts, 2 rounds, then a competent person" in text


def test_the_document_has_every_step_once():
    laid_out = work()
    document = procedure_document(laid_out)
    assert [each["step"] for each in document] == list(range(1, len(laid_out.items) + 1))
    assert document[0] | {"kind": "hold point", "phrase": "locked out and tried"} == document[0]
    assert [each["setting"] for each in document if each["kind"] == "pattern"] == [90.0, 180.0]


def test_a_check_names_the_answers_that_stop_the_work():
    assert step_text(THREADS).endswith("-> 'anti seize' (stops at: dry, oiled)")
    assert "HOLD POINT" in step_text(LOCK_OUT)


def test_a_measurement_tells_its_limits_and_unit():
    item = Measurement(
        name="temperature",
        phase="re-check",
        ask="How warm?",
        quantity="temperature",
        unit="degF",
        high=Decimal(300),
        who=True,
    )
    assert step_text(item) == "measure temperature: How warm? in degF (at most 300), with the name of who measured"


@pytest.mark.parametrize(("seconds", "told"), [(45, "45 s"), (5400, "90 min"), (14400, "4 h"), (86400, "24 h")])
def test_a_wait_is_told_in_whole_units(seconds, told):
    assert duration(seconds) == told
    assert step_text(Wait(name="rest", phase="seat", seconds=seconds)) == f"wait rest: {told}"
