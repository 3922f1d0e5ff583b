"""Elongation, stiffness, nut turn, embedding; losses and turn of nut: check rows and properties."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting.friction_and_torque import turn_of_nut
from assistant.bolting.joint import relaxation, stiffness
from assistant.bolting.units import convert, magnitude, of
from assistant.errors import BadBolting
from tests.bolting.joint_rows import Row, name, rows

STEEL = of(205000, "MPa")


def within(row: Row, value: float):
    assert value == pytest.approx(float(row.expected), abs=row.allowed())


@pytest.mark.parametrize("row", rows("ELON-1"), ids=name)
def test_check_row_half_of_yield(row: Row):
    assert row.expected == "half of yield"
    assert row.number("Sy_share") == stiffness.STRETCH_SHARE_OF_YIELD


@pytest.mark.parametrize("row", rows("ELON-2"), ids=name)
def test_check_row_stretch_at_half_of_yield(row: Row):
    stress = of(stiffness.STRETCH_SHARE_OF_YIELD * row.number("Sy_ksi"), "ksi")
    found = stiffness.elongation_at_stress(stress, of(row.number("L_in"), "in"), modulus=of(row.number("E_ksi"), "ksi"))
    within(row, magnitude(found, "in", name="dL"))


@pytest.mark.parametrize("row", rows("ELON-3"), ids=name)
def test_check_row_elongation_from_stress(row: Row):
    found = stiffness.elongation_at_stress(
        of(row.number("S_ksi"), "ksi"), of(row.number("L_in"), "in"), modulus=of(row.number("E_ksi"), "ksi")
    )
    within(row, magnitude(found, "in", name="dL"))


@pytest.mark.parametrize("row", rows("ELON-4"), ids=name)
def test_check_row_elongation_from_preload(row: Row):
    found = stiffness.elongation(
        of(row.number("F_kN"), "kN"),
        of(row.number("L_mm"), "mm"),
        area=of(row.number("As_mm2"), "mm2"),
        modulus=of(row.number("E_MPa"), "MPa"),
    )
    within(row, magnitude(found, "mm", name="dL"))


@pytest.mark.parametrize("row", rows("ELON-5"), ids=name)
def test_check_row_stiffness_of_shank_and_thread(row: Row):
    shank = math.pi / 4 * row.number("d_mm") ** 2
    found = stiffness.bolt_stiffness(
        [
            (of(row.number("shank_mm"), "mm"), of(shank, "mm2")),
            (of(row.number("thread_mm"), "mm"), of(row.number("As"), "mm2")),
        ],
        modulus=of(row.number("E_MPa"), "MPa"),
    )
    within(row, magnitude(found, "kN/mm", name="k"))


@pytest.mark.parametrize("row", rows("ELON-6"), ids=name)
def test_check_row_nut_turn(row: Row):
    found = stiffness.nut_turn(
        of(row.number("F_kN"), "kN"), bolt=of(row.number("k_kN_mm"), "kN/mm"), pitch=of(row.number("P_mm"), "mm")
    )
    within(row, magnitude(found, "deg", name="turn"))


@pytest.mark.parametrize("row", rows("ELON-7", "ELON-8"), ids=name)
def test_check_row_embedding_loss(row: Row):
    if "k_kN_mm" in row.given:
        bolt = of(row.number("k_kN_mm"), "kN/mm")
    else:
        section = (of(row.number("L_mm"), "mm"), of(row.number("As"), "mm2"))
        bolt = stiffness.bolt_stiffness([section], modulus=of(row.number("E_MPa"), "MPa"))
    found = stiffness.embedding_loss(of(row.number("embed_mm"), "mm"), bolt=bolt)
    within(row, magnitude(found, "kN", name="dF"))


@pytest.mark.parametrize("row", rows("PASS-11..14"), ids=name)
def test_check_row_of_a_loss(row: Row):
    key = row.given.get("mechanism") or row.given["kind"]
    loss = relaxation.LOSSES[key]
    assert f"{loss.low_percent:g}-{loss.high_percent:g}" == row.expected
    assert loss.when == row.note or row.id == "PASS-11"


@pytest.mark.parametrize("row", rows("PASS-9"), ids=name)
def test_check_row_dwell(row: Row):
    assert float(row.expected) == relaxation.DWELL_H


@pytest.mark.parametrize("row", rows("PASS-27"), ids=name)
def test_check_row_recheck_step(row: Row):
    assert row.number("step_deg") == relaxation.RECHECK_STEP_DEG
    assert row.expected == "first movement"


@pytest.mark.parametrize("row", rows("PASS-17"), ids=name)
def test_check_row_snug_tension(row: Row):
    sizes = {row.given["size"].removesuffix(" in"): row.expected}
    sizes |= dict(part.split(":") for part in row.note.replace(" ", "").split(","))
    assert len(sizes) == len(turn_of_nut.SNUG_KIP)
    for size, tension in sizes.items():
        assert magnitude(turn_of_nut.snug_tension(size), "kip", name="tension") == pytest.approx(float(tension))


@pytest.mark.parametrize("row", rows("PASS-18..26"), ids=name)
def test_check_row_turn_of_nut(row: Row):
    sloped = next(count for count, word in enumerate(("normal", "one face", "both faces sloped")) if word in row.topic)
    for diameters in {"<=4d": (1, 4), "4d-8d": (4.01, 8), "8d-12d": (8.01, 12)}[row.given["length"]]:
        turn = turn_of_nut.turn_from_snug(of(diameters * 20.0, "mm"), of(20, "mm"), sloped_faces=sloped)
        assert turn == Fraction(row.expected)


@given(st.floats(1, 500), st.floats(20, 1000), st.floats(50, 5000))
@settings(deadline=None)
def test_elongation_and_stiffness_are_one_law_in_any_unit(force_kn, length_mm, area_mm2):
    force, length, area = of(force_kn, "kN"), of(length_mm, "mm"), of(area_mm2, "mm2")
    way = magnitude(stiffness.elongation(force, length, area=area, modulus=STEEL), "mm", name="dL")
    k = magnitude(stiffness.bolt_stiffness([(length, area)], modulus=STEEL), "kN/mm", name="k")
    assert way * k == pytest.approx(force_kn, rel=1e-9)
    inches = stiffness.elongation(
        convert(force, "lbf"), convert(length, "in"), area=convert(area, "in2"), modulus=convert(STEEL, "ksi")
    )
    assert magnitude(inches, "mm", name="dL") == pytest.approx(way, rel=1e-9)


@given(st.floats(20, 2000), st.floats(1.01, 5))
@settings(deadline=None)
def test_a_longer_bolt_loses_less_by_embedding_and_needs_more_turn(length_mm, factor):
    short, long = (
        stiffness.bolt_stiffness([(of(one, "mm"), of(500, "mm2"))], modulus=STEEL)
        for one in (length_mm, length_mm * factor)
    )
    settled = of(0.01, "mm")
    assert stiffness.embedding_loss(settled, bolt=long) < stiffness.embedding_loss(settled, bolt=short)
    turns = [stiffness.nut_turn(of(50, "kN"), bolt=bolt, pitch=of(3, "mm")) for bolt in (short, long)]
    assert turns[0] < turns[1]


def test_a_joint_that_gives_takes_turn_and_saves_preload():
    bolt, joint = of(100, "kN/mm"), of(300, "kN/mm")
    assert magnitude(stiffness.in_series(bolt, joint), "kN/mm", name="k") == pytest.approx(75)
    assert stiffness.joint_share(bolt, joint) == pytest.approx(0.75)
    loss = stiffness.embedding_loss(of(0.02, "mm"), bolt=bolt, joint=joint)
    assert magnitude(loss, "kN", name="dF") == pytest.approx(1.5)
    turn = stiffness.nut_turn(of(75, "kN"), bolt=bolt, joint=joint, pitch=of(2, "mm"))
    assert magnitude(turn, "deg", name="turn") == pytest.approx(180)


def test_clamped_parts_of_a_textbook_joint():
    """Worked by hand from Shigley eq. 8-22 (from memory): d 20 mm, grip 40 mm, E 207 GPa.

    ln(5 x 33.096 / 73.096) = 0.8171; 0.5774 x pi x 207 x 20 / 1.6342 = 4595 kN/mm.
    """
    found = stiffness.clamped_stiffness(of(20, "mm"), of(40, "mm"), modulus=of(207, "GPa"))
    assert magnitude(found, "kN/mm", name="k") == pytest.approx(4595, rel=1e-3)
    block = stiffness.block_stiffness(of(1000, "mm2"), of(2, "mm"), modulus=of(200, "MPa"))
    assert magnitude(block, "kN/mm", name="k") == pytest.approx(100)


def test_embedding_guide_values():
    """VDI 2230 table 5 (from memory): Rz 10 to 40, thread, two faces, one joint: 3 + 2 x 3 + 2 = 11 um."""
    assert magnitude(stiffness.embedding("10 to 40 um", faces=2, joints=1), "mm", name="fZ") == pytest.approx(0.011)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: stiffness.elongation(of(-1, "kN"), of(10, "mm"), area=of(1, "mm2"), modulus=STEEL), "-1000"),
        (lambda: stiffness.elongation(of(1, "kN"), of(10, "mm"), area=of(0, "mm2"), modulus=STEEL), "area is 0"),
        (lambda: stiffness.elongation_at_stress(of(1, "MPa"), of(0, "mm"), modulus=STEEL), "length is 0"),
        (lambda: stiffness.bolt_stiffness([], modulus=STEEL), "no section"),
        (lambda: stiffness.clamped_stiffness(of(0, "mm"), of(1, "mm"), modulus=STEEL), "diameter is 0"),
        (lambda: stiffness.block_stiffness(of(1, "mm2"), of(0, "mm"), modulus=STEEL), "thickness is 0"),
        (lambda: stiffness.in_series(of(0, "kN/mm")), "stiffness is 0"),
        (lambda: stiffness.nut_turn(of(-1, "kN"), bolt=of(1, "kN/mm"), pitch=of(1, "mm")), "-1"),
        (lambda: stiffness.nut_turn(of(1, "kN"), bolt=of(1, "kN/mm"), pitch=of(0, "mm")), "pitch is 0"),
        (lambda: stiffness.embedding("polished", faces=1, joints=1), "polished"),
        (lambda: stiffness.embedding("10 to 40 um", faces=3, joints=1), "3 faces"),
        (lambda: stiffness.embedding_loss(of(-0.1, "mm"), bolt=of(1, "kN/mm")), "-0.1"),
        (lambda: turn_of_nut.turn_from_snug(of(250, "mm"), of(20, "mm"), sloped_faces=0), "12.5"),
        (lambda: turn_of_nut.turn_from_snug(of(50, "mm"), of(20, "mm"), sloped_faces=3), "3"),
        (lambda: turn_of_nut.turn_from_snug(of(0, "mm"), of(20, "mm"), sloped_faces=0), "20 x 0"),
        (lambda: turn_of_nut.snug_tension("2"), "2"),
    ],
)
def test_what_cannot_be_is_refused_with_the_figure(call, said: str):
    with pytest.raises(BadBolting, match=re.escape(said)) as refusal:
        call()
    assert refusal.value.remedy
