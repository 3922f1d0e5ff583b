"""Gasket loads of ASME VIII-1 appendix 2: what the bolts together must bring.

Symbols: N contact width, b0 basic and b effective seating width, G diameter of the gasket load reaction, P design
pressure above atmosphere, m gasket factor, y seating stress, Wm1 operating and Wm2 seating bolt load (all bolts),
Sb and Sa allowable bolt stress at design and at assembly temperature.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.bolting.joint.gasket_table import FACTORS, MODULI, NOTES
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

_WIDTH_LIMIT_MM = 6.35
_HIGHEST_FACTOR = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GasketFactors:
    """m (no unit) and y (stress, psi) of one gasket kind; known: how the row is known; note: what to ask, or ''."""

    name: str
    m: float
    y: Quantity
    known: str
    note: str


def gasket_factors(name: str) -> GasketFactors:
    """Suggested m and y of a gasket kind.

    Args:
        name: a key of `gasket_table.FACTORS`, in any case.

    Raises:
        BadBolting: not in the table.

    Source: ASME VIII-1 app. 2 Table 2-5.1; design values, suggested only, no assembly targets.
    """
    for key, (m, y, known) in FACTORS.items():
        if key.lower() == " ".join(name.lower().split()):
            return GasketFactors(name=key, m=m, y=of(y, "psi"), known=known, note=NOTES.get(key, ""))
    raise BadBolting(f"gasket is {name!r}", remedy="write m and y of its maker, or one of: " + "; ".join(FACTORS))


def gasket_modulus(name: str) -> Quantity:
    """Modulus of a gasket material in ksi.

    Args:
        name: a key of `gasket_table.MODULI`.

    Raises:
        BadBolting: not in the table.

    Source: Pressure Vessel Design Manual p. 61 (read).
    """
    if name not in MODULI:
        raise BadBolting(f"gasket material is {name!r}", remedy="one of: " + "; ".join(MODULI))
    return of(MODULI[name], "ksi")


def effective_width(basic_width: Quantity) -> Quantity:
    """Width b in mm: b0 up to 1/4 in, above 0.5 sqrt(b0) in inches (2.52 sqrt(b0) in mm).

    Args:
        basic_width: b0, length above zero; N/2 for plain faces.

    Raises:
        BadBolting: not above zero.

    Source: ASME VIII-1 app. 2 Table 2-5.2 (from memory). The code prints the metric limit as 6 mm; here it is 1/4 in
        in every unit, where both rules meet, so that the unit does not change the answer.
    """
    b0 = _positive_mm(basic_width, "basic seating width")
    return of(b0 if b0 <= _WIDTH_LIMIT_MM else 12.7 * math.sqrt(b0 / 25.4), "mm")


def reaction_diameter(outer: Quantity, inner: Quantity) -> Quantity:
    """G in mm: mean diameter of the contact face when b0 <= 1/4 in, otherwise outer diameter - 2 b.

    Args:
        outer: outer diameter of the contact face.
        inner: inner diameter, below outer.

    Raises:
        BadBolting: not 0 < inner < outer.

    Source: ASME VIII-1 app. 2 (from memory), plain faces (b0 = N/2).
    """
    wide, narrow = _ring_mm(outer, inner)
    b0 = (wide - narrow) / 4
    if b0 <= _WIDTH_LIMIT_MM:
        return of((wide + narrow) / 2, "mm")
    return of(wide - 2 * magnitude(effective_width(of(b0, "mm")), "mm", name="b"), "mm")


def operating_load(effective: Quantity, reaction: Quantity, *, m: float, pressure: Quantity) -> Quantity:
    """Wm1 = (pi/4) G^2 P + 2 b pi G m P, in kN: holds the pressure and keeps the gasket tight.

    Args:
        effective: b, length.
        reaction: G, length.
        m: gasket factor, 0 to 20.
        pressure: P, design pressure above atmosphere, not below zero.

    Raises:
        BadBolting: a value out of its range.

    Source: ASME VIII-1 app. 2 (recomputed check rows).
    """
    b, g = _positive_mm(effective, "effective width"), _positive_mm(reaction, "reaction diameter")
    p = magnitude(pressure, "MPa", name="pressure")
    if not 0 <= m <= _HIGHEST_FACTOR:
        raise BadBolting(f"gasket factor m is {m:g}", remedy=f"0 to {_HIGHEST_FACTOR:g}")
    if p < 0:
        raise BadBolting(f"pressure is {show(pressure, 'MPa')}", remedy="pressure above atmosphere, zero or more")
    return of((math.pi / 4 * g * g * p + 2 * b * math.pi * g * m * p) / 1000, "kN")


def seating_load(effective: Quantity, reaction: Quantity, *, y: Quantity) -> Quantity:
    """Wm2 = pi b G y, in kN: seats the gasket with no pressure.

    Args:
        effective: b, length.
        reaction: G, length.
        y: seating stress, not below zero.

    Raises:
        BadBolting: a value out of its range.

    Source: ASME VIII-1 app. 2 (recomputed check rows).
    """
    b, g = _positive_mm(effective, "effective width"), _positive_mm(reaction, "reaction diameter")
    stress = magnitude(y, "MPa", name="seating stress y")
    if stress < 0:
        raise BadBolting(f"seating stress y is {show(y, 'MPa')}", remedy="zero or more")
    return of(math.pi * b * g * stress / 1000, "kN")


@dataclass(frozen=True, slots=True, kw_only=True)
class GasketLoads:
    """What the bolts together must bring: b0, b and G in mm, Wm1 and Wm2 in kN."""

    basic_width: Quantity
    effective_width: Quantity
    reaction_diameter: Quantity
    operating: Quantity
    seating: Quantity

    @property
    def needed(self) -> Quantity:
        """The larger of Wm1 and Wm2, kN."""
        return max(self.operating, self.seating)

    @property
    def governing(self) -> str:
        """'operating' or 'seating', whichever is larger."""
        return "operating" if self.operating >= self.seating else "seating"


def gasket_loads(*, outer: Quantity, inner: Quantity, m: float, y: Quantity, pressure: Quantity) -> GasketLoads:
    """All loads of a plain-faced gasket (raised or flat face, b0 = N/2).

    Args:
        outer: outer diameter of the sealing ring that is in contact.
        inner: its inner diameter.
        m: gasket factor, no unit.
        y: seating stress.
        pressure: design pressure above atmosphere.

    Raises:
        BadBolting: diameters not 0 < inner < outer, or a factor out of its range.

    Source: ASME VIII-1 app. 2.
    """
    wide, narrow = _ring_mm(outer, inner)
    basic = of((wide - narrow) / 4, "mm")
    effective, reaction = effective_width(basic), reaction_diameter(outer, inner)
    return GasketLoads(
        basic_width=basic,
        effective_width=effective,
        reaction_diameter=reaction,
        operating=operating_load(effective, reaction, m=m, pressure=pressure),
        seating=seating_load(effective, reaction, y=y),
    )


def load_per_bolt(load: Quantity, bolts: int) -> Quantity:
    """W/n in kN; the code's minimum, not a target (real assembly targets are higher: read in an engineers' forum)."""
    if isinstance(bolts, bool) or bolts < 1:
        raise BadBolting(f"bolt count is {bolts!r}", remedy="1 or more")
    return of(magnitude(load, "kN", name="bolt load") / bolts, "kN")


def contact_area(outer: Quantity, inner: Quantity) -> Quantity:
    """Area of the sealing ring in mm2, pi/4 (outer^2 - inner^2); BadBolting when not 0 < inner < outer."""
    wide, narrow = _ring_mm(outer, inner)
    return of(math.pi / 4 * (wide * wide - narrow * narrow), "mm2")


def _positive_mm(length: Quantity, name: str) -> float:
    value = magnitude(length, "mm", name=name)
    if value <= 0:
        raise BadBolting(f"{name} is {show(length, 'mm')}", remedy="a length above zero")
    return value


def _ring_mm(outer: Quantity, inner: Quantity) -> tuple[float, float]:
    wide, narrow = _positive_mm(outer, "outer diameter"), _positive_mm(inner, "inner diameter")
    if narrow >= wide:
        raise BadBolting(
            f"gasket inner diameter {narrow:g} mm is not below the outer {wide:g} mm", remedy="inner < outer"
        )
    return wide, narrow
