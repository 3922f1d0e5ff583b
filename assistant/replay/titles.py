"""What stages, passes and readings are called on pages and in lists."""

from __future__ import annotations

import math
from decimal import Decimal

from assistant.errors import AssistantError
from assistant.events import Measured, Measurement, Pass, Question, Wait
from assistant.procedure.acceptance import in_unit
from assistant.procedure.state import State

UNIT_SIGNS = {"N*m": "N·m", "lbf*ft": "lbf·ft", "lbf*in": "lbf·in", "kgf*m": "kgf·m"}


def figure(value: Measured) -> str:
    """A measured value in print: '180 N·m'."""
    return f"{number(value)} {UNIT_SIGNS.get(value.unit, value.unit)}"


def number(value: Measured) -> str:
    """The number of a measured value as it was said, without idle zeros: '180'."""
    return plain(value.value)


def plain(value: Decimal) -> str:
    """A decimal without idle zeros; in powers of ten where no wrench shows such a number, so that it stays short."""
    tidy = value.normalize()
    return f"{tidy:f}" if tidy.is_finite() and -9 <= tidy.adjusted() <= 9 else f"{tidy:.6e}"


def pass_title(item: Pass, round_number: int = 1) -> str:
    """'Snug', 'Pass 2, 102 N·m', 'Circular pass, round 2, 170 N·m'; the figure is the wrench's setting."""
    names = {"snug": "Snug", "circular": "Circular pass", "seat": "Tap and re-torque"}
    name = names.get(item.kind, f"Pass {item.number}")
    rounds = f", round {round_number}" if item.goes_round else ""
    return name + rounds + (f", {figure(item.setting)}" if item.setting is not None else "")


def stage_title(state: State, stage: int, round_number: int = 1) -> str:
    """The name of a stage; '' where there is none of that number."""
    if not 1 <= stage <= len(state.stages):
        return ""
    item = state.stages[stage - 1]
    if isinstance(item, Question):
        return ("Hold point: " if item.hold else "Check: ") + item.name
    if isinstance(item, Wait):
        return f"Wait: {item.name}"
    if isinstance(item, Measurement):
        return f"Measured: {item.name}"
    groups = {each.group for each in state.work.passes}
    return (f"{item.group}: " if len(groups) > 1 else "") + pass_title(item, round_number)


def on_scale(value: Measured, unit: str) -> float | None:
    """The reading in another torque unit; None where its own is none (foreign records)."""
    try:
        converted = in_unit(value, unit)
    except (AssistantError, OverflowError, ValueError):
        return None
    return converted if math.isfinite(converted) else None


def length_words(seconds: float) -> str:
    """'3 min', '1 h 05 min', '40 s'."""
    whole = max(0, round(seconds))
    if whole < 60:
        return f"{whole} s"
    minutes = round(whole / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def rounded(value: Measured) -> str:
    """The number to four figures, as a plan sheet shows it: '48.59'."""
    return f"{float(f'{float(value.value):.4g}'):g}" if abs(value.value) < 10**9 else number(value)
