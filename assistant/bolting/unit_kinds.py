"""The units that people may write and say, by kind of quantity: data only, no arithmetic.

Symbols are ours; each stands for one pint unit. What is ambiguous is listed with the reason, so that a refusal can
say why. Source of the exact factors: NIST SP 811 (read in public pages that quote it, and recomputed).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

# Exact value of one unit in N*m (NIST SP 811): pound-force = 4.4482216152605 N, foot = 0.3048 m, kgf = 9.80665 N.
TORQUE_UNITS: Mapping[str, Fraction] = MappingProxyType(
    {
        "N*m": Fraction(1),
        "lbf*ft": Fraction("4.4482216152605") * Fraction("0.3048"),
        "lbf*in": Fraction("4.4482216152605") * Fraction("0.0254"),
        "kgf*m": Fraction("9.80665"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of quantity: the units it may be written in (our symbol -> pint unit) and its legal range.

    Args:
        units: first is the one we suggest; "" is a bare number.
        positive: must be above zero; otherwise `least` (in the kind's own unit) bounds it from below, if given.
        exponent: 1.2e-5 is allowed (only where people write such numbers).
        fraction: "3/4 in", "1 1/8 in" is allowed with inch units.
    """

    example: str
    units: Mapping[str, str]
    positive: bool = True
    least: Decimal | None = None
    most: Decimal | None = None
    exponent: bool = False
    fraction: bool = False


_STRESS = {
    "MPa": "megapascal",
    "N/mm2": "newton / millimeter ** 2",
    "GPa": "gigapascal",
    "psi": "psi",
    "ksi": "ksi",
}
_ZERO = Decimal(0)
KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "torque": Kind(
            example="310 N*m",
            units={
                "N*m": "newton * meter",
                "lbf*ft": "force_pound * foot",
                "lbf*in": "force_pound * inch",
                "kgf*m": "force_kilogram * meter",
            },
        ),
        "force": Kind(
            example="120 kN",
            units={
                "kN": "kilonewton",
                "N": "newton",
                "MN": "meganewton",
                "lbf": "force_pound",
                "kip": "kip",
                "kgf": "force_kilogram",
            },
        ),
        "stress": Kind(example="450 MPa", units=_STRESS),
        "seating-stress": Kind(example="69 MPa", units=_STRESS, positive=False, least=_ZERO),
        "pressure": Kind(
            example="16 bar",
            units={
                "bar": "bar",
                "MPa": "megapascal",
                "kPa": "kilopascal",
                "Pa": "pascal",
                "mbar": "millibar",
                "psi": "psi",
            },
            positive=False,
        ),
        "length": Kind(
            example="180 mm",
            units={"mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "ft": "foot"},
            fraction=True,
        ),
        "gap": Kind(
            example="0.4 mm",
            units={"mm": "millimeter", "um": "micrometer", "in": "inch"},
            positive=False,
            least=_ZERO,
            fraction=True,
        ),
        "area": Kind(example="245 mm2", units={"mm2": "millimeter ** 2", "cm2": "centimeter ** 2", "in2": "inch ** 2"}),
        "temperature": Kind(
            example="180 degC",
            units={"degC": "degree_Celsius", "degF": "degree_Fahrenheit", "K": "kelvin"},
            positive=False,
        ),
        "temperature-difference": Kind(
            example="120 K",
            units={"K": "delta_degree_Celsius", "degC": "delta_degree_Celsius", "degF": "delta_degree_Fahrenheit"},
            positive=False,
        ),
        "percent": Kind(example="-5 %", units={"%": "percent"}, positive=False),
        "ratio": Kind(example="5", units={"": "dimensionless"}),
        "efficiency": Kind(example="0.9", units={"": "dimensionless", "%": "percent"}, most=Decimal(1)),
        "friction": Kind(example="0.12", units={"": "dimensionless"}, most=Decimal(1)),
        "time": Kind(
            example="4 h", units={"h": "hour", "min": "minute", "s": "second", "d": "day"}, positive=False, least=_ZERO
        ),
        "angle": Kind(example="30 deg", units={"deg": "degree", "turn": "turn"}, positive=False),
        "stiffness": Kind(
            example="500 kN/mm",
            units={"kN/mm": "kilonewton / millimeter", "N/mm": "newton / millimeter", "lbf/in": "force_pound / inch"},
        ),
        "expansion": Kind(
            example="1.2e-5 1/K",
            units={
                "1/K": "1 / kelvin",
                "um/(m*K)": "micrometer / (meter * kelvin)",
                "1/degC": "1 / delta_degree_Celsius",
                "1/degF": "1 / delta_degree_Fahrenheit",
            },
            exponent=True,
        ),
    }
)

# Units that only conversions know (never accepted in a file or from a mouth).
CONVERT_ONLY: Mapping[str, str] = MappingProxyType(
    {
        "kgf*cm": "force_kilogram * centimeter",
        "ozf*in": "force_ounce * inch",
        "kN*m": "kilonewton * meter",
        "N*mm": "newton * millimeter",
        "N*cm": "newton * centimeter",
        "daN*m": "decanewton * meter",
        "kgf/cm2": "force_kilogram / centimeter ** 2",
        "kgf/mm2": "force_kilogram / millimeter ** 2",
        "daN": "decanewton",
    }
)

# How wrenches and data sheets show a unit where only one reading is possible: in the place of a torque the pound can
# only be the force and Nm only the newton metre. Only these exact spellings are taken; the plan lists each one read.
_SIGNS = ("", " ", "-", ".", "*")
_SHOWN_TORQUE = {
    "N*m": [f"N{sign}m" for sign in _SIGNS],
    "kgf*m": [f"{kilogram}{sign}m" for kilogram in ("kg", "kgf") for sign in _SIGNS],
    **{
        f"lbf*{length}": [
            spelling
            for pound in ("lb", "lbf")
            for sign in _SIGNS
            for spelling in (f"{pound}{sign}{length}", f"{length}{sign}{pound}")
        ]
        for length in ("ft", "in")
    },
}
READ_AS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "torque": MappingProxyType(
            {shown: ours for ours, all_shown in _SHOWN_TORQUE.items() for shown in all_shown if shown != ours}
        )
    }
)

# What is refused, and why (lower case, as written after the number).
AMBIGUOUS: Mapping[str, str] = MappingProxyType(
    {
        "nm": "it could be nanometre or newton metre",
        "n m": "the product sign is missing",
        "n.m": "the product sign is '*'",
        "j": "that is energy, and a torque is not an energy",
        "joule": "that is energy, and a torque is not an energy",
        "lb ft": "pound may be mass or force",
        "lb*ft": "pound may be mass or force",
        "lbft": "pound may be mass or force",
        "ft lb": "pound may be mass or force",
        "ft*lb": "pound may be mass or force",
        "ft-lb": "pound may be mass or force",
        "ftlb": "pound may be mass or force",
        "ft lbf": "the product sign is missing",
        "lbf ft": "the product sign is missing",
        "lb in": "pound may be mass or force",
        "in lb": "pound may be mass or force",
        "in-lb": "pound may be mass or force",
        "lbf in": "the product sign is missing",
        "lb": "pound may be mass or force, and foot or inch is missing",
        "lbs": "pound may be mass or force, and foot or inch is missing",
        "kgm": "kilogram is a mass; the force is kgf",
        "kg m": "kilogram is a mass; the force is kgf",
        "kg*m": "kilogram is a mass; the force is kgf",
        "kg": "kilogram is a mass; the force is kgf",
        "kgf m": "the product sign is missing",
        "c": "write the degree sign as deg",
        "f": "write the degree sign as deg",
        "°c": "write the degree sign as deg",
        "°f": "write the degree sign as deg",
        '"': "the inch is written in",
    }
)
