"""Whether the bolts seat the gasket and hold the pressure, without crushing it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.bolting.joint.gasket import GasketLoads
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatingCheck:
    """Whether the assembly load suits the gasket.

    total: bolt load of all bolts at the lowest expected preload, kN. needed: larger of Wm1 and Wm2, kN; governing:
    which. ratio: total/needed (infinite when nothing is needed). gasket_stress: at the highest expected preload on the
    whole contact face, MPa; highest: what the maker allows, or None. seated, not_crushed: the two answers.
    """

    total: Quantity
    needed: Quantity
    governing: str
    ratio: float
    gasket_stress: Quantity
    highest: Quantity | None
    seated: bool
    not_crushed: bool


def seating_check(
    loads: GasketLoads,
    *,
    bolts: int,
    lowest_preload: Quantity,
    highest_preload: Quantity,
    area: Quantity,
    highest_stress: Quantity | None = None,
) -> SeatingCheck:
    """Compare the band of assembly preload with what the gasket needs and bears.

    Args:
        loads: from `gasket_loads`.
        bolts: how many bolts share the load.
        lowest_preload: per bolt, lower end of the scatter band.
        highest_preload: per bolt, upper end, not below the lower.
        area: contact area of the sealing ring, from `contact_area`.
        highest_stress: gasket stress that the maker allows, where he says one.

    Raises:
        BadBolting: no bolts, a band upside down, an area or stress not above zero.

    Source: seating: ASME VIII-1 app. 2; gasket stress on the whole contact face: common practice, no source.
    """
    low, high = (magnitude(load, "kN", name="preload") for load in (lowest_preload, highest_preload))
    face = magnitude(area, "mm2", name="contact area")
    if isinstance(bolts, bool) or bolts < 1 or not 0 <= low <= high or face <= 0:
        raise BadBolting(
            f"seating check: {bolts!r} bolts, preload {low:g} to {high:g} kN on {face:g} mm2",
            remedy="one bolt or more, lowest preload not above the highest, an area above zero",
        )
    needed = magnitude(loads.needed, "kN", name="needed load")
    stress = 1000 * bolts * high / face
    limit = None if highest_stress is None else _positive_mpa(highest_stress)
    return SeatingCheck(
        total=of(bolts * low, "kN"),
        needed=loads.needed,
        governing=loads.governing,
        ratio=bolts * low / needed if needed else math.inf,
        gasket_stress=of(stress, "MPa"),
        highest=highest_stress,
        seated=bolts * low >= needed,
        not_crushed=limit is None or stress <= limit,
    )


def _positive_mpa(stress: Quantity) -> float:
    value = magnitude(stress, "MPa", name="highest gasket stress")
    if value <= 0:
        raise BadBolting(f"highest gasket stress is {show(stress, 'MPa')}", remedy="a stress above zero")
    return value
