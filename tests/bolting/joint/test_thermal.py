"""Preload and temperature: check rows, both directions, limits of the start-up re-torque."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting.joint import thermal
from assistant.bolting.units import convert, magnitude, of
from assistant.errors import BadBolting
from tests.bolting.joint_rows import Row, name, rows

COLD = of(20, "degC")


def within(row: Row, value: float):
    assert value == pytest.approx(float(row.expected), abs=row.allowed())


@pytest.mark.parametrize("row", rows("CTE-14", "CTE-15"), ids=name)
def test_check_row_change_of_bolt_load(row: Row):
    joint, bolt = (row.number(key) * row.number("dT") for key in ("alpha_flange", "alpha_bolt"))
    change = thermal.preload_change(
        joint_strain=joint,
        bolt_strain=bolt,
        modulus=of(row.number("E_MPa"), "MPa"),
        area=of(row.number("As_mm2"), "mm2"),
        joint_share=row.number("stiffness_share"),
    )
    within(row, magnitude(change, "kN", name="dF"))
    hot = thermal.hot_preload(of(150, "kN"), change=change, modulus_ratio=1.0)
    assert hot.trend == ("tighter" if "gain" in row.topic else "slacker")


@pytest.mark.parametrize("row", rows("PASS-10"), ids=name)
def test_check_row_start_up_limit(row: Row):
    assert row.expected == "232 (450 degF)"
    assert magnitude(thermal.START_UP_LIMIT, "degC", name="limit") == pytest.approx(232)
    assert magnitude(thermal.START_UP_LIMIT, "degF", name="limit") == pytest.approx(450, abs=1)


def steel(joint: str, bolt: str, joint_hot: float, bolt_hot: float, share: float = 0.7):
    return thermal.steel_joint_hot(
        of(150, "kN"),
        joint_steel=joint,
        bolt_steel=bolt,
        cold=COLD,
        joint_hot=of(joint_hot, "degC"),
        bolt_hot=of(bolt_hot, "degC"),
        area=of(353, "mm2"),
        joint_share=share,
    )


ALLOY, STAINLESS = "1Cr-1/5Mo bolting", "austenitic stainless"


def test_stainless_flanges_tighten_alloy_bolts_and_the_reverse_slackens():
    assert steel(STAINLESS, ALLOY, 140, 140).trend == "tighter"
    assert steel(ALLOY, STAINLESS, 140, 140).trend == "slacker"
    assert steel(ALLOY, ALLOY, 20, 20).trend == "the same"


def test_a_hot_flange_with_cooler_bolts_tightens():
    warm_up, even = steel(ALLOY, ALLOY, 180, 140), steel(ALLOY, ALLOY, 180, 180)
    assert warm_up.hot > even.hot
    assert even.ratio < 1  # the modulus alone falls with heat


def test_a_bolt_that_would_be_slack_is_said_to_open_the_joint():
    found = steel("carbon and low alloy group 1", STAINLESS, 20, 400, share=1.0)
    assert found.opens
    assert magnitude(found.hot, "kN", name="hot") == 0
    assert magnitude(found.change, "kN", name="change") == pytest.approx(-150)


def test_a_steel_at_its_table_temperature_by_hand():
    """Group 1 at 400 degF: 7.1e-6/degF x 330 degF = 2.343e-3 (TE-1 coefficient B, read)."""
    strain = thermal.steel_strain("carbon and low alloy group 1", cold=of(70, "degF"), hot=of(400, "degF"))
    assert strain == pytest.approx(2.343e-3, rel=1e-6)
    winter = thermal.steel_strain("carbon and low alloy group 1", cold=of(-10, "degC"), hot=of(400, "degF"))
    assert winter > strain


@given(st.floats(-20, 250), st.floats(0.5, 200), st.floats(0.05, 1))
@settings(deadline=None)
def test_the_change_grows_with_the_joint_s_heat_in_any_unit(cold_c, rise, share):
    def change(hot_c: float, unit: str = "degC"):
        cold, hot = of(cold_c, "degC"), of(hot_c, "degC")
        strain = thermal.steel_strain("austenitic stainless", cold=convert(cold, unit), hot=convert(hot, unit))
        return magnitude(
            thermal.preload_change(
                joint_strain=strain, bolt_strain=0.0, modulus=of(200, "GPa"), area=of(300, "mm2"), joint_share=share
            ),
            "kN",
            name="dF",
        )

    assert change(cold_c + rise) > change(cold_c) == 0
    for unit in ("degF", "K"):
        assert change(cold_c + rise, unit) == pytest.approx(change(cold_c + rise), rel=1e-6)


@given(st.floats(1, 500), st.floats(-600, 600), st.floats(0.5, 1.0))
@settings(deadline=None)
def test_hot_preload_is_never_below_zero_and_says_where_it_goes(cold_kn, change_kn, ratio):
    found = thermal.hot_preload(of(cold_kn, "kN"), change=of(change_kn, "kN"), modulus_ratio=ratio)
    hot = magnitude(found.hot, "kN", name="hot")
    assert hot >= 0
    assert found.opens == (cold_kn + change_kn <= 0)
    assert magnitude(found.change, "kN", name="change") == pytest.approx(hot - cold_kn, abs=1e-9)
    if hot > 1.021 * cold_kn:
        assert found.trend == "tighter"
    if hot < 0.979 * cold_kn:
        assert found.trend == "slacker"


@pytest.mark.parametrize(
    ("temperature", "elastomer", "pressurised", "written", "hindrances"),
    [
        (180, False, False, False, 0),
        (232, False, False, False, 0),
        (233, False, False, True, 1),
        (60, True, False, True, 1),
        (60, False, True, False, 1),
        (60, False, True, True, 0),
        (260, True, True, False, 3),
    ],
)
def test_what_stands_against_a_start_up_re_torque(temperature, elastomer, pressurised, written, hindrances):
    """Elastomers and zero pressure: a sealing trade body (read); 232 degC: a public fastener glossary (read)."""
    found = thermal.start_up_hindrances(
        of(temperature, "degC"), elastomer=elastomer, pressurised=pressurised, written_procedure=written
    )
    assert len(found) == hindrances


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: thermal.steel_strain("bronze", cold=COLD, hot=of(100, "degC")), "bronze"),
        (lambda: thermal.steel_strain(ALLOY, cold=COLD, hot=of(500, "degC")), "outside the table"),
        (lambda: steel(ALLOY, "9Cr-1Mo", 100, 100), "no table"),
        (lambda: steel(ALLOY, ALLOY, 100, 100, share=0.0), "joint share is 0"),
        (lambda: thermal.hot_preload(of(0, "kN"), change=of(1, "kN"), modulus_ratio=1.0), "0 kN"),
        (lambda: thermal.hot_preload(of(1, "kN"), change=of(1, "kN"), modulus_ratio=2.0), "2"),
        (
            lambda: thermal.preload_change(
                joint_strain=0.0, bolt_strain=0.0, modulus=of(0, "GPa"), area=of(1, "mm2"), joint_share=0.5
            ),
            "modulus of 0",
        ),
    ],
)
def test_what_has_no_meaning_is_refused(call, said: str):
    with pytest.raises(BadBolting, match=re.escape(said)) as refusal:
        call()
    assert refusal.value.remedy


def test_a_difference_given_for_a_temperature_is_refused():
    """120 K as a rise would be -153 degC as a temperature."""
    with pytest.raises(BadBolting, match=r"-153"):
        thermal.steel_strain("austenitic stainless", cold=COLD, hot=of(120, "K"))
