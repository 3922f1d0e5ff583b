"""Parses, checks and formats all quantities. The only module that imports pint.

Text is never parsed by pint (`Nm`, `lb ft` and `2**3` mean something else there). A quantity is a plain decimal
number, one space and a unit from `UNITS`: "310 N*m", "500 lbf*ft", "-5 %", "12 mm", "180 degC"; where a torque is
wanted, "310 Nm" and "500 ft-lb" have one reading only and are taken (`READ_AS`). A torque comes only
through `quantity(..., "torque")`, `torque()` or the formulas of `friction_and_torque.torque`, and is never taken for
an energy.

Source of the factors: NIST SP 811 (inch, pound and standard gravity are exact definitions; read in public pages that
quote it, and recomputed). pint is given these units only, which makes every command start faster; a test holds each of
them against pint's own list.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import lru_cache
from types import MappingProxyType
from typing import Any, TypeAlias

import pint

from assistant.bolting.unit_kinds import AMBIGUOUS, CONVERT_ONLY, KINDS, READ_AS, TORQUE_UNITS
from assistant.errors import BadQuantity
from assistant.events import Measured

__all__ = [
    "KINDS",
    "REGISTRY",
    "TORQUE_UNITS",
    "UNITS",
    "Quantity",
    "convert",
    "magnitude",
    "measured",
    "of",
    "quantity",
    "read_as",
    "rounded",
    "show",
    "torque",
]

_DEFINITIONS = """\
micro- = 1e-6
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deca- = 1e+1 = da-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
meter = [length] = m
second = [time] = s
kilogram = [mass]
kelvin = [temperature]; offset: 0 = K
radian = []
turn = 2 * 3.14159265358979323846 * radian
degree = 3.14159265358979323846 / 180 * radian = deg
percent = 0.01
minute = 60 * second
hour = 60 * minute
day = 24 * hour
degree_Celsius = kelvin; offset: 273.15 = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = degF
yard = 0.9144 * meter
foot = yard / 3 = ft
inch = yard / 36 = in
pound = 7e3 * 64.79891e-6 * kilogram
ounce = pound / 16
standard_gravity = 9.80665 * meter / second ** 2
newton = kilogram * meter / second ** 2 = N
force_kilogram = standard_gravity * kilogram
force_pound = standard_gravity * pound
force_ounce = standard_gravity * ounce
kip = 1e3 * force_pound
joule = newton * meter = J
foot_pound = foot * force_pound
pascal = newton / meter ** 2 = Pa
bar = 1e5 * pascal
psi = force_pound / inch ** 2
ksi = 1e3 * psi
"""
REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry(_DEFINITIONS.splitlines(), cache_folder=None)
Quantity: TypeAlias = "pint.Quantity[float]"

UNITS: Mapping[str, pint.Unit] = MappingProxyType(
    {
        symbol: REGISTRY.Unit(name)
        for table in (*(kind.units for kind in reversed(list(KINDS.values()))), CONVERT_ONLY)
        for symbol, name in table.items()
    }
)
_KIND_UNITS = {
    name: {symbol: REGISTRY.Unit(unit) for symbol, unit in kind.units.items()} for name, kind in KINDS.items()
}
_ENERGY = REGISTRY.Unit("joule").dimensionality
_ABSOLUTE_ZERO_K = 0.0

_PLAIN = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
_EXPONENT = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]{1,3})?")
_FRACTION = re.compile(r"(?:([0-9]+)(?: |-))?([0-9]+)/(2|4|8|16|32|64)")


def _allowed(kind: str) -> str:
    units = [repr(symbol) if symbol else "no unit" for symbol in KINDS[kind].units]
    return f"Write {kind} like '{KINDS[kind].example}' (number, space, unit); allowed: {', '.join(units)}."


def _number(text: str, kind: str, unit: str) -> Decimal | None:
    rules = KINDS[kind]
    if (_EXPONENT if rules.exponent else _PLAIN).fullmatch(text):
        return Decimal(text)
    fraction = _FRACTION.fullmatch(text) if rules.fraction and unit == "in" else None
    if fraction:
        whole, top, bottom = fraction.groups()
        return Decimal(whole or 0) + Decimal(top) / Decimal(bottom)
    return None


def _why_not(unit: str, kind: str) -> str:
    if not unit:
        return "the unit is missing"
    if unit[0] in ",'_*^(0123456789":
        return "not a plain number (a point marks decimals; no thousands mark, no arithmetic)"
    if unit.lower() in AMBIGUOUS:
        return f"{unit!r} is not accepted, {AMBIGUOUS[unit.lower()]}"
    return f"{unit!r} is not a unit of {kind}" if unit in UNITS else f"unknown unit {unit!r}"


def _split(text: str, kind: str, field: str) -> tuple[Decimal, str]:
    """The number and our unit symbol in text, or BadQuantity."""
    wrong = f"{field} is {text!r}"
    if not isinstance(text, str):
        raise BadQuantity(f"{wrong}: not text, so its unit is missing", remedy=_allowed(kind))
    match = re.fullmatch(r"([+-]?[0-9][0-9.eE+/-]*(?: [0-9]+/[0-9]+(?= ))?)(.*)", text.strip(), flags=re.DOTALL)
    if match is None:
        raise BadQuantity(f"{wrong}: not a plain number with a unit", remedy=_allowed(kind))
    digits, unit = match.group(1), match.group(2).strip().replace("·", "*")
    if kind == "ratio" and unit == ":1":
        unit = ""
    unit = READ_AS.get(kind, {}).get(unit, unit)
    if unit not in KINDS[kind].units:
        raise BadQuantity(f"{wrong}: {_why_not(unit, kind)}", remedy=_allowed(kind))
    number = _number(digits, kind, unit)
    if number is None:
        raise BadQuantity(f"{wrong}: {digits!r} is not a plain decimal number", remedy=_allowed(kind))
    return number, unit


def read_as(text: str, kind: str) -> str | None:
    """Our own spelling of a quantity that was written as wrenches show it ("310 Nm" -> "310 N*m"), else None."""
    match = re.fullmatch(r"([+-]?[0-9.]+) ?(.*)", text.strip(), flags=re.DOTALL)
    ours = READ_AS.get(kind, {}).get(match.group(2).strip()) if match else None
    return None if match is None or ours is None else f"{match.group(1)} {ours}"


def _refuse_out_of_range(number: Decimal, kind: str, unit: str, wrong: str) -> float:
    rules = KINDS[kind]
    value = float(number)
    if not math.isfinite(value):
        raise BadQuantity(f"{wrong}: not a finite number", remedy=_allowed(kind))
    if rules.positive and value <= 0:
        raise BadQuantity(f"{wrong}: a {kind} must be above zero", remedy=_allowed(kind))
    if rules.least is not None and number < rules.least:
        raise BadQuantity(f"{wrong}: a {kind} cannot be below {rules.least}", remedy=_allowed(kind))
    if rules.most is not None and (number / 100 if unit == "%" else number) > rules.most:
        raise BadQuantity(f"{wrong}: {kind} cannot be above {rules.most}", remedy=_allowed(kind))
    return value


def quantity(text: str, kind: str, *, field: str) -> Quantity:
    """Read a quantity as people write it in a joint file or on a command line.

    Args:
        text: plain decimal number and a unit of the kind, e.g. "310 N*m", "-5 %", "3/4 in", "5:1".
        kind: a key of KINDS.
        field: where it stands, for the message, e.g. "gate-7.toml: tightening.target".

    Returns:
        One scalar quantity in the unit it was written in (temperatures stay degC, degF or K).

    Raises:
        BadQuantity: no unit, unit unknown, ambiguous or of another kind, number not plain or not finite, out of range.
    """
    number, unit = _split(text, kind, field)
    value = _refuse_out_of_range(number, kind, unit, f"{field} is {text!r}")
    result = REGISTRY.Quantity(value, _KIND_UNITS[kind][unit])
    if kind == "temperature" and result.to("kelvin").magnitude < _ABSOLUTE_ZERO_K:
        raise BadQuantity(f"{field} is {text!r}: below absolute zero", remedy=_allowed(kind))
    return result


def torque(measured: Measured) -> Quantity:
    """Turn a recorded torque into a quantity.

    Args:
        measured: value finite and above zero; unit a key of TORQUE_UNITS.

    Returns:
        One scalar quantity, dimension force x length, in the unit it was said in.

    Raises:
        BadQuantity: the unit is not listed, or the value is not finite and above zero.

    Source: NIST SP 811 for the pound-force and the foot (read in public pages that quote it).
    """
    wrong = f"torque is {measured.value} {measured.unit}"
    if measured.unit not in TORQUE_UNITS:
        raise BadQuantity(f"{wrong}: unit not accepted", remedy=_allowed("torque"))
    if not measured.value.is_finite():
        raise BadQuantity(f"{wrong}: not a finite number", remedy=_allowed("torque"))
    value = _refuse_out_of_range(measured.value, "torque", measured.unit, wrong)
    return REGISTRY.Quantity(value, _KIND_UNITS["torque"][measured.unit])


def of(value: float, unit: str) -> Quantity:
    """A quantity from a bare number that our own code holds: `of(245.0, "mm2")`.

    Raises:
        BadQuantity: the unit is not in UNITS, or the number is not finite.
    """
    if unit not in UNITS:
        raise BadQuantity(f"unit is {unit!r}", remedy=f"Use one of: {', '.join(sorted(UNITS))}.")
    if not math.isfinite(value):
        raise BadQuantity(f"value is {value} {unit}", remedy="Use a finite number.")
    return REGISTRY.Quantity(float(value), UNITS[unit])


def magnitude(value: Quantity, unit: str, *, name: str) -> float:
    """The bare number of a quantity in one of our units, for use in a formula.

    Args:
        value: any scalar quantity of this registry, e.g. a preload in kip.
        unit: symbol of UNITS, e.g. "N"; symbols of torque refuse energies (joule).
        name: what it is, for the message.

    Raises:
        BadQuantity: another dimension, energy given as torque, not finite, or not a quantity at all.
    """
    target = UNITS[unit]
    if not isinstance(value, REGISTRY.Quantity):
        raise BadQuantity(f"{name} is {value!s}", remedy=f"Give a quantity that converts to {unit}.")
    try:
        factor = _factor(value.units, target)
        result = float(value.magnitude * factor if factor is not None else value.to(target).magnitude)
    except _EnergyGiven:
        raise BadQuantity(f"{name} is an energy ({value.units})", remedy="Give a torque, e.g. in N*m.") from None
    except (pint.PintError, TypeError, ValueError) as error:
        raise BadQuantity(f"{name} is {value!s}", remedy=f"Give a quantity that converts to {unit}.") from error
    if not math.isfinite(result):
        raise BadQuantity(f"{name} is {value!s}", remedy="Give a finite number.")
    return result


class _EnergyGiven(Exception):
    """Caught in `magnitude`, which knows the name of the value."""


@lru_cache(maxsize=4096)
def _factor(source: pint.Unit, target: pint.Unit) -> float | None:
    """Factor from one unit to another, None where zeros differ (temperature scales).

    Raises:
        _EnergyGiven: a torque is wanted and source is a unit of energy such as joule or foot-pound.
        pint.DimensionalityError: they do not convert.
    """
    if source == target:
        return 1.0
    if target.dimensionality == _ENERGY == source.dimensionality:
        parts = REGISTRY.Quantity(1.0, source).unit_items()
        if any(REGISTRY.Unit(part).dimensionality == _ENERGY for part, _ in parts):
            raise _EnergyGiven
    if REGISTRY.Quantity(0.0, source).to(target).magnitude != 0.0:
        return None
    return float(REGISTRY.Quantity(1.0, source).to(target).magnitude)


def convert(value: Quantity, unit: str) -> Quantity:
    """The same quantity in another of our units; BadQuantity when it is of another dimension (or an energy)."""
    if unit not in UNITS:
        raise BadQuantity(f"unit is {unit!r}", remedy=f"Use one of: {', '.join(sorted(UNITS))}.")
    return REGISTRY.Quantity(magnitude(value, unit, name="quantity"), UNITS[unit])


def rounded(number: float, places: int) -> Decimal:
    """A float to `places` decimals, half away from zero as people round (negative places round to tens)."""
    return Decimal(repr(float(number))).quantize(
        Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP, context=Context(prec=400)
    )


def measured(value: Quantity, unit: str, places: int) -> Measured:
    """A quantity as a recordable number with `places` decimals in one of our units (rounded half up)."""
    number = rounded(magnitude(value, unit, name="quantity"), places)
    return Measured(Decimal(f"{number:f}"), unit)


def show(value: Quantity, unit: str, *, places: int | None = None, digits: int = 4) -> str:
    """Our own text of a quantity, readable by `quantity` again: "310 N*m", "-5 %", "0.0175 in".

    Args:
        value: scalar, convertible to unit.
        unit: symbol of UNITS; "" gives a bare number.
        digits: significant digits, used when places is None.
        places: decimals to print, zeros kept; None prints `digits` significant digits without trailing zeros.
    """
    number = magnitude(value, unit, name="quantity")
    if places is not None:
        text = f"{rounded(number, places):f}"
    else:
        exponent = math.floor(math.log10(abs(number))) if number else 0
        text = f"{rounded(number, max(digits - 1 - exponent, 0)):f}"
        if "." in text:
            text = text.rstrip("0").rstrip(".")
    if text.lstrip("-0.") == "":
        text = text.lstrip("-")
    return f"{text} {unit}".rstrip()
