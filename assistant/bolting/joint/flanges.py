"""Bolting of standard pipe flanges by standard, rating and size: bolt count, bolt size, bolt circle."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from assistant.bolting.joint.flange_tables import B16_5, EN_1092, EN_HOLES, EN_READ_PN16
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

STANDARDS = ("ASME B16.5", "EN 1092-1")
_UNC_PER_INCH = {"1/2": 13, "5/8": 11, "3/4": 10, "7/8": 9, "1": 8}
_SPACING = (3.0, 6.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlangeBolting:
    """Drilling of one standard flange.

    bolts: how many. bolt: size as the standard names it, '5/8 in' or 'M16'. thread: usual thread of its studs (UNC up
    to 1 in and 8 threads per inch above; metric coarse), to be checked against the bolt list. bolt_circle, hole:
    lengths in mm. known: how the row is known. note: what to ask before starting; '' if nothing.
    """

    standard: str
    rating: str
    size: str
    bolts: int
    bolt: str
    thread: str
    bolt_circle: Quantity
    hole: Quantity
    known: str
    note: str = ""


def flange_bolting(standard: str, rating: str, *, size: str) -> FlangeBolting:
    """Bolt count, bolt size and bolt circle of a standard flange.

    Args:
        standard: 'ASME B16.5' or 'EN 1092-1'.
        rating: 'class 150' .. 'class 2500' (150, 300, 600, 900, 1500, 2500), or 'PN 10', 'PN 16', 'PN 25', 'PN 40'.
        size: 'NPS 1/2' .. 'NPS 24', or 'DN 15' .. 'DN 1000' as the rating has it.

    Raises:
        BadBolting: unknown standard, or a rating or size that its tables here do not hold.

    Source: see `flange_tables`; every result says how its row is known.
    """
    if standard == "ASME B16.5":
        return _b16_5(rating, size)
    if standard == "EN 1092-1":
        return _en_1092(rating, size)
    raise BadBolting(f"flange standard is {standard!r}", remedy="one of: " + ", ".join(STANDARDS))


def _b16_5(rating: str, size: str) -> FlangeBolting:
    flange_class = _number(rating, "class", list(B16_5), "rating")
    table = B16_5[flange_class]
    text = re.sub(r"^nps\s*", "", size.strip().lower()).removesuffix("in").strip(' "').replace("-", " ")
    if text not in table:
        remedy = f"class {flange_class} here has NPS " + ", ".join(table)
        raise BadBolting(f"ASME B16.5 class {flange_class}: size is {size!r}", remedy=remedy)
    circle, bolts, bolt = table[text]
    diameter = float(sum(Fraction(part) for part in bolt.split()))
    return FlangeBolting(
        standard="ASME B16.5",
        rating=f"class {flange_class}",
        size=f"NPS {text}",
        bolts=bolts,
        bolt=f"{bolt} in",
        thread=f"{bolt}-{_UNC_PER_INCH[bolt]} UNC" if bolt in _UNC_PER_INCH else f"{bolt}-8 UN",
        bolt_circle=of(circle, "mm"),
        hole=of(25.4 * (diameter + 0.125), "mm"),
        known="read in an open-source CAD data table of ASME B16.5 drilling",
    )


def _en_1092(rating: str, size: str) -> FlangeBolting:
    pressure = _number(rating, "pn", list(EN_1092), "rating")
    table = EN_1092[pressure]
    nominal = _number(size, "dn", list(table), f"PN {pressure} size")
    circle, bolts, bolt = table[nominal]
    read = pressure == 16 and nominal in EN_READ_PN16
    note = ""
    if nominal == 65:
        note = "the older DIN table has 4 holes at DN 65, EN 1092-1 has 8: count the holes before starting"
    elif not read:
        note = "this row is from memory: count the holes before starting"
    return FlangeBolting(
        standard="EN 1092-1",
        rating=f"PN {pressure}",
        size=f"DN {nominal}",
        bolts=bolts,
        bolt=f"M{bolt}",
        thread=f"M{bolt}",
        bolt_circle=of(circle, "mm"),
        hole=of(EN_HOLES[bolt], "mm"),
        known="read in an open-source data table of PN 16 flanges" if read else "from memory",
        note=note,
    )


def _number(text: str, prefix: str, allowed: list[int], what: str) -> int:
    found = re.fullmatch(rf"(?:{prefix})?\s*([0-9]+)", text.strip().lower())
    if found is None or int(found[1]) not in allowed:
        listed = ", ".join(map(str, allowed))
        shown = prefix.upper() if prefix in ("pn", "dn") else prefix
        raise BadBolting(f"flange {what} is {text!r}", remedy=f"{shown} {listed}")
    return int(found[1])


def spacing_ratio(bolt_circle: Quantity, bolts: int, *, diameter: Quantity) -> float:
    """Bolt spacing in bolt diameters, pi Db / (N d); no unit.

    Args:
        bolt_circle: Db, length.
        bolts: N, at least 2.
        diameter: d, nominal bolt diameter.

    Raises:
        BadBolting: fewer than two bolts, or a length not above zero.

    Source: Shigley eq. 8-34 asks for 3 to 6 (from memory); see `spacing_is_usual`.
    """
    circle, thick = magnitude(bolt_circle, "mm", name="bolt circle"), magnitude(diameter, "mm", name="bolt diameter")
    if isinstance(bolts, bool) or bolts < 2 or circle <= 0 or thick <= 0:
        raise BadBolting(
            f"bolt spacing of {bolts!r} bolts on {circle:g} mm", remedy="at least 2 bolts and lengths above zero"
        )
    return math.pi * circle / (bolts * thick)


def spacing_is_usual(ratio: float) -> bool:
    """Whether 3 <= pi Db/(N d) <= 6: closer has no room for the wrench, wider does not press the gasket evenly.

    Source: Shigley eq. 8-34, from memory.
    """
    return _SPACING[0] <= ratio <= _SPACING[1]
