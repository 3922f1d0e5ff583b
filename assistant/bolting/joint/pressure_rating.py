"""What pressure a standard flange bears, by class and temperature: carbon steel as the ceiling, data and look-up."""

from __future__ import annotations

from itertools import pairwise

from assistant.bolting.units import Quantity, magnitude, of

# Temperature in degC -> bar. ASME B16.5 Table 2-1.1 (group 1.1, A105 and the like), from memory; classes above 300 are
# the class 300 column times class/300 (the standard's own rule, from memory; rounding 0.1 bar).
_DEGC = (38.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 325.0, 350.0, 375.0, 400.0)
_CLASS_150 = (19.6, 19.2, 17.7, 15.8, 13.8, 12.1, 10.2, 9.3, 8.4, 7.4, 6.5)
_CLASS_300 = (51.1, 50.1, 46.6, 45.1, 43.8, 41.9, 39.8, 38.7, 37.6, 36.4, 34.7)
_STRONGEST = 1.03
"""The strongest materials of B16.5 are rated up to about 2 % above group 1.1 when cold (groups 1.2 and 2.8, from
memory)."""


def highest_rating(rating: str) -> tuple[Quantity, str]:
    """Highest pressure of a rating, cold and in any of its materials, in bar, and how it is known.

    Args:
        rating: 'class 150' .. 'class 2500', or 'PN 16' and so on, as `flanges.flange_bolting` names it.

    Source: EN 1092-1 for PN (the number is the pressure in bar); ASME B16.5 tables, from memory.
    """
    kind, number = rating.split()
    if kind == "PN":
        return of(float(number), "bar"), "EN 1092-1: PN is the pressure in bar at room temperature"
    cold = rating_at(rating, of(_DEGC[0], "degC"))
    assert cold is not None
    return of(_STRONGEST * magnitude(cold, "bar", name="rating"), "bar"), "ASME B16.5, from memory"


def rating_at(rating: str, temperature: Quantity) -> Quantity | None:
    """Pressure of a carbon steel flange at a temperature, bar; None for PN flanges and above the table.

    Args:
        rating: as for `highest_rating`.
        temperature: a temperature; below 38 degC the cold rating counts.

    Source: ASME B16.5 Table 2-1.1, from memory.
    """
    kind, number = rating.split()
    at = max(magnitude(temperature, "degC", name="temperature"), _DEGC[0])
    if kind == "PN" or at > _DEGC[-1]:
        return None
    column = _CLASS_150 if number == "150" else tuple(bar * float(number) / 300 for bar in _CLASS_300)
    for (cold, more), (hot, less) in pairwise(zip(_DEGC, column, strict=True)):
        if at <= hot:
            return of(more + (less - more) * (at - cold) / (hot - cold), "bar")
    return of(column[-1], "bar")
