"""The ring on which head or nut turns: outer and inner diameter, and its mean diameters for the torque equations."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

# Nominal diameter in mm -> (across flats, bearing face dw min of ISO 4014, clearance hole ISO 273 medium), all in mm.
# ISO 4014/4032 and ISO 273, from memory; M8 to M24 dw and holes read in a public page with the VDI 2230 tables.
HEXAGON: Mapping[int, tuple[float, float, float]] = MappingProxyType(
    {
        4: (7.0, 5.88, 4.5),
        5: (8.0, 6.88, 5.5),
        6: (10.0, 8.88, 6.6),
        8: (13.0, 11.63, 9.0),
        10: (16.0, 14.63, 11.0),
        12: (18.0, 16.63, 13.5),
        14: (21.0, 19.64, 15.5),
        16: (24.0, 22.49, 17.5),
        18: (27.0, 25.34, 20.0),
        20: (30.0, 28.19, 22.0),
        22: (34.0, 31.71, 24.0),
        24: (36.0, 33.61, 26.0),
        27: (41.0, 38.0, 30.0),
        30: (46.0, 42.75, 33.0),
        33: (50.0, 46.55, 36.0),
        36: (55.0, 51.11, 39.0),
        39: (60.0, 55.86, 42.0),
        42: (65.0, 59.95, 45.0),
        45: (70.0, 64.7, 48.0),
        48: (75.0, 69.45, 52.0),
        52: (80.0, 74.2, 56.0),
        56: (85.0, 78.66, 62.0),
        60: (90.0, 83.41, 66.0),
        64: (95.0, 88.16, 70.0),
    }
)
_WASHER_FACE = 0.95  # outer bearing diameter / across flats; reproduces the JIS B 1083 based K table (row KFAC)
_ROUGH = 1.25  # mean bearing diameter / nominal diameter (Shigley 9th ed. p. 438, read)


@dataclass(frozen=True, slots=True, kw_only=True)
class BearingFace:
    """A ring-shaped bearing face; both diameters lengths, outer above inner.

    Args:
        outer: Do or dw. inner: hole or chamfer diameter Di or dh.
        known: how the figures are known, for the calculation sheet.
    """

    outer: Quantity
    inner: Quantity
    known: str

    @property
    def mean_diameter(self) -> Quantity:
        """(dw + dh)/2 in mm, as VDI 2230 has it (DKm)."""
        outer, inner = self._mm()
        return of((outer + inner) / 2, "mm")

    @property
    def friction_diameter(self) -> Quantity:
        """(2/3)(Do^3 - Di^3)/(Do^2 - Di^2) in mm: uniform pressure on the ring (JIS B 1083, Machinery's Handbook)."""
        outer, inner = self._mm()
        return of(2 / 3 * (outer**3 - inner**3) / (outer**2 - inner**2), "mm")

    def _mm(self) -> tuple[float, float]:
        return magnitude(self.outer, "mm", name="outer diameter"), magnitude(self.inner, "mm", name="inner diameter")


def bearing_face(thread: Thread, style: str) -> BearingFace:
    """The usual bearing face of a nut or head on this thread.

    Args:
        thread: metric M4 to M64 of the first and second choice, or a Unified thread.
        style: "hexagon" (ISO 4014/4032 on a medium hole; dw min), "washer face" (0.95 x across flats on the same
            hole), or "heavy hexagon" (Unified: across flats 1.5 d + 1/8 in, hole d + 1/8 in).

    Raises:
        BadBolting: no such style for this thread.

    Source: ISO 4014, ISO 273, ASME B18.2.2 and B16.5 (from memory; dw M8 to M24 read).
    """
    if style == "heavy hexagon" and thread.system == "UN":
        d = magnitude(thread.diameter, "in", name="thread diameter")
        return BearingFace(
            outer=of(_WASHER_FACE * (1.5 * d + 0.125), "in"),
            inner=of(d + 0.125, "in"),
            known="heavy hexagon: 0.95 x (1.5 d + 1/8 in) on a hole of d + 1/8 in (ASME B18.2.2, B16.5; from memory)",
        )
    size = magnitude(thread.diameter, "mm", name="thread diameter")
    if style not in ("hexagon", "washer face") or thread.system != "metric" or size not in HEXAGON:
        raise BadBolting(
            f"bearing face: no {style!r} for thread {thread.name}",
            remedy="'hexagon' or 'washer face' (M4 to M64), 'heavy hexagon' (Unified), or give both diameters.",
        )
    flats, face, hole = HEXAGON[int(size)]
    if style == "hexagon":
        return BearingFace(outer=of(face, "mm"), inner=of(hole, "mm"), known="dw of ISO 4014, hole ISO 273 medium")
    return BearingFace(
        outer=of(_WASHER_FACE * flats, "mm"),
        inner=of(hole, "mm"),
        known="0.95 x across flats of ISO 4032, hole ISO 273 medium",
    )


def rough_bearing_diameter(thread: Thread) -> Quantity:
    """1.25 d in mm, when the face is not known (Shigley 9th ed. p. 438, read)."""
    return of(_ROUGH * magnitude(thread.diameter, "mm", name="thread diameter"), "mm")
