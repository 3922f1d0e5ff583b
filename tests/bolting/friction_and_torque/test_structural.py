"""Structural bolts, aircraft nuts, working loads and nuts: published tables against formulas, and refusals."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.friction_and_torque import structural
from assistant.bolting.threads_and_strength import nuts, strength, working_load
from assistant.bolting.threads_and_strength.threads import thread
from assistant.errors import BadBolting


def kip(value: units.Quantity) -> float:
    return units.magnitude(value, "kip", name="force")


@pytest.mark.parametrize("size", list(structural.AISC_KIP))
@pytest.mark.parametrize("grade", ["A325", "A490"])
def test_tabulated_pretension_is_70_percent_of_the_minimum_tensile_load_rounded(size: str, grade: str) -> None:
    """AISC 360-05 Table J3.1 note; the table rounds to whole kips (largest difference seen: 0.9 kip)."""
    one = thread(f"{size} UNC")
    formula = 0.7 * kip(strength.tensile_load(strength.material(grade, one), one))
    assert kip(structural.minimum_pretension(one, grade)) == pytest.approx(formula, abs=1.0)


@pytest.mark.parametrize("size", list(structural.AISC_KN))
@pytest.mark.parametrize("grade", ["A325M", "A490M"])
def test_metric_pretension_is_70_percent_of_the_minimum_tensile_load_rounded(size: str, grade: str) -> None:
    """AISC 360-05 Table J3.1M: 0.70 x 830 or 1040 MPa x As, whole kN."""
    one = thread(size)
    formula = 0.7 * units.magnitude(strength.tensile_load(strength.material(grade, one), one), "kN", name="F")
    table = units.magnitude(structural.minimum_pretension(one, grade), "kN", name="F")
    assert table == pytest.approx(formula, abs=1.0)


@pytest.mark.parametrize(
    ("size", "grade"), [("1/4-20", "A325"), ("M20", "A325"), ("3/4-10", "8.8"), ("3/4-10", "A325M")]
)
def test_sizes_and_grades_outside_the_pretension_tables_are_refused(size: str, grade: str) -> None:
    with pytest.raises(BadBolting):
        structural.minimum_pretension(thread(size), grade)


def test_only_the_two_strengths_of_structural_assemblies_are_taken() -> None:
    with pytest.raises(BadBolting):
        structural.en1090_preload(thread("M20"), ultimate=units.of(1040, "MPa"))
    with pytest.raises(BadBolting):
        structural.en1090_torques(units.of(172, "kN"), thread("M20"), k=1.2)


@settings(deadline=None)
@given(st.floats(0.05, 0.95), st.floats(0.1, 50), st.floats(1, 100))
def test_the_three_factors_say_where_the_joint_reaches_its_limits(constant: float, load: float, preload: float) -> None:
    proof = units.of(120.0, "kN")
    force, outside = units.of(preload, "kN"), units.of(load, "kN")
    n_load = working_load.load_factor(force, outside, proof, constant=constant)
    at_limit = units.of(load * n_load, "kN")
    assert working_load.yield_factor(force, at_limit, proof, constant=constant) == pytest.approx(1)
    n_open = working_load.separation_factor(force, outside, constant=constant)
    assert (1 - constant) * load * n_open == pytest.approx(preload)


def test_impossible_working_loads_are_refused() -> None:
    force = units.of(10, "kN")
    for call in (
        lambda: working_load.joint_constant(units.of(0, "kN/mm"), units.of(1, "kN/mm")),
        lambda: working_load.separation_factor(force, units.of(0, "kN"), constant=0.3),
        lambda: working_load.separation_factor(force, force, constant=1.0),
        lambda: working_load.load_factor(force, units.of(-1, "kN"), force, constant=0.3),
        lambda: working_load.preload_of_share(force, 0.0),
        lambda: working_load.preload_of_share(force, 1.2),
    ):
        with pytest.raises(BadBolting):
            call()


@pytest.mark.parametrize(
    ("bolt", "size", "nut", "warned"),
    [
        ("8.8", "M20", "8", False),
        ("8.8", "M20", "10", False),
        ("10.9", "M20", "8", True),
        ("8.8", "M20", "04", True),
        ("A193 B7", "M20", "2H", False),
        ("A193 B7", "M20", "ASTM A194 Grade 2H", False),
        ("A193 B8 class 1", "M20", "A194 8", False),
        ("A193 B8 class 2", "M20", "A194 8", True),
        ("A4-80", "M20", "A2-70", True),
        ("A4-80", "M20", "A4-80", False),
        ("A490", "3/4-10", "A563 DH", False),
    ],
)
def test_a_nut_weaker_than_its_bolt_is_told(bolt: str, size: str, nut: str, warned: bool) -> None:
    found = nuts.check_nut(nuts.nut(nut), strength.material(bolt, thread(size)))
    assert bool(found) is warned


@pytest.mark.parametrize("name", ["7", "3H", "", None, "A194"])
def test_an_unknown_nut_is_refused(name: str) -> None:
    with pytest.raises(BadBolting) as caught:
        nuts.nut(name)
    assert "A194 2H" in caught.value.remedy
