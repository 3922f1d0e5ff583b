"""Tables of the joint file about the joint itself: instruction, target, tightening, gasket, flange."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, StrictBool, StrictInt, field_validator, model_validator

from assistant.bolting import flanges, pattern
from assistant.bolting.friction import thread_condition
from assistant.bolting.joint_fields import (
    Force,
    Friction,
    Length,
    Part,
    Percent,
    Pressure,
    Stress,
    TemperatureDifference,
    Text,
    Time,
    Torque,
    checked,
    refuse,
)
from assistant.bolting.passes import ROUNDS_BEFORE_CAUSE, checked_percents

TARGETS = ("torque", "preload", "stress", "percent_of_proof")
Columns = Annotated[StrictInt, Field(ge=1, le=96)]


class Instruction(Part):
    """The governing instruction: what the people follow when it and this file differ."""

    title: Text
    revision: Text
    note: Text | None = None
    """What it says that the figures of this file rest on."""


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


class Target(Part):
    """What each bolt shall get, given in exactly one of four ways."""

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
        share, proof = self.change_for_condition, self.percent_of_proof
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
        if proof is not None and not 0 < proof.magnitude < 100:
            refuse("out of range", "above 0 % and below 100 %", field="percent_of_proof", value=proof)
        return self


class Tightening(Part):
    """Order, passes and accepted window of a bolt group."""

    order: Text
    """Order family: a key of `bolting.pattern.FAMILIES`, e.g. cross."""
    passes: Annotated[tuple[Percent, ...], Field(min_length=1, max_length=10)]
    """Share of the target in each pattern pass; rising, the last 100 % (up to 110 % for structural bolting)."""
    circular: StrictBool
    """Whether a final circular pass follows until no nut moves."""
    max_circular_rounds: Annotated[StrictInt, Field(ge=1, le=20)] = ROUNDS_BEFORE_CAUSE
    """Rounds after which work stops and a competent person looks for the cause."""
    window_low: Percent
    """Lowest accepted torque, relative to the pass target, -20..0 %."""
    window_high: Percent
    """Highest accepted torque, relative to the pass target, 0..20 %."""
    dwell: Time | None = None
    """Wait before the joint is tightened once more in a circular pass; only named here, the people time it."""
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
        if shares[-1] < 100:
            refuse("the last pass is not the whole target", "a last pass of 100 %", field="passes", value=listed)
        if not -20 <= self.window_low.magnitude <= 0:
            refuse("out of range", "-20 % to 0 % of the pass target", field="window_low", value=self.window_low)
        if not 0 <= self.window_high.magnitude <= 20:
            refuse("out of range", "0 % to 20 % of the pass target", field="window_high", value=self.window_high)
        return self


class Gasket(Part):
    """The gasket that the bolts compress."""

    type: Text
    """Kind of gasket in words, e.g. spiral wound, or tapered rubber."""
    inner_diameter: Length
    """Of the part that seals."""
    outer_diameter: Length
    """Of the part that seals."""
    m: Annotated[float, Field(gt=0, le=20, strict=True)] | None = None
    """Gasket factor m (ASME VIII-1 app. 2), no unit."""
    y: Stress | None = None
    """Seating stress y (ASME VIII-1 app. 2)."""
    highest_stress: Stress | None = None
    """Gasket stress that the maker allows at most."""
    pressure: Pressure
    """Design pressure of the line, above atmosphere."""
    elastomer: StrictBool
    """Rubber or the like: once hot, it is never re-torqued (sealing trade body, read)."""

    @model_validator(mode="after")
    def _ring(self) -> Gasket:
        if self.inner_diameter >= self.outer_diameter:
            refuse(
                "not below outer_diameter",
                "the two diameters of the sealing ring",
                field="inner_diameter",
                value=self.inner_diameter,
            )
        if (self.m is None) != (self.y is None):
            refuse("m and y belong together", "both gasket factors, or neither", field="m" if self.m is None else "y")
        return self


class Clamped(Part):
    """The parts that the bolts clamp, for what a hot re-check lets expect."""

    steel: Literal[
        "carbon and low alloy group 1", "other low alloy group 2", "5Cr-1Mo", "9Cr-1Mo", "austenitic stainless"
    ]
    """Family of steels whose expansion is known (ASME II-D Table TE-1)."""
    bolt_lag: TemperatureDifference | None = None
    """How much cooler the bolts are than the clamped parts when it is hot; left out: as warm."""


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
