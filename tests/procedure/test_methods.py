"""Turns, gaps, stretch and tensioner pressures through the dialogue: asked for, judged by their own windows, recorded.

Windows are those of the plan (`tests/bolting/planning/test_methods.py` checks them against tables and by hand).
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.plan import plan
from assistant.config.procedure_file import usual_procedure
from assistant.events import Measurement, Pass
from assistant.procedure.effects import expecting
from assistant.procedure.follow_up import follow_up
from assistant.procedure.work import lay_out
from assistant.speech.meaning import Value
from assistant.speech.vocabulary import grammar_for
from tests.bolting.joint_samples import TODAY
from tests.bolting.planning.test_harmful_and_honest import BASE, made
from tests.bolting.planning.test_methods import TENSIONER
from tests.procedure.talk import Talk, command, value

KINDS = {
    "torque then angle": {"kind": "torque then angle"},
    "turn of nut": {"kind": "turn of nut"},
    "washers": {"kind": "direct tension washers"},
    "elongation": {"kind": "elongation"},
    "tensioner": TENSIONER,
}


def work(kind, language="en", **changes):
    usual = {"groups.method": KINDS[kind], "groups.grip": "60 mm", "tightening.passes": ["10 %"]}
    low = {"groups.target": {"percent_of_proof": "40 %"}} if kind == "tensioner" else {}
    tables = made(BASE, {**usual, **low, **changes})
    joint = Joint.model_validate({**tables, "groups": [{**tables["groups"][0], "count": 4}], "kind": "plain pattern"})
    return lay_out(plan(joint, today=TODAY), usual_procedure(joint.kind), language=language)


def at_method(kind, language="en"):
    """A talk in which everything before the first stage of the method is done."""
    laid_out = work(kind, language)
    talk = Talk.begun(laid_out)
    stage = next(
        n
        for n, item in enumerate(laid_out.items, start=1)
        if getattr(item, "method", "") or getattr(item, "quantity", "") == "pressure"
    )
    for _ in range(200):
        if talk.state.stage == stage:
            return talk
        item = talk.state.item
        if talk.state.dialogue == "naming":
            talk.name("Ada Quill")
        elif isinstance(item, Pass):
            report = "snug" if item.kind == "snug" else "did not move" if item.goes_round else ""
            talk.hear(command(report) if report else value(str(item.setting.value)))
        else:
            talk.hear(command(item.phrase))
    raise AssertionError(f"still at {talk.state.item}")


@pytest.mark.parametrize(
    ("kind", "asked", "german", "setting", "window", "unit"),
    [
        (
            "torque then angle",
            "Bolt one. Turn by ninety degrees.",
            "Schraube eins. Drehen um neunzig Grad.",
            "90",
            ("85", "100"),
            "deg",
        ),
        (
            "turn of nut",
            "Bolt one. Turn by one eighty degrees.",
            "Drehen um hundertachtzig Grad.",
            "180",
            ("150", "210"),
            "deg",
        ),
        (
            "washers",
            "Bolt one, to zero point four millimetres.",
            "null Komma vier Millimeter.",
            "0.4",
            ("0", "0.4"),
            "mm",
        ),
        ("elongation", "to zero point one three three millimetres.", "Millimeter.", "0.133", ("0.127", "0.14"), "mm"),
    ],
)
def test_a_reading_is_asked_for_in_its_own_unit_and_judged_by_its_own_window(
    kind, asked, german, setting, window, unit
):
    talk = at_method(kind)
    due = talk.state.current_pass
    assert (due.setting.value, due.setting.unit) == (Decimal(setting), unit)
    assert (str(due.low.value), str(due.high.value)) == window
    assert talk.said.endswith(asked)
    events = talk.hear(value(setting, unit=unit))
    assert talk.kinds(events)[0] == "reading-accepted" and events[0].achieved.unit == unit
    edge, beyond = (window[1], str(Decimal(window[1]) + Decimal("0.1"))) if unit == "mm" else (window[0], "84")
    assert talk.kinds(talk.hear(value(edge)))[0] == "reading-accepted"
    if kind != "turn of nut":
        assert talk.kinds(talk.hear(value(beyond)))[0] == "reading-outside"
    assert at_method(kind, "de").said.endswith(german)


@pytest.mark.parametrize("unit", ["N*m", "bar", "mm"])
def test_a_figure_in_the_unit_of_something_else_is_never_an_angle(unit):
    talk = at_method("torque then angle")
    assert talk.kinds(talk.hear(value("90", unit=unit)))[0] == "reading-impossible"


def test_a_torque_is_never_an_angle_by_its_grammar():
    talk = at_method("torque then angle")
    grammar = grammar_for(expecting(talk.state))
    assert grammar.parse("ninety degrees") == Value(Decimal(90), "deg")
    assert grammar.parse("ninety newton metres").name == "unclear-unit"
    talk.hear(command("unclear-unit"))
    assert talk.said == "Say the figure in degrees."


def test_an_open_gap_is_pulled_on_and_never_backed_off():
    talk = at_method("washers")
    talk.hear(value("0.5"))
    assert talk.said == "I heard zero point five, still open. Say keep, or pull again, to zero point four millimetres."
    assert talk.kinds(talk.hear(value("0")))[0] == "reading-accepted", "a closed gap"


def test_a_stretch_is_said_to_the_thousandth():
    talk = at_method("elongation")
    grammar = grammar_for(expecting(talk.state))
    said = ("zero point one three four", "zero point one three four millimetres", "0.134 mm", "nought point one three")
    assert [str(grammar.parse(words).number) for words in said] == ["0.134", "0.134", "0.134", "0.13"]
    talk.hear(value("0.15"))
    assert talk.said.startswith("I heard zero point one five, high by zero point zero one. Don't back off.")


def test_a_bolt_that_is_corrected_is_asked_for_by_its_angle_again():
    talk = at_method("torque then angle")
    talk.hear(value("90"))
    talk.hear(command("correction"))
    assert talk.said == "Taken back: bolt one, ninety. Bolt one."
    assert talk.state.bolt == 1


def test_tensioners_pull_by_halves_on_one_gauge_and_the_first_half_is_tried_again():
    laid_out = work("tensioner")
    first = next(n for n, item in enumerate(laid_out.items) if isinstance(item, Measurement))
    sequence = laid_out.items[first : first + 9]
    assert [item.name for item in sequence if isinstance(item, Measurement)] == ["pressure A", "pressure B", "check"]
    passes = [item for item in sequence if isinstance(item, Pass)]
    assert [(p.method, p.bolts) for p in passes] == [
        ("nuts by hand", (1, 3)),
        ("nuts by hand", (2, 4)),
        ("pressure check", (1, 3)),
    ]
    talk = at_method("tensioner")
    assert (
        talk.said.endswith("What does the gauge show? The number alone.") and "every other bolt, from one" in talk.said
    )
    assert "Nobody in line with the bolts" in talk.said
    for at, item in enumerate(sequence):
        if isinstance(item, Measurement):
            talk.hear(value(str(item.high + 1), unit="bar"))
            assert talk.kinds(talk.hear(command("yes")))[0] == "measurement-refused"
            talk.hear(value(str(item.low)))
            assert talk.kinds(talk.hear(command("yes")))[0] == "measurement-kept"
        elif isinstance(item, Pass):
            assert ("Run each nut down by hand" in talk.said) == (at < 7)
            for _ in item.bolts:
                talk.hear(command("snug" if at < 7 else "did not move"))
        else:
            assert "finding-made" in talk.kinds(talk.hear(command("pressure is not off")))
            talk.hear(decision="reject", free_text="the hose was blocked")
            talk.hear(command("pressure is off"))
            talk.hear(decision="reject", free_text="the hose is cleared now")
            talk.hear(command("pressure is off"))
    assert talk.state.current_pass is None or talk.state.current_pass.method == ""


def test_after_a_settling_time_nothing_is_turned_or_pulled_below_its_target():
    for kind, again in (("torque then angle", []), ("elongation", ["elongation"]), ("tensioner", ["pressure check"])):
        items = work(kind, **{"tightening.dwell": "4 h", "tightening.circular": True}).items
        wait = next(n for n, item in enumerate(items) if type(item).__name__ == "Wait")
        assert [item.method for item in items[wait:] if isinstance(item, Pass)] == again
        assert any(isinstance(item, Pass) and item.kind == "circular" and not item.method for item in items[:wait])


def test_a_review_has_turned_bolts_done_again_from_snug_with_new_ones():
    again = follow_up(work("torque then angle"), {"bolts": [3]})
    passes = again.passes
    assert [p.bolts for p in passes] == [(3,)] * len(passes) and passes[0].kind == "snug"
    assert "fit new bolts" in passes[0].lesson.caution and passes[-1].method == "further turn"
    pulled = follow_up(work("tensioner"), {"bolts": [3]})
    assert [item.name for item in pulled.items if isinstance(item, Measurement)] == [
        "pressure A",
        "pressure B",
        "check",
    ]
    assert len([q for q in pulled.questions if q.phrase == "pressure is off"]) == 3
