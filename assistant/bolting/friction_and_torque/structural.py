"""Preload of structural bolts: the minimum pretension tables of AISC and the preload and torque steps of EN 1090-2."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from assistant.bolting.friction_and_torque.torque import checked_nut_factor, torque_from_preload
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

# Minimum pretension: size -> (A325, A490) in kip.
# AISC 360-05 Table J3.1 (read; A490 1 1/8 in and A325 1 in from memory).
AISC_KIP: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "1/2": (12, 15),
        "5/8": (19, 24),
        "3/4": (28, 35),
        "7/8": (39, 49),
        "1": (51, 64),
        "1 1/8": (56, 80),
        "1 1/4": (71, 102),
        "1 3/8": (85, 121),
        "1 1/2": (103, 148),
    }
)
# The same for A325M, A490M in kN; AISC 360-05 Table J3.1M (read; M22, M24 A325M, M27 and M30 A325M from memory).
AISC_KN: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "M16": (91, 114),
        "M20": (142, 179),
        "M22": (176, 221),
        "M24": (205, 257),
        "M27": (267, 334),
        "M30": (326, 408),
        "M36": (475, 595),
    }
)
_SHARE = 0.7  # of minimum tensile load; AISC 360-05 J3.1, EN 1090-2
EN_CLASSES: Mapping[str, float] = MappingProxyType({"8.8": 800.0, "10.9": 1000.0})
"""Property classes of EN 14399 assemblies and their nominal ultimate strength fub, MPa."""
FIRST_STEP, SECOND_STEP = 0.75, 1.10  # torque method of EN 1090-2:2008+A1 (read in public product data)


def minimum_pretension(thread: Thread, grade: str) -> Quantity:
    """Tabulated minimum pretension, kip for A325 and A490, kN for A325M and A490M.

    Args:
        thread: its nominal diameter is looked up (1/2 to 1 1/2 in, M16 to M36).
        grade: "A325", "A490", "A325M" or "A490M".

    Raises:
        BadBolting: grade or size not in the table.

    Source: AISC 360-05 Tables J3.1 and J3.1M: 0.70 x minimum tensile load, rounded.
    """
    table, unit = (AISC_KN, "kN") if grade.endswith("M") else (AISC_KIP, "kip")
    size = thread.name.split("x")[0] if thread.system == "metric" else thread.name.split(" UN")[0].rsplit("-", 1)[0]
    if grade.rstrip("M") not in ("A325", "A490") or size not in table:
        raise BadBolting(
            f"minimum pretension: {grade!r} on {thread.name}",
            remedy=f"A325 or A490 on {', '.join(AISC_KIP)} in; A325M or A490M on {', '.join(AISC_KN)}.",
        )
    return of(float(table[size][grade.startswith("A490")]), unit)


def en1090_preload(thread: Thread, *, ultimate: Quantity) -> Quantity:
    """Fp,C = 0.7 fub As, kN.

    Args:
        thread: gives As.
        ultimate: nominal ultimate strength fub of the property class, 800 MPa (8.8) or 1000 MPa (10.9).

    Raises:
        BadBolting: another strength; EN 14399 has these two classes only.

    Source: EN 1090-2 (read in public product data; recomputed).
    """
    strength = magnitude(ultimate, "MPa", name="ultimate strength")
    if strength not in (800.0, 1000.0):
        raise BadBolting(f"fub is {strength:g} MPa", remedy="Nominal 800 MPa (class 8.8) or 1000 MPa (class 10.9).")
    return of(_SHARE * strength * magnitude(thread.stress_area, "mm2", name="stress area") / 1000, "kN")


def en1090_torques(preload: Quantity, thread: Thread, *, k: float) -> tuple[Quantity, Quantity]:
    """First and second step of the torque method, N*m: 0.75 Mr and 1.10 Mr with Mr = k d Fp,C.

    Args:
        preload: Fp,C.
        thread: gives d.
        k: mean k factor on the assembly's own certificate (class K2), 0.05 to 0.6.

    Raises:
        BadBolting: k cannot be a nut factor.

    Source: EN 1090-2:2008+A1 torque method for EN 14399 assemblies (read in public product data).
    """
    reference = torque_from_preload(preload, thread, nut_factor=checked_nut_factor(k))
    value = magnitude(reference, "N*m", name="reference torque")
    return of(FIRST_STEP * value, "N*m"), of(SECOND_STEP * value, "N*m")
