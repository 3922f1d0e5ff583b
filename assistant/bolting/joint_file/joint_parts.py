"""Tables of the joint file about the joint itself: instruction, target, tightening, gasket, flange."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, StrictBool, StrictInt, field_validator, model_validator

from assistant.bolting.friction_and_torque.friction import thread_condition
from assistant.bolting.joint import clamp, flanges, gasket
from assistant.bolting.joint_file.joint_fields import (
    Angle,
    Area,
    Force,
    Friction,
    Length,
    Part,
    Percent,
    Pressure,
    Ratio,
    SeatingStress,
    Stress,
    Temperature,
    TemperatureDifference,
    Text,
    Time,
    Torque,
    checked,
    refuse,
)
from assistant.bolting.tightening import pattern
from assistant.bolting.tightening.passes import ROUNDS_BEFORE_CAUSE, checked_percents
from assistant.bolting.units import Quantity, of

TARGETS = (
    *("torque", "preload", "stress", "percent_of_proof", "percent_of_yield", "percent_of_pretension"),
    "gasket_stress",
)
_FULL_VACUUM_BAR = -1.01325
Columns = Annotated[StrictInt, Field(ge=1, le=96)]


class Instruction(Part):
    """The governing instruction: what the people follow when it and this file differ."""

    title: Text
    revision: Text
    note: Text | None = None
    """The passage of it that the figures of this file come from."""


class NutFactor(Part):
    """A nut factor K of the lubricant's own data, with its range; K is T/(d F), not a friction coefficient."""

    value: Friction
    """To calculate with; bare number."""
    low: Friction
    high: Friction
    lubricated: StrictBool
    """Whether the threads count as lubricated."""
    source: Text
    """Test, bolt size, temperature; it must be named."""


class OwnStrength(Part):
    """Strength of a bolt material that is in no table here, from its standard or certificate."""

    proof: Stress | None = None
    """Proof strength, where the standard defines one."""
    yield_strength: Stress
    """Minimum yield or 0.2 % proof stress at room temperature."""
    tensile: Stress
    """Minimum tensile strength at room temperature."""
    yield_hot: Stress | None = None
    """Minimum yield at the service temperature."""
    lowest_temperature: Temperature | None = None
    """Coldest temperature that the material is for."""
    highest_temperature: Temperature | None = None
    """Hottest temperature that the material is for."""
    source: Text
    """Standard, edition and size, or certificate."""

    @model_validator(mode="after")
    def _rising(self) -> OwnStrength:
        if self.tensile < self.yield_strength:
            refuse("below yield_strength", "the tensile strength, above the yield", field="tensile", value=self.tensile)
        if self.proof is not None and self.proof > self.yield_strength:
            refuse("above yield_strength", "a proof strength below the yield", field="proof", value=self.proof)
        return self


class Target(Part):
    """What each bolt shall get; exactly one of these is given."""

    torque: Torque | None = None
    """Published torque; needs `published_for`."""
    published_for: Text | None = None
    """Thread condition that the torque was published for, as in `condition` of the group."""
    change_for_condition: Percent | None = None
    """Change of the published torque that the instruction states for the group's condition; -45 % is a cut."""
    preload: Force | None = None
    """Target tension of each bolt."""
    stress: Stress | None = None
    """Target stress of each bolt on the tensile stress area."""
    percent_of_proof: Percent | None = None
    """Target tension as a share of the proof load, above 0 and below 100 %."""
    percent_of_yield: Percent | None = None
    """Target stress as a share of the minimum yield, above 0 and below 100 %."""
    percent_of_pretension: Percent | None = None
    """Target tension as a share of the structural rules' minimum pretension; needs `structural` of the group."""
    gasket_stress: Stress | None = None
    """Stress that the gasket shall get at assembly, on its whole ring; all bolts of the one group share it alike."""

    @property
    def way(self) -> str:
        """Which of TARGETS is given."""
        return next(name for name in TARGETS if getattr(self, name) is not None)

    @field_validator("published_for")
    @classmethod
    def _known_condition(cls, value: str | None) -> str | None:
        return value if value is None else str(checked(lambda: thread_condition(value), value=value).name)

    @model_validator(mode="after")
    def _one_way(self) -> Target:
        given = [name for name in TARGETS if getattr(self, name) is not None]
        if len(given) != 1:
            refuse(f"{' and '.join(given) or 'no target'} given", f"exactly one of {', '.join(TARGETS)}")
        share = self.change_for_condition
        if self.torque is not None and self.published_for is None:
            refuse("missing", "the thread condition that the torque was published for", field="published_for")
        if self.torque is None and self.published_for is not None:
            refuse(
                "no torque beside it",
                "it belongs to a published torque only",
                field="published_for",
                value=self.published_for,
            )
        if self.torque is None and share is not None:
            refuse(
                "no torque beside it",
                "it belongs to a published torque only",
                field="change_for_condition",
                value=share,
            )
        if share is not None and not -80 <= share.magnitude <= 150:
            refuse("out of range", "-80 % to +150 % of the published torque", field="change_for_condition", value=share)
        for name in ("percent_of_proof", "percent_of_yield"):
            part = getattr(self, name)
            if part is not None and not 0 < part.magnitude < 100:
                refuse("out of range", "above 0 % and below 100 %", field=name, value=part)
        tension = self.percent_of_pretension
        if tension is not None and not 50 <= tension.magnitude <= 115:
            refuse("out of range", "50 % to 115 %; 100 % is usual", field="percent_of_pretension", value=tension)
        return self


class Method(Part):
    """How the bolts reach their target after the last torque pass, where that is not by torque."""

    kind: Literal["torque then angle", "turn of nut", "direct tension washers", "hydraulic tensioner", "elongation"]
    angle: Angle | None = None
    """Torque then angle: further turn of the nut; left out, EN 1090-2's by the grip."""
    sloped_faces: Annotated[StrictInt, Field(ge=0, le=2)] = 0
    """Turn of nut: how many outer faces are sloped up to 1:20."""
    piston_area: Area | None = None
    """Hydraulic tensioner: its pressure area, as its label says."""
    load_transfer: Ratio | None = None
    """Hydraulic tensioner: load pulled over load kept, from its maker; left out, 1.01 + d/L, 1.1 at the least."""
    highest_pressure: Pressure | None = None
    """Hydraulic tensioner: of tool, hose and pump, whichever is lowest."""
    bolts_at_once: Literal["all", "half"] = "half"
    """Hydraulic tensioner: whether tools sit on every bolt or on every other one."""

    @model_validator(mode="after")
    def _complete(self) -> Method:
        if self.kind == "hydraulic tensioner":
            for name in ("piston_area", "highest_pressure"):
                if getattr(self, name) is None:
                    refuse("missing", "the figure on the tensioner's label", field=name)
        if self.load_transfer is not None and not 1 <= self.load_transfer.magnitude <= 2:
            refuse("out of range", "1 to 2", field="load_transfer", value=self.load_transfer)
        if self.angle is not None and not 0 < self.angle.to("deg").magnitude <= 360:
            refuse("out of range", "above 0 deg, at most 360 deg", field="angle", value=self.angle)
        return self


class Tightening(Part):
    """Order, passes and accepted window of a bolt group."""

    order: Text
    """Order family: a key of `bolting.tightening.pattern.FAMILIES`, e.g. cross."""
    passes: Annotated[tuple[Percent, ...], Field(min_length=1, max_length=10)]
    """Share of the target in each pattern pass, rising; the last is 100 %, up to 110 % for structural bolts, and less
    where a `method` follows."""
    circular: StrictBool
    """Whether a final circular pass follows until no nut moves."""
    max_circular_rounds: Annotated[StrictInt, Field(ge=1, le=20)] = ROUNDS_BEFORE_CAUSE
    """Rounds after which work stops and a competent person looks for the cause."""
    window_low: Percent
    """Lowest accepted torque, relative to the pass target, -20..0 %."""
    window_high: Percent
    """Highest accepted torque, relative to the pass target, 0..20 %."""
    dwell: Time | None = None
    """Settling time after the circular pass; the assistant waits it out, then the joint is tightened once more, or
    checked by its `method`."""
    columns: Columns | None = None
    """Bolts along the top edge; order 'rectangle' only."""
    rows: Columns | None = None
    """Bolts down a side; order 'rectangle' only."""
    group_size: Columns | None = None
    """Neighbours taken as one; order 'groups' only."""

    @property
    def percents(self) -> tuple[float, ...]:
        """Shares of the passes as bare percentages."""
        return tuple(float(share.magnitude) for share in self.passes)

    @model_validator(mode="after")
    def _makes_sense(self) -> Tightening:
        listed = ", ".join(f"{share:g} %" for share in self.percents)
        checked(lambda: pattern.family_name(self.order), field="order", value=self.order)
        shares = checked(lambda: checked_percents(self.percents), field="passes", value=listed)
        if any(later == earlier for earlier, later in pairwise(shares)):
            refuse("a share comes twice", "shares that rise from pass to pass", field="passes", value=listed)
        if not -20 <= self.window_low.magnitude <= 0:
            refuse("out of range", "-20 % to 0 % of the pass target", field="window_low", value=self.window_low)
        if not 0 <= self.window_high.magnitude <= 20:
            refuse("out of range", "0 % to 20 % of the pass target", field="window_high", value=self.window_high)
        return self


class Tightness(Part):
    """What a gasket needs and bears for a wanted tightness, from its maker (EN 13555 or a like test)."""

    seating_stress: Stress
    """Lowest gasket stress at assembly (Sgmin-S, QA)."""
    service_stress: Stress
    """Lowest gasket stress in service, relaxation and pressure counted (Sgmin-O, QSmin(L))."""
    share_kept: Percent
    """Share of the gasket stress that is left after relaxation (PQR), above 0 up to 100 %."""
    tightness_class: Text
    """Class that the stresses are for, e.g. L0.01."""
    source: Text
    """Data sheet, with the gasket's size and the test temperature."""

    @model_validator(mode="after")
    def _possible(self) -> Tightness:
        if not 0 < self.share_kept.magnitude <= 100:
            refuse("out of range", "above 0 %, at most 100 %", field="share_kept", value=self.share_kept)
        return self


class Ring(Part):
    """The flange ring that the bolts bend, and its strength; for elastic interaction and the joint's own limits."""

    width: Length
    """Radial width of the ring's section."""
    thickness: Length
    """Of the ring, along the bolts."""
    bolt_circle: Length | None = None
    """Left out, that of [flange]."""
    highest_bolt_stress: Stress | None = None
    """Bolt stress at assembly that the flange bears at most (Sfmax), from its calculation."""
    rotation: Angle | None = None
    """Rotation of one flange at that bolt stress."""
    highest_rotation: Angle | None = None
    """Rotation of one flange that the gasket bears at most, from its maker."""
    source: Text
    """Drawing or calculation."""

    @model_validator(mode="after")
    def _belong_together(self) -> Ring:
        if self.rotation is not None and self.highest_bolt_stress is None:
            refuse("missing", "the bolt stress that `rotation` is for", field="highest_bolt_stress")
        return self


class Coupling(Part):
    """A split clamp: how it bears, for its grip and its closing force."""

    bolts: Text
    """Name of the bolt group that closes the clamp."""
    friction: Friction
    """Friction coefficient on pipe or hub, 0.02 to 0.6."""
    pipe_diameter: Length | None = None
    """Outside diameter that the clamp is bored for."""
    measured_diameter: Length | None = None
    """Outside diameter of the pipe at hand, within 1/8 in of it."""
    bearing_length: Length | None = None
    """Length of the clamp on the pipe."""
    wedge_angle: Angle | None = None
    """Of tapered hubs, from the plane across the axis."""
    pull: Force | None = None
    """Pull along the pipe that the clamp must hold."""

    @model_validator(mode="after")
    def _bears(self) -> Coupling:
        mu = float(self.friction.magnitude)
        if not 0.02 <= mu <= 0.6:
            refuse("out of range", "0.02 to 0.6", field="friction", value=self.friction)
        pipe = self.pipe_diameter is not None and self.bearing_length is not None
        if not pipe and self.wedge_angle is None:
            refuse("neither pipe nor wedge", "pipe_diameter and bearing_length, or wedge_angle", field="pipe_diameter")
        if self.pull is not None and not pipe:
            refuse("needs the pipe", "pipe_diameter and bearing_length beside it", field="pull", value=self.pull)
        nominal, actual = self.pipe_diameter, self.measured_diameter
        if nominal is not None and actual is not None:
            checked(lambda: clamp.pipe_fit(nominal, actual), field="measured_diameter", value=actual)
        if self.wedge_angle is not None:
            angle = self.wedge_angle
            one = of(1.0, "kN")
            checked(lambda: clamp.hub_closing_force(one, angle=angle, friction=mu), field="wedge_angle", value=angle)
        return self


class Service(Part):
    """Temperature and loads in service; for derating, hot preload and the load budget."""

    highest_temperature: Temperature
    """Highest temperature of bolts and flange."""
    lowest_temperature: Temperature | None = None
    """Lowest temperature of bolts and flange."""
    axial_force: Force | None = None
    """Pull of the pipe on the whole joint, beside the pressure."""
    load_per_bolt: Force | None = None
    """Tension that the machine puts on each bolt (no gasket)."""

    @model_validator(mode="after")
    def _rising(self) -> Service:
        low = self.lowest_temperature
        if low is not None and low > self.highest_temperature:
            refuse("above highest_temperature", "a range of temperatures", field="lowest_temperature", value=low)
        return self


class Gasket(Part):
    """The gasket that the bolts compress."""

    type: Text
    """Kind of gasket in words, e.g. spiral wound, or tapered rubber."""
    inner_diameter: Length
    """Of the part that seals."""
    outer_diameter: Length
    """Of the part that seals."""
    factors_of: Text | None = None
    """Kind of gasket in the table of ASME VIII-1 app. 2 that gives m and y where they are left out."""
    full_face: StrictBool = False
    """Whether the gasket reaches across the bolts; its seating is then not checked."""
    thickness: Length | None = None
    """Of the sealing ring, as it lies uncompressed; with `modulus` it tells how the joint gives."""
    modulus: Stress | None = None
    """Modulus of elasticity of the compressed gasket on unloading, from its maker."""
    m: Annotated[float, Field(ge=0, le=20, strict=True)] | None = None
    """Gasket factor m (ASME VIII-1 app. 2), no unit; 0 for self-energising gaskets."""
    y: SeatingStress | None = None
    """Seating stress y (ASME VIII-1 app. 2); 0 for soft elastomers and self-energising gaskets."""
    highest_stress: Stress | None = None
    """Gasket stress that the maker allows at most."""
    tightness: Tightness | None = None
    """Gasket stresses for a wanted tightness, from the gasket's maker."""
    pressure: Pressure
    """Design pressure of the line, above atmosphere; below zero for vacuum service."""
    elastomer: StrictBool
    """Rubber or the like: once hot, it is never re-torqued (sealing trade body, read)."""

    @property
    def factors(self) -> tuple[float, Quantity, str] | None:
        """m, y and where they come from: the file's own, the table's, or None."""
        if self.factors_of is not None:
            found = gasket.gasket_factors(self.factors_of)
            return found.m, found.y, f"{found.name}: {found.known}" + (f"; {found.note}" if found.note else "")
        return None if self.m is None or self.y is None else (self.m, self.y, "joint file")

    @model_validator(mode="after")
    def _ring(self) -> Gasket:
        if self.inner_diameter >= self.outer_diameter:
            refuse(
                "not below outer_diameter",
                "the two diameters of the sealing ring",
                field="inner_diameter",
                value=self.inner_diameter,
            )
        if self.pressure.to("bar").magnitude < _FULL_VACUUM_BAR:
            refuse("below full vacuum", "-1.013 bar or more", field="pressure", value=self.pressure)
        if self.factors_of is not None:
            name = self.factors_of
            checked(lambda: gasket.gasket_factors(name), field="factors_of", value=name)
            if self.m is not None or self.y is not None:
                refuse("m and y stand beside it", "the table's name, or own m and y", field="factors_of", value=name)
        if (self.m is None) != (self.y is None):
            refuse("m and y belong together", "both gasket factors, or neither", field="m" if self.m is None else "y")
        return self


class Clamped(Part):
    """The parts that the bolts clamp; they determine the preload to expect at a hot re-check."""

    steel: Literal[
        "carbon and low alloy group 1", "other low alloy group 2", "5Cr-1Mo", "9Cr-1Mo", "austenitic stainless"
    ]
    """Family of steels whose expansion is known (ASME II-D Table TE-1)."""
    bolt_lag: TemperatureDifference | None = None
    """How much cooler the bolts are than the clamped parts when the joint is hot; left out: equally warm."""


class Flange(Part):
    """A standard flange; checked against the standard's bolt count and size."""

    standard: Literal["EN 1092-1", "ASME B16.5"]
    size: Text
    """DN 150, or NPS 6."""
    rating: Text
    """PN 16, or class 150."""

    @property
    def bolting(self) -> flanges.FlangeBolting:
        """What the standard drills."""
        return flanges.flange_bolting(self.standard, self.rating, size=self.size)

    @model_validator(mode="after")
    def _known(self) -> Flange:
        checked(lambda: self.bolting, field="size", value=self.size)
        return self
