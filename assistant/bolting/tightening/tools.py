"""The figure to set on the wrench for a bolt torque: rounded to its scale, checked against range and calibration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_DOWN, Decimal

from assistant.bolting.tightening.tool_accuracy import USUAL_LEAST_SHARE, achieved_window, check_calibration
from assistant.bolting.tightening.tool_train import (
    Adapter,
    Multiplier,
    Tools,
    Wrench,
    bolt_torque,
    reaction_torque,
    wrench_torque,
)
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import UnsafeJoint

__all__ = [
    "Adapter",
    "Multiplier",
    "Setting",
    "Tools",
    "Wrench",
    "bolt_torque",
    "to_graduation",
    "wrench_setting",
]

_COARSE_PERCENT = 2.0  # a rounding larger than this is worth a warning (common practice, no source)


@dataclass(frozen=True, slots=True)
class Warned:
    """What an engineer must see about a tool: which warning, the tool, a sentence, its percentage where it has one."""

    name: str
    tool: str
    text: str
    percent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What to set, and what the bolt then gets; torques in N*m except `scale_value`.

    Args:
        setting: on the wrench, after rounding.
        scale_value: the same as a plain number in `unit`, as printed on the scale.
        exact: before rounding. rounding_percent: (setting - exact)/exact x 100.
        at_bolt: bolt torque at this setting. low, high: bolt torque at the tool's accuracy.
        reaction: couple on the reaction arm, None without a multiplier.
        reasons: the calculation line by line. warnings: what an engineer must see.
    """

    setting: Quantity
    scale_value: Decimal
    unit: str
    exact: Quantity
    rounding_percent: float
    at_bolt: Quantity
    low: Quantity
    high: Quantity
    reaction: Quantity | None
    reasons: tuple[str, ...]
    warnings: tuple[Warned, ...]


def to_graduation(value: Quantity, wrench: Wrench) -> Decimal:
    """Nearest mark of the scale, as the number printed there; halfway rounds down, never over the target.

    Source: nearest multiple, common practice, no source.
    """
    number = Decimal(repr(round(magnitude(value, wrench.unit, name="wrench torque"), 9)))
    step = Decimal(repr(round(magnitude(wrench.graduation, wrench.unit, name="graduation"), 9)))
    return (number / step).quantize(Decimal(1), rounding=ROUND_HALF_DOWN) * step


def wrench_setting(target: Quantity, tools: Tools, *, today: date) -> Setting:
    """Setting for a bolt torque, with reasons.

    Args:
        target: torque that the bolt shall get.
        tools: wrench, and adapter or multiplier if there is one.
        today: day of the job; the calibration must still hold then.

    Raises:
        UnsafeJoint: setting outside the wrench's range, multiplier overloaded, calibration run out.
        BadQuantity: target is not a torque.
    """
    wrench, unit = tools.wrench, tools.wrench.unit
    reasons = [check_calibration(wrench.name, due=wrench.calibration_due, today=today, cycles=wrench.cycles)]
    reasons.append(_train(target, tools))
    _refuse_overload(target, tools)
    exact = wrench_torque(target, tools)
    scale = to_graduation(exact, wrench)
    setting = of(float(scale), unit) if scale > 0 else exact
    low, high = (magnitude(value, unit, name="range") for value in (wrench.lowest, wrench.highest))
    if not low * (1 - 1e-9) <= float(scale) <= high * (1 + 1e-9):
        raise UnsafeJoint(
            f"{wrench.name}: needs {show(exact, unit)} for {show(target, unit)} at the bolt",
            remedy=f"Its range is {low:g} to {high:g} {unit}; take another wrench, adapter or multiplier.",
        )
    exact_number = magnitude(exact, unit, name="exact")
    rounding = 100 * (float(scale) - exact_number) / exact_number
    at_bolt = bolt_torque(setting, tools)
    window = achieved_window(at_bolt, tolerance_percent=tools.accuracy_percent)
    reasons.append(
        f"set {scale.normalize():f} {unit}: {show(exact, unit)} to the nearest {show(wrench.graduation, unit)} "
        f"({rounding:+.2f} %); bolt gets {show(at_bolt, unit)} +/- {tools.accuracy_percent:g} %"
    )
    return Setting(
        setting=of(magnitude(setting, "N*m", name="setting"), "N*m"),
        scale_value=Decimal(f"{scale.normalize():f}"),
        unit=unit,
        exact=exact,
        rounding_percent=rounding,
        at_bolt=at_bolt,
        low=window[0],
        high=window[1],
        reaction=reaction_torque(target, tools.multiplier) if tools.multiplier else None,
        reasons=tuple(reasons),
        warnings=_warnings(scale, high, rounding, tools),
    )


def _train(target: Quantity, tools: Tools) -> str:
    unit = tools.wrench.unit
    parts = [f"bolt torque {show(target, unit)}"]
    if tools.multiplier:
        gear = tools.multiplier
        how = "calibrated factor" if gear.output_factor is not None else f"{gear.ratio:g} x {gear.efficiency:g}"
        parts.append(f"multiplier {gear.name}: / {gear.factor:g} ({how})")
    if tools.adapter:
        parts.append(f"adapter at {tools.adapter.angle_deg:g} deg: / {tools.adapter.factor:.4f} ((L + A cos a)/L)")
    parts.append(f"wrench {show(wrench_torque(target, tools), unit)}")
    return ", ".join(parts)


def _refuse_overload(target: Quantity, tools: Tools) -> None:
    gear = tools.multiplier
    if gear is None or gear.largest_output is None:
        return
    if magnitude(target, "N*m", name="target") > magnitude(gear.largest_output, "N*m", name="largest output"):
        raise UnsafeJoint(
            f"{gear.name}: {show(target, tools.wrench.unit)} wanted at the bolt",
            remedy=f"It may give {show(gear.largest_output, tools.wrench.unit)} at most; take a larger one.",
        )


def _warnings(scale: Decimal, high: float, rounding: float, tools: Tools) -> tuple[Warned, ...]:
    name, found = tools.wrench.name, []
    if float(scale) < USUAL_LEAST_SHARE * high:
        text = f"{name}: setting below 20 % of its capacity (common practice is 20 to 100 %, no source)"
        found.append(Warned("low", name, text, 100 * USUAL_LEAST_SHARE))
    if abs(rounding) > _COARSE_PERCENT:
        text = f"{name}: rounding to its scale moves the torque by {rounding:+.1f} %; a finer scale is better"
        found.append(Warned("rounding", name, text, float(f"{rounding:.1f}")))
    if tools.multiplier:
        text = f"{tools.multiplier.name}: reaction arm on a firm point, hands off that side"
        found.append(Warned("reaction", tools.multiplier.name, text))
    return tuple(found)
