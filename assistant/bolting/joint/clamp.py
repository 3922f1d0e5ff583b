"""Split clamp couplings: grip on a pipe and closing force on tapered hubs from the bolt load; fit and even gaps.

Symbols: S bolt load of one side (all bolts of that side), d pipe diameter, L clamp length along the pipe, mu friction
coefficient between clamp and pipe or hub, phi wedge angle from the plane normal to the axis, rho = atan(mu).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

LARGEST_PIPE_DIFFERENCE = of(0.125, "in")
"""How far a heavy pipe may be off its nominal outer diameter. Common practice, no source."""


_HIGHEST_FRICTION = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Grip:
    """What holds the pipe, from lowest (two-line contact) to highest (uniform pressure).

    torque_low, torque_high: friction torque about the pipe axis, N*m. slip_low, slip_high: axial force before it slips,
    kN. pressure: mean contact pressure at uniform contact, MPa.
    """

    torque_low: Quantity
    torque_high: Quantity
    slip_low: Quantity
    slip_high: Quantity
    pressure: Quantity


def side_load(preload: Quantity, bolts_per_side: int) -> Quantity:
    """S in kN: preload of one bolt times the bolts of one side; BadBolting for fewer than one bolt."""
    if isinstance(bolts_per_side, bool) or bolts_per_side < 1:
        raise BadBolting(f"clamp: {bolts_per_side!r} bolts a side", remedy="1 or more")
    return of(_not_below_zero(preload, "kN", "preload") * bolts_per_side, "kN")


def pipe_grip(side: Quantity, *, diameter: Quantity, length: Quantity, friction: float) -> Grip:
    """Grip of a split clamp on a pipe.

    Uniform pressure p = 2 S/(d L): torque pi mu d S, axial slip 2 pi mu S. Two-line contact (the shells bear only in
    the middle, lower bound): torque 2 mu d S, axial slip 4 mu S.

    Args:
        side: S, zero or more.
        diameter: d, outer diameter of the pipe.
        length: L, bearing length of the clamp.
        friction: mu, 0.02 to 0.6.

    Raises:
        BadBolting: a value out of its range.

    Source: statics (check rows recomputed).
    """
    s = _not_below_zero(side, "N", "bolt load of one side")
    d, long = _above_zero(diameter, "pipe diameter"), _above_zero(length, "clamp length")
    mu = _checked_friction(friction)
    return Grip(
        torque_low=of(2 * mu * d * s / 1000, "N*m"),
        torque_high=of(math.pi * mu * d * s / 1000, "N*m"),
        slip_low=of(4 * mu * s / 1000, "kN"),
        slip_high=of(2 * math.pi * mu * s / 1000, "kN"),
        pressure=of(2 * s / (d * long), "MPa"),
    )


def hub_closing_force(side: Quantity, *, angle: Quantity, friction: float) -> Quantity:
    """Axial force that draws two hubs together, Fax = pi S/tan(phi + rho), kN; friction works against closing.

    Args:
        side: S, zero or more.
        angle: phi, above 0; phi + rho below 90 degrees.
        friction: mu, 0.02 to 0.6.

    Raises:
        BadBolting: a value out of its range.

    Source: statics (check row recomputed); the same as W = 0.637 F tan(phi + mu) of ASME VIII-1 app. 24 with W = 2 S
        (from memory; the code writes the friction angle as mu).
    """
    s = _not_below_zero(side, "kN", "bolt load of one side")
    return of(math.pi * s / math.tan(_wedge(angle, friction)), "kN")


def is_self_holding(*, angle: Quantity, friction: float) -> bool:
    """Whether the wedge stays closed by friction when the bolts are slackened: phi < rho. Source: statics."""
    phi = math.radians(magnitude(angle, "deg", name="wedge angle"))
    return phi < math.atan(_checked_friction(friction))


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeFit:
    """How a pipe off its nominal diameter changes the clamp.

    difference: actual - nominal, mm. gap_change_low, gap_change_high: change of each of the two gaps, mm, from rigid
    shells to shells that wrap the pipe (in that order for a thicker pipe). note: how the shells will bear.
    """

    difference: Quantity
    gap_change_low: Quantity
    gap_change_high: Quantity
    note: str


def pipe_fit(nominal: Quantity, actual: Quantity) -> PipeFit:
    """Change of the gaps at the split when the pipe is not of its nominal outer diameter.

    Rigid shells: each gap changes by the difference itself. Shells that wrap the pipe keep their arcs, so the two gaps
    take up the whole change of circumference: pi/2 of the difference each.

    Args:
        nominal: diameter that the clamp is bored for.
        actual: measured outer diameter, within 1/8 in of it.

    Raises:
        BadBolting: a diameter not above zero, or more than 1/8 in off.

    Source: geometry, computed; the limit of 1/8 in: common practice, no source.
    """
    bored, found = _above_zero(nominal, "nominal pipe diameter"), _above_zero(actual, "pipe diameter")
    off = found - bored
    limit = magnitude(LARGEST_PIPE_DIFFERENCE, "mm", name="limit")
    if abs(off) > limit * (1 + 1e-9):
        raise BadBolting(
            f"pipe is {found:g} mm, the clamp is bored for {bored:g} mm: {off:+.3g} mm",
            remedy=f"a pipe within {limit:.4g} mm (1/8 in) of the clamp's bore; else ask for another clamp",
        )
    low, high = sorted((off, math.pi / 2 * off))
    if abs(off) < 1e-9:
        note = "the shells bear all round"
    elif off > 0:
        note = "thicker pipe: the shells bear near the split first; expect wider gaps"
    else:
        note = "thinner pipe: the shells bear in the middle first; count on the lower grip, expect narrower gaps"
    return PipeFit(difference=of(off, "mm"), gap_change_low=of(low, "mm"), gap_change_high=of(high, "mm"), note=note)


def _wedge(angle: Quantity, friction: float) -> float:
    phi = magnitude(angle, "deg", name="wedge angle")
    both = phi + math.degrees(math.atan(_checked_friction(friction)))
    if phi <= 0 or both >= 90:
        raise BadBolting(
            f"wedge angle is {phi:g} deg with friction {friction:g}",
            remedy="above 0; with the friction angle below 90 deg",
        )
    return math.radians(both)


def _checked_friction(friction: float) -> float:
    if not 0.02 <= friction <= _HIGHEST_FRICTION:
        raise BadBolting(f"clamp friction is {friction:g}", remedy=f"0.02 to {_HIGHEST_FRICTION:g}")
    return float(friction)


def _above_zero(length: Quantity, name: str) -> float:
    value = magnitude(length, "mm", name=name)
    if value <= 0:
        raise BadBolting(f"{name} is {value:g} mm", remedy="a length above zero")
    return value


def _not_below_zero(value: Quantity, unit: str, name: str) -> float:
    number = magnitude(value, unit, name=name)
    if number < 0:
        raise BadBolting(f"{name} is {number:g} {unit}", remedy="zero or more")
    return number
