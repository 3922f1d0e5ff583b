"""How uncertain inputs make a result uncertain: law of propagation, and seeded sampling where that is too simple.

Source: JCGM 100 (GUM) law of propagation for independent inputs and JCGM 101 Monte Carlo method (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.errors import BadBolting

Array = npt.NDArray[np.float64]
Model = Callable[[Mapping[str, Any]], Any]  # named inputs (floats, or arrays shape (n,)) -> result of the same kind
_SHAPES = ("rectangular", "triangular", "normal")
_LEAST_DRAWS, _MOST_DRAWS = 1000, 2_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertain:
    """One uncertain input.

    Args:
        value: what is calculated with, from low to high.
        low: lowest credible value.
        high: highest credible value.
        shape: "rectangular" (all alike), "triangular" (peak at value) or "normal" (low and high are two standard
            deviations away on average).
    """

    value: float
    low: float
    high: float
    shape: str = "rectangular"

    def __post_init__(self) -> None:
        if self.shape not in _SHAPES:
            raise BadBolting(f"distribution is {self.shape!r}", remedy=f"One of: {', '.join(_SHAPES)}.")
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low <= self.value <= self.high):
            raise BadBolting(
                f"uncertain value {self.value:g}, from {self.low:g} to {self.high:g}", remedy="low <= value <= high."
            )

    @property
    def standard(self) -> float:
        """Standard uncertainty, in the unit of the value."""
        a, b, c = self.low, self.high, self.value
        if self.shape == "rectangular":
            return (b - a) / math.sqrt(12)
        if self.shape == "normal":
            return (b - a) / 4
        return math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18)

    def draws(self, generator: np.random.Generator, count: int) -> Array:
        """`count` values, float64, shape (count,)."""
        if self.low == self.high:
            return np.full(count, self.value)
        if self.shape == "rectangular":
            return generator.uniform(self.low, self.high, count)
        if self.shape == "normal":
            return generator.normal(self.value, self.standard, count)
        return generator.triangular(self.low, self.value, self.high, count)


def percent_around(value: float, percent: float, shape: str = "rectangular") -> Uncertain:
    """Value -/+ percent, for tool tolerances and the like; BadBolting outside 0 to 90 %."""
    if not 0 <= percent <= 90:
        raise BadBolting(f"tolerance is {percent:g} %", remedy="Plus or minus 0 to 90 %.")
    return Uncertain(value=value, low=value * (1 - percent / 100), high=value * (1 + percent / 100), shape=shape)


@dataclass(frozen=True, slots=True, kw_only=True)
class Propagated:
    """Result of the law of propagation.

    Args:
        value: model at the values calculated with.
        standard: combined standard uncertainty, same unit.
        shares: percent of the variance that each input brings, by name; they add up to 100.
    """

    value: float
    standard: float
    shares: Mapping[str, float]


def propagated(model: Model, inputs: Mapping[str, Uncertain]) -> Propagated:
    """Law of propagation: u^2 = sum (df/dx_i u_i)^2 with central differences of half a standard uncertainty.

    Args:
        model: plain function of named numbers.
        inputs: independent uncertain inputs by name.
    """
    middle = {name: item.value for name, item in inputs.items()}
    parts = {}
    for name, item in inputs.items():
        step = item.standard / 2
        ends = [float(model({**middle, name: item.value + side * step})) for side in (1, -1)]
        parts[name] = ((ends[0] - ends[1]) if step else 0.0) ** 2
    variance = sum(parts.values())
    shares = {name: 100 * part / variance if variance else 0.0 for name, part in parts.items()}
    return Propagated(value=float(model(middle)), standard=math.sqrt(variance), shares=shares)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sampled:
    """Result of sampling: mean, standard deviation and the interval that holds `coverage` of the draws."""

    mean: float
    standard: float
    low: float
    high: float
    coverage: float
    draws: int
    seed: int


def sampled(
    model: Model, inputs: Mapping[str, Uncertain], *, seed: int, draws: int = 20_000, coverage: float = 0.95
) -> Sampled:
    """Monte Carlo: the same seed gives the same figures.

    Args:
        model: function of named arrays, shape (draws,), working element by element.
        inputs: independent uncertain inputs by name.
        seed: of numpy's default generator; recorded in the result.
        draws: 1000 to 2 000 000.
        coverage: share of the draws inside [low, high], above 0 and below 1; equal tails.

    Raises:
        BadBolting: draws or coverage out of range.
    """
    if not _LEAST_DRAWS <= draws <= _MOST_DRAWS or not 0 < coverage < 1:
        raise BadBolting(
            f"sampling: {draws} draws, coverage {coverage:g}",
            remedy=f"{_LEAST_DRAWS} to {_MOST_DRAWS} draws, coverage between 0 and 1.",
        )
    generator = np.random.default_rng(seed)
    result: Array = np.asarray(model({name: item.draws(generator, draws) for name, item in inputs.items()}))
    tail = (1 - coverage) / 2
    low, high = np.quantile(result, (tail, 1 - tail))
    return Sampled(
        mean=float(result.mean()),
        standard=float(result.std(ddof=1)),
        low=float(low),
        high=float(high),
        coverage=coverage,
        draws=draws,
        seed=seed,
    )
