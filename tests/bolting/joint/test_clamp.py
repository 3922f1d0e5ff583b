"""Split clamps: check rows, limits, and what must hold for any clamp."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting.joint import clamp
from assistant.bolting.units import convert, magnitude, of
from assistant.errors import BadBolting
from tests.bolting.joint_rows import Row, name, rows


def within(row: Row, value: float):
    assert value == pytest.approx(float(row.expected), abs=row.allowed())


def grip_of(row: Row) -> clamp.Grip:
    return clamp.pipe_grip(
        of(row.number("S_side_kN"), "kN"),
        diameter=of(row.number("d_m"), "m") if "d_m" in row.given else of(float(row.given.get("d_mm", 200)), "mm"),
        length=of(float(row.given.get("L_mm", 150)), "mm"),
        friction=float(row.given.get("mu", 0.15)),
    )


@pytest.mark.parametrize(
    ("row", "field"), list(zip(rows("CLMP-1", "CLMP-2"), ("torque_high", "torque_low"), strict=True))
)
def test_check_row_friction_torque(row: Row, field: str):
    within(row, magnitude(getattr(grip_of(row), field), "kN*m", name="torque"))


@pytest.mark.parametrize("row", rows("CLMP-3"), ids=name)
def test_check_row_axial_slip(row: Row):
    within(row, magnitude(grip_of(row).slip_high, "kN", name="slip"))


def test_two_lines_of_contact_slip_earlier():
    """By hand: each shell is pressed on with 2 S = 240 kN in one line: 2 x 0.15 x 240 = 72 kN."""
    grip = clamp.pipe_grip(of(120, "kN"), diameter=of(0.2, "m"), length=of(150, "mm"), friction=0.15)
    assert magnitude(grip.slip_low, "kN", name="slip") == pytest.approx(72)


@pytest.mark.parametrize("row", rows("CLMP-4"), ids=name)
def test_check_row_contact_pressure(row: Row):
    within(row, magnitude(grip_of(row).pressure, "MPa", name="pressure"))


@pytest.mark.parametrize("row", rows("CLMP-5"), ids=name)
def test_check_row_closing_force_on_hubs(row: Row):
    wedge = {"angle": of(row.number("phi_deg"), "deg"), "friction": row.number("mu")}
    force = clamp.hub_closing_force(of(row.number("S_side_kN"), "kN"), **wedge)
    within(row, magnitude(force, "kN", name="force"))
    # The code's form: W = 0.637 F tan(phi + rho) with W = 2 S (ASME VIII-1 app. 24, from memory).
    turned = math.tan(math.radians(row.number("phi_deg")) + math.atan(row.number("mu")))
    assert 0.637 * magnitude(force, "kN", name="F") * turned == pytest.approx(2 * row.number("S_side_kN"), rel=1e-3)


@given(st.floats(1, 2000), st.floats(10, 3000), st.floats(20, 1000), st.floats(0.03, 0.5), st.floats(1.01, 3))
@settings(deadline=None)
def test_grip_grows_with_load_and_friction_in_any_unit(s_kn, d_mm, l_mm, mu, more):
    size = {"diameter": of(d_mm, "mm"), "length": of(l_mm, "mm")}
    one = clamp.pipe_grip(of(s_kn, "kN"), **size, friction=mu)
    assert one.torque_low < one.torque_high
    assert one.slip_low < one.slip_high
    assert clamp.pipe_grip(of(s_kn * more, "kN"), **size, friction=mu).torque_low > one.torque_low
    inch = clamp.pipe_grip(
        convert(of(s_kn, "kN"), "lbf"),
        diameter=convert(size["diameter"], "in"),
        length=convert(size["length"], "in"),
        friction=mu,
    )
    for field in ("torque_low", "torque_high"):
        here, there = (magnitude(getattr(each, field), "N*m", name=field) for each in (one, inch))
        assert here == pytest.approx(there, rel=1e-9)


def test_a_flat_wedge_holds_itself():
    """A wedge of 5 deg or 6 deg against atan 0.1 = 5.71 deg."""
    assert clamp.is_self_holding(angle=of(5, "deg"), friction=0.1)
    assert not clamp.is_self_holding(angle=of(6, "deg"), friction=0.1)


def test_the_load_of_a_side_is_shared_by_its_bolts():
    assert magnitude(clamp.side_load(of(120, "kN"), 2), "kN", name="S") == pytest.approx(240)


def test_what_the_measured_pipe_is_off_the_nominal_one_is_shared_by_the_splits():
    """1/8 in: common practice, no source; gaps by geometry: 3.175 mm rigid, pi/2 of it wrapped."""
    thick = clamp.pipe_fit(of(24, "in"), of(24.125, "in"))
    assert magnitude(thick.gap_change_low, "mm", name="gap") == pytest.approx(3.175, rel=1e-6)
    assert magnitude(thick.gap_change_high, "mm", name="gap") == pytest.approx(4.987, rel=1e-3)
    assert "thicker" in thick.note
    thin = clamp.pipe_fit(of(24, "in"), of(23.9, "in"))
    assert thin.gap_change_low < thin.gap_change_high < of(0, "mm")
    assert "lower grip" in thin.note
    assert "all round" in clamp.pipe_fit(of(24, "in"), of(24, "in")).note


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: clamp.pipe_fit(of(24, "in"), of(24.13, "in")), "+3.3"),
        (lambda: clamp.pipe_fit(of(24, "in"), of(0, "in")), "0 mm"),
        (lambda: clamp.side_load(of(1, "kN"), 0), "0 bolts"),
        (lambda: clamp.pipe_grip(of(-1, "kN"), diameter=of(1, "m"), length=of(1, "m"), friction=0.1), "-1000"),
        (lambda: clamp.pipe_grip(of(1, "kN"), diameter=of(1, "m"), length=of(1, "m"), friction=1.1), "1.1"),
        (lambda: clamp.hub_closing_force(of(1, "kN"), angle=of(0, "deg"), friction=0.1), "0 deg"),
        (lambda: clamp.hub_closing_force(of(1, "kN"), angle=of(86, "deg"), friction=0.1), "86 deg"),
    ],
)
def test_what_makes_no_clamp_is_refused(call, said: str):
    with pytest.raises(BadBolting, match=re.escape(said)) as refusal:
        call()
    assert refusal.value.remedy
