"""Screw threads: from the name that people write to pitch, diameters and areas.

Geometry of the 60 degree thread: ISO 68-1 / ISO 724 for metric threads, ASME B1.1 for Unified threads.
Symbols: d nominal diameter, P pitch, n threads per inch, d2 pitch diameter, d3 root diameter of the bolt thread.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from assistant.bolting.threads_and_strength.thread_tables import METRIC, NUMBERED, UN_SERIES
from assistant.bolting.units import Quantity, of
from assistant.errors import BadBolting


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """One screw thread.

    Args:
        name: our spelling of the name: "M20x2.5", "3/4-10 UNC", "1 1/8-8 UN".
        system: "metric" or "UN".
        series: "coarse" or "fine" (metric); "UNC", "UNF", "8UN" or "UNS".
        diameter, pitch: nominal, lengths in mm (metric) or in (UN).
        threads_per_inch: None for metric threads.
        pitch_diameter: d2, same unit. root_diameter: d3, bolt thread root.
        stress_area: tensile stress area As (mm2 or in2). root_area: area at d3.
    """

    name: str
    system: str
    series: str
    diameter: Quantity
    pitch: Quantity
    threads_per_inch: Fraction | None
    pitch_diameter: Quantity
    root_diameter: Quantity
    stress_area: Quantity
    root_area: Quantity

    @property
    def stress_diameter(self) -> Quantity:
        """d0, the diameter of a circle of the stress area (VDI 2230 uses (d2 + d3)/2, the same for metric threads)."""
        return of(math.sqrt(4 * float(self.stress_area.magnitude) / math.pi), "mm" if self.system == "metric" else "in")


_DIAMETER_OVER_PITCH = {  # name -> factor c in d - c P
    "pitch": 0.649519,  # ISO 724, ASME B1.1: 3/4 H = 0.649519 P
    "metric root": 1.226869,  # ISO 898-1: d3 = d1 - H/6 = d - 1.226869 P
    "UN root": 1.299038,  # 3/2 H; textbook table of minor-diameter areas (Shigley Table 8-2, read)
    "metric stress": 0.938194,  # ISO 898-1: (d2 + d3)/2
    "UN stress": 0.9743,  # ASME B1.1
}


def _circle(diameter: float) -> float:
    return math.pi / 4 * diameter * diameter


def _made(*, name: str, series: str, diameter: Fraction, pitch: Fraction, per_inch: Fraction | None) -> Thread:
    system, length = ("metric", "mm") if per_inch is None else ("UN", "in")

    def below(what: str) -> float:
        return float(diameter) - _DIAMETER_OVER_PITCH[what] * float(pitch)

    return Thread(
        name=name,
        system=system,
        series=series,
        diameter=of(float(diameter), length),
        pitch=of(float(pitch), length),
        threads_per_inch=per_inch,
        pitch_diameter=of(below("pitch"), length),
        root_diameter=of(below(f"{system} root"), length),
        stress_area=of(_circle(below(f"{system} stress")), f"{length}2"),
        root_area=of(_circle(below(f"{system} root")), f"{length}2"),
    )


_METRIC_NAME = re.compile(
    r"M ?(?P<size>[0-9]+(?:[.,][0-9]+)?)"
    r"(?: ?[xX×*] ?(?P<pitch>[0-9]+(?:[.,][0-9]+)?))?"
    r"(?: ?- ?[0-9][a-hA-H](?:[0-9][a-hA-H])?)?"  # tolerance class
)
_UN_NAME = re.compile(
    r"(?P<number>#|No\.? ?)?"
    r"(?P<size>[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]*\.[0-9]+|[0-9]+)"
    r"(?: ?\"| in\b)?"
    r"(?: ?- ?(?P<per_inch>[0-9]+(?:\.[0-9]+| 1/2)?))?"
    r" ?(?P<series>UNC|UNF|UNS|8 ?-?UN|UN)?"
    r"(?: ?- ?[123][AB])?"  # tolerance class
)
_EXAMPLES = "Write it like 'M20', 'M20x1.5', '3/4-10 UNC', '3/4 UNF' or '1 1/8-8 UN'."


@lru_cache(maxsize=512)
def thread(name: str) -> Thread:
    """The thread of a name as people write it.

    Args:
        name: "M20" (coarse), "M20x1.5", "M 20 x 1,5"; "3/4-10 UNC", "3/4-10", "3/4 UNC", "1 1/8-8 UN", "1-1/8-8UN",
            "0.750-10 UNC-2A", "#10-32 UNF". A tolerance class is read over. Range: M3 to M100, No. 4 to 4 in.

    Raises:
        BadBolting: no such thread, a diameter and pitch that do not go together, a name with two readings.

    Source: diameters and pitches ISO 261 and ASME B1.1 (`thread_tables`); areas ISO 898-1 and ASME B1.1.
    """
    text = " ".join(name.split()) if isinstance(name, str) else ""
    if metric := _METRIC_NAME.fullmatch(text):
        return _metric(name, metric["size"].replace(",", "."), (metric["pitch"] or "").replace(",", "."))
    if unified := _UN_NAME.fullmatch(text):
        return _unified(name, *unified.groups())
    raise BadBolting(f"thread is {name!r}: not the name of a metric or Unified thread", remedy=_EXAMPLES)


def _metric(name: str, size: str, pitch: str) -> Thread:
    size = f"{Fraction(size).limit_denominator(100)}" if Fraction(size).denominator == 1 else f"{float(size):g}"
    if size not in METRIC:
        sizes = ", ".join(f"M{key}" for key in METRIC)
        raise BadBolting(f"thread is {name!r}: there is no M{size}", remedy=f"Sizes: {sizes}.")
    coarse, fine = METRIC[size]
    if not pitch and coarse is None:
        raise BadBolting(
            f"thread is {name!r}: M{size} has no coarse pitch", remedy=f"Write the pitch: {_names(size, fine)}."
        )
    wanted = Fraction(pitch or coarse or 0)
    listed = [text for text in ([coarse] if coarse else []) + list(fine) if Fraction(text) == wanted]
    if not listed:
        remedy = f"ISO 261 has {_names(size, ([coarse] if coarse else []) + list(fine))}."
        raise BadBolting(f"thread is {name!r}: M{size} does not go with pitch {pitch} mm", remedy=remedy)
    return _made(
        name=f"M{size}x{listed[0]}",
        series="coarse" if listed[0] == coarse else "fine",
        diameter=Fraction(size),
        pitch=wanted,
        per_inch=None,
    )


def _names(size: str, pitches: tuple[str, ...] | list[str]) -> str:
    return ", ".join(f"M{size}x{pitch}" for pitch in pitches)


def _unified(name: str, numbered: str | None, size: str, per_inch: str | None, series: str | None) -> Thread:
    diameter = _inch_size(name, numbered, size, per_inch)
    wanted = sum((Fraction(part) for part in per_inch.split()), Fraction(0)) if per_inch else None
    asked = {"8UN": "8UN", "UN": "8UN"}.get((series or "").replace(" ", "").replace("-", ""), series)
    if series and asked == "8UN" and wanted not in (None, Fraction(8)):
        raise BadBolting(f"thread is {name!r}: the UN series here has 8 threads per inch", remedy=_EXAMPLES)
    found = [
        (key, sizes[diameter])
        for key, sizes in UN_SERIES.items()
        if diameter in sizes and asked in (None, key) and wanted in (None, sizes[diameter])
    ]
    if asked == "8UN" and diameter == 1:
        found = [("UNC", Fraction(8))]
    if asked == "UNS" and wanted is None:
        found = []
    if len(found) == 1 and (asked or wanted):
        key, tpi = found[0]
        return _made(
            name=f"{_inch_text(diameter)}-{float(tpi):g} {'UN' if key == '8UN' else key}",
            series=key,
            diameter=diameter,
            pitch=1 / tpi,
            per_inch=tpi,
        )
    known = [
        f"{_inch_text(diameter)}-{float(sizes[diameter]):g} {'UN' if key == '8UN' else key}"
        for key, sizes in UN_SERIES.items()
        if diameter in sizes
    ]
    if not known:
        raise BadBolting(f"thread is {name!r}: no such diameter in the UNC, UNF or 8UN series", remedy=_EXAMPLES)
    why = "diameter, threads per inch and series do not go together" if asked or wanted else "it has several readings"
    raise BadBolting(f"thread is {name!r}: {why}", remedy=f"This diameter has {', '.join(known)}.")


def _inch_size(name: str, numbered: str | None, size: str, per_inch: str | None) -> Fraction:
    """Diameter in inches; a bare 10 in '10-32' is screw number 10, because a 10 inch thread is not in the tables."""
    if numbered or (size in NUMBERED and per_inch and Fraction(per_inch.split()[0]) > 14):
        if size not in NUMBERED:
            raise BadBolting(f"thread is {name!r}: no such numbered size", remedy=f"Numbers: {', '.join(NUMBERED)}.")
        return NUMBERED[size]
    *whole, last = re.split(r"[ -]", size)
    if "/" in last and not 0 < int(last.split("/")[0]) < int(last.split("/")[1]):
        raise BadBolting(f"thread is {name!r}: {last} is not a fraction below one", remedy=_EXAMPLES)
    return sum((Fraction(part) for part in (*whole, last)), Fraction(0))


def _inch_text(diameter: Fraction) -> str:
    for number, size in NUMBERED.items():
        if size == diameter:
            return f"#{number}"
    whole, rest = divmod(diameter, 1)
    return " ".join(part for part in (str(whole) if whole else "", str(rest) if rest else "") if part)
