"""Strength of grades: names, size rows, refusals, and the loads that follow."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.threads_and_strength import strength
from assistant.bolting.threads_and_strength.strength_tables import GRADES
from assistant.bolting.threads_and_strength.threads import thread
from assistant.errors import BadBolting, BadQuantity


@pytest.mark.parametrize(
    ("names", "canonical"),
    [
        (["8.8", "class 8.8", "property class 8.8", "ISO 898-1 8.8", " 8.8 "], "8.8"),
        (
            ["A193 B7", "ASTM A193 B7", "ASTM A193 Gr. B7", "ASTM A193 Grade B7", "SA-193 B7", "SA193 B7", "B7"],
            "A193 B7",
        ),
        (["A193 B7", "A193/A193M B7", "A193M B7"], "A193 B7"),
        (
            ["A193 B8 class 2", "A193 B8 cl 2", "A193 B8 Cl. 2", "b8 class 2", "ASTM A193 Grade B8 Class 2"],
            "A193 B8 class 2",
        ),
        (["SAE 5", "SAE grade 5", "SAE J429 grade 5", "Grade 5", "SAE J429 5"], "SAE 5"),
        (["A453 660 D", "A453 grade 660 class D"], "A453 660 D"),
        (["L7", "A320 L7", "SA-320 L7"], "A320 L7"),
        (["F3125 A325", "ASTM F3125 Grade A325"], "F3125 A325"),
        (["A2-70", "a2-70", "ISO 3506-1 A2-70"], "A2-70"),
    ],
)
def test_a_grade_is_known_by_every_usual_spelling(names: list[str], canonical: str) -> None:
    assert {strength.grade_name(name) for name in names} == {canonical}


@pytest.mark.parametrize("name", list(GRADES))
def test_our_own_name_of_a_grade_is_understood(name: str) -> None:
    assert strength.grade_name(name) == name


@pytest.mark.parametrize(
    ("grade", "size", "allowed"),
    [
        ("5", "3/4-10", "SAE 5"),
        ("A193 B8", "M20", "A193 B8 class 2"),
        ("A453 660", "M20", "A453 660 D"),
        ("F3125", "3/4-10", "F3125 A490"),
        ("8.9", "M20", "8.8"),
        ("", "M20", "8.8"),
        ("8", "M20", "SAE 8"),
        ("8.8", "3/4-10", "drawing"),
        ("SAE 5", "M20", "drawing"),
        ("A325", "M20", "drawing"),
        ("A2-70", "3/4-10", "drawing"),
        ("9.8", "M20", "16 mm"),
        ("A2-70", "M30", "24 mm"),
        ("8.8", "M80x6", "39 mm"),
        ("SAE 5", "2-4.5", "1.5 in"),
        ("A325", "1/4-20", "0.5"),
        ("A193 B8 class 2", "2-8", "1.5 in"),
        ("A2-70", "M30", "24 mm"),
    ],
)
def test_an_unknown_ambiguous_or_impossible_grade_is_refused(grade: str, size: str, allowed: str) -> None:
    with pytest.raises(BadBolting) as caught:
        strength.material(grade, thread(size))
    assert allowed in caught.value.remedy


@pytest.mark.parametrize(
    ("grade", "size", "proof", "yield_", "tensile"),
    [
        ("8.8", "M16", 580, 640, 800),
        ("8.8", "M18", 600, 660, 830),
        ("10.9", "M39", 830, 940, 1040),
        ("A193 B7", "2 1/2-8", None, 723.95, 861.84),
        ("A193 B7", "M64", None, 723.95, 861.84),
        ("A193 B8 class 2", "M20", None, 689.48, 861.84),
        ("A193 B8 class 2", "M22", None, 551.58, 792.9),
        ("A193 B7", "M68", None, 655.0, 792.9),
        ("A193 B7", "2 3/4-8", None, 655.0, 792.9),
        ("SAE 5", "1-8", 586.05, 634.32, 827.37),
        ("SAE 5", "1 1/8-7", 510.2, 558.5, 723.9),
    ],
)
def test_rows_change_at_the_diameters_of_the_standard(
    grade: str, size: str, proof: float | None, yield_: float, tensile: float
) -> None:
    """ISO 898-1, ASTM A193/A193M (M64 is its 2 1/2 in) and SAE J429 size limits; read in public tables."""
    found = strength.material(grade, thread(size))
    assert (found.proof is None) == (proof is None)
    if found.proof is not None and proof is not None:
        assert units.magnitude(found.proof, "MPa", name="p") == pytest.approx(proof, rel=1e-4)
    assert units.magnitude(found.yield_, "MPa", name="y") == pytest.approx(yield_, rel=1e-4)
    assert units.magnitude(found.tensile, "MPa", name="t") == pytest.approx(tensile, rel=1e-4)


def test_sizes_above_the_standards_range_carry_a_warning() -> None:
    assert "by agreement" in strength.material("8.8", thread("M64")).notes[0]
    assert strength.material("8.8", thread("M39")).notes == ()


@pytest.mark.parametrize("name", list(GRADES))
def test_proof_is_below_yield_and_yield_below_tensile(name: str) -> None:
    for _, proof, yield_, tensile in GRADES[name].rows:
        assert (proof or 0) < yield_ < tensile


@pytest.mark.parametrize("name", list(GRADES))
def test_rows_rise_in_diameter(name: str) -> None:
    limits = [row[0] for row in GRADES[name].rows]
    assert limits == sorted(set(limits))


def test_a_grade_without_proof_strength_says_so_and_offers_an_estimate() -> None:
    b7 = strength.material("A193 B7", thread("M20"))
    with pytest.raises(BadBolting, match="no proof strength"):
        strength.proof_load(b7, thread("M20"))
    value, how = strength.proof_or_estimate(b7)
    assert units.magnitude(value, "ksi", name="p") == pytest.approx(0.85 * 105)
    assert "estimate" in how
    assert "estimate" not in strength.proof_or_estimate(strength.material("8.8", thread("M20")))[1]


@given(
    st.floats(1, 500),
    st.sampled_from(["M8", "M20x1.5", "3/4-10", "1 1/8-8 UN"]),
    st.sampled_from(["stress area", "root area"]),
)
def test_bolt_stress_and_preload_are_each_others_reverse(stress: float, size: str, area: str) -> None:
    force = strength.preload_at(units.of(stress, "MPa"), thread(size), area=area)
    again = strength.bolt_stress(units.convert(force, "lbf"), thread(size), area=area)
    assert units.magnitude(again, "MPa", name="s") == pytest.approx(stress, rel=1e-9)


def test_the_root_area_gives_less_load_for_the_same_stress() -> None:
    """About 8 % on 1 1/8-8UN, 3 % on 2 1/2-8UN (computed from ASME PCC-1 Table H-1 areas)."""
    for size, loss in (("1 1/8-8 UN", 0.08), ("2 1/2-8 UN", 0.034)):
        root = strength.preload_at(units.of(50, "ksi"), thread(size), area="root area")
        stress = strength.preload_at(units.of(50, "ksi"), thread(size))
        share = units.magnitude(root, "N", name="f") / units.magnitude(stress, "N", name="f")
        assert 1 - share == pytest.approx(loss, abs=0.002)


def test_areas_and_stresses_of_another_kind_are_refused() -> None:
    with pytest.raises(BadBolting, match="shank"):
        strength.preload_at(units.of(50, "ksi"), thread("M20"), area="shank")
    with pytest.raises(BadQuantity):
        strength.preload_at(units.of(50, "kN"), thread("M20"))
    with pytest.raises(BadQuantity):
        strength.bolt_stress(units.of(50, "MPa"), thread("M20"))
