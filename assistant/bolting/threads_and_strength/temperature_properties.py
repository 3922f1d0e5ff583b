"""Steel at temperature: mean thermal expansion, modulus of elasticity and remaining yield strength, as tables.

Values between table points are interpolated linearly; outside a table nothing is guessed. Sources: expansion ASME II-D
(2001) Table TE-1 coefficient B, mean from 70 degF (points of groups 1, 2, 5Cr and 9Cr read in public copies, the rest
from memory); modulus ASME II-D Table TM-1 (from memory); yield ASME II-D Table Y-1 and the informative annexes of
ISO 898-1:1999 and ISO 3506-1 (from memory). Editions differ by 0.1 in the expansion.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from assistant.bolting.threads_and_strength.strength import Strength
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

Table = tuple[tuple[float, float], ...]  # (temperature, value), rising in temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class Steel:
    """Expansion (degF -> 1e-6/degF, mean from 70 degF) and modulus (degF -> 1e6 psi) of one group of steels."""

    expansion: Table
    modulus: Table | None


_F = (70.0, 200.0, 300.0, 400.0, 500.0, 600.0, 700.0, 800.0)


def _table(*values: float, at: tuple[float, ...] = _F) -> Table:
    return tuple(zip(at, values, strict=True))


_CARBON_E = _table(29.4, 28.8, 28.3, 27.9, 27.3, 26.5, 25.5, 24.2)
_CHROME_MOLY_E = _table(29.6, 29.0, 28.5, 28.0, 27.4, 26.9, 26.2, 25.6)
_AUSTENITIC_E = _table(28.3, 27.5, 27.0, 26.4, 25.9, 25.3, 24.8, 24.1)
_GROUP_1 = _table(6.4, 6.7, 6.9, 7.1, 7.3, 7.4, 7.6, 7.8)
STEELS: Mapping[str, Steel] = MappingProxyType(
    {
        "carbon and low alloy group 1": Steel(expansion=_GROUP_1, modulus=_CARBON_E),
        "1Cr-1/5Mo bolting": Steel(expansion=_GROUP_1, modulus=_CHROME_MOLY_E),
        "other low alloy group 2": Steel(expansion=_table(7.0, 7.3, 7.4, 7.6, 7.7, 7.8, 7.9, 8.0), modulus=_CARBON_E),
        "5Cr-1Mo": Steel(expansion=_table(6.4, 6.7, 6.9, 7.0, 7.1, 7.2, 7.2, 7.3), modulus=None),
        "9Cr-1Mo": Steel(expansion=_table(5.8, 6.0, 6.2, 6.3, 6.4, 6.5, 6.6, 6.7), modulus=None),
        "austenitic stainless": Steel(
            expansion=_table(8.5, 8.9, 9.2, 9.5, 9.7, 9.9, 10.0, 10.1), modulus=_AUSTENITIC_E
        ),
    }
)

_ISO_C = (20.0, 100.0, 200.0, 250.0, 300.0)
_3506_C = (20.0, 100.0, 200.0, 300.0, 400.0)
_Y1_F = (100.0, 200.0, 300.0, 400.0, 500.0, 600.0)
# Family -> (unit of temperature, table of yield in any one unit); only the ratio to the first point is used.
YIELD: Mapping[str, tuple[str, Table]] = MappingProxyType(
    {
        "ISO 898-1 5.6": ("degC", _table(300.0, 270.0, 230.0, 215.0, 195.0, at=_ISO_C)),
        "ISO 898-1 8.8": ("degC", _table(640.0, 590.0, 540.0, 510.0, 480.0, at=_ISO_C)),
        "ISO 898-1 10.9": ("degC", _table(940.0, 875.0, 790.0, 745.0, 705.0, at=_ISO_C)),
        "ISO 898-1 12.9": ("degC", _table(1100.0, 1020.0, 925.0, 875.0, 825.0, at=_ISO_C)),
        "ISO 3506-1 A": ("degC", _table(1.0, 0.85, 0.80, 0.75, 0.70, at=_3506_C)),
        "ISO 3506-1 C1": ("degC", _table(1.0, 0.95, 0.90, 0.80, 0.65, at=_3506_C)),
        "ISO 3506-1 C3": ("degC", _table(1.0, 0.90, 0.85, 0.80, 0.60, at=_3506_C)),
        "A193 B7": ("degF", _table(105.0, 98.0, 94.1, 91.5, 88.5, 85.3, at=_Y1_F)),
        "A193 B8": ("degF", _table(30.0, 25.0, 22.4, 20.7, 19.4, 18.4, 17.6, 16.9, at=(*_Y1_F, 700.0, 800.0))),
        "A193 B8M": ("degF", _table(30.0, 25.9, 23.4, 21.4, 20.0, 18.9, 18.2, 17.6, at=(*_Y1_F, 700.0, 800.0))),
    }
)


@dataclass(frozen=True, slots=True)
class GradeRange:
    """Temperatures in degC that a family of bolt grades is usually kept to, and where that stands."""

    low: float
    high: float
    source: str


_GRADE_RANGES: tuple[tuple[tuple[str, ...], GradeRange], ...] = (
    (("A193 B7", "A193 B7M"), GradeRange(-48, 427, "ASME II-D and B31.3 lists for A193 B7 (from memory)")),
    (("A193 B16",), GradeRange(-29, 538, "lists for A193 B16 (from memory)")),
    (("A193 B6",), GradeRange(-29, 427, "lists for A193 B6 (from memory)")),
    (("A193 B8", "A193 B8M", "A320 B8", "A320 B8M"), GradeRange(-196, 427, "austenitic bolting (from memory)")),
    (("A320 L7", "A320 L43"), GradeRange(-101, 343, "ASTM A320, impact tested at -101 degC (from memory)")),
    (("A320 L7M",), GradeRange(-73, 343, "ASTM A320, impact tested at -73 degC (from memory)")),
    (("A453 660",), GradeRange(-196, 538, "lists for A453 660 (from memory)")),
    (("A540",), GradeRange(-29, 371, "lists for A540 (from memory)")),
    (("A354", "A574", "SAE", "A325", "A490", "F3125"), GradeRange(-29, 204, "low alloy bolting (from memory)")),
    (("A325M", "A490M"), GradeRange(-29, 204, "low alloy bolting (from memory)")),
    (("F593",), GradeRange(-196, 316, "cold-worked austenitic bolting (from memory)")),
    (("25CrMo4",), GradeRange(-60, 400, "EN 10269 (from memory)")),
    (("42CrMo4",), GradeRange(-40, 400, "EN 10269 (from memory)")),
    (("21CrMoV5-7", "40CrMoV4-6"), GradeRange(-10, 540, "EN 10269 (from memory)")),
    (("X22CrMoV12-1",), GradeRange(-10, 580, "EN 10269 (from memory)")),
    (("X6NiCrTiMoVB25-15-2",), GradeRange(-196, 650, "EN 10269 (from memory)")),
    (("alloy 718",), GradeRange(-196, 650, "age-hardened nickel alloy (from memory)")),
    (("titanium",), GradeRange(-60, 300, "titanium grade 5 (from memory)")),
    (("A1-", "A2-", "A3-", "A4-", "A5-", "A8-"), GradeRange(-196, 400, "ISO 3506-1 annex (from memory)")),
    (("D2-", "D4-", "D6-", "D8-"), GradeRange(-40, 250, "duplex steels lose toughness above (from memory)")),
    (("C1-", "C3-", "C4-", "F1-"), GradeRange(-20, 400, "ISO 3506-1 annex (from memory)")),
)
_ISO_898_RANGE = GradeRange(-50, 150, "ISO 898-1:2013 scope (read in a public copy)")
COATING_LIMITS: Mapping[str, tuple[float, str]] = MappingProxyType(
    {
        "zinc": (200.0, "zinc attacks hot steel (liquid metal embrittlement): 200 degC, common practice, no source"),
        "galvanised": (200.0, "zinc attacks hot steel (liquid metal embrittlement): 200 degC, common practice"),
        "cadmium": (230.0, "cadmium melts at 321 degC and embrittles steel well below: 230 degC, common practice"),
        "PTFE": (230.0, "PTFE coatings fail above 230 to 260 degC, common practice, no source"),
        "zinc flake": (300.0, "zinc flake coatings: about 300 degC, common practice, no source"),
    }
)
"""Hottest that a bolt coating is used, degC, and why."""


def grade_range(grade: str) -> GradeRange | None:
    """Temperatures that a grade is usually kept to; None where nothing is known here.

    Args:
        grade: our name of it (`strength.grade_name`).
    """
    if re.fullmatch(r"[0-9]+\.[0-9]+", grade):
        return _ISO_898_RANGE
    exact = next((limits for names, limits in _GRADE_RANGES if grade in names), None)
    return exact or next((limits for names, limits in _GRADE_RANGES if grade.startswith(names)), None)


def _interpolated(table: Table, at: float) -> float | None:
    if not table[0][0] <= at <= table[-1][0]:
        return None
    for (low, first), (high, second) in pairwise(table):
        if at <= high:
            return first + (second - first) * (at - low) / (high - low)
    return table[-1][1]


def _value(table: Table, temperature: Quantity, unit: str, what: str) -> float:
    at = magnitude(temperature, unit, name="temperature")
    found = _interpolated(table, at)
    if found is None:
        raise BadBolting(
            f"{what} at {show(temperature, unit)}: outside the table",
            remedy=f"The table goes from {table[0][0]:g} to {table[-1][0]:g} {unit}.",
        )
    return found


def _steel(name: str) -> Steel:
    if name not in STEELS:
        raise BadBolting(f"steel is {name!r}: unknown", remedy=f"One of: {', '.join(STEELS)}.")
    return STEELS[name]


def mean_expansion(steel: str, temperature: Quantity) -> Quantity:
    """Mean coefficient of thermal expansion from 70 degF (21 degC) to a temperature, in 1/K.

    Args:
        steel: key of STEELS.
        temperature: 70 to 800 degF (21 to 427 degC), a temperature, not a difference.

    Raises:
        BadBolting: unknown steel, temperature outside the table.

    Source: ASME II-D (2001) Table TE-1 coefficient B (see module).
    """
    per_degf = _value(_steel(steel).expansion, temperature, "degF", f"expansion of {steel}")
    return of(per_degf * 1e-6 * 1.8, "1/K")


def modulus(steel: str, temperature: Quantity) -> Quantity:
    """Modulus of elasticity at a temperature, in GPa; arguments and errors as `mean_expansion`, and no table at all.

    Source: ASME II-D Table TM-1 (from memory).
    """
    table = _steel(steel).modulus
    if table is None:
        raise BadBolting(f"modulus of {steel}: no table", remedy="Give the modulus from the material's data.")
    return of(_value(table, temperature, "degF", f"modulus of {steel}") * 6.894757293168, "GPa")


def yield_ratio(strength: Strength, temperature: Quantity) -> float:
    """Yield at a temperature over yield at room temperature, for the family of a bolt grade.

    Args:
        strength: from `strength.material`.
        temperature: 20 degC (or 100 degF) up to the end of the family's table; room temperature counts as 1.

    Raises:
        BadBolting: no table for this grade, or temperature outside it.

    Source: ASME II-D Y-1; ISO 898-1:1999 and ISO 3506-1 annexes (from memory). ISO 898-1 bolts are meant for -50 to
    +150 degC; above that have the maker confirm the values.
    """
    if strength.temperature_family is None:
        raise BadBolting(
            f"grade {strength.grade}: no yield strength at temperature in our tables",
            remedy="Take it from the material standard or the maker, and give the target for the hot state yourself.",
        )
    unit, table = YIELD[strength.temperature_family]
    at = magnitude(temperature, unit, name="temperature")
    room = 0.0 if unit == "degC" else 32.0
    if room <= at < table[0][0]:
        return 1.0
    return _value(table, temperature, unit, f"yield of {strength.grade}") / table[0][1]


def yield_at(strength: Strength, temperature: Quantity) -> Quantity:
    """Minimum yield strength at a temperature in MPa: room value x `yield_ratio` (same arguments, errors, source)."""
    return of(magnitude(strength.yield_, "MPa", name="yield") * yield_ratio(strength, temperature), "MPa")


def steel_of_grade(grade: str) -> str:
    """Key of STEELS for a bolt grade's name (`strength.grade_name`).

    Raises:
        BadBolting: we have no expansion data for it (martensitic, ferritic, duplex, A453 660).
    """
    if re.fullmatch(r"[0-9]+\.[0-9]+", grade) or grade.startswith(("SAE ", "A325", "A490", "F3125", "A354", "A574")):
        return "carbon and low alloy group 1"
    if grade in ("A193 B7", "A193 B7M", "A193 B16", "A320 L7", "A320 L7M", "25CrMo4", "42CrMo4"):
        return "1Cr-1/5Mo bolting"
    if grade.startswith(("A1-", "A2-", "A3-", "A4-", "A5-", "A193 B8", "A320 B8", "F593")):
        return "austenitic stainless"
    raise BadBolting(f"grade {grade}: no thermal expansion data", remedy=f"Name the steel: {', '.join(STEELS)}.")
