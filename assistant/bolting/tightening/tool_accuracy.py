"""How far a torque tool may be off, and until when its calibration holds: ISO 6789 and the windows that follow."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting, UnsafeJoint

# (type, class) of ISO 6789 -> permissible deviation in percent above and up to 10 N*m of largest torque.
# ISO 6789-1:2017 cl. 5.1.5, values as in 2003: 4 % read in a public calibration page; 6 %, class letters from memory.
ISO_6789: Mapping[tuple[str, str], tuple[float, float]] = MappingProxyType(
    {
        ("I", "A"): (6.0, 6.0),  # bending or torsion bar
        ("I", "B"): (4.0, 6.0),  # rigid body with scale or dial
        ("I", "C"): (4.0, 6.0),  # electronic
        ("I", "D"): (6.0, 6.0),  # screwdriver with scale
        ("I", "E"): (4.0, 6.0),  # electronic screwdriver
        ("II", "A"): (4.0, 6.0),  # adjustable, graduated
        ("II", "B"): (4.0, 6.0),  # fixed adjustment
        ("II", "C"): (4.0, 6.0),  # adjustable, not graduated
        ("II", "D"): (6.0, 6.0),  # screwdriver
        ("II", "E"): (6.0, 6.0),
        ("II", "F"): (6.0, 6.0),
        ("II", "G"): (6.0, 6.0),  # flexion bar
    }
)
_SMALL_NM = 10.0
RECALIBRATION_MONTHS = 12  # ISO 6789 (read) and FAA AC 43.13-1B par. 7-40 (read), when the user has no own interval
RECALIBRATION_CYCLES = 5000  # ISO 6789 (read): whichever comes first
EXERCISE_PULLS = 5  # ISO 6789:2003, setting tools, at capacity before a test (read)
SLOW_FINISH_SHARE = 0.8  # ISO 6789:2003 cl. 6 (read): from 80 % of the target on ...
SLOW_FINISH_S = (0.5, 4.0)  # ... load smoothly for this long
USUAL_LEAST_SHARE = 0.2  # use from 20 % of capacity (common practice, no source)


def permissible_deviation(tool_type: str, tool_class: str, *, largest: Quantity) -> float:
    """Permissible deviation in percent (plus or minus) of a tool's type, class and largest torque.

    Args:
        tool_type: "I" (indicating) or "II" (setting).
        tool_class: letter of ISO 6789, "A" to "G".
        largest: largest torque of the tool.

    Raises:
        BadBolting: no such type and class.

    Source: ISO 6789-1:2017 cl. 5.1.5 (see ISO_6789).
    """
    key = (tool_type.upper(), tool_class.upper())
    if key not in ISO_6789:
        known = ", ".join(" ".join(pair) for pair in ISO_6789)
        raise BadBolting(f"torque tool: type {tool_type!r} class {tool_class!r}", remedy=f"ISO 6789 has: {known}.")
    above, below = ISO_6789[key]
    return above if magnitude(largest, "N*m", name="largest torque") > _SMALL_NM else below


def achieved_window(target: Quantity, *, tolerance_percent: float) -> tuple[Quantity, Quantity]:
    """Lowest and highest torque that a tool within its tolerance delivers: T (1 -/+ tolerance), N*m.

    Args:
        target: what is set.
        tolerance_percent: plus or minus, 0 to 50.

    Raises:
        BadBolting: tolerance out of that range.
    """
    if not 0 <= tolerance_percent <= 50:
        raise BadBolting(f"tool tolerance is {tolerance_percent:g} %", remedy="Plus or minus 0 to 50 %.")
    value = magnitude(target, "N*m", name="target")
    return of(value * (1 - tolerance_percent / 100), "N*m"), of(value * (1 + tolerance_percent / 100), "N*m")


def largest_resolution(*, permissible_percent: float, lowest: Quantity) -> Quantity:
    """Coarsest display step of an electronic wrench, N*m: a quarter of its permissible deviation at the lowest torque.

    Source: ISO 6789-1:2017 (read in a public article).
    """
    return of(magnitude(lowest, "N*m", name="lowest torque") * permissible_percent / 100 / 4, "N*m")


def check_calibration(name: str, *, due: date, today: date, cycles: int | None = None) -> str:
    """Text for the plan when the calibration holds; UnsafeJoint when it has run out.

    Args:
        name: which tool.
        due: last day on which the calibration holds.
        today: the day of the job (passed in: the core has no clock).
        cycles: loads since the last calibration, when counted; 5000 at most (ISO 6789, read).

    Raises:
        UnsafeJoint: today is after due, or more than 5000 cycles.
    """
    if today > due:
        raise UnsafeJoint(
            f"{name}: calibration ran out on {due.isoformat()}, today is {today.isoformat()}",
            remedy="Use a tool whose calibration holds, or have this one calibrated and write the new due date.",
        )
    if cycles is not None and cycles > RECALIBRATION_CYCLES:
        raise UnsafeJoint(
            f"{name}: {cycles} loads since the last calibration",
            remedy=f"Calibrate after {RECALIBRATION_CYCLES} loads or {RECALIBRATION_MONTHS} months (ISO 6789).",
        )
    return f"{name}: calibration holds until {due.isoformat()} ({(due - today).days} days)"
