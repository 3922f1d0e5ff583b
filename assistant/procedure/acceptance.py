"""The acceptance table: what becomes of a reading that was heard. One pure function.

How sure a listener must be is decided by the calibrated thresholds (`models/calibration.json`, through
`speech.voting`); they reach this table as `decision`. The limits of plausibility stand below.

| heard | decision | against window and tool | verdict |
|---|---|---|---|
| one value | accept | inside | accept |
| one value | ask | inside or outside | ask (read back as a question) |
| one value | accept | outside the window | outside |
| one value | any | impossible (tool range, twice or half the setting, another unit, no reading due) | impossible |
| nothing that fits | reject | - | reject |
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from assistant.bolting import units
from assistant.bolting.unit_kinds import TORQUE_UNITS
from assistant.events import Alternative, Measured, Pass

TWICE = 2.0
"""A reading of this many times the setting, or its inverse, is not believed (common practice, no source)."""
UNIT_RATIO_TOLERANCE = 0.01
"""A reading this near to the setting in another unit betrays the other scale (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What to do with a reading.

    Args:
        kind: "accept", "ask", "outside", "impossible" or "reject".
        reading: the value with its unit, as said (the joint's own unit where none was said).
        side, by: for "outside": "low" or "high", and the distance to the window on the wrench's scale.
        reason: for "impossible": "tool-range", "far-off", "unit", "no-reading-due" or "not-a-torque".
        hint: the unit that would explain the value; or "last-pass" when it is the setting of the pass before.
    """

    kind: str
    reading: Measured | None = None
    side: str = ""
    by: Measured | None = None
    reason: str = ""
    hint: str = ""


def judge(heard: Alternative | None, decision: str, *, due: Pass | None, last_setting: Measured | None) -> Verdict:
    """Apply the acceptance table to the best reading.

    Args:
        heard: the best alternative, a value; None when nothing fits.
        decision: "accept", "ask" or "reject", by the thresholds alone.
        due: the pass that is being worked on; None when no reading is due.
        last_setting: the setting of the pass before, to recognise a wrench that was not set anew.

    Source: DESIGN 6 of the project; unit ratios NIST SP 811 (`bolting.units`).
    """
    if heard is None or heard.value is None or decision == "reject":
        return Verdict(kind="reject")
    if due is None or due.setting is None or due.low is None or due.high is None:
        return Verdict(kind="impossible", reason="no-reading-due")
    if heard.value <= 0 or (heard.unit is not None and heard.unit not in TORQUE_UNITS):
        return Verdict(kind="impossible", reason="not-a-torque")
    unit = due.setting.unit
    reading = Measured(heard.value, heard.unit or unit)
    on_scale = in_unit(reading, unit)
    setting = float(due.setting.value)
    inside = float(due.low.value) - TINY <= on_scale <= float(due.high.value) + TINY
    if not inside:
        wrong = _impossible(reading, on_scale, heard.unit is None, due)
        if wrong is not None:
            return wrong
    if decision != "accept":
        return Verdict(kind="ask", reading=reading)
    if inside:
        return Verdict(kind="accept", reading=reading)
    side = "low" if on_scale < setting else "high"
    edge = float(due.low.value if side == "low" else due.high.value)
    hint = "last-pass" if last_setting is not None and abs(on_scale - in_unit(last_setting, unit)) < TINY else ""
    return Verdict(
        kind="outside", reading=reading, side=side, by=Measured(_tidy(abs(on_scale - edge)), unit), hint=hint
    )


TINY = 1e-6
"""Slack for converted values: 200 N*m -> lbf*ft -> N*m is 200.00000000000006."""


def _impossible(reading: Measured, on_scale: float, unit_unspoken: bool, due: Pass) -> Verdict | None:
    assert due.setting is not None
    setting = float(due.setting.value)
    if unit_unspoken:
        for other in TORQUE_UNITS:
            ratio = in_unit(due.setting, other) / setting
            if other != due.setting.unit and abs(on_scale / setting / ratio - 1) < UNIT_RATIO_TOLERANCE:
                return Verdict(kind="impossible", reading=reading, reason="unit", hint=other)
    if due.tool_low is not None and on_scale < in_unit(due.tool_low, due.setting.unit) - TINY:
        return Verdict(kind="impossible", reading=reading, reason="tool-range")
    if due.tool_high is not None and on_scale > in_unit(due.tool_high, due.setting.unit) + TINY:
        return Verdict(kind="impossible", reading=reading, reason="tool-range")
    if on_scale >= TWICE * setting or on_scale <= setting / TWICE:
        return Verdict(kind="impossible", reading=reading, reason="far-off")
    return None


def in_unit(value: Measured, unit: str) -> float:
    """Number of `unit` in a recorded torque; the number itself, untouched, where the unit is the same."""
    if value.unit == unit:
        return float(value.value)
    return float(units.convert(units.torque(value), unit).magnitude)


def _tidy(number: float) -> Decimal:
    return Decimal(f"{number:.1f}").normalize() if number < 10 else Decimal(f"{number:.0f}")
