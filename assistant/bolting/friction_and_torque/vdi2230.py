"""Assembly preload and torque at a share of yield, after VDI 2230: tension and torsion together.

Symbols: FM assembly preload, As stress area, d0 its diameter, d2 pitch diameter, P pitch, mu friction coefficient,
nu share of yield, MG torque in the thread. Editions differ: with fully plastic torsion (2003 on) the factor in the
root is 1.5, with elastic torsion it is 2; older tables are lower.
"""

from __future__ import annotations

import math

from assistant.bolting.friction_and_torque.torque import checked_friction, torque_shares
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

_TORSION = {"plastic": 12.0, "elastic": 16.0}  # section modulus pi d0^3 / n


def _torsion_divisor(torsion: str) -> float:
    if torsion not in _TORSION:
        raise BadBolting(f"torsion is {torsion!r}", remedy="'plastic' (VDI 2230:2003 on) or 'elastic'.")
    return _TORSION[torsion]


def thread_torque(preload: Quantity, thread: Thread, *, friction: float) -> Quantity:
    """MG = F (d2/2) ( P/(pi d2) + mu/cos 30 deg ), N*m: what twists the shank while tightening."""
    mu = checked_friction(friction, "thread friction")
    d2 = magnitude(thread.pitch_diameter, "m", name="pitch diameter")
    arm = d2 / 2 * (magnitude(thread.pitch, "m", name="pitch") / (math.pi * d2) + mu / math.cos(math.radians(30)))
    return of(magnitude(preload, "N", name="preload") * arm, "N*m")


def equivalent_stress(preload: Quantity, thread: Thread, *, friction: float, torsion: str = "plastic") -> Quantity:
    """Von Mises stress while tightening, MPa: sqrt(sigma^2 + 3 tau^2).

    tau = MG/(pi d0^3/n) with n = 12 for plastic and 16 for elastic torsion.

    Args:
        preload: tension in the bolt.
        thread: gives As, d0, d2, P.
        friction: thread friction coefficient, 0.02 to 0.6.
        torsion: "plastic" as in VDI 2230:2003 and later, or "elastic".

    Raises:
        BadBolting: friction or torsion not known.
    """
    area = magnitude(thread.stress_area, "mm2", name="stress area")
    d0 = math.sqrt(4 * area / math.pi)
    twist = magnitude(thread_torque(preload, thread, friction=friction), "N*mm", name="thread torque")
    sigma = magnitude(preload, "N", name="preload") / area
    tau = twist * _torsion_divisor(torsion) / (math.pi * d0**3)
    return of(math.sqrt(sigma**2 + 3 * tau**2), "MPa")


def assembly_preload(
    thread: Thread, yield_: Quantity, *, friction: float, share: float = 0.9, torsion: str = "plastic"
) -> Quantity:
    """Preload FM in kN at which the equivalent stress is a share of yield.

    FM = As nu Rp0.2 / sqrt(1 + 3 [ (3/2 or 2) (d2/d0) ( P/(pi d2) + 1.155 mu ) ]^2).

    Args:
        thread: gives As, d0, d2, P.
        yield_: minimum Rp0.2 of the bolt.
        friction: thread friction coefficient, 0.02 to 0.6.
        share: nu, above 0 and at most 1; VDI 2230 tables use 0.9.
        torsion: "plastic" (2003 on) or "elastic".

    Raises:
        BadBolting: friction, share or torsion out of range.

    Source: VDI 2230 (2003 and later; formula from memory, reproduces a public copy of its tables within 1 %).
    """
    if not 0 < share <= 1:
        raise BadBolting(f"share of yield is {share:g}", remedy="Above 0 and at most 1; VDI 2230 uses 0.9.")
    one_newton = magnitude(
        equivalent_stress(of(1.0, "N"), thread, friction=friction, torsion=torsion), "MPa", name="stress"
    )
    return of(share * magnitude(yield_, "MPa", name="yield") / one_newton / 1000, "kN")


def assembly_torque(
    preload: Quantity, thread: Thread, *, thread_friction: float, bearing_friction: float, bearing_diameter: Quantity
) -> Quantity:
    """MA = FM ( 0.16 P + 0.58 d2 mu_t + (DKm/2) mu_b ), N*m.

    Takes the exact 1/(2 pi) and 1/(2 cos 30 deg) for 0.16 and 0.58. Args and errors as `torque.torque_shares`.
    Source: VDI 2230 (formula from memory; reproduces a public copy of its fine thread table within 1.5 %).
    """
    return torque_shares(
        preload,
        thread,
        thread_friction=thread_friction,
        bearing_friction=bearing_friction,
        bearing_diameter=bearing_diameter,
    ).total


def minimum_preload(largest: Quantity, *, tightening_factor: float) -> Quantity:
    """FMmin = FMmax / alpha_A in kN; alpha_A is at least 1 (VDI 2230; worked use read in a public page)."""
    if not tightening_factor >= 1:
        raise BadBolting(f"tightening factor is {tightening_factor:g}", remedy="alpha_A = FMmax/FMmin, 1 or more.")
    return of(magnitude(largest, "kN", name="largest preload") / tightening_factor, "kN")
