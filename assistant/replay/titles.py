"""What stages, passes, readings, names and agreements are called on pages and in lists."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from assistant.errors import AssistantError
from assistant.events import Item, Measured, Measurement, Pass, Question, Wait
from assistant.procedure.acceptance import in_unit
from assistant.procedure.state import State

UNIT_SIGNS = {
    "N*m": "N·m",
    "lbf*ft": "lbf·ft",
    "lbf*in": "lbf·in",
    "kgf*m": "kgf·m",
    "degC": "deg C",
    "degF": "deg F",
}
PURPOSES = {
    "witness": "released by",
    "measured": "measured by",
    "takes-over": "takes over",
    "competent": "competent person who looked for the cause",
}
"""What a name was asked for, in words."""
AGREED_TO = {
    "skip": "to skip a bolt",
    "keep": "to keep a reading outside its window",
    "cut-short": "to cut a wait short",
}
"""What a supervisor agreed to, in words."""
MISHEARD = "Names are written as they were heard and are often misheard: hear them."


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


def figure_in(value: Decimal, unit: str) -> str:
    """A number with its unit in print: '38 deg C'."""
    return f"{plain(value)} {UNIT_SIGNS.get(unit, unit)}"


def pass_title(item: Pass, round_number: int = 1, *, after_wait: bool = False) -> str:
    """'Snug', 'Pass 2, 102 N·m', 'Circular pass, round 2, 170 N·m'; the figure is the wrench's setting.

    Args:
        after_wait: the same pass once more, after the settling time.
    """
    names = {"snug": "Snug", "circular": "Circular pass", "seat": "Tap and re-torque"}
    name = item.method[:1].upper() + item.method[1:] or names.get(item.kind, f"Pass {item.number}")
    name = "Re-check" if item.phase == "re-check" else f"{name} after the wait" if after_wait else name
    rounds = f", round {round_number}" if item.goes_round else ""
    return name + rounds + (f", {figure(item.setting)}" if item.setting is not None else "")


def comes_after_wait(items: Sequence[Item], stage: int) -> bool:
    """Whether a pass that goes round comes once more, after a wait, before the joint is restored."""
    item = items[stage - 1]
    if not isinstance(item, Pass) or not item.goes_round:
        return False
    before = [n for n, each in enumerate(items[: stage - 1]) if isinstance(each, Wait)]
    same = [n for n, each in enumerate(items[: stage - 1]) if isinstance(each, Pass) and each.goes_round]
    return any(items[n].group == item.group and n < wait for n in same for wait in before)  # type: ignore[union-attr]


def stage_title(state: State, stage: int, round_number: int = 1) -> str:
    """The name of a stage; '' where there is none of that number."""
    return item_title(state.stages, stage, round_number)


def item_title(items: Sequence[Item], stage: int, round_number: int = 1) -> str:
    """The name of a stage among all; '' where there is none of that number."""
    if not 1 <= stage <= len(items):
        return ""
    item = items[stage - 1]
    if isinstance(item, Question):
        return ("Hold point: " if item.hold else "Check: ") + item.name
    if isinstance(item, Wait):
        return f"Wait: {item.name}"
    if isinstance(item, Measurement):
        return f"Measured: {item.name}"
    groups = {each.group for each in items if isinstance(each, Pass)}
    title = pass_title(item, round_number, after_wait=comes_after_wait(items, stage))
    return (f"{item.group}: " if len(groups) > 1 else "") + title


def clock(utc: datetime) -> str:
    """Day and time of day in print, UTC."""
    return f"{utc:%Y-%m-%d %H:%M:%S}"


def on_scale(value: Measured, unit: str) -> float | None:
    """The reading in another unit of its kind; None where its own is none (foreign records)."""
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
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h" + (f" {minutes % 60:02d} min" if minutes % 60 else "")


def rounded(value: Measured) -> str:
    """The number to four figures, as a plan sheet shows it: '48.59'."""
    return f"{float(f'{float(value.value):.4g}'):g}" if abs(value.value) < 10**9 else number(value)
