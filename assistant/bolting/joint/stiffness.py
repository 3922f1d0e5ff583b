"""How far bolts stretch and joints give: elongation, stiffness, nut turn, and what embedding takes away.

Symbols: F preload, L length, A area, E modulus, kb and kj stiffness of bolt and of clamped parts, P thread pitch,
fZ embedding (surfaces pressed smooth after tightening).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

STRETCH_SHARE_OF_YIELD = 0.5
"""Coupling bolts of hydro units are stretched to half of yield, measured by length.

Source: hydro overhaul procedure of a US water agency, section VI (read in a public copy)."""

# roughness Rz -> (thread, each head or nut face, each joint between parts), micrometres
EMBEDDING_UM: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {"below 10 um": (3.0, 2.5, 1.5), "10 to 40 um": (3.0, 3.0, 2.0), "40 to 160 um": (3.0, 4.0, 3.0)}
)
"""Guide values of embedding for axially loaded steel joints. Source: VDI 2230 table 5, from memory."""


def _above_zero(value: Quantity, unit: str, name: str) -> float:
    number = magnitude(value, unit, name=name)
    if number <= 0:
        raise BadBolting(f"{name} is {number:g} {unit}", remedy="a value above zero")
    return number


def elongation(preload: Quantity, length: Quantity, *, area: Quantity, modulus: Quantity) -> Quantity:
    """Elongation dL = F L/(A E) in mm.

    Args:
        preload: F, not below zero.
        length: L of the stressed bolt between the nut faces; how much of the nuts counts is not added here.
        area: A of that length.
        modulus: E.

    Raises:
        BadBolting: length, area or modulus not above zero, preload below zero.

    Source: Hooke; worked rows recomputed.
    """
    force = magnitude(preload, "N", name="preload")
    if force < 0:
        raise BadBolting(f"preload is {force:g} N", remedy="zero or more")
    stress = force / _above_zero(area, "mm2", "area")
    return elongation_at_stress(of(stress, "MPa"), length, modulus=modulus)


def elongation_at_stress(stress: Quantity, length: Quantity, *, modulus: Quantity) -> Quantity:
    """Elongation dL = S L/E in mm for a mean tensile stress S; arguments, errors and source as `elongation`."""
    strain = magnitude(stress, "MPa", name="stress") / _above_zero(modulus, "MPa", "modulus")
    return of(strain * _above_zero(length, "mm", "length"), "mm")


def bolt_stiffness(sections: Sequence[tuple[Quantity, Quantity]], *, modulus: Quantity) -> Quantity:
    """Stiffness kb in kN/mm of a bolt in sections: 1/k = sum of L/(E A).

    Args:
        sections: (length, area) of shank, free thread and so on, between the faces.
        modulus: E.

    Raises:
        BadBolting: no section, or a value not above zero.

    Source: springs in series; worked row recomputed.
    """
    if not sections:
        raise BadBolting("bolt has no section", remedy="at least one (length, area)")
    give = sum(_above_zero(long, "mm", "length") / _above_zero(area, "mm2", "area") for long, area in sections)
    return of(_above_zero(modulus, "MPa", "modulus") / give / 1000, "kN/mm")


def clamped_stiffness(diameter: Quantity, grip: Quantity, *, modulus: Quantity) -> Quantity:
    """Stiffness kj in kN/mm of parts of one material under a bolt, as two frusta of 30 degrees.

    k = 0.5774 pi E d / (2 ln(5 (0.5774 l + 0.5 d)/(0.5774 l + 2.5 d))), washer face 1.5 d.

    Args:
        diameter: d, nominal bolt diameter.
        grip: l, thickness of the clamped parts.
        modulus: E of the parts.

    Raises:
        BadBolting: a value not above zero.

    Source: Shigley 9th ed. eq. 8-22 (from memory). Wide parts only; a gasket is not in it.
    """
    d, long = _above_zero(diameter, "mm", "diameter"), _above_zero(grip, "mm", "grip")
    shape = 2 * math.log(5 * (0.5774 * long + 0.5 * d) / (0.5774 * long + 2.5 * d))
    return of(0.5774 * math.pi * _above_zero(modulus, "MPa", "modulus") * d / shape / 1000, "kN/mm")


def block_stiffness(area: Quantity, thickness: Quantity, *, modulus: Quantity) -> Quantity:
    """Stiffness k = E A/t in kN/mm of an evenly pressed block, e.g. the share of a gasket under one bolt.

    Args:
        area: pressed area.
        thickness: in the direction of the force.
        modulus: E.

    Raises:
        BadBolting: a value not above zero.

    Source: Hooke.
    """
    face, thick = _above_zero(area, "mm2", "area"), _above_zero(thickness, "mm", "thickness")
    return of(_above_zero(modulus, "MPa", "modulus") * face / thick / 1000, "kN/mm")


def in_series(*stiffnesses: Quantity) -> Quantity:
    """Stiffness of parts one behind the other, kN/mm: 1/k = sum of 1/k_i; BadBolting when one is not above zero."""
    return of(1 / sum(1 / _above_zero(one, "kN/mm", "stiffness") for one in stiffnesses), "kN/mm")


def joint_share(bolt: Quantity, joint: Quantity) -> float:
    """kj/(kj + kb), no unit: near 1 for a long slim bolt in a stiff joint; BadBolting when one is not above zero."""
    kb, kj = _above_zero(bolt, "kN/mm", "bolt stiffness"), _above_zero(joint, "kN/mm", "joint stiffness")
    return kj / (kj + kb)


def nut_turn(preload: Quantity, *, bolt: Quantity, pitch: Quantity, joint: Quantity | None = None) -> Quantity:
    """Turn of the nut from snug to the preload, in degrees: 360 F (1/kb + 1/kj)/P.

    Args:
        preload: F, not below zero.
        bolt: kb.
        pitch: P, thread pitch.
        joint: kj; None takes the parts as rigid, which gives the smallest turn.

    Raises:
        BadBolting: a stiffness or the pitch not above zero, preload below zero.

    Source: computed; worked row recomputed.
    """
    force = magnitude(preload, "kN", name="preload")
    if force < 0:
        raise BadBolting(f"preload is {force:g} kN", remedy="zero or more")
    way = force / _whole(bolt, joint)
    return of(360 * way / _above_zero(pitch, "mm", "pitch"), "deg")


def embedding(roughness: str, *, faces: int, joints: int) -> Quantity:
    """Guide value of fZ in mm for one bolt.

    Args:
        roughness: a key of EMBEDDING_UM.
        faces: bearing faces of head and nut, 0 to 2.
        joints: joints between clamped parts, 0 or more.

    Raises:
        BadBolting: unknown roughness, or a count out of range.

    Source: VDI 2230 table 5, from memory; steel, axial load.
    """
    if roughness not in EMBEDDING_UM:
        raise BadBolting(f"roughness is {roughness!r}", remedy="one of: " + ", ".join(EMBEDDING_UM))
    if not 0 <= faces <= 2 or joints < 0:
        raise BadBolting(f"embedding of {faces} faces and {joints} joints", remedy="0 to 2 faces, 0 or more joints")
    thread, face, joint = EMBEDDING_UM[roughness]
    return of((thread + faces * face + joints * joint) / 1000, "mm")


def embedding_loss(settled: Quantity, *, bolt: Quantity, joint: Quantity | None = None) -> Quantity:
    """Preload lost, dF = fZ/(1/kb + 1/kj), in kN: long bolts lose less.

    Args:
        settled: fZ, not below zero.
        bolt: kb.
        joint: kj; None takes the parts as rigid, which gives the largest loss.

    Raises:
        BadBolting: a stiffness not above zero, embedding below zero.

    Source: VDI 2230 (from memory); worked rows recomputed.
    """
    way = magnitude(settled, "mm", name="embedding")
    if way < 0:
        raise BadBolting(f"embedding is {way:g} mm", remedy="zero or more")
    return of(way * _whole(bolt, joint), "kN")


def _whole(bolt: Quantity, joint: Quantity | None) -> float:
    both = bolt if joint is None else in_series(bolt, joint)
    return _above_zero(both, "kN/mm", "bolt stiffness")
