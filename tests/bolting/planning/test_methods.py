"""Other methods than torque: each step's reading and window against tables and hand calculation, and their stops."""

import math

import pytest
from pydantic import ValidationError

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.plan import plan, plan_document
from assistant.bolting.units import magnitude
from assistant.report.plan_text import plan_text
from tests.bolting.joint_samples import TODAY
from tests.bolting.planning.test_harmful_and_honest import BASE, TESTED, made, verdict

AREA = math.pi / 4 * (20 - 0.938194 * 2.5) ** 2


def laid_out(method, **changes):
    tables = made(BASE, {"groups.method": method, "groups.grip": "60 mm", **changes})
    return plan(Joint.model_validate(tables), today=TODAY)


def steps(method, **changes):
    return laid_out(method, **changes).groups[0].method_steps


def number(value, unit):
    return magnitude(value, unit, name="reading")


@pytest.mark.parametrize(("grip", "degrees"), [("39 mm", 60), ("60 mm", 90), ("120 mm", 120), ("200 mm", 120)])
def test_the_further_turn_of_the_combined_method_goes_by_the_grip(grip, degrees):
    """EN 1090-2 combined method: 60 deg below 2 d, 90 deg below 6 d, 120 deg up to 10 d (from memory). M20."""
    changes = {"groups.grip": grip, "groups.length": "240 mm", "tightening.passes": ["75 %"]}
    (only,) = steps({"kind": "torque then angle"}, **changes)
    assert number(only.target, "deg") == degrees and only.unit == "deg"


@pytest.mark.parametrize(("length", "sloped", "turns"), [("80 mm", 0, 1 / 3), ("90 mm", 0, 1 / 2), ("170 mm", 2, 1)])
def test_turn_of_nut_goes_by_length_and_slope(length, sloped, turns):
    """RCSC turn-of-nut table: 1/3 up to 4 d, 1/2 up to 8 d, 2/3 up to 12 d; more with sloped faces (read)."""
    changes = {"groups.length": length, "groups.grip": "40 mm", "tightening.passes": ["10 %"]}
    (only,) = steps({"kind": "turn of nut", "sloped_faces": sloped}, **changes)
    assert number(only.target, "deg") == pytest.approx(360 * turns)
    off = 30 if turns <= 0.5 else 45
    assert number(only.high, "deg") - number(only.target, "deg") == off


def test_elongation_by_hand():
    """60 % of proof: 360 MPa on a length of 60 + 2 x 0.4 x 20 = 76 mm of 205 GPa: 0.1335 mm, +/- 5 %."""
    (only,) = steps({"kind": "elongation"}, **{"tightening.passes": ["30 %"]})
    assert number(only.target, "mm") == pytest.approx(360 / 205_000 * 76, rel=1e-6)
    assert number(only.high, "mm") == pytest.approx(1.05 * 360 / 205_000 * 76, rel=1e-6)


TENSIONER = {"kind": "hydraulic tensioner", "piston_area": "1500 mm2", "highest_pressure": "1500 bar"}


def test_tensioner_pressure_by_hand():
    """F = 360 MPa x 244.8 mm2 = 88.1 kN; load transfer 1.01 + 20/60 = 1.343; p = 88.1 x 1.343/1500 mm2 = 789 bar."""
    found = steps({**TENSIONER, "bolts_at_once": "all"}, **{"tightening.passes": ["10 %"]})
    assert [each.name for each in found] == ["pressure", "check"]
    assert number(found[0].target, "bar") == pytest.approx(360 * AREA * (1.01 + 20 / 60) / 1500 * 10, rel=1e-6)
    own = steps({**TENSIONER, "bolts_at_once": "all", "load_transfer": "1.2"}, **{"tightening.passes": ["10 %"]})
    assert number(own[0].target, "bar") == pytest.approx(360 * AREA * 1.2 / 1500 * 10, rel=1e-6)


def test_a_long_grip_keeps_at_least_a_tenth_of_transfer():
    found = steps(
        {**TENSIONER, "bolts_at_once": "all"},
        **{"tightening.passes": ["10 %"], "groups.grip": "400 mm", "groups.length": "450 mm"},
    )
    assert number(found[0].target, "bar") == pytest.approx(360 * AREA * 1.1 / 1500 * 10, rel=1e-6)


def test_half_the_bolts_at_once_are_pulled_higher_first_and_checked_last():
    found = steps(TENSIONER, **{"tightening.passes": ["10 %"]})
    assert [each.name for each in found] == ["pressure A", "pressure B", "check"]
    assert found[0].bolts == (1, 3, 5, 7) and found[1].bolts == (2, 4, 6, 8) and found[2].bolts == (1, 3, 5, 7)
    assert found[0].target > found[1].target == found[2].target


@pytest.mark.parametrize(
    ("method", "changes", "name"),
    [
        ({**TENSIONER, "highest_pressure": "700 bar"}, {}, "tensioner too small"),
        (TENSIONER, {"groups.target": {"percent_of_proof": "75 %"}}, "tensioner over-stretches the bolt"),
        ({"kind": "turn of nut"}, {"tightening.passes": ["60 %"]}, "snug too tight for the turn"),
        (
            {"kind": "torque then angle", "angle": "5 deg"},
            {
                "tightening.passes": ["75 %"],
                "groups.structural": "EN 1090-2",
                "groups.nut_factor": TESTED,
                "groups.target": {"percent_of_pretension": "100 %"},
            },
            "turn too small",
        ),
        (
            {"kind": "elongation"},
            {"groups.grip": "4 mm", "groups.length": "40 mm", "groups.target": {"percent_of_proof": "30 %"}},
            "window too fine to read",
        ),
    ],
)
def test_what_a_method_cannot_do_is_a_stop(method, changes, name):
    tables = made(BASE, {"groups.method": method, "groups.grip": "60 mm", "tightening.passes": ["10 %"], **changes})
    found, told = verdict(tables)
    assert found == "stop" and name in told, told


@pytest.mark.parametrize("kind", ["elongation", "hydraulic tensioner"])
def test_a_stretch_over_the_limit_is_refused_like_a_torque(kind):
    method = {**TENSIONER, "highest_pressure": "3000 bar"} if kind.startswith("h") else {"kind": kind}
    target = {"stress": "640 MPa"}
    tables = made(BASE, {"groups.method": method, "groups.grip": "60 mm", "groups.target": target})
    found, told = verdict({**tables, "tightening": {**tables["tightening"], "passes": ["10 %"]}})
    assert found == "refused" and "of the 600 MPa proof strength" in told


@pytest.mark.parametrize(
    ("method", "field"),
    [
        ({"kind": "hydraulic tensioner"}, "piston_area"),
        ({"kind": "elongation"}, "groups[1].grip"),
        ({"kind": "by feel"}, "kind"),
        ({"kind": "turn of nut", "sloped_faces": 3}, "sloped_faces"),
        ({"kind": "torque then angle", "angle": "400 deg"}, "angle"),
    ],
)
def test_a_method_names_what_it_needs(method, field):
    with pytest.raises(ValidationError, match=field.replace("[", r"\[")):
        Joint.model_validate(made(BASE, {"groups.method": method}))


def test_without_a_method_the_last_pass_is_the_whole_target():
    with pytest.raises(ValidationError, match="not the whole target"):
        Joint.model_validate(made(BASE, {"tightening.passes": ["75 %"]}))


def test_the_steps_stand_on_the_sheet_and_in_the_document():
    made_plan = laid_out({"kind": "elongation"}, **{"tightening.passes": ["30 %"]})
    assert made_plan.open_stops == ()
    text = " ".join(plan_text(made_plan).split())
    assert "Then: elongation 0.133 mm, accepted 0.127 mm to 0.14 mm, bolts 1-5-3-7-2-6-4-8." in text
    (step,) = plan_document(made_plan)["groups"][0]["method_steps"]
    assert step["unit"] == "mm" and step["bolts"] == [1, 5, 3, 7, 2, 6, 4, 8]


def test_the_budget_takes_the_methods_own_scatter():
    """Machinery's Handbook and NASA: 5 % for elongation (read), against 25 % for a torque wrench."""
    stage = laid_out({"kind": "elongation"}, **{"tightening.passes": ["30 %"]}).groups[0].budget.stages[0]
    assert (stage.low, stage.high) == (pytest.approx(0.95), pytest.approx(1.05))


def test_loosening_goes_in_the_same_order_in_two_steps():
    (group,) = plan(Joint.model_validate(BASE), today=TODAY).groups
    assert [each.percents[0] for each in group.loosening] == [70.0, 0.0]
    assert all(each.order == group.order for each in group.loosening)
    assert "Only when the line is proved empty" in " ".join(
        plan_text(plan(Joint.model_validate(BASE), today=TODAY)).split()
    )
