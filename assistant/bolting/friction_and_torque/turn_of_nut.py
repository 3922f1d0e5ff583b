"""Structural bolts by turn of the nut: turn from snug by length and slope of the faces; snug tension of the test."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType

from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

# longest bolt in diameters -> turns with 0, 1, 2 sloped faces
TURNS: tuple[tuple[int, tuple[Fraction, Fraction, Fraction]], ...] = (
    (4, (Fraction(1, 3), Fraction(1, 2), Fraction(2, 3))),
    (8, (Fraction(1, 2), Fraction(2, 3), Fraction(5, 6))),
    (12, (Fraction(2, 3), Fraction(5, 6), Fraction(1))),
)
"""Source: RCSC specification, turn-of-nut table (read in a public summary). One public page gives smaller turns above
1 in: a disagreement to be asked about."""

SNUG_KIP: Mapping[str, float] = MappingProxyType(
    {
        "1/2": 1.0,
        "5/8": 2.0,
        "3/4": 3.0,
        "7/8": 4.0,
        "1": 5.0,
        "1 1/8": 6.0,
        "1 1/4": 7.0,
        "1 3/8": 9.0,
        "1 1/2": 10.0,
    }
)
"""Bolt diameter in inches -> snug tension of the rotational capacity test.

Source: a public state works specification (read)."""

SNUG_HIGHEST_PERCENT = 20.0
"""Highest snug tension before the tensioning, in percent of the bolt's minimum tensile load.

Source: state bridge instruction memorandum (read)."""


def turn_from_snug(length: Quantity, diameter: Quantity, *, sloped_faces: int) -> Fraction:
    """Turns of the nut from snug.

    Args:
        length: bolt length under the head, up to 12 diameters.
        diameter: nominal diameter.
        sloped_faces: how many of the two outer faces are sloped (up to 1:20), 0, 1 or 2.

    Raises:
        BadBolting: longer than 12 diameters (to be found by test), a length not above zero, another count of faces.

    Source: RCSC specification, turn-of-nut table (read in a public summary).
    """
    long, thick = magnitude(length, "mm", name="bolt length"), magnitude(diameter, "mm", name="bolt diameter")
    if sloped_faces not in (0, 1, 2) or isinstance(sloped_faces, bool):
        raise BadBolting(f"sloped faces: {sloped_faces!r}", remedy="0, 1 or 2 of the outer faces")
    if long <= 0 or thick <= 0:
        raise BadBolting(f"bolt of {thick:g} x {long:g} mm", remedy="lengths above zero")
    for most, turns in TURNS:
        if long <= most * thick * (1 + 1e-9):
            return turns[sloped_faces]
    raise BadBolting(
        f"bolt of {long / thick:.3g} diameters",
        remedy="at most 12 diameters; the turn of longer bolts is found by test",
    )


def snug_tension(diameter: str) -> Quantity:
    """Snug tension of the rotational capacity test, in kip.

    Args:
        diameter: in inches as written, '3/4', '1 1/8'.

    Raises:
        BadBolting: a size that the table does not hold.

    Source: a public state works specification (read).
    """
    text = diameter.strip().removesuffix("in").strip().replace("-", " ")
    if text not in SNUG_KIP:
        raise BadBolting(f"snug tension of a {diameter} bolt", remedy="inches: " + ", ".join(SNUG_KIP))
    return of(SNUG_KIP[text], "kip")
