"""What temperature does to preload: the change to expect at a hot re-check, and when a start-up re-torque is allowed.

Symbols: F preload, alpha mean expansion, E modulus, As stress area, s = kj/(kj + kb) joint share, eps free thermal
strain. With one clamped length for bolt and joint, dF = (eps_joint - eps_bolt) E As s, and a modulus that falls with
heat by the ratio r lowers the whole: F_hot = r (F + dF). A hot flange with a cooler bolt tightens on heat-up; the
reverse slackens.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bolting.threads_and_strength import temperature_properties
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

START_UP_LIMIT = of(232.0, "degC")
"""Temperature of flange and bolt above which no start-up re-torque is made (450 degF).

Source: a public fastener glossary (read); above it the lubricant behaves otherwise, and bolts begin to relax at about
230 degC (abstract of an ASME PVP2017 paper, read)."""

ASSEMBLY_NOTE = "assembled at 20 degC; gasket creep is not in it"
_COLDEST_K, _HOTTEST_K = 173.15, 1073.15
_TABLE_START = of(70.0, "degF")
_STILL_SHARE = 0.02


def _kelvin(temperature: Quantity, name: str) -> float:
    value = magnitude(temperature, "K", name=name)
    if not _COLDEST_K <= value <= _HOTTEST_K:
        raise BadBolting(
            f"{name} is {show(temperature, 'degC')}", remedy="a temperature (not a difference) from -100 to 800 degC"
        )
    return value


def steel_strain(steel: str, *, cold: Quantity, hot: Quantity) -> float:
    """Free thermal strain of a steel of `temperature_properties.STEELS`, from its mean expansions from 70 degF.

    Args:
        steel: key of STEELS.
        cold: temperature at assembly; below 70 degF the first coefficient of the table is used.
        hot: temperature to compare, up to the end of the table.

    Raises:
        BadBolting: unknown steel, temperature out of range or above the table.

    Source: ASME II-D Table TE-1 coefficient B as in `temperature_properties`.
    """
    return _from_70_degf(steel, hot, "hot temperature") - _from_70_degf(steel, cold, "cold temperature")


def _from_70_degf(steel: str, temperature: Quantity, name: str) -> float:
    start, at = _kelvin(_TABLE_START, "table start"), _kelvin(temperature, name)
    mean = temperature_properties.mean_expansion(steel, temperature if at > start else _TABLE_START)
    return magnitude(mean, "1/K", name="expansion") * (at - start)


def preload_change(
    *, joint_strain: float, bolt_strain: float, modulus: Quantity, area: Quantity, joint_share: float
) -> Quantity:
    """Change of preload dF = (eps_joint - eps_bolt) E As s, in kN; above zero the bolt gets tighter.

    Args:
        joint_strain: free thermal strain of the clamped parts.
        bolt_strain: free thermal strain of the bolt.
        modulus: E of the bolt.
        area: As.
        joint_share: s = kj/(kj + kb), above 0 up to 1, from `stiffness.joint_share`; 1 is the largest change.

    Raises:
        BadBolting: modulus or area not above zero, joint share out of range.

    Source: CHECKS on temperature (computed rows recomputed).
    """
    e, face = magnitude(modulus, "MPa", name="modulus"), magnitude(area, "mm2", name="area")
    if e <= 0 or face <= 0:
        raise BadBolting(f"bolt of {face:g} mm2 with a modulus of {e:g} MPa", remedy="values above zero")
    if not 0 < joint_share <= 1:
        raise BadBolting(f"joint share is {joint_share:g}", remedy="above 0, at most 1")
    return of((joint_strain - bolt_strain) * e * face * joint_share / 1000, "kN")


@dataclass(frozen=True, slots=True, kw_only=True)
class HotPreload:
    """What to expect hot.

    change: F_hot - F, kN. hot: F_hot, kN, never below zero (then the joint is open: `opens`). ratio: F_hot/F.
    trend: 'tighter', 'slacker' or 'the same' (within 2 %). opens: the bolt would be slack.
    """

    change: Quantity
    hot: Quantity
    ratio: float
    trend: str
    opens: bool


def hot_preload(preload: Quantity, *, change: Quantity, modulus_ratio: float) -> HotPreload:
    """F_hot = r (F + dF).

    Args:
        preload: F at assembly, above zero, kN and so on.
        change: dF from `preload_change`, with the modulus at assembly temperature.
        modulus_ratio: r = E hot / E cold, above 0 up to 1.1; 1 where it is not known.

    Raises:
        BadBolting: preload not above zero, ratio out of range.

    Source: springs in series with one modulus ratio for bolt and joint; computed.
    """
    cold = magnitude(preload, "kN", name="preload")
    if cold <= 0:
        raise BadBolting(f"preload is {cold:g} kN", remedy="a preload above zero")
    if not 0 < modulus_ratio <= 1.1:
        raise BadBolting(f"modulus ratio is {modulus_ratio:g}", remedy="above 0, at most 1.1")
    whole = modulus_ratio * (cold + magnitude(change, "kN", name="change"))
    hot = max(whole, 0.0)
    ratio = hot / cold
    trend = "the same" if abs(ratio - 1) <= _STILL_SHARE else ("tighter" if ratio > 1 else "slacker")
    return HotPreload(change=of(hot - cold, "kN"), hot=of(hot, "kN"), ratio=ratio, trend=trend, opens=whole <= 0)


def steel_joint_hot(
    preload: Quantity,
    *,
    joint_steel: str,
    bolt_steel: str,
    cold: Quantity,
    joint_hot: Quantity,
    bolt_hot: Quantity,
    area: Quantity,
    joint_share: float,
) -> HotPreload:
    """What to expect of a joint whose parts and bolts are steels of `temperature_properties.STEELS`.

    Args:
        preload: F at assembly.
        joint_steel: key of STEELS for the clamped parts.
        bolt_steel: key of STEELS for the bolts (`temperature_properties.steel_of_grade`); it needs a modulus table.
        cold: temperature at assembly.
        joint_hot: temperature of the clamped parts at the re-check.
        bolt_hot: temperature of the bolts at the re-check; a bolt is cooler than its flange while heating up.
        area: As.
        joint_share: s = kj/(kj + kb).

    Raises:
        BadBolting: unknown steel, no modulus table for the bolt steel, temperature outside the tables.

    Source: ASME II-D tables as in `temperature_properties`; gasket creep is not in it (see `relaxation`).
    """
    at_start = temperature_properties.modulus(bolt_steel, _TABLE_START)
    warm = bolt_hot if _kelvin(bolt_hot, "bolt temperature") > _kelvin(_TABLE_START, "start") else _TABLE_START
    at_end = temperature_properties.modulus(bolt_steel, warm)
    change = preload_change(
        joint_strain=steel_strain(joint_steel, cold=cold, hot=joint_hot),
        bolt_strain=steel_strain(bolt_steel, cold=cold, hot=bolt_hot),
        modulus=at_start,
        area=area,
        joint_share=joint_share,
    )
    ratio = magnitude(at_end, "GPa", name="modulus") / magnitude(at_start, "GPa", name="modulus")
    return hot_preload(preload, change=change, modulus_ratio=ratio)


def start_up_hindrances(
    temperature: Quantity, *, elastomer: bool, pressurised: bool, written_procedure: bool
) -> tuple[str, ...]:
    """Why a start-up re-torque may not be made; empty when nothing forbids it.

    Args:
        temperature: the hotter of flange and bolt, a temperature.
        elastomer: whether the gasket is rubber or the like.
        pressurised: whether the line is under pressure.
        written_procedure: whether a written procedure allows work on the joint in this state.

    Raises:
        BadBolting: temperature out of range.

    Source: 232 degC/450 degF: a public fastener glossary (read); elastomers and zero pressure: a sealing trade body
        (read). One school allows the start-up re-torque, another no retightening at all unless cold.
    """
    found = []
    if _kelvin(temperature, "temperature") > _kelvin(START_UP_LIMIT, "limit") + 1e-9:
        limit = show(START_UP_LIMIT, "degC")
        found.append(f"{show(temperature, 'degC')} is above {limit}: lubricant and bolts no longer behave as cold")
    if elastomer:
        found.append("an elastomer gasket is never re-torqued once it has been hot")
    if pressurised and not written_procedure:
        found.append("a joint under pressure is not touched unless a written procedure says so")
    return tuple(found)
