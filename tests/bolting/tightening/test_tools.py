"""Tools: settings, rounding, ranges, calibration, adapters, multipliers, several tools at once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.tightening import tool_accuracy, tool_train
from assistant.bolting.tightening.tools import (
    Adapter,
    Multiplier,
    Tools,
    Wrench,
    bolt_torque,
    to_graduation,
    wrench_setting,
)
from assistant.errors import BadBolting, BadQuantity, UnsafeJoint

TODAY = date(2031, 5, 4)


def wrench(unit: str = "N*m", low: float = 40, high: float = 400, step: float = 5, **more: Any) -> Wrench:
    given_ = {
        "name": "wrench 7",
        "kind": "click",
        "unit": unit,
        "lowest": units.of(low, unit),
        "highest": units.of(high, unit),
        "graduation": units.of(step, unit),
        "calibration_due": date(2031, 12, 31),
    }
    return Wrench(**{**given_, **more})


def adapter(grip: float = 500, offset: float = 100, angle: float = 0) -> Adapter:
    return Adapter(wrench_length=units.of(grip, "mm"), length=units.of(offset, "mm"), angle_deg=angle)


def nm(value: units.Quantity) -> float:
    return units.magnitude(value, "N*m", name="torque")


ADAPTERS = st.none() | st.builds(adapter, st.floats(300, 1200), st.floats(20, 200), st.floats(0, 180))
MULTIPLIERS = st.none() | st.builds(
    lambda ratio, efficiency: Multiplier(name="gear 2", ratio=ratio, efficiency=efficiency),
    st.floats(1, 125),
    st.floats(0.6, 1),
)


@settings(deadline=None)
@given(ADAPTERS, MULTIPLIERS, st.floats(10, 20000), st.sampled_from(list(units.TORQUE_UNITS)))
def test_from_bolt_to_wrench_and_back_is_the_same_torque(
    offset: Adapter | None, gear: Multiplier | None, target: float, unit: str
) -> None:
    train = Tools(wrench=wrench(), adapter=offset, multiplier=gear)
    there = units.convert(tool_train.wrench_torque(units.of(target, "N*m"), train), unit)
    assert nm(bolt_torque(there, train)) == pytest.approx(target, rel=1e-9)


@settings(deadline=None)
@given(ADAPTERS, st.floats(45, 390), st.sampled_from([1.0, 2.0, 5.0, 10.0, 0.5]))
def test_a_setting_is_a_mark_of_the_scale_within_half_a_step_and_what_the_bolt_gets_is_told(
    offset: Adapter | None, target: float, step: float
) -> None:
    train = Tools(wrench=wrench(step=step), adapter=offset)
    try:
        found = wrench_setting(units.of(target, "N*m"), train, today=TODAY)
    except UnsafeJoint:
        exact = nm(tool_train.wrench_torque(units.of(target, "N*m"), train))
        assert exact < 40 + step or exact > 400 - step
        return
    assert found.scale_value % Decimal(str(step)) == 0
    assert abs(nm(found.setting) - nm(found.exact)) <= step / 2 * (1 + 1e-9)
    assert nm(found.at_bolt) == pytest.approx(nm(found.setting) * train.factor)
    assert nm(found.low) < nm(found.at_bolt) < nm(found.high)
    assert found.reasons
    assert str(found.scale_value) in found.reasons[-1]


@settings(deadline=None)
@given(st.floats(60, 5000), st.floats(1.02, 2))
def test_more_torque_at_the_bolt_needs_more_at_the_wrench(target: float, more: float) -> None:
    train = Tools(wrench=wrench(), adapter=adapter(), multiplier=Multiplier(name="gear 2", ratio=5, efficiency=0.9))
    first, second = (nm(tool_train.wrench_torque(units.of(t, "N*m"), train)) for t in (target, target * more))
    assert second == pytest.approx(first * more)


def test_the_setting_is_made_on_the_wrenchs_own_scale() -> None:
    """340 N*m is 250.77 lbf*ft; the scale in steps of 2 lbf*ft gives 250."""
    found = wrench_setting(units.of(340, "N*m"), Tools(wrench=wrench("lbf*ft", 50, 300, 2)), today=TODAY)
    assert (found.scale_value, found.unit) == (Decimal(250), "lbf*ft")
    assert nm(found.at_bolt) == pytest.approx(338.954, abs=1e-3)
    assert found.rounding_percent == pytest.approx(-0.307, abs=1e-3)


@pytest.mark.parametrize(
    ("target", "mark"), [(172.5, 170), (177.5, 175), (172.51, 175), (172.4, 170), (40, 40), (400, 400)]
)
def test_halfway_goes_down_never_over_the_target(target: float, mark: int) -> None:
    assert to_graduation(units.of(target, "N*m"), wrench()) == mark


@pytest.mark.parametrize("target", [36.0, 403.0, 4000.0, 1.0])
def test_a_setting_outside_the_range_is_refused_with_range_and_figure(target: float) -> None:
    with pytest.raises(UnsafeJoint) as caught:
        wrench_setting(units.of(target, "N*m"), Tools(wrench=wrench()), today=TODAY)
    assert f"{target:g} N*m" in caught.value.message
    assert "40 to 400 N*m" in caught.value.remedy


def test_a_calibration_holds_on_its_last_day_and_not_after() -> None:
    train = Tools(wrench=wrench(calibration_due=TODAY))
    assert "0 days" in wrench_setting(units.of(200, "N*m"), train, today=TODAY).reasons[0]
    with pytest.raises(UnsafeJoint, match="2031-05-04"):
        wrench_setting(units.of(200, "N*m"), train, today=date(2031, 5, 5))
    with pytest.raises(UnsafeJoint, match="5001 loads"):
        wrench_setting(units.of(200, "N*m"), Tools(wrench=wrench(cycles=5001)), today=TODAY)


def test_doubtful_settings_carry_warnings() -> None:
    low = wrench_setting(units.of(60, "N*m"), Tools(wrench=wrench()), today=TODAY)
    assert any("20 %" in warning.text for warning in low.warnings)
    coarse = wrench_setting(units.of(48, "N*m"), Tools(wrench=wrench(step=10)), today=TODAY)
    assert any("rounding" in warning.text for warning in coarse.warnings)
    assert wrench_setting(units.of(200, "N*m"), Tools(wrench=wrench()), today=TODAY).warnings == ()


def test_a_multiplier_shows_its_reaction_and_warns_of_hands() -> None:
    gear = Multiplier(name="gear 2", ratio=5, efficiency=0.9, largest_output=units.of(3500, "N*m"))
    train = Tools(wrench=wrench(high=800), multiplier=gear)
    found = wrench_setting(units.of(3000, "N*m"), train, today=TODAY)
    assert found.scale_value == 665
    assert found.reaction is not None
    assert nm(found.reaction) == pytest.approx(3000 - 3000 / 4.5)
    assert any("hands off" in warning.text for warning in found.warnings)
    with pytest.raises(UnsafeJoint, match="gear 2"):
        wrench_setting(units.of(3501, "N*m"), train, today=TODAY)
    with pytest.raises(BadBolting):
        tool_train.reaction_force(units.of(3000, "N*m"), gear, arm=units.of(0, "m"))


@pytest.mark.parametrize(
    "wrong",
    [
        {"efficiency": None},
        {"efficiency": 0.9, "output_factor": 4.4},
        {"efficiency": 1.2},
        {"efficiency": 0.3},
        {"ratio": 0.5, "efficiency": 0.9},
        {"ratio": 500.0, "efficiency": 0.9},
        {"output_factor": 5.5},
        {"output_factor": 2.0},
    ],
)
def test_a_multiplier_must_state_one_possible_figure_for_its_losses(wrong: dict[str, Any]) -> None:
    with pytest.raises(BadBolting):
        Multiplier(**{"name": "gear 2", "ratio": 5.0, **wrong})


@pytest.mark.parametrize(
    "wrong",
    [
        (0, 100, 0),
        (500, 0, 0),
        (500, -100, 0),
        (500, 100, 181),
        (500, 100, -1),
        (500, 450, 180),
        (500, 100, float("nan")),
    ],
)
def test_impossible_adapter_geometry_is_refused(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(BadBolting):
        adapter(*wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "bar"},
        {"unit": "kN*m"},
        {"lowest": units.of(500, "N*m")},
        {"graduation": units.of(0, "N*m")},
        {"graduation": units.of(500, "N*m")},
        {"deviation_percent": 0.0},
        {"deviation_percent": 25.0},
    ],
)
def test_an_impossible_wrench_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(BadBolting):
        wrench(**wrong)


def test_energies_and_forces_are_no_targets() -> None:
    for wrong in (units.REGISTRY.Quantity(200.0, "joule"), units.of(200, "N")):
        with pytest.raises(BadQuantity):
            wrench_setting(wrong, Tools(wrench=wrench()), today=TODAY)


def test_an_adapter_at_a_right_angle_changes_nothing_and_turned_back_needs_more() -> None:
    straight, square, back = (adapter(500, 100, angle).factor for angle in (0, 90, 180))
    assert (straight, square, back) == (1.2, 1.0, 0.8)


def test_the_certificates_deviation_wins_over_the_limit_of_the_standard() -> None:
    assert wrench().accuracy_percent == 4
    assert wrench(deviation_percent=1.5).accuracy_percent == 1.5
    assert wrench(low=1, high=10, step=0.1).accuracy_percent == 6


def test_unknown_tool_classes_and_tolerances_are_refused() -> None:
    with pytest.raises(BadBolting):
        tool_accuracy.permissible_deviation("III", "A", largest=units.of(100, "N*m"))
    with pytest.raises(BadBolting):
        tool_accuracy.achieved_window(units.of(100, "N*m"), tolerance_percent=-1)
