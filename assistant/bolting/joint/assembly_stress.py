"""Bolt stress at assembly against the limits that the trade keeps for each kind of joint."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from assistant.bolting.threads_and_strength.strength import Strength, bolt_stress, proof_or_estimate
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.threads_and_strength.working_load import PERMANENT_SHARE, REOPENED_SHARE
from assistant.bolting.units import Quantity, magnitude
from assistant.errors import BadBolting


@dataclass(frozen=True, slots=True, kw_only=True)
class StressLimit:
    """Usual range and highest assembly stress of one kind of joint, in percent of a basis.

    basis: 'yield', 'proof' or 'tensile', the minimum of the bolt's standard. low_percent, high_percent: usual range of
    the target. most_percent: never above without an engineer's word. source: where the figures come from.
    """

    basis: str
    low_percent: float
    high_percent: float
    most_percent: float
    source: str


_FLANGE = StressLimit(
    basis="yield",
    low_percent=40,
    high_percent=60,
    most_percent=70,
    source="50 % of yield as starting target: read as practice in an engineers' forum and an article on ASME PCC-1; "
    "40 to 70 % of yield as the range of bolt limits: ASME PCC-1 appendix O, from memory",
)
_PLAIN = StressLimit(
    basis="proof",
    low_percent=50,
    high_percent=100 * REOPENED_SHARE,
    most_percent=100 * PERMANENT_SHARE,
    source="75 % of proof load for joints to be reopened, 90 % for permanent ones: Shigley eq. 8-31 (read); "
    "50 %: common practice, no source",
)
LIMITS: Mapping[str, StressLimit] = MappingProxyType(
    {
        "gasketed flange": _FLANGE,
        "girth flange": _FLANGE,
        "split clamp coupling": StressLimit(
            basis="yield",
            low_percent=30,
            high_percent=60,
            most_percent=70,
            source="coupling bolts of hydro units at half of yield: read in a public overhaul procedure; "
            "the range around it: common practice, no source",
        ),
        "machine base": _PLAIN,
        "plain pattern": _PLAIN,
        "structural bolt": StressLimit(
            basis="tensile",
            low_percent=66,
            high_percent=78,
            most_percent=90,
            source="70 % of minimum tensile load: AISC 360-05 Table J3.1 (read); 1.10 x that in the second step, of a "
            "nominal strength up to 4 % lower: EN 1090-2 (read in product data); 90 %: common practice, no source",
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyStress:
    """Mean tensile stress of a bolt at assembly and how it stands.

    stress: F/As, MPa. yield_percent: of minimum yield. basis_percent: of the limit's basis. basis: it in words, and
    how it is known (proof may be an estimate). verdict: 'low', 'usual', 'high' or 'too high', the last also when over
    yield. limit: the figures it was held against.
    """

    stress: Quantity
    yield_percent: float
    basis_percent: float
    basis: str
    verdict: str
    limit: StressLimit


def assembly_stress(preload: Quantity, thread: Thread, *, strength: Strength, joint: str) -> AssemblyStress:
    """Hold a preload against the limits of the joint's kind; torsion while tightening is not in it (see `vdi2230`).

    Args:
        preload: F, zero or more; the target for 'low' and 'usual', the upper end of the band for 'too high'.
        thread: gives the stress area.
        strength: of the bolt, from `strength.material`.
        joint: a key of LIMITS.

    Raises:
        BadBolting: unknown kind of joint, preload below zero.

    Source: each limit carries its own.
    """
    if joint not in LIMITS:
        raise BadBolting(f"kind of joint is {joint!r}", remedy="one of: " + ", ".join(LIMITS))
    if magnitude(preload, "N", name="preload") < 0:
        raise BadBolting(f"preload is {magnitude(preload, 'kN', name='preload'):g} kN", remedy="zero or more")
    limit = LIMITS[joint]
    stress = bolt_stress(preload, thread)
    mpa = magnitude(stress, "MPa", name="stress")
    basis, note = _basis(limit.basis, strength)
    of_basis = 100 * mpa / magnitude(basis, "MPa", name=limit.basis)
    of_yield = 100 * mpa / magnitude(strength.yield_, "MPa", name="yield")
    if of_basis > limit.most_percent or of_yield > 100:
        verdict = "too high"
    elif of_basis > limit.high_percent:
        verdict = "high"
    else:
        verdict = "usual" if of_basis >= limit.low_percent else "low"
    return AssemblyStress(
        stress=stress,
        yield_percent=of_yield,
        basis_percent=of_basis,
        basis=note,
        verdict=verdict,
        limit=limit,
    )


def _basis(basis: str, strength: Strength) -> tuple[Quantity, str]:
    if basis == "proof":
        return proof_or_estimate(strength)
    if basis == "tensile":
        return strength.tensile, f"minimum tensile strength of {strength.standard}"
    return strength.yield_, f"minimum yield of {strength.standard}"
