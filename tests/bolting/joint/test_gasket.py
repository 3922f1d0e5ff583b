"""Gasket factors, widths, loads and the seating check against the check rows, and properties."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting.friction_and_torque.torque import torque_from_preload
from assistant.bolting.joint import gasket, gasket_en, gasket_table
from assistant.bolting.planning import seating
from assistant.bolting.units import convert, magnitude, of
from assistant.errors import BadBolting
from tests.bolting.joint_rows import Row, name, rows

RING = {"outer": of(149.4, "mm"), "inner": of(120.7, "mm")}
LOADS = gasket.gasket_loads(**RING, m=3.0, y=of(69, "MPa"), pressure=of(5.0, "MPa"))


def within(row: Row, value: float):
    assert value == pytest.approx(float(row.expected), abs=row.allowed())


@pytest.mark.parametrize("row", rows("GSK-1..16"), ids=name)
def test_check_row_of_gasket_factors(row: Row):
    expected = dict(part.split("=") for part in row.expected.split(";"))
    found = gasket.gasket_factors(row.given["gasket"])
    assert found.m == float(expected["m"])
    assert magnitude(found.y, "psi", name="y") == pytest.approx(float(expected["y"].removesuffix(" psi")), rel=1e-12)
    assert ("from memory" in found.known) == (row.how == "from memory")


@pytest.mark.parametrize("row", rows("GSK-17..18"), ids=name)
def test_check_row_of_effective_width(row: Row):
    width = gasket.effective_width(of(row.number("b0_in"), "in"))
    within(row, magnitude(width, "in", name="b"))


@pytest.mark.parametrize("row", rows("GSK-19"), ids=name)
def test_check_row_of_effective_width_metric(row: Row):
    loads = gasket.gasket_loads(
        outer=of(row.number("OD_mm"), "mm"),
        inner=of(row.number("ID_mm"), "mm"),
        m=3.0,
        y=of(69, "MPa"),
        pressure=of(5, "MPa"),
    )
    within(row, magnitude(loads.effective_width, "mm", name="b"))


@pytest.mark.parametrize("row", rows("GSK-20"), ids=name)
def test_check_row_of_reaction_diameter(row: Row):
    assert magnitude(LOADS.effective_width, "mm", name="b") == pytest.approx(row.number("b_mm"), abs=0.001)
    within(row, magnitude(gasket.reaction_diameter(of(row.number("OD_mm"), "mm"), RING["inner"]), "mm", name="G"))


@pytest.mark.parametrize("row", rows("GSK-21"), ids=name)
def test_check_row_of_seating_load(row: Row):
    load = gasket.seating_load(
        of(row.number("b_mm"), "mm"), of(row.number("G_mm"), "mm"), y=of(row.number("y_MPa"), "MPa")
    )
    within(row, magnitude(load, "kN", name="Wm2"))


@pytest.mark.parametrize("row", rows("GSK-22"), ids=name)
def test_check_row_of_operating_load(row: Row):
    load = gasket.operating_load(
        of(row.number("b_mm"), "mm"),
        of(row.number("G_mm"), "mm"),
        m=row.number("m"),
        pressure=of(row.number("P_MPa"), "MPa"),
    )
    within(row, magnitude(load, "kN", name="Wm1"))


@pytest.mark.parametrize("row", rows("GSK-23"), ids=name)
def test_check_row_of_the_load_of_one_bolt(row: Row):
    assert LOADS.governing == "seating"
    within(row, magnitude(gasket.load_per_bolt(LOADS.needed, int(row.number("n"))), "kN", name="load"))


@pytest.mark.parametrize("row", rows("GSK-24"), ids=name)
def test_check_row_of_the_torque_for_that_load(row: Row):
    found = torque_from_preload(of(row.number("F_kN"), "kN"), of(row.number("d_mm"), "mm"), nut_factor=row.number("K"))
    within(row, magnitude(found, "N*m", name="torque"))


@pytest.mark.parametrize("row", rows("GSK-26..30"), ids=name)
def test_check_row_of_gasket_modulus(row: Row):
    within(row, magnitude(gasket.gasket_modulus(row.given["gasket"]), "ksi", name="modulus"))


def test_the_two_width_rules_meet_at_a_quarter_inch():
    below, above = (magnitude(gasket.effective_width(of(w, "in")), "in", name="b") for w in (0.25, 0.2500001))
    assert above == pytest.approx(below, abs=1e-6)


@given(st.floats(20, 2000), st.floats(1, 60), st.floats(0, 6.5), st.floats(0, 180), st.floats(0, 25))
@settings(deadline=None)
def test_the_unit_of_the_input_changes_nothing_and_loads_grow_with_pressure_and_y(inner_mm, wide_mm, m, y_mpa, p_mpa):
    inner, outer = of(inner_mm, "mm"), of(inner_mm + 2 * wide_mm, "mm")
    y, p = of(y_mpa, "MPa"), of(p_mpa, "MPa")
    metric = gasket.gasket_loads(outer=outer, inner=inner, m=m, y=y, pressure=p)
    inch = gasket.gasket_loads(
        outer=convert(outer, "in"), inner=convert(inner, "in"), m=m, y=convert(y, "psi"), pressure=convert(p, "psi")
    )
    for one, other in ((metric.operating, inch.operating), (metric.seating, inch.seating)):
        assert magnitude(one, "kN", name="W") == pytest.approx(magnitude(other, "kN", name="W"), rel=1e-9, abs=1e-9)
    more = gasket.gasket_loads(outer=outer, inner=inner, m=m, y=of(y_mpa + 1, "MPa"), pressure=of(p_mpa + 1, "MPa"))
    assert more.operating > metric.operating
    assert more.seating > metric.seating
    assert metric.needed == max(metric.operating, metric.seating)


@given(st.floats(1, 200), st.floats(1.001, 3))
@settings(deadline=None)
def test_a_wider_ring_has_a_wider_effective_width_but_never_more_than_its_own(b0_mm, factor):
    narrow, wide = (magnitude(gasket.effective_width(of(b, "mm")), "mm", name="b") for b in (b0_mm, b0_mm * factor))
    assert narrow < wide
    assert narrow <= b0_mm + 1e-9


def check(**more):
    given_ = {
        "bolts": 8,
        "lowest_preload": of(40, "kN"),
        "highest_preload": of(70, "kN"),
        "area": gasket.contact_area(**RING),
    }
    return seating.seating_check(LOADS, **{**given_, **more})


def test_the_seating_check_looks_at_both_ends_of_the_preload_band():
    """Worked by hand: 8 x 40 = 320 kN against Wm2 198.85 kN; 8 x 70 kN on 6088.3 mm2 = 91.98 MPa."""
    good = check()
    assert (good.seated, good.not_crushed) == (True, True)
    assert good.ratio == pytest.approx(320 / 198.85, rel=1e-3)
    assert magnitude(good.gasket_stress, "MPa", name="stress") == pytest.approx(91.98, rel=1e-3)
    assert not check(lowest_preload=of(24, "kN")).seated
    assert check(lowest_preload=of(25, "kN")).seated
    assert not check(highest_stress=of(90, "MPa")).not_crushed
    assert check(highest_stress=of(92, "MPa")).not_crushed


def test_a_gasket_that_needs_nothing_has_an_infinite_ratio():
    nothing = gasket.gasket_loads(**RING, m=0.0, y=of(0, "MPa"), pressure=of(0, "bar"))
    assert (
        seating.seating_check(
            nothing,
            bolts=4,
            lowest_preload=of(0, "kN"),
            highest_preload=of(1, "kN"),
            area=gasket.contact_area(**RING),
        ).ratio
        == math.inf
    )


def test_metal_gaskets_never_need_less_than_soft_ones_of_their_kind():
    for kind in (
        "corrugated metal jacketed",
        "corrugated metal",
        "flat metal jacketed",
        "grooved metal",
        "solid flat metal",
    ):
        listed = [row for key, row in gasket_table.FACTORS.items() if key.startswith(kind + ",")]
        assert [row[:2] for row in listed] == sorted(row[:2] for row in listed)


def en(**more):
    given_ = {
        "area": of(5000, "mm2"),
        "end_force": of(100, "kN"),
        "seating_pressure": of(50, "MPa"),
        "operating_pressure": of(30, "MPa"),
        "highest_pressure": of(150, "MPa"),
        "creep_share": 0.9,
    }
    return gasket_en.gasket_pressures(of(400, "kN"), **{**given_, **more})


def test_gasket_pressures_at_assembly_and_in_operation():
    """By hand: 400 kN on 5000 mm2 = 80 MPa; (0.9 x 400 - 100)/5000 = 52 MPa."""
    found = en()
    assert magnitude(found.assembly, "MPa", name="Q") == pytest.approx(80)
    assert magnitude(found.operation, "MPa", name="Q") == pytest.approx(52)
    assert (found.seated, found.tight, found.not_crushed) == (True, True, True)
    assert not en(seating_pressure=of(81, "MPa")).seated
    assert not en(operating_pressure=of(53, "MPa")).tight
    assert not en(highest_pressure=of(79, "MPa")).not_crushed


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: gasket.gasket_factors("cardboard"), "cardboard"),
        (lambda: gasket.gasket_modulus("cardboard"), "cardboard"),
        (lambda: gasket.effective_width(of(0, "mm")), "0 mm"),
        (lambda: gasket.reaction_diameter(of(100, "mm"), of(100, "mm")), "100 mm"),
        (lambda: gasket.contact_area(of(100, "mm"), of(101, "mm")), "101 mm"),
        (lambda: gasket.operating_load(of(5, "mm"), of(100, "mm"), m=21, pressure=of(1, "bar")), "21"),
        (lambda: gasket.operating_load(of(5, "mm"), of(100, "mm"), m=math.nan, pressure=of(1, "bar")), "nan"),
        (lambda: gasket.operating_load(of(5, "mm"), of(100, "mm"), m=2, pressure=of(-1, "bar")), "-0.1 MPa"),
        (lambda: gasket.seating_load(of(5, "mm"), of(100, "mm"), y=of(-1, "MPa")), "-1 MPa"),
        (lambda: gasket.load_per_bolt(of(5, "kN"), 0), "0"),
        (lambda: check(bolts=0), "0 bolts"),
        (lambda: check(lowest_preload=of(80, "kN")), "80 to 70"),
        (lambda: check(highest_stress=of(0, "MPa")), "0 MPa"),
        (lambda: en(creep_share=0.0), "0"),
        (lambda: en(creep_share=1.2), "1.2"),
        (lambda: en(end_force=of(-1, "kN")), "-1000"),
        (lambda: en(highest_pressure=of(20, "MPa")), "QSmax"),
    ],
)
def test_what_makes_no_gasket_is_refused_with_the_figure(call, said: str):
    with pytest.raises(BadBolting, match=re.escape(said)) as refusal:
        call()
    assert refusal.value.remedy


def test_factors_are_found_in_any_case():
    assert gasket.gasket_factors("Spiral  Wound, filled, Stainless").note
