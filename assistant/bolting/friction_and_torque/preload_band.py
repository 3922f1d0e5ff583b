"""The band in which the preload of a torqued bolt lies: uncertain torque and uncertain nut factor put together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assistant.bolting.friction_and_torque.friction import ThreadCondition
from assistant.bolting.friction_and_torque.torque import checked_nut_factor
from assistant.bolting.friction_and_torque.uncertainty import Uncertain, percent_around, propagated, sampled
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of

_TWO_SIGMA = 2.0
_UNTESTED = 0.25
_SKEWED_PERCENT = 10.0  # linear and sampled limits further apart than this: only the sampled ones are kept


@dataclass(frozen=True, slots=True, kw_only=True)
class PreloadBand:
    """Preload of one bolt after torquing; forces in kN.

    Args:
        preload: at the values calculated with.
        low: lower end of the band that holds about 95 % of the bolts.
        high: upper end.
        percent_low, percent_high: the ends relative to preload, in percent (low is negative).
        how: "law of propagation" or "sampling", with what was put in.
        nut_factor_share: percent of the variance that comes from friction (the rest from the wrench).
    """

    preload: Quantity
    low: Quantity
    high: Quantity
    percent_low: float
    percent_high: float
    how: str
    nut_factor_share: float


def _model(inputs: Mapping[str, Any]) -> Any:
    return inputs["torque"] / (inputs["nut factor"] * inputs["diameter"])


def _inputs(torque: Quantity, thread: Thread, nut_factor: Uncertain, tool_percent: float) -> dict[str, Uncertain]:
    for value in (nut_factor.low, nut_factor.value, nut_factor.high):
        checked_nut_factor(value)
    diameter = magnitude(thread.diameter, "m", name="nominal diameter")
    return {
        "torque": percent_around(magnitude(torque, "N*m", name="torque"), tool_percent),
        "nut factor": nut_factor,
        "diameter": Uncertain(value=diameter, low=diameter, high=diameter),
    }


def nut_factor_range(condition: ThreadCondition) -> Uncertain:
    """The range of a thread condition as an uncertain nut factor with its peak at the chosen value.

    A published single figure says nothing about single bolts, so an untested range is widened to at least +/- 25 %:
    the scatter that the handbooks give for the torque wrench (Machinery's Handbook table, row SCAT-10, read).
    """
    k = condition.nut_factor
    least, most = (1.0, 1.0) if condition.tested else (1 - _UNTESTED, 1 + _UNTESTED)
    return Uncertain(value=k, low=min(condition.low, k * least), high=max(condition.high, k * most), shape="triangular")


def preload_band(
    torque: Quantity, thread: Thread, *, nut_factor: Uncertain, tool_percent: float, seed: int | None = None
) -> PreloadBand:
    """Band of the preload F = T/(K d).

    Args:
        torque: what the bolt gets (after multiplier and adapter).
        thread: gives d.
        nut_factor: K with its range, e.g. `nut_factor_range(condition)`.
        tool_percent: accuracy of the wrench, plus or minus (all values inside alike).
        seed: None takes the law of propagation (plus or minus two standard uncertainties); a number takes sampling with
            that seed (2.5 to 97.5 % of the draws), which is right also for wide and one-sided ranges.

    Raises:
        BadBolting: a K that cannot be one, or a tolerance outside 0 to 90 %. BadQuantity: torque is not a torque.

    Source: T = K d F; JCGM 100 and 101 (`uncertainty`).
    """
    inputs = _inputs(torque, thread, nut_factor, tool_percent)
    linear = propagated(_model, inputs)
    if seed is None:
        low, high = (linear.value + side * _TWO_SIGMA * linear.standard for side in (-1, 1))
        how = f"law of propagation, two standard uncertainties: wrench +/- {tool_percent:g} %"
    else:
        drawn = sampled(_model, inputs, seed=seed)
        low, high = drawn.low, drawn.high
        how = f"sampling, {drawn.draws} draws, seed {seed}, 95 %: wrench +/- {tool_percent:g} %"
    return PreloadBand(
        preload=of(linear.value / 1000, "kN"),
        low=of(max(low, 0.0) / 1000, "kN"),
        high=of(high / 1000, "kN"),
        percent_low=100 * (max(low, 0.0) / linear.value - 1),
        percent_high=100 * (high / linear.value - 1),
        how=f"{how}, K {nut_factor.value:g} ({nut_factor.low:g} to {nut_factor.high:g}, {nut_factor.shape})",
        nut_factor_share=linear.shares["nut factor"],
    )


def needs_sampling(torque: Quantity, thread: Thread, *, nut_factor: Uncertain, tool_percent: float, seed: int) -> bool:
    """Whether the law of propagation misses an end of the sampled band by more than 10 % of the preload."""
    linear, drawn = (
        preload_band(torque, thread, nut_factor=nut_factor, tool_percent=tool_percent, seed=which)
        for which in (None, seed)
    )
    return (
        max(abs(linear.percent_low - drawn.percent_low), abs(linear.percent_high - drawn.percent_high))
        > _SKEWED_PERCENT
    )
