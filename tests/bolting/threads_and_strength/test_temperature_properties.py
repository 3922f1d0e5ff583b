"""Steel at temperature: tables rise and fall as they must, interpolate, and never guess outside."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.threads_and_strength import temperature_properties as warm
from assistant.bolting.threads_and_strength.strength import material
from assistant.bolting.threads_and_strength.strength_tables import EN_10269, GRADES
from assistant.bolting.threads_and_strength.threads import thread
from assistant.errors import BadBolting, BadQuantity

STEELS = st.sampled_from(list(warm.STEELS))
DEGF = st.floats(70, 800)


def alpha(steel: str, degf: float) -> float:
    return units.magnitude(warm.mean_expansion(steel, units.of(degf, "degF")), "1/K", name="alpha")


@settings(deadline=None)
@given(STEELS, DEGF, DEGF)
def test_expansion_never_falls_and_the_modulus_never_rises_with_temperature(
    steel: str, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    assert alpha(steel, low) <= alpha(steel, high)
    if warm.STEELS[steel].modulus is not None:
        moduli = [units.magnitude(warm.modulus(steel, units.of(t, "degF")), "GPa", name="E") for t in (low, high)]
        assert moduli[0] >= moduli[1]
        assert 160 < moduli[1] <= moduli[0] < 210


@settings(deadline=None)
@given(STEELS, DEGF)
def test_the_unit_of_the_temperature_does_not_matter(steel: str, degf: float) -> None:
    in_celsius = units.convert(units.of(min(max(degf, 71), 799), "degF"), "degC")
    assert units.magnitude(warm.mean_expansion(steel, in_celsius), "1/K", name="a") == pytest.approx(
        alpha(steel, min(max(degf, 71), 799))
    )


@settings(deadline=None)
@given(st.sampled_from(["8.8", "10.9", "A193 B7", "A2-70", "A193 B8 class 1"]), st.floats(20, 300), st.floats(20, 300))
def test_a_hotter_bolt_is_never_stronger(grade: str, one: float, other: float) -> None:
    strength = material(grade, thread("M20"))
    low, high = sorted((one, other))
    ratios = [warm.yield_ratio(strength, units.of(t, "degC")) for t in (low, high)]
    assert 0 < ratios[1] <= ratios[0] <= 1


def test_half_way_between_two_points_lies_half_way_between_their_values() -> None:
    assert alpha("carbon and low alloy group 1", 250) == pytest.approx(6.8 * 1.8e-6)


def test_yield_at_temperature_of_common_bolts() -> None:
    """ISO 898-1:1999 annex (8.8, 200 degC: 540 of 640 MPa), ASME II-D Y-1 (B7, 400 degF: 91.5 ksi); from memory."""
    at = warm.yield_at(material("8.8", thread("M16")), units.of(200, "degC"))
    assert units.magnitude(at, "MPa", name="y") == pytest.approx(540)
    b7 = warm.yield_at(material("A193 B7", thread("M20")), units.of(400, "degF"))
    assert units.magnitude(b7, "ksi", name="y") == pytest.approx(91.5)
    assert warm.yield_ratio(material("A193 B7", thread("M20")), units.of(20, "degC")) == 1


def test_outside_a_table_nothing_is_guessed() -> None:
    for call in (
        lambda: warm.mean_expansion("carbon and low alloy group 1", units.of(500, "degC")),
        lambda: warm.mean_expansion("carbon and low alloy group 1", units.of(0, "degC")),
        lambda: warm.mean_expansion("wood", units.of(100, "degC")),
        lambda: warm.modulus("9Cr-1Mo", units.of(100, "degC")),
        lambda: warm.yield_ratio(material("8.8", thread("M20")), units.of(301, "degC")),
        lambda: warm.yield_ratio(material("8.8", thread("M20")), units.of(-20, "degC")),
        lambda: warm.yield_ratio(material("9.8", thread("M16")), units.of(100, "degC")),
    ):
        with pytest.raises(BadBolting):
            call()
    with pytest.raises(BadQuantity):
        warm.mean_expansion(
            "carbon and low alloy group 1", units.quantity("100 K", "temperature-difference", field="f")
        )


@pytest.mark.parametrize("grade", list(GRADES))
def test_every_grade_has_a_steel_or_a_refusal(grade: str) -> None:
    try:
        assert warm.steel_of_grade(grade) in warm.STEELS
    except BadBolting:
        no_data = ("C", "D", "F1", "A453", "A193 B6", "A320 L43", "A8-", "A540", "alloy", "titanium")
        assert grade.startswith(no_data) or grade in EN_10269


def test_families_named_by_grades_exist() -> None:
    assert {grade.family for grade in GRADES.values()} - {None} <= set(warm.YIELD)


@pytest.mark.parametrize("grade", list(GRADES))
def test_every_grade_has_a_range_of_temperature(grade: str) -> None:
    limits = warm.grade_range(grade)
    assert limits is not None and limits.low < 20 < limits.high and limits.source


def test_property_classes_and_studs_have_their_own_ranges() -> None:
    """ISO 898-1:2013 scope: -50 to +150 degC (read in a public copy); A193 B7 to 427 degC (800 degF, from memory)."""
    assert [(warm.grade_range(g).low, warm.grade_range(g).high) for g in ("8.8", "A193 B7")] == [(-50, 150), (-48, 427)]
    assert warm.grade_range("A325M").high == warm.grade_range("A325").high == 204
