"""Limits that a joint file may not cross: each refused, with the computed figure and what is allowed."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bolting.planning.limits import examine
from tests.bolting.joint_samples import TODAY, joint

GASKET = {
    "type": "spiral wound",
    "inner_diameter": "177 mm",
    "outer_diameter": "203 mm",
    "m": 3.0,
    "y": "10000 psi",
    "pressure": "16 bar",
    "elastomer": False,
}


def refused(*, today=TODAY, **values):
    return {each.field: each for each in examine(joint(**values), today=today).refusals}


def test_the_plain_joint_is_safe():
    assert refused() == {}


@pytest.mark.parametrize("target", [{"preload": "150 kN"}, {"stress": "601 MPa"}])
def test_stress_over_proof_is_refused_with_the_figure_and_the_largest_torque_that_is_not(target):
    """M20 8.8: As 244.8 mm2, proof 600, yield 660 MPa (ISO 898-1).

    Dry K 0.2 is mu 0.156 on a face of 1.25 d (K = (P/pi + mu (d2/cos 30 deg + 1.25 d))/2d: mu = (8 - 0.796)/46.2 =
    0.156). MG/F = d2/2 (P/(pi d2) + mu/cos 30 deg) = 9.188 (0.0433 + 0.180) = 2.05 mm; t/S = 12 x 2.05 x 244.8/(pi
    17.65^3) = 0.349; Sv/S = (1 + 3 x 0.349^2)^0.5 = 1.168. Largest S = 660/1.168 = 565 MPa, F = 138.3 kN, T = 553 N*m
    at the upper edge of the window, which is 5 % above the target: 526 N*m.
    """
    (finding,) = refused(groups__0__target=target).values()
    assert finding.field == f"groups[1].target.{next(iter(target))}"
    assert "% of the 600 MPa proof strength of ISO 898-1" in finding.why
    assert finding.allowed.startswith("at most 526 N*m")


def test_a_torque_published_for_dry_threads_but_far_too_high_is_refused():
    found = refused(groups__0__target={"torque": "700 N*m", "published_for": "dry"})
    assert "700 N*m at nut factor 0.2 gives 175 kN" in found["groups[1].target.torque"].why


def test_twist_while_tightening_counts_below_the_proof_stress_too():
    """0.95 of proof on dry threads: the mean stress is legal, stress with twist is not (VDI 2230, plastic torsion)."""
    (finding,) = refused(groups__0__target={"percent_of_proof": "95 %"}, groups__0__condition="dry").values()
    assert "equivalent stress" in finding.why and "yield of 660 MPa" in finding.why


def test_a_change_with_the_wrong_sign_is_refused():
    target = {"torque": "310 N*m", "published_for": "dry", "change_for_condition": "45 %"}
    (finding,) = refused(groups__0__condition="anti-seize", groups__0__target=target).values()
    assert "'anti-seize' needs less torque than 'dry'" in finding.allowed


@pytest.mark.parametrize(("lowest", "highest"), [("20 N*m", "200 N*m"), ("150 N*m", "1000 N*m")])
def test_a_setting_outside_the_wrenchs_range_is_refused(lowest, highest):
    found = refused(wrenches__0__lowest=lowest, wrenches__0__highest=highest)
    assert list(found) == ["groups[1].wrench"]
    assert "needs" in found["groups[1].wrench"].why and lowest.split()[0] in found["groups[1].wrench"].allowed


def test_a_window_without_a_mark_of_the_scale_is_refused():
    found = refused(wrenches__0__graduation="50 N*m", tightening__window_low="-1 %", tightening__window_high="1 %")
    assert "no mark of its scale lies in the window" in found["groups[1].wrench"].why


def test_calibration_holds_on_its_last_day_and_not_on_the_next():
    assert refused(today=date(2027, 6, 30)) == {}
    found = refused(today=date(2027, 7, 1))
    assert "ran out on 2027-06-30, today is 2027-07-01" in found["wrenches[1].calibration_due"].why


def test_a_wrench_that_no_group_uses_may_be_out_of_date():
    one = joint().wrenches[0].model_dump(exclude_none=True)
    old = {**one, "name": "old", "calibration_due": "2020-01-01"}
    assert refused(wrenches=[one, old]) == {}


def test_a_multiplier_is_not_overloaded():
    gear = {"name": "m", "serial": "2", "ratio": "5:1", "efficiency": "0.9", "highest": "250 N*m"}
    found = refused(multipliers=[gear], groups__0__multiplier="m")
    assert "300 N*m is wanted" in found["multipliers[1].highest"].why


def test_a_gasket_that_would_not_seat_is_refused_with_both_loads():
    """8 x 20 kN = 160 kN against Wm2 = 264.6 kN (ASME VIII-1 app. 2, recomputed in test_plan)."""
    found = refused(kind="gasketed flange", gasket=GASKET, groups__0__target={"preload": "20 kN"})
    assert "give 160 kN, the gasket needs 264.6 kN (seating)" in found["groups[1].target.preload"].why


def test_a_gasket_that_would_be_crushed_is_refused():
    """8 x 75 kN on 7760 mm2 is 77.3 MPa."""
    found = refused(kind="gasketed flange", gasket={**GASKET, "highest_stress": "70 MPa"})
    assert "77.32 MPa" in found["gasket.highest_stress"].why


@pytest.mark.parametrize(
    ("hottest", "elastomer", "count"), [("232 degC", False, 0), ("451 degF", False, 1), ("100 degC", True, 1)]
)
def test_a_hot_recheck_is_not_too_hot_and_never_on_an_elastomer(hottest, elastomer, count):
    check = {"kind": "hot", "earliest": "24 h", "highest_temperature": hottest, "procedure": "P1"}
    gasket = {**GASKET, "elastomer": elastomer}
    assert len(refused(kind="gasketed flange", gasket=gasket, rechecks=[check])) == count


def test_all_refusals_are_listed_together():
    found = refused(today=date(2030, 1, 1), groups__0__target={"preload": "160 kN"}, wrenches__0__highest="300 N*m")
    assert set(found) == {"wrenches[1].calibration_due", "groups[1].target.preload", "groups[1].wrench"}


@given(st.floats(1.0, 131.5) | st.floats(131.9, 400.0))
def test_what_is_said_to_be_allowed_is_allowed(preload):
    """Taking the torque that a refusal names as the largest makes the refusal go away (138.3 kN over 1.05: 131.7)."""
    values = {"wrenches__0__highest": "5000 N*m", "wrenches__0__lowest": "1 N*m", "tightening__passes": ["100 %"]}
    values |= {"wrenches__0__graduation": "0.1 N*m"}
    found = refused(groups__0__target={"preload": f"{preload:.3f} kN"}, **values)
    assert bool(found) == (preload > 131.7)
    for finding in found.values():
        torque = " ".join(finding.allowed.removeprefix("at most ").split()[:2])
        assert refused(groups__0__target={"torque": torque, "published_for": "dry"}, **values) == {}
