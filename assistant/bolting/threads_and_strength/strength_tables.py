"""Proof, yield and tensile strength of bolt grades by diameter, as the standards list them: data only.

A row is (largest diameter, proof, yield, tensile); proof is None where the standard has none. Diameters and stresses
are in mm and MPa for metric standards and in inch and ksi for the others; rows of a grade rise in diameter.

Sources. ISO 898-1: read in public tables reproducing EN ISO 898-1:2013. ISO 3506-1: classes 50, 70, 80 from memory
(50 also read), C, F, D and 100 from memory. SAE J429: read (grades 1, 4, 5.2, 7, 8.2 from memory). ASTM A193 and A320:
read in public mechanical tables. A325, A490: read; F3125:2015 (one strength for all A325 sizes) and the metric grades
A325M, A490M from memory. A453: read in a public specification summary. A354, A540, A574, F593, alloy 718, titanium and
EN 10269: from memory, and marked so in their notes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

Row = tuple[float, float | None, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One property class or material grade.

    Args:
        standard: where the values come from.
        system: "metric" (mm, MPa), "UN" (inch, ksi), or "both" (inch, ksi; metric threads allowed too).
        rows: by largest diameter; the first row that is large enough holds.
        above: diameter that the rows begin above (exclusive), in the system's unit.
        family: key of `temperature_properties`, None when no data.
        note: a restriction to print with the values.
    """

    standard: str
    system: str
    rows: tuple[Row, ...]
    above: float = 0.0
    family: str | None = None
    note: str = ""


def _iso(*rows: Row, family: str | None = None) -> Grade:
    return Grade(standard="ISO 898-1", system="metric", rows=rows, family=family)


ISO_898: Mapping[str, Grade] = MappingProxyType(
    {
        "4.6": _iso((39.0, 225.0, 240.0, 400.0)),
        "4.8": _iso((39.0, 310.0, 340.0, 420.0)),
        "5.6": _iso((39.0, 280.0, 300.0, 500.0), family="ISO 898-1 5.6"),
        "5.8": _iso((39.0, 380.0, 420.0, 520.0)),
        "6.8": _iso((39.0, 440.0, 480.0, 600.0)),
        "8.8": _iso((16.0, 580.0, 640.0, 800.0), (39.0, 600.0, 660.0, 830.0), family="ISO 898-1 8.8"),
        "9.8": _iso((16.0, 650.0, 720.0, 900.0)),
        "10.9": _iso((39.0, 830.0, 940.0, 1040.0), family="ISO 898-1 10.9"),
        "12.9": _iso((39.0, 970.0, 1100.0, 1220.0), family="ISO 898-1 12.9"),
    }
)

_STAINLESS_CLASS = {  # austenitic (A) and duplex (D): class -> (largest diameter, yield, tensile)
    "50": (39.0, 210.0, 500.0),
    "70": (24.0, 450.0, 700.0),
    "80": (24.0, 600.0, 800.0),
    "100": (24.0, 800.0, 1000.0),
}
_STAINLESS_OTHER = {  # martensitic (C) and ferritic (F)
    "C1-50": (39.0, 250.0, 500.0),
    "C1-70": (39.0, 410.0, 700.0),
    "C1-110": (39.0, 820.0, 1100.0),
    "C3-80": (39.0, 640.0, 800.0),
    "C4-50": (39.0, 250.0, 500.0),
    "C4-70": (39.0, 410.0, 700.0),
    "F1-45": (24.0, 250.0, 450.0),
    "F1-60": (24.0, 410.0, 600.0),
}


def _stainless(row: tuple[float, float, float], family: str | None) -> Grade:
    return Grade(
        standard="ISO 3506-1",
        system="metric",
        rows=((row[0], None, row[1], row[2]),),
        family=family,
        note="ISO 3506-1 has no proof strength; stainless threads gall when dry",
    )


ISO_3506: Mapping[str, Grade] = MappingProxyType(
    {
        **{
            f"A{steel}-{name}": _stainless(row, "ISO 3506-1 A")
            for steel in (1, 2, 3, 4, 5, 8)
            for name, row in _STAINLESS_CLASS.items()
        },
        **{
            f"D{steel}-{name}": _stainless(row, None)
            for steel in (2, 4, 6, 8)
            for name, row in _STAINLESS_CLASS.items()
            if name != "50"
        },
        **{
            name: _stainless(row, {"C1": "ISO 3506-1 C1", "C3": "ISO 3506-1 C3"}.get(name[:2]))
            for name, row in _STAINLESS_OTHER.items()
        },
    }
)


def _sae(*rows: Row, above: float = 0.0) -> Grade:
    return Grade(standard="SAE J429", system="UN", rows=rows, above=above)


SAE_J429: Mapping[str, Grade] = MappingProxyType(
    {
        "SAE 1": _sae((1.5, 33.0, 36.0, 60.0)),
        "SAE 2": _sae((0.75, 55.0, 57.0, 74.0), (1.5, 33.0, 36.0, 60.0)),
        "SAE 4": _sae((1.5, 65.0, 100.0, 115.0)),
        "SAE 5": _sae((1.0, 85.0, 92.0, 120.0), (1.5, 74.0, 81.0, 105.0)),
        "SAE 5.2": _sae((1.0, 85.0, 92.0, 120.0)),
        "SAE 7": _sae((1.5, 105.0, 115.0, 133.0)),
        "SAE 8": _sae((1.5, 120.0, 130.0, 150.0)),
        "SAE 8.2": _sae((1.0, 120.0, 130.0, 150.0)),
    }
)


def _astm(standard: str, *rows: Row, system: str = "both", family: str | None = None, note: str = "") -> Grade:
    return Grade(standard=standard, system=system, rows=rows, family=family, note=note)


_HUGE = 8.0  # inch: "all diameters" of a bar standard
_NO_PROOF = "no proof strength in this standard: targets are a share of yield"
_B8_2 = ((0.75, None, 100.0, 125.0), (1.0, None, 80.0, 115.0), (1.25, None, 65.0, 105.0), (1.5, None, 50.0, 100.0))
_B8M_2 = ((0.75, None, 95.0, 110.0), (1.0, None, 80.0, 100.0), (1.25, None, 65.0, 95.0), (1.5, None, 50.0, 90.0))
_A325_NOTE = "A325 above 1 in: 105 ksi tensile in the older standard, 120 ksi since F3125:2015 (write 'F3125 A325')"

_MEMORY = "these values are from memory: compare them with the standard"
_F593 = f"{_MEMORY}; stainless threads gall when dry"


def _a540(yield_ksi: float, tensile_ksi: float) -> Grade:
    return _astm("ASTM A540", (3.0, None, yield_ksi, tensile_ksi), note=_MEMORY)


ASTM: Mapping[str, Grade] = MappingProxyType(
    {
        "A193 B6": _astm("ASTM A193", (4.0, None, 85.0, 110.0), note=_NO_PROOF),
        "A193 B7": _astm(
            "ASTM A193",
            (2.5, None, 105.0, 125.0),
            (4.0, None, 95.0, 115.0),
            (7.0, None, 75.0, 100.0),
            family="A193 B7",
            note=_NO_PROOF,
        ),
        "A193 B7M": _astm(
            "ASTM A193", (4.0, None, 80.0, 100.0), (7.0, None, 75.0, 100.0), family="A193 B7", note=_NO_PROOF
        ),
        "A193 B16": _astm(
            "ASTM A193", (2.5, None, 105.0, 125.0), (4.0, None, 95.0, 110.0), (8.0, None, 85.0, 100.0), note=_NO_PROOF
        ),
        "A193 B8 class 1": _astm("ASTM A193", (_HUGE, None, 30.0, 75.0), family="A193 B8", note=_NO_PROOF),
        "A193 B8M class 1": _astm("ASTM A193", (_HUGE, None, 30.0, 75.0), family="A193 B8M", note=_NO_PROOF),
        "A193 B8 class 2": _astm("ASTM A193", *_B8_2, note=_NO_PROOF),
        "A193 B8M class 2": _astm("ASTM A193", *_B8M_2, note=_NO_PROOF),
        "A320 L7": _astm("ASTM A320", (2.5, None, 105.0, 125.0), family="A193 B7", note=_NO_PROOF),
        "A320 L7M": _astm("ASTM A320", (2.5, None, 80.0, 100.0), family="A193 B7", note=_NO_PROOF),
        "A320 L43": _astm("ASTM A320", (4.0, None, 105.0, 125.0), note=_NO_PROOF),
        "A320 B8 class 1": _astm("ASTM A320", (_HUGE, None, 30.0, 75.0), family="A193 B8", note=_NO_PROOF),
        "A320 B8M class 1": _astm("ASTM A320", (_HUGE, None, 30.0, 75.0), family="A193 B8M", note=_NO_PROOF),
        "A453 660 A": _astm("ASTM A453", (_HUGE, None, 85.0, 130.0), note=_NO_PROOF),
        "A453 660 B": _astm("ASTM A453", (_HUGE, None, 85.0, 130.0), note=_NO_PROOF),
        "A453 660 C": _astm("ASTM A453", (_HUGE, None, 85.0, 130.0), note=_NO_PROOF),
        "A453 660 D": _astm("ASTM A453", (_HUGE, None, 105.0, 130.0), note=_NO_PROOF),
        "A325": _astm("ASTM A325", (1.0, 85.0, 92.0, 120.0), (1.5, 74.0, 81.0, 105.0), system="UN", note=_A325_NOTE),
        "A490": _astm("ASTM A490", (1.5, 120.0, 130.0, 150.0), system="UN"),
        "F3125 A325": _astm("ASTM F3125", (1.5, 85.0, 92.0, 120.0), system="UN"),
        "F3125 A490": _astm("ASTM F3125", (1.5, 120.0, 130.0, 150.0), system="UN"),
        "A354 BC": _astm("ASTM A354", (2.5, 105.0, 109.0, 125.0), (4.0, 95.0, 99.0, 115.0), note=_MEMORY),
        "A354 BD": _astm("ASTM A354", (2.5, 120.0, 130.0, 150.0), (4.0, 105.0, 115.0, 140.0), note=_MEMORY),
        "A574": _astm("ASTM A574", (0.5, 140.0, 153.0, 180.0), (4.0, 135.0, 153.0, 170.0), note=_MEMORY),
        "A540 B23 class 1": _a540(150.0, 165.0),
        "A540 B23 class 2": _a540(140.0, 155.0),
        "A540 B23 class 3": _a540(130.0, 145.0),
        "A540 B23 class 4": _a540(120.0, 135.0),
        "A540 B23 class 5": _a540(105.0, 120.0),
        "A540 B24 class 1": _a540(150.0, 165.0),
        "A540 B24 class 2": _a540(140.0, 155.0),
        "A540 B24 class 3": _a540(130.0, 145.0),
        "A540 B24 class 4": _a540(120.0, 135.0),
        "A540 B24 class 5": _a540(105.0, 120.0),
        "F593 CW": _astm(
            "ASTM F593", (0.625, None, 65.0, 100.0), (1.5, None, 45.0, 85.0), family="ISO 3506-1 A", note=_F593
        ),
        "alloy 718": _astm("ASTM B637 N07718", (4.0, None, 150.0, 185.0), note=_MEMORY),
        "titanium 5": _astm("ASTM F468 grade 5", (1.5, None, 120.0, 130.0), note=_MEMORY),
        "A325M": _astm("ASTM A325M / F3125", (36.0, 600.0, 660.0, 830.0), system="metric"),
        "A490M": _astm("ASTM A490M / F3125", (36.0, 830.0, 940.0, 1040.0), system="metric"),
    }
)


def _en(*rows: Row) -> Grade:
    return Grade(standard="EN 10269", system="metric", rows=rows, note=_MEMORY)


EN_10269: Mapping[str, Grade] = MappingProxyType(
    {
        "25CrMo4": _en((100.0, None, 440.0, 600.0)),
        "42CrMo4": _en((60.0, None, 730.0, 860.0), (100.0, None, 640.0, 800.0)),
        "40CrMoV4-6": _en((100.0, None, 700.0, 850.0)),
        "21CrMoV5-7": _en((160.0, None, 550.0, 700.0)),
        "X22CrMoV12-1": _en((160.0, None, 600.0, 800.0)),
        "X6NiCrTiMoVB25-15-2": _en((160.0, None, 600.0, 900.0)),
    }
)
EN_NUMBERS: Mapping[str, str] = MappingProxyType(
    {
        "1.7218": "25CrMo4",
        "1.7225": "42CrMo4",
        "1.7711": "40CrMoV4-6",
        "1.7709": "21CrMoV5-7",
        "1.4923": "X22CrMoV12-1",
        "1.4980": "X6NiCrTiMoVB25-15-2",
    }
)
"""Steel numbers of the EN 10269 bolting steels."""
SMALLEST: Mapping[str, float] = MappingProxyType(
    {
        "SAE J429": 0.25,
        "ASTM A325": 0.5,
        "ASTM A490": 0.5,
        "ASTM F3125": 0.5,
        "ASTM A325M / F3125": 12.0,
        "ASTM A490M / F3125": 12.0,
        "ISO 3506-1": 3.0,
        "ISO 898-1": 3.0,
    }
)
GRADES: Mapping[str, Grade] = MappingProxyType({**ISO_898, **ISO_3506, **SAE_J429, **ASTM, **EN_10269})
