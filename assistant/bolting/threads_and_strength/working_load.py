"""What an outside tension load does to a preloaded bolt: Shigley's joint constant and the three factors.

Symbols: kb, km stiffness of bolt and members, C share of the outside load P that the bolt takes, Fi preload, At stress
area, Sp proof strength. Valid while the joint stays closed (n0 above 1).
Source: Shigley, Mechanical Engineering Design, 9th ed. sec. 8-7 to 8-9, Example 8-3 and p. 449 (read).
"""

from __future__ import annotations

from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

REOPENED_SHARE = 0.75  # of proof load, for joints that will be reopened (eq. 8-31, read)
PERMANENT_SHARE = 0.90  # of proof load, for permanent joints (eq. 8-32, read)


def preload_of_share(proof_load: Quantity, share: float) -> Quantity:
    """Preload as a share of the proof load, kN (0.75 reopened, 0.90 permanent joints; Shigley eq. 8-31, 8-32).

    Raises:
        BadBolting: share not above 0, or above 1.
    """
    if not 0 < share <= 1:
        raise BadBolting(f"share of proof load is {share:g}", remedy="Above 0, at most 1 (usual: 0.75 and 0.90).")
    return of(share * magnitude(proof_load, "kN", name="proof load"), "kN")


def joint_constant(bolt: Quantity, members: Quantity) -> float:
    """C = kb/(kb + km) of two stiffnesses; BadBolting unless both are above zero."""
    kb, km = (magnitude(k, "N/mm", name="stiffness") for k in (bolt, members))
    if kb <= 0 or km <= 0:
        raise BadBolting(f"stiffness of bolt {kb:g} and members {km:g} N/mm", remedy="Both above zero.")
    return kb / (kb + km)


def _share(constant: float) -> float:
    if not 0 < constant < 1:
        raise BadBolting(f"joint constant is {constant:g}", remedy="C = kb/(kb + km) lies between 0 and 1.")
    return constant


def service_stress(preload: Quantity, load: Quantity, area: Quantity, *, constant: float) -> Quantity:
    """Bolt stress under an outside load in MPa: (C P + Fi)/At; arguments a preload, a force, an area and C."""
    force = _share(constant) * magnitude(load, "N", name="load") + magnitude(preload, "N", name="preload")
    return of(force / magnitude(area, "mm2", name="stress area"), "MPa")


def yield_factor(preload: Quantity, load: Quantity, proof_load: Quantity, *, constant: float) -> float:
    """How far the bolt is from its proof strength under load: np = Sp At/(C P + Fi)."""
    force = _share(constant) * magnitude(load, "N", name="load") + magnitude(preload, "N", name="preload")
    return magnitude(proof_load, "N", name="proof load") / force


def load_factor(preload: Quantity, load: Quantity, proof_load: Quantity, *, constant: float) -> float:
    """By how much the load may grow until the bolt reaches proof strength: nL = (Sp At - Fi)/(C P)."""
    reserve = magnitude(proof_load, "N", name="proof load") - magnitude(preload, "N", name="preload")
    return reserve / (_share(constant) * _positive(load))


def separation_factor(preload: Quantity, load: Quantity, *, constant: float) -> float:
    """By how much the load may grow until the joint opens: n0 = Fi/(P (1 - C))."""
    return magnitude(preload, "N", name="preload") / (_positive(load) * (1 - _share(constant)))


def _positive(load: Quantity) -> float:
    newtons = magnitude(load, "N", name="load")
    if newtons <= 0:
        raise BadBolting(f"outside load is {newtons:g} N", remedy="A tension load above zero.")
    return newtons
