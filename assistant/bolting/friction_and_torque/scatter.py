"""How far the preload of single bolts scatters by tightening method: published figures, and tightening factors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

_HANDBOOK = "Machinery's Handbook table, quoted in a public article (read)"
_NASA = "NASA preload table (NSTS 08307 family), quoted in a public article (read)"
_VDI = "VDI 2230:1986 guide values, public page (read)"


@dataclass(frozen=True, slots=True)
class Published:
    """One published scatter of preload, plus or minus percent; low equals high when a single figure is printed."""

    method: str
    low: float
    high: float
    source: str


PUBLISHED: tuple[Published, ...] = (
    Published("feel", 35, 35, _HANDBOOK),
    Published("torque wrench", 25, 25, _HANDBOOK),
    Published("turn of nut", 15, 15, _HANDBOOK),
    Published("preload indicating washer", 10, 10, _HANDBOOK),
    Published("yield-point sensing wrench", 8, 8, _HANDBOOK),
    Published("bolt elongation", 3, 5, _HANDBOOK),
    Published("ultrasonic", 1, 1, _HANDBOOK),
    Published("strain gauges", 1, 1, _HANDBOOK),
    Published("torque wrench, unlubricated", 35, 35, _NASA),
    Published("torque wrench, cadmium plated", 30, 30, _NASA),
    Published("torque wrench, lubricated", 25, 25, _NASA),
    Published("hydraulic", 15, 15, _NASA),
    Published("preload indicating washer", 10, 10, _NASA),
    Published("ultrasonic", 10, 10, _NASA),
    Published("bolt elongation", 5, 5, _NASA),
    Published("instrumented bolt", 5, 5, _NASA),
    Published("yield controlled", 5, 12, _VDI),
    Published("angle controlled", 5, 12, _VDI),
    Published("hydraulic", 9, 23, _VDI),
    Published("torque wrench, tested on the joint", 17, 23, _VDI),
    Published("torque wrench, friction estimated", 23, 28, _VDI),
    Published("torque controlled power tool", 26, 43, _VDI),
)
METHODS: Mapping[str, tuple[Published, ...]] = MappingProxyType(
    {method: tuple(one for one in PUBLISHED if one.method == method) for method in {one.method for one in PUBLISHED}}
)
TORQUE_WRENCH_FACTOR = 1.6  # alpha_A, VDI 2230 practice (read in a public fastening tutorial): +/- 23 %


def scatter_percent(method: str) -> tuple[float, float, tuple[Published, ...]]:
    """Smallest and largest published scatter of a method (plus or minus percent), and all that was published.

    Raises:
        BadBolting: unknown method; the remedy lists the known ones.
    """
    if method not in METHODS:
        raise BadBolting(f"tightening method is {method!r}", remedy=f"One of: {', '.join(sorted(METHODS))}.")
    found = METHODS[method]
    return min(one.low for one in found), max(one.high for one in found), found


def percent_of_factor(tightening_factor: float) -> float:
    """Plus or minus percent of a tightening factor alpha_A = Fmax/Fmin: 100 (a - 1)/(a + 1).

    Raises:
        BadBolting: alpha_A below 1. Source: VDI 2230 (1.6 is about 23 %, read).
    """
    if not 1 <= tightening_factor < float("inf"):
        raise BadBolting(f"tightening factor is {tightening_factor:g}", remedy="alpha_A = Fmax/Fmin, 1 or more.")
    return 100 * (tightening_factor - 1) / (tightening_factor + 1)


def method_band(preload: Quantity, method: str) -> tuple[Quantity, Quantity]:
    """Lowest and highest preload in kN by the method's largest published scatter; errors as `scatter_percent`."""
    share = scatter_percent(method)[1] / 100
    force = magnitude(preload, "kN", name="preload")
    return of(force * (1 - share), "kN"), of(force * (1 + share), "kN")
