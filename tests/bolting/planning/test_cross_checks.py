"""The sheet's second looks: long form, bearing pressure, structural steps, couplings, table factors, tools."""

import math

import pytest
from pydantic import ValidationError

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.plan import plan
from tests.bolting.joint_samples import TODAY, joint
from tests.bolting.planning.test_harmful_and_honest import BASE, FLANGE, GEAR, TESTED, made, verdict

CLAMP = {
    "kind": "split clamp coupling",
    "groups.count": 2,
    "groups.name": "clamp bolts",
    "tightening.order": "clamp",
    "groups.target": {"percent_of_yield": "45 %"},
}
PIPE = {"bolts": "clamp bolts", "friction": "0.15", "pipe_diameter": "300 mm", "bearing_length": "150 mm"}


def reason(base, title, **changes):
    whole = plan(Joint.model_validate(made(base, changes)), today=TODAY)
    return next(each for each in whole.groups[0].reasons if each.title == title)


def test_where_the_torque_goes_by_hand():
    """M20, K 0.15: mu = (2 x 20 x 0.15 - 2.5/pi)/(18.376/cos 30 + 25) = 5.204/46.22 = 0.1126.

    Arms: P/(2 pi) = 0.398 mm, mu d2/(2 cos 30) = 1.195, mu 12.5 = 1.407; of 3.0: 13, 40, 47 %.
    """
    found = reason(BASE, "Where the torque goes")
    assert found.terms[0].value == "0.113"
    assert found.result == "13 % stretches the bolt, 40 % goes into the thread, 47 % under the head"


def test_vdi_at_90_percent_by_hand():
    """S = 0.9 x 660/(1 + 3 (t/S)^2)^0.5, t/S = 12 MG As/(F pi d0^3), MG/F = 9.188 (0.0433 + 0.1126/cos 30)."""
    area = math.pi / 4 * (20 - 0.938194 * 2.5) ** 2
    d2, mu = 20 - 0.649519 * 2.5, (6 - 2.5 / math.pi) / ((20 - 0.649519 * 2.5) / math.cos(math.pi / 6) + 25)
    arm = d2 / 2 * (2.5 / (math.pi * d2) + mu / math.cos(math.pi / 6))
    twist = 12 * arm * area / (math.pi * math.sqrt(4 * area / math.pi) ** 3)
    most = 0.9 * 660 / math.sqrt(1 + 3 * twist**2) * area / 1000
    found = reason(BASE, "VDI 2230, for comparison").result
    assert float(found.split("FM = ")[1].split()[0]) == pytest.approx(most, rel=1e-3)
    assert float(found.split("FMmin = ")[1].split()[0]) == pytest.approx(most / 1.6, rel=1e-3)


def test_pressure_under_the_head_by_hand():
    """88.1 kN on pi/4 (28.19^2 - 22^2) = 244 mm2: 361 MPa (ISO 4014 dw, ISO 273 medium)."""
    term = next(each for each in reason(BASE, "Bolt stress").terms if each.symbol == "p")
    pressed = 0.6 * 600 * 244.795 / (math.pi / 4 * (28.19**2 - 22**2))
    assert float(term.value.split()[0]) == pytest.approx(pressed, rel=5e-3)
    _, told = verdict(made(BASE, {"groups.grade": "10.9", "groups.nut": "10"}))
    assert "pressure under the head" in told


def test_the_structural_steps_are_told_and_other_passes_are_a_caution():
    """Mr = 0.14 x 20 x 137.1 = 383.9 N*m: 287.9 and 422.2 (EN 1090-2; rows EN1090)."""
    changes = {"groups.structural": "EN 1090-2", "groups.nut_factor": TESTED}
    changes |= {"groups.target": {"percent_of_pretension": "100 %"}, "tightening.passes": ["75 %", "110 %"]}
    told = "first step 287.9 N*m, second step 422.2 N*m"
    assert reason(BASE, "EN 1090-2 torque method", **changes).result == told
    found, told = verdict(made(BASE, {**changes, "tightening.passes": ["50 %", "100 %"]}))
    assert found == "plans" and "steps of the structural method" in told


def test_the_grip_of_a_clamp_by_hand():
    """One bolt a side; S the lower end of its band; slip 4 mu S, torque 2 mu d S."""
    whole = plan(Joint.model_validate(made(BASE, {**CLAMP, "coupling": PIPE})), today=TODAY)
    group = whole.groups[0]
    low = float(next(e for e in group.reasons if e.title == "Predicted preload").result.split("between ")[1].split()[0])
    found = next(each for each in group.reasons if each.title == "Grip on the pipe").result
    assert float(found.split("holds ")[1].split()[0]) == pytest.approx(4 * 0.15 * low, rel=2e-2)
    assert "A1" in next(each.text for each in group.remarks if each.name == "bolt places")


@pytest.mark.parametrize(
    ("coupling", "wanted", "words"),
    [
        ({**PIPE, "pull": "500 kN"}, "stop", "clamp may slip"),
        ({**PIPE, "measured_diameter": "302 mm"}, "plans", "thicker pipe"),
        ({"bolts": "clamp bolts", "friction": "0.15", "wedge_angle": "5 deg"}, "plans", "clamp does not let go"),
        ({"bolts": "clamp bolts", "friction": "0.10", "wedge_angle": "25 deg"}, "plans", "Closing force on the hubs"),
    ],
)
def test_what_a_clamp_tells(coupling, wanted, words):
    found, told = verdict(made(BASE, {**CLAMP, "coupling": coupling}))
    assert found == wanted and words in told, told


@pytest.mark.parametrize(
    "coupling",
    [
        {**PIPE, "bolts": "others"},
        {**PIPE, "measured_diameter": "310 mm"},
        {"bolts": "clamp bolts", "friction": "0.15"},
        {**PIPE, "friction": "0.9"},
        {"bolts": "clamp bolts", "friction": "0.15", "wedge_angle": "0 deg"},
    ],
)
def test_a_clamp_that_cannot_be_is_refused(coupling):
    found, _ = verdict(made(BASE, {**CLAMP, "coupling": coupling}))
    assert found == "refused"


def test_gasket_factors_come_from_the_table_by_name():
    """ASME VIII-1 Table 2-5.1: spiral wound, filled, stainless: m = 3, y = 10 000 psi (read): Wm2 264.6 kN."""
    changes = {"gasket.m": None, "gasket.y": None, "gasket.factors_of": "spiral wound, filled, stainless"}
    found = reason(FLANGE, "Gasket: load needed", **changes)
    assert "Wm2 = 264.6 kN" in found.result and "Table 2-5.1" in found.terms[4].source
    with pytest.raises(ValidationError, match="m and y stand beside it"):
        Joint.model_validate(made(FLANGE, {"gasket.factors_of": "spiral wound, filled, stainless"}))
    with pytest.raises(ValidationError, match="chewing gum"):
        Joint.model_validate(made(FLANGE, {**changes, "gasket.factors_of": "chewing gum"}))


@pytest.mark.parametrize(
    ("base", "changes", "words"),
    [
        (FLANGE, {"tightening.dwell": "1 h"}, "4 h at the least"),
        (FLANGE, {"kind": "girth flange", "flange": None, "ring": {"width": "50 mm", "thickness": "40 mm"}
                  | {"bolt_circle": "900 mm", "source": "drawing"}}, "diameters apart: 3 to 6 is usual"),
        (BASE, {"multipliers": [{**GEAR, "calibration_due": "2027-03-01", "reaction_arm": "400 mm"}]}
               | {"groups.multiplier": "gear"}, "presses with"),
        (BASE, {"wrenches.kind": "click"}, "click it 5 times"),
        (BASE, {"wrenches.kind": "digital", "wrenches.lowest": "5 N*m", "wrenches.graduation": "1 N*m"}, "allows"),
        (BASE, {"groups.condition": "anti-seize", "groups.target": {"torque": "500 N*m", "published_for": "dry"}
                | {"change_for_condition": "-60 %"}}, "more than the 30 to 55 %"),
    ],
)  # fmt: skip
def test_second_looks_are_told(base, changes, words):
    _, told = verdict(made(base, changes))
    assert words in told, told


def test_a_40_bolt_group_order_is_to_be_compared_with_its_document():
    ring = {"type": "spiral wound", "inner_diameter": "905 mm", "outer_diameter": "940 mm", "pressure": "10 bar"}
    values = {"kind": "girth flange", "gasket": {**ring, "elastomer": False}, "tightening__order": "groups"}
    found = plan(joint(groups__0__count=40, **values), today=TODAY).groups[0].remarks
    assert any("compare with the document" in each.text for each in found)


def test_every_public_name_of_the_room_is_reached_by_a_command():
    from importlib.machinery import SourceFileLoader
    from importlib.util import module_from_spec, spec_from_loader
    from pathlib import Path

    path = Path(__file__).parents[3] / "scripts" / "bench" / "reach"
    spec = spec_from_loader("reach", SourceFileLoader("reach", str(path)))
    reach = module_from_spec(spec)
    spec.loader.exec_module(reach)
    known = reach.modules()
    live = reach.reached(known)
    assert reach.unreached(known, live) == []
    known["assistant.bolting.threads_and_strength.threads"].bodies["never_called"] = []
    assert reach.unreached(known, live) == [("assistant.bolting.threads_and_strength.threads", "never_called")]
