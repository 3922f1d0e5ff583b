"""Which diameters and pitches exist: ISO metric and Unified (UN) series, as data.

Sources: ISO 261 general plan (coarse and constant-pitch series; from memory, the common sizes M3 to M64 compared with
public tables that reproduce ISO 261 and ISO 724); ASME B1.1 UNC, UNF and 8-UN series (read in part in the textbook
table of Shigley, Mechanical Engineering Design, 9th ed., Table 8-2, and in public copies of ASME PCC-1 Table H-1; sizes
above 2 1/2 in from memory). 1-14 UNS is listed because FAA AC 43.13-1B gives torques for it (read).
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType

# Nominal diameter in mm -> (coarse pitch in mm, or None where ISO 261 has no coarse one; fine pitches in mm).
METRIC: Mapping[str, tuple[str | None, tuple[str, ...]]] = MappingProxyType(
    {
        "3": ("0.5", ("0.35",)),
        "3.5": ("0.6", ("0.35",)),
        "4": ("0.7", ("0.5",)),
        "4.5": ("0.75", ("0.5",)),
        "5": ("0.8", ("0.5",)),
        "5.5": (None, ("0.5",)),
        "6": ("1", ("0.75",)),
        "7": ("1", ("0.75",)),
        "8": ("1.25", ("1", "0.75")),
        "9": ("1.25", ("1", "0.75")),
        "10": ("1.5", ("1.25", "1", "0.75")),
        "11": ("1.5", ("1", "0.75")),
        "12": ("1.75", ("1.5", "1.25", "1")),
        "14": ("2", ("1.5", "1.25", "1")),
        "15": (None, ("1.5", "1")),
        "16": ("2", ("1.5", "1")),
        "17": (None, ("1.5", "1")),
        "18": ("2.5", ("2", "1.5", "1")),
        "20": ("2.5", ("2", "1.5", "1")),
        "22": ("2.5", ("2", "1.5", "1")),
        "24": ("3", ("2", "1.5", "1")),
        "25": (None, ("2", "1.5", "1")),
        "26": (None, ("1.5",)),
        "27": ("3", ("2", "1.5", "1")),
        "28": (None, ("2", "1.5", "1")),
        "30": ("3.5", ("3", "2", "1.5", "1")),
        "32": (None, ("2", "1.5")),
        "33": ("3.5", ("3", "2", "1.5")),
        "35": (None, ("1.5",)),
        "36": ("4", ("3", "2", "1.5")),
        "38": (None, ("1.5",)),
        "39": ("4", ("3", "2", "1.5")),
        "40": (None, ("3", "2", "1.5")),
        "42": ("4.5", ("4", "3", "2", "1.5")),
        "45": ("4.5", ("4", "3", "2", "1.5")),
        "48": ("5", ("4", "3", "2", "1.5")),
        "50": (None, ("3", "2", "1.5")),
        "52": ("5", ("4", "3", "2", "1.5")),
        "55": (None, ("4", "3", "2", "1.5")),
        "56": ("5.5", ("4", "3", "2", "1.5")),
        "58": (None, ("4", "3", "2", "1.5")),
        "60": ("5.5", ("4", "3", "2", "1.5")),
        "62": (None, ("4", "3", "2", "1.5")),
        "64": ("6", ("4", "3", "2", "1.5")),
        "65": (None, ("4", "3", "2", "1.5")),
        "68": ("6", ("4", "3", "2", "1.5")),
        "70": (None, ("6", "4", "3", "2", "1.5")),
        "72": (None, ("6", "4", "3", "2", "1.5")),
        "75": (None, ("4", "3", "2", "1.5")),
        "76": (None, ("6", "4", "3", "2", "1.5")),
        "78": (None, ("2",)),
        "80": (None, ("6", "4", "3", "2", "1.5")),
        "82": (None, ("2",)),
        "85": (None, ("6", "4", "3", "2")),
        "90": (None, ("6", "4", "3", "2")),
        "95": (None, ("6", "4", "3", "2")),
        "100": (None, ("6", "4", "3", "2")),
    }
)

# Numbered sizes: diameter = 0.060 in + number x 0.013 in (ASME B1.1).
NUMBERED: Mapping[str, Fraction] = MappingProxyType(
    {number: Fraction(60 + 13 * int(number), 1000) for number in ("4", "5", "6", "8", "10", "12")}
)


def _inches(*pairs: tuple[str, str]) -> Mapping[Fraction, Fraction]:
    """Diameter in inches -> threads per inch, from texts like ("1 1/8", "7")."""
    return MappingProxyType(
        {sum((Fraction(part) for part in size.split()), Fraction(0)): Fraction(tpi) for size, tpi in pairs}
    )


UNC = MappingProxyType(
    {
        **{NUMBERED[number]: Fraction(tpi) for number, tpi in zip(NUMBERED, (40, 40, 32, 32, 24, 24), strict=True)},
        **_inches(
            ("1/4", "20"), ("5/16", "18"), ("3/8", "16"), ("7/16", "14"), ("1/2", "13"), ("9/16", "12"), ("5/8", "11")
        ),
        **_inches(
            ("3/4", "10"), ("7/8", "9"), ("1", "8"), ("1 1/8", "7"), ("1 1/4", "7"), ("1 3/8", "6"), ("1 1/2", "6")
        ),
        **_inches(
            ("1 3/4", "5"), ("2", "4.5"), ("2 1/4", "4.5"), ("2 1/2", "4"), ("2 3/4", "4"), ("3", "4"), ("3 1/4", "4")
        ),
        **_inches(("3 1/2", "4"), ("3 3/4", "4"), ("4", "4")),
    }
)
UNF = MappingProxyType(
    {
        **{NUMBERED[number]: Fraction(tpi) for number, tpi in zip(NUMBERED, (48, 44, 40, 36, 32, 28), strict=True)},
        **_inches(
            ("1/4", "28"), ("5/16", "24"), ("3/8", "24"), ("7/16", "20"), ("1/2", "20"), ("9/16", "18"), ("5/8", "18")
        ),
        **_inches(
            ("3/4", "16"),
            ("7/8", "14"),
            ("1", "12"),
            ("1 1/8", "12"),
            ("1 1/4", "12"),
            ("1 3/8", "12"),
            ("1 1/2", "12"),
        ),
    }
)
EIGHT_UN = MappingProxyType({Fraction(8 + eighths, 8): Fraction(8) for eighths in range(1, 25)})
UNS = _inches(("1", "14"))

# Series name -> sizes. 1-8 is UNC; the 8-thread series begins at 1 1/8 in here so that no name has two readings.
UN_SERIES: Mapping[str, Mapping[Fraction, Fraction]] = MappingProxyType(
    {"UNC": UNC, "UNF": UNF, "8UN": EIGHT_UN, "UNS": UNS}
)
