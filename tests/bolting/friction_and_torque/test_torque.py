"""Torque and preload: both ways, both forms, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.friction_and_torque import torque, vdi2230
from assistant.bolting.threads_and_strength import bearing
from assistant.bolting.threads_and_strength.threads import thread
from assistant.errors import BadBolting, BadQuantity

SIZES = st.sampled_from(["M8", "M20", "M20x1.5", "M64", "3/4-10", "1 1/8-8 UN"])
MU = st.floats(0.05, 0.35)
K = st.floats(0.08, 0.4)
KN = st.floats(1, 3000)
FORCES = st.sampled_from(["kN", "N", "lbf", "kip", "kgf"])
TORQUES = st.sampled_from(["N*m", "lbf*ft", "lbf*in", "kgf*m", "kN*m"])


def nm(value: units.Quantity) -> float:
    return units.magnitude(value, "N*m", name="torque")


def kn(value: units.Quantity) -> float:
    return units.magnitude(value, "kN", name="force")


def long_form(size: str, mu_t: float, mu_b: float) -> dict[str, Any]:
    return {
        "thread": thread(size),
        "thread_friction": mu_t,
        "bearing_friction": mu_b,
        "bearing_diameter": bearing.rough_bearing_diameter(thread(size)),
    }


@settings(deadline=None)
@given(SIZES, K, KN, FORCES, TORQUES)
def test_short_form_there_and_back_in_any_unit_gives_the_same_preload(
    size: str, k: float, force: float, force_unit: str, torque_unit: str
) -> None:
    preload = units.convert(units.of(force, "kN"), force_unit)
    t = units.convert(torque.torque_from_preload(preload, thread(size), nut_factor=k), torque_unit)
    assert kn(torque.preload_from_torque(t, thread(size), nut_factor=k)) == pytest.approx(force, rel=1e-9)
    assert nm(torque.torque_from_preload(preload, thread(size).diameter, nut_factor=k)) == pytest.approx(nm(t))


@settings(deadline=None)
@given(SIZES, MU, MU, KN)
def test_long_form_there_and_back_and_equal_to_the_short_form_with_its_nut_factor(
    size: str, mu_t: float, mu_b: float, force: float
) -> None:
    how = long_form(size, mu_t, mu_b)
    shares = torque.torque_shares(units.of(force, "kN"), **how)
    k = torque.nut_factor_from_friction(**how)
    if 0.05 <= k <= 0.6:
        short = torque.torque_from_preload(units.of(force, "kN"), thread(size), nut_factor=k)
        assert nm(short) == pytest.approx(nm(shares.total), rel=1e-9)
    assert sum(shares.percent) == pytest.approx(100)


@settings(deadline=None)
@given(SIZES, MU, MU, KN, st.floats(1.01, 2))
def test_more_preload_or_more_friction_needs_more_torque(
    size: str, mu_t: float, mu_b: float, force: float, more: float
) -> None:
    first = nm(torque.torque_shares(units.of(force, "kN"), **long_form(size, mu_t, mu_b)).total)
    harder = nm(torque.torque_shares(units.of(force * more, "kN"), **long_form(size, mu_t, mu_b)).total)
    rougher = nm(torque.torque_shares(units.of(force, "kN"), **long_form(size, mu_t * 1.2, mu_b)).total)
    rusty_face = nm(torque.torque_shares(units.of(force, "kN"), **long_form(size, mu_t, mu_b * 1.2)).total)
    assert harder == pytest.approx(first * more)
    assert min(rougher, rusty_face) > first


@pytest.mark.parametrize("k", [0.0, -0.2, 0.01, 0.9, 12.0, float("nan"), float("inf")])
def test_a_number_that_is_no_nut_factor_is_refused(k: float) -> None:
    with pytest.raises(BadBolting, match="nut factor"):
        torque.torque_from_preload(units.of(100, "kN"), thread("M20"), nut_factor=k)
    with pytest.raises(BadBolting, match="nut factor"):
        torque.preload_from_torque(units.of(100, "N*m"), thread("M20"), nut_factor=k)


@pytest.mark.parametrize("mu", [0.0, -0.1, 0.7, float("nan")])
def test_a_number_that_is_no_friction_coefficient_is_refused(mu: float) -> None:
    with pytest.raises(BadBolting, match="friction"):
        torque.torque_shares(units.of(100, "kN"), **long_form("M20", mu, 0.12))
    with pytest.raises(BadBolting, match="friction"):
        vdi2230.thread_torque(units.of(100, "kN"), thread("M20"), friction=mu)


def test_quantities_of_the_wrong_dimension_are_refused() -> None:
    with pytest.raises(BadQuantity):
        torque.torque_from_preload(units.of(100, "N*m"), thread("M20"), nut_factor=0.2)
    with pytest.raises(BadQuantity):
        torque.preload_from_torque(units.of(100, "kN"), thread("M20"), nut_factor=0.2)
    with pytest.raises(BadQuantity, match="energy"):
        torque.preload_from_torque(units.REGISTRY.Quantity(100.0, "joule"), thread("M20"), nut_factor=0.2)
    with pytest.raises(BadBolting):
        torque.torque_from_preload(units.of(100, "kN"), units.of(0, "mm"), nut_factor=0.2)
    with pytest.raises(BadBolting):
        torque.torque_shares(
            units.of(1, "kN"),
            thread("M8"),
            thread_friction=0.1,
            bearing_friction=0.1,
            bearing_diameter=units.of(0, "mm"),
        )


@settings(deadline=None)
@given(SIZES, MU, st.floats(0.1, 1), st.sampled_from(["plastic", "elastic"]))
def test_the_assembly_preload_stresses_the_bolt_to_exactly_the_share_of_yield(
    size: str, mu: float, share: float, torsion: str
) -> None:
    preload = vdi2230.assembly_preload(thread(size), units.of(640, "MPa"), friction=mu, share=share, torsion=torsion)
    stress = vdi2230.equivalent_stress(preload, thread(size), friction=mu, torsion=torsion)
    assert units.magnitude(stress, "MPa", name="s") == pytest.approx(640 * share, rel=1e-9)


@settings(deadline=None)
@given(SIZES, MU)
def test_plastic_torsion_allows_more_preload_than_elastic(size: str, mu: float) -> None:
    both = [
        kn(vdi2230.assembly_preload(thread(size), units.of(640, "MPa"), friction=mu, torsion=torsion))
        for torsion in ("plastic", "elastic")
    ]
    assert both[0] > both[1]


@pytest.mark.parametrize("share", [0.0, -0.5, 1.1, float("nan")])
def test_a_share_of_yield_over_one_or_below_zero_is_refused(share: float) -> None:
    with pytest.raises(BadBolting, match="share"):
        vdi2230.assembly_preload(thread("M20"), units.of(640, "MPa"), friction=0.12, share=share)


def test_unknown_torsion_and_a_tightening_factor_below_one_are_refused() -> None:
    with pytest.raises(BadBolting, match="torsion"):
        vdi2230.equivalent_stress(units.of(1, "kN"), thread("M20"), friction=0.12, torsion="half")
    with pytest.raises(BadBolting, match="tightening factor"):
        vdi2230.minimum_preload(units.of(1, "kN"), tightening_factor=0.9)


@pytest.mark.parametrize("size", [f"M{size}" for size in bearing.HEXAGON])
def test_bearing_faces_are_rings_around_the_hole(size: str) -> None:
    for style in ("hexagon", "washer face"):
        face = bearing.bearing_face(thread(size), style)
        inner, outer = (units.magnitude(d, "mm", name="d") for d in (face.inner, face.outer))
        mean, friction = (units.magnitude(d, "mm", name="d") for d in (face.mean_diameter, face.friction_diameter))
        assert units.magnitude(thread(size).diameter, "mm", name="d") < inner < mean <= friction < outer


def test_a_heavy_hexagon_is_for_unified_threads_and_unknown_faces_are_refused() -> None:
    face = bearing.bearing_face(thread("3/4-10"), "heavy hexagon")
    assert units.magnitude(face.outer, "in", name="d") == pytest.approx(0.95 * 1.25)
    for size, style in (("M20", "heavy hexagon"), ("3/4-10", "hexagon"), ("M72x6", "hexagon"), ("M20", "square")):
        with pytest.raises(BadBolting):
            bearing.bearing_face(thread(size), style)
