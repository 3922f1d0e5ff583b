"""Tables of the joint file about tools: wrench, multiplier, adapter."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, model_validator

from assistant.bolting import units
from assistant.bolting.joint_file.joint_fields import (
    Angle,
    Day,
    Efficiency,
    Length,
    Part,
    Percent,
    Ratio,
    Text,
    Torque,
    checked,
    refuse,
)
from assistant.bolting.tightening import tool_train
from assistant.bolting.unit_kinds import READ_AS


def _unit(value: Any) -> Any:
    """Our own spelling of a unit as wrenches show it; anything else unchanged."""
    return READ_AS["torque"].get(value, value) if isinstance(value, str) else value


TorqueUnit = Annotated[Literal["N*m", "lbf*ft", "lbf*in", "kgf*m"], BeforeValidator(_unit)]


class Wrench(Part):
    """A torque wrench, as its own label says."""

    name: Text
    """What the people call it; groups refer to it by this name."""
    kind: Literal["click", "dial", "digital"]
    serial: Text
    unit: TorqueUnit
    """Unit of its scale: what is read aloud."""
    also_reads: TorqueUnit | None = None
    """Unit of a second scale that it carries; a reading in it is converted. Left out: it has one scale."""
    lowest: Torque
    """Lowest marked value of the scale."""
    highest: Torque
    """Highest marked value of the scale."""
    graduation: Torque
    """Smallest division of the scale; settings are multiples of it."""
    calibration_due: Day
    """Last day on which its calibration is valid."""
    deviation: Percent | None = None
    """Plus or minus, from its certificate; left out, the limit of ISO 6789 counts."""

    @property
    def train_part(self) -> tool_train.Wrench:
        """The same for the engineering functions."""
        deviation = None if self.deviation is None else float(self.deviation.magnitude)
        return tool_train.Wrench(
            name=self.name,
            kind=self.kind,
            unit=self.unit,
            lowest=self.lowest,
            highest=self.highest,
            graduation=self.graduation,
            calibration_due=self.calibration_due,
            deviation_percent=deviation,
        )

    @model_validator(mode="after")
    def _one_scale(self) -> Wrench:
        scale = units.UNITS[self.unit]
        for name in ("lowest", "highest", "graduation"):
            if getattr(self, name).units != scale:
                refuse("not in the unit of the scale", f"a value in {self.unit}", field=name, value=getattr(self, name))
        low, high, step = (float(value.magnitude) for value in (self.lowest, self.highest, self.graduation))
        if low >= high:
            refuse("not below highest", "the lowest and highest marked value", field="lowest", value=self.lowest)
        if step > high / 4:
            limit = f"at most a quarter of the highest mark, {high / 4:g} {self.unit}"
            refuse("too coarse for this scale", limit, field="graduation", value=self.graduation)
        checked(lambda: self.train_part, field="deviation", value=self.deviation)
        return self


class Multiplier(Part):
    """A torque multiplier, as its own label says: output = input x ratio x efficiency, or x the calibrated factor."""

    name: Text
    serial: Text
    ratio: Ratio
    """Turns of the handle for one turn of the bolt, 1 to 200."""
    efficiency: Efficiency | None = None
    """0.5 to 1; or give output_factor."""
    output_factor: Ratio | None = None
    """Calibrated output over input of this very tool, losses included; or give efficiency."""
    highest: Torque
    """Highest output torque that it may deliver."""
    reaction_arm: Length | None = None
    """From the middle of the bolt to where the arm bears; gives the force there."""
    calibration_due: Day | None = None
    """Last day on which its calibration is valid; left out, it counts as not calibrated."""
    deviation: Percent | None = None
    """Plus or minus of its output, from its certificate; left out, 5 % counts (common practice, no source)."""

    @property
    def train_part(self) -> tool_train.Multiplier:
        """The same for the engineering functions."""
        return tool_train.Multiplier(
            name=self.name,
            ratio=units.magnitude(self.ratio, "", name="ratio"),
            efficiency=None if self.efficiency is None else units.magnitude(self.efficiency, "", name="efficiency"),
            output_factor=None
            if self.output_factor is None
            else units.magnitude(self.output_factor, "", name="factor"),
            largest_output=self.highest,
            deviation_percent=None if self.deviation is None else float(self.deviation.magnitude),
        )

    @model_validator(mode="after")
    def _one_way(self) -> Multiplier:
        checked(lambda: self.train_part, field="ratio", value=self.ratio)
        return self


class Extension(Part):
    """An adapter at the drive end that lengthens the wrench (crowfoot, offset ring)."""

    name: Text
    wrench_length: Length
    """From the middle of the grip to the centre of the square drive."""
    length: Length
    """From the centre of the square drive to the centre of the bolt."""
    angle: Angle
    """Between wrench and adapter: 0 deg straight on, 90 deg no correction, 180 deg turned back."""

    @property
    def train_part(self) -> tool_train.Adapter:
        """The same for the engineering functions."""
        angle = units.magnitude(self.angle, "deg", name="angle")
        return tool_train.Adapter(wrench_length=self.wrench_length, length=self.length, angle_deg=angle)

    @model_validator(mode="after")
    def _possible(self) -> Extension:
        checked(lambda: self.train_part, field="length", value=self.length)
        return self
