"""The tools between hand and bolt: wrench, adapter and multiplier, and what the train does to a torque.

Symbols: T bolt torque, TW wrench torque, i ratio and e efficiency of the multiplier, L length of the wrench from the
middle of the grip to the square drive, A length of the adapter from the square drive to the bolt, a its angle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from assistant.bolting.tightening.tool_accuracy import permissible_deviation
from assistant.bolting.units import TORQUE_UNITS, Quantity, magnitude, of
from assistant.errors import BadBolting

_GEAR_PERCENT = 5.0  # of a multiplier without a stated deviation (common practice, no source)
_CLASSES = {"click": ("II", "A"), "dial": ("I", "B"), "digital": ("I", "C")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrench:
    """A torque wrench.

    Args:
        name: what people call it, with its number.
        kind: "click" (set beforehand), "dial" or "digital" (read while pulling).
        unit: unit of its scale, one of TORQUE_UNITS.
        lowest: lowest marked value; since 2017 a range begins there (ISO 6789-1 cl. 5.1.3, read).
        highest: highest marked value.
        graduation: smallest step that can be set or read.
        calibration_due: last day on which its calibration holds.
        deviation_percent: plus or minus, from its certificate; None takes the limit of ISO 6789.
        cycles: loads since the last calibration, None when not counted.
    """

    name: str
    kind: str
    unit: str
    lowest: Quantity
    highest: Quantity
    graduation: Quantity
    calibration_due: date
    deviation_percent: float | None = None
    cycles: int | None = None

    def __post_init__(self) -> None:
        if self.kind not in _CLASSES:
            raise BadBolting(f"{self.name}: kind is {self.kind!r}", remedy=f"One of: {', '.join(_CLASSES)}.")
        if self.unit not in TORQUE_UNITS:
            raise BadBolting(f"{self.name}: scale in {self.unit!r}", remedy=f"One of: {', '.join(TORQUE_UNITS)}.")
        low, high, step = (
            magnitude(value, "N*m", name=f"{self.name}: {what}")
            for value, what in ((self.lowest, "lowest"), (self.highest, "highest"), (self.graduation, "graduation"))
        )
        if not 0 < low < high or not 0 < step <= high - low:
            raise BadBolting(
                f"{self.name}: range {low:g} to {high:g} N*m, graduation {step:g} N*m",
                remedy="0 < lowest < highest, and a graduation above zero and smaller than the range.",
            )
        if self.deviation_percent is not None and not 0 < self.deviation_percent <= 10:
            raise BadBolting(f"{self.name}: deviation {self.deviation_percent:g} %", remedy="Above 0, at most 10 %.")

    @property
    def permissible_percent(self) -> float:
        """Plus or minus that ISO 6789 permits a wrench of this kind and size; one that is worse is withdrawn."""
        return permissible_deviation(*_CLASSES[self.kind], largest=self.highest)

    @property
    def accuracy_percent(self) -> float:
        """Plus or minus, percent of reading: of the certificate, else the limit of ISO 6789 for this kind and size."""
        return self.permissible_percent if self.deviation_percent is None else self.deviation_percent


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapter:
    """A crowfoot or other offset adapter on the square drive (an extension bar along the bolt axis is none).

    Args:
        wrench_length: L, middle of the grip to the middle of the square drive; pull there and nowhere else.
        length: A, middle of the square drive to the bolt.
        angle_deg: 0 straight ahead, 90 square to the wrench, 180 turned back over the handle.
    """

    wrench_length: Quantity
    length: Quantity
    angle_deg: float

    def __post_init__(self) -> None:
        grip, offset = (
            magnitude(value, "mm", name=what)
            for value, what in ((self.wrench_length, "wrench length"), (self.length, "adapter length"))
        )
        if not (grip > 0 and offset > 0 and 0 <= self.angle_deg <= 180):
            raise BadBolting(
                f"adapter: wrench {grip:g} mm, adapter {offset:g} mm, angle {self.angle_deg:g} deg",
                remedy="Lengths above zero, angle from 0 (straight ahead) to 180 deg (turned back).",
            )
        if self.factor < 0.2:
            raise BadBolting(
                f"adapter of {offset:g} mm turned back over a wrench of {grip:g} mm: the bolt is under the hand",
                remedy="Use a shorter adapter or set it at 90 deg.",
            )

    @property
    def factor(self) -> float:
        """Bolt torque / wrench torque = (L + A cos a)/L (US Army TM 9-254, TM 1-1500-204-23-9; read)."""
        grip, offset = (magnitude(value, "mm", name="length") for value in (self.wrench_length, self.length))
        cosine = 0.0 if self.angle_deg == 90 else math.cos(math.radians(self.angle_deg))
        return (grip + offset * cosine) / grip


@dataclass(frozen=True, slots=True, kw_only=True)
class Multiplier:
    """A gear that multiplies the wrench torque; output = input x ratio x efficiency.

    Args:
        name: what people call it, with its number.
        ratio: geared ratio i, 1 or more: turns of the handle for one turn of the bolt.
        efficiency: e, 0.5 to 1 (0.80 to 0.95 is usual, read); the ratio alone promises too much.
        output_factor: calibrated output/input of this very tool; it replaces ratio x efficiency.
        largest_output: what it may give, None when unknown.
        deviation_percent: plus or minus of its output, from its certificate; None takes 5 % (common practice).
    """

    name: str
    ratio: float
    efficiency: float | None = None
    output_factor: float | None = None
    largest_output: Quantity | None = None
    deviation_percent: float | None = None

    def __post_init__(self) -> None:
        if (self.efficiency is None) == (self.output_factor is None):
            raise BadBolting(
                f"{self.name}: give either its efficiency or its calibrated output factor",
                remedy="The ratio alone is wrong by the losses; both figures stand on the tool or its certificate.",
            )
        if not 1 <= self.ratio <= 200:
            raise BadBolting(f"{self.name}: ratio is {self.ratio:g}", remedy="Between 1 and 200.")
        if self.efficiency is not None and not 0.5 <= self.efficiency <= 1:
            raise BadBolting(f"{self.name}: efficiency is {self.efficiency:g}", remedy="Between 0.5 and 1.")
        if self.output_factor is not None and not 0.5 * self.ratio <= self.output_factor <= self.ratio:
            raise BadBolting(
                f"{self.name}: output factor is {self.output_factor:g} at ratio {self.ratio:g}",
                remedy="A gear cannot give more than its ratio, and loses at most half.",
            )
        if self.deviation_percent is not None and not 0 < self.deviation_percent <= 10:
            raise BadBolting(f"{self.name}: deviation {self.deviation_percent:g} %", remedy="Above 0, at most 10 %.")

    @property
    def accuracy_percent(self) -> float:
        """Plus or minus, percent of its output."""
        return _GEAR_PERCENT if self.deviation_percent is None else self.deviation_percent

    @property
    def factor(self) -> float:
        """Output torque / input torque."""
        return self.output_factor if self.output_factor is not None else self.ratio * (self.efficiency or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """What stands between hand and bolt; `multiplier` sits on the bolt, `adapter` between wrench and multiplier."""

    wrench: Wrench
    adapter: Adapter | None = None
    multiplier: Multiplier | None = None

    @property
    def factor(self) -> float:
        """Bolt torque / wrench torque of the whole train."""
        return (self.adapter.factor if self.adapter else 1.0) * (self.multiplier.factor if self.multiplier else 1.0)

    @property
    def accuracy_percent(self) -> float:
        """Plus or minus at the bolt, percent: the wrench's and the multiplier's added, which is conservative."""
        return self.wrench.accuracy_percent + (self.multiplier.accuracy_percent if self.multiplier else 0.0)


def bolt_torque(reading: Quantity, tools: Tools) -> Quantity:
    """What the bolt gets for a reading or setting of the wrench, N*m: T = TW (L + A cos a)/L i e.

    Args:
        reading: on the wrench's scale, any torque unit.
        tools: the train.

    Raises:
        BadQuantity: not a torque.
    """
    return of(magnitude(reading, "N*m", name="reading") * tools.factor, "N*m")


def wrench_torque(target: Quantity, tools: Tools) -> Quantity:
    """What the wrench must show for a bolt torque, N*m, not rounded: TW = T L/((L + A cos a) i e).

    Sources: US Army TM 1-1500-204-23-9, TM 9-254, NAVEDTRA 14315 for the adapter (read); statics for the multiplier.
    """
    return of(magnitude(target, "N*m", name="target") / tools.factor, "N*m")


def reaction_torque(target: Quantity, multiplier: Multiplier) -> Quantity:
    """Couple that the reaction arm takes, N*m: output - input (statics)."""
    return of(magnitude(target, "N*m", name="target") * (1 - 1 / multiplier.factor), "N*m")


def reaction_force(target: Quantity, multiplier: Multiplier, *, arm: Quantity) -> Quantity:
    """Force at the reaction point, N: (output - input)/arm (statics). Keep hands off that side."""
    length = magnitude(arm, "m", name="reaction arm")
    if length <= 0:
        raise BadBolting(
            "reaction arm is zero or below", remedy="Distance from bolt axis to reaction point, above zero."
        )
    return of(magnitude(reaction_torque(target, multiplier), "N*m", name="reaction") / length, "N")
