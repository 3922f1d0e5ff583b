"""How hard a torque loads a bolt against what its standard allows. Plan and calculator share this limit.

The mean stress may not pass the proof strength, and the stress together with the twist of tightening may not pass the
yield (VDI 2230 with plastic torsion, at the friction that gives the nut factor). Preloaded structural bolts are
tightened past that by their rules: for them the minimum tensile strength counts.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bolting.friction_and_torque import torque as torques
from assistant.bolting.friction_and_torque import vdi2230
from assistant.bolting.threads_and_strength.bearing import rough_bearing_diameter
from assistant.bolting.threads_and_strength.strength import Strength, bolt_stress, proof_or_estimate
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

STRUCTURAL_SHARE = 0.9
"""Highest mean stress of a preloaded structural bolt, as a share of its minimum tensile strength.

The standards tension to 0.70 (AISC) or 0.77 (1.10 x 0.70, EN 1090-2) of it, past the proof load; 0.9: common practice,
no source."""

_TWO_FRICTIONS = (0.05, 0.15)
_BELOW = 0.999  # a torque that a refusal offers as allowed must not be refused itself


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltLoad:
    """A bolt under a torque.

    Args:
        torque: bolt torque, N*m. preload: F, kN. stress: mean, F/As, MPa.
        proof: proof strength, proof_known how it is known. percent_of_proof: of the mean stress.
        equivalent: von Mises stress while tightening, MPa, at `friction`; both None where no coefficient gives K.
        percent_of_yield: of the equivalent stress, of the mean stress where there is none.
        limit: what is nearest: 'proof', 'yield' or 'tensile'. used: share of it that is used; above 1 is refused.
    """

    torque: Quantity
    preload: Quantity
    stress: Quantity
    proof: Quantity
    proof_known: str
    percent_of_proof: float
    equivalent: Quantity | None
    friction: float | None
    percent_of_yield: float
    limit: str
    used: float

    @property
    def largest_torque(self) -> Quantity:
        """Torque that uses the limit up on these threads, N*m, a trifle below it."""
        return of(magnitude(self.torque, "N*m", name="torque") / self.used * _BELOW, "N*m")


def bolt_load(
    torque: Quantity, thread: Thread, strength: Strength, *, nut_factor: float, structural: bool = False
) -> BoltLoad:
    """What a torque does to a bolt.

    Args:
        torque: at the bolt.
        thread: gives d and As.
        strength: of the bolt.
        nut_factor: K to calculate with.
        structural: whether rules for preloaded structural bolts hold, which tighten past the proof load.

    Raises:
        BadBolting: a K that cannot be one. BadQuantity: torque is not a torque.

    Source: T = K d F; VDI 2230 with plastic torsion; proof strength of the bolt's standard.
    """
    preload = torques.preload_from_torque(torque, thread, nut_factor=nut_factor)
    stress = bolt_stress(preload, thread)
    proof, known = proof_or_estimate(strength)
    friction = friction_of(thread, nut_factor)
    equivalent = None if friction is None else vdi2230.equivalent_stress(preload, thread, friction=friction)
    mean, twisted = _mpa(stress), _mpa(stress if equivalent is None else equivalent)
    shares = {"proof": mean / _mpa(proof), "yield": twisted / _mpa(strength.yield_)}
    if structural:
        shares = {"tensile": mean / (STRUCTURAL_SHARE * _mpa(strength.tensile))}
    limit = max(shares, key=lambda name: shares[name])
    return BoltLoad(
        torque=of(magnitude(torque, "N*m", name="torque"), "N*m"),
        preload=preload,
        stress=stress,
        proof=proof,
        proof_known=known,
        percent_of_proof=100 * mean / _mpa(proof),
        equivalent=equivalent,
        friction=friction,
        percent_of_yield=100 * twisted / _mpa(strength.yield_),
        limit=limit,
        used=shares[limit],
    )


def over_limit(load: BoltLoad, strength: Strength, *, nut_factor: float, thread: Thread, unit: str) -> str:
    """Why a load is over its limit, with the figures; '' when it is not.

    Args:
        load: from `bolt_load`.
        strength: of the bolt.
        nut_factor: K of the same call.
        thread: of the same call.
        unit: torque unit of the text.
    """
    if load.used <= 1:
        return ""
    force, stress = ("kN", "MPa") if thread.system == "metric" else ("kip", "ksi")
    where = f"({strength.grade}, {thread.name})"
    given = f"{show(load.torque, unit)} at nut factor {nut_factor:g} gives {show(load.preload, force)} a bolt"
    if load.limit != "tensile" and load.percent_of_proof > 100:
        share = f"{load.percent_of_proof:.4g} % of the {show(load.proof, stress)} {load.proof_known}"
        return f"{given}, {show(load.stress, stress)}, that is {share} {where}"
    if load.limit == "tensile":
        share = f"over {100 * STRUCTURAL_SHARE:g} % of the tensile strength of {show(strength.tensile, stress)}"
        return f"{given}, {show(load.stress, stress)}, {share} {where}"
    twisted = "its mean stress" if load.equivalent is None else "with the twist of tightening that"
    worst = load.stress if load.equivalent is None else load.equivalent
    return (
        f"{given}; {twisted} is an equivalent stress of {show(worst, stress)}, over the yield of "
        f"{show(strength.yield_, stress)} {where}"
    )


def friction_of(thread: Thread, nut_factor: float) -> float | None:
    """One friction coefficient for thread and bearing face that gives this K; None when no possible one does.

    K is linear in the coefficient (`torque.nut_factor_from_friction`), so that two values of it give the line.
    """
    face = rough_bearing_diameter(thread)
    low, high = (
        torques.nut_factor_from_friction(thread, thread_friction=mu, bearing_friction=mu, bearing_diameter=face)
        for mu in _TWO_FRICTIONS
    )
    slope = (high - low) / (_TWO_FRICTIONS[1] - _TWO_FRICTIONS[0])
    found = _TWO_FRICTIONS[0] + (nut_factor - low) / slope
    try:
        return torques.checked_friction(found, "friction")
    except BadBolting:
        return None


def _mpa(stress: Quantity) -> float:
    return magnitude(stress, "MPa", name="stress")
