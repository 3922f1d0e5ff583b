"""The joint file as frozen models: what is tightened, to what, with what, by whom. Shapes and contradictions only.

Whether the figures are safe (stress, wrench range, calibration) is computed in `limits`; reading from disk is
`config.joint_file`'s job. Paths in messages count lists from 1, as people do.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated, Any, Literal

from pydantic import Field, ModelWrapValidatorHandler, PrivateAttr, StrictInt, field_validator, model_validator

from assistant.bolting import units
from assistant.bolting.friction_and_torque import friction
from assistant.bolting.joint_file.joint_fields import Finding, Length, Part, Text, checked, refuse, refuse_all, written
from assistant.bolting.joint_file.joint_parts import (
    Clamped,
    Coupling,
    Flange,
    Gasket,
    Instruction,
    Method,
    NutFactor,
    OwnStrength,
    Ring,
    Service,
    Target,
    Tightening,
)
from assistant.bolting.joint_file.joint_people import Check, HoldPoint, Person, Recheck, Release, Settings
from assistant.bolting.joint_file.joint_tools import Extension, Multiplier, TorqueUnit, Wrench
from assistant.bolting.threads_and_strength import nuts, strength, threads
from assistant.bolting.tightening import passes, ring_orders
from assistant.errors import AssistantError

StructuralRules = Literal["EN 1090-2", "AISC 360-05"]
JointKind = Literal["gasketed flange", "split clamp coupling", "machine base", "girth flange", "plain pattern"]
NEEDS_GASKET = ("gasketed flange", "girth flange")
NO_GASKET = ("machine base",)
LOCK_OUT = "lock-out"
"""Name of the hold point that every joint must have."""


class PlaceInOtherWords(Part):
    """A place described in another language."""

    where: Text


class OtherLength(Part):
    """Bolts of a group that have another length."""

    bolts: Annotated[tuple[StrictInt, ...], Field(min_length=1)]
    """Their numbers."""
    length: Length
    where: Text
    """How to describe their place, e.g. at the thick top."""
    de: PlaceInOtherWords | None = None
    """German words; left out, the English ones are said."""


class BoltGroup(Part):
    """Bolts tightened as one pattern to one target with one kind of tool; numbered 1..count by location."""

    name: Text
    count: Annotated[StrictInt, Field(ge=1, le=ring_orders.MOST_BOLTS)]
    thread: Text
    """As people write it: M20, M20x1.5, 3/4-10 UNC."""
    grade: Text
    """Property class (8.8) or material grade (A193 B7)."""
    own_strength: OwnStrength | None = None
    """Strength of a material that is in no table here; `grade` then names it."""
    structural: StructuralRules | None = None
    """Rules for preloaded structural bolts; their limits take the place of the usual ones."""
    nut: Text | None = None
    """Nut class or grade: 8, A4-80, A194 2H."""
    length: Length
    """Nominal length of the bolt or stud."""
    grip: Length | None = None
    """Thickness between the faces of head and nut, or of both nuts: all clamped parts, gasket and washers."""
    engagement: Length | None = None
    """Thread engaged in a tapped hole; left out where a nut is on."""
    uses: Annotated[StrictInt, Field(ge=0, le=1000)] | None = None
    """How often these bolts were tightened before; 0 is new, left out is not known."""
    other_lengths: tuple[OtherLength, ...] = ()
    """Bolts of the group that are longer or shorter than the rest."""
    condition: Text
    """Thread condition at assembly: dry, oiled, anti-seize ..."""
    nut_factor: NutFactor | None = None
    """Own nut factor of this condition, from the lubricant's maker or a test; left out, published ranges are used."""
    target: Target
    wrench: Text
    """Name of one of `wrenches`."""
    multiplier: Text | None = None
    """Name of one of `multipliers`."""
    extension: Text | None = None
    """Name of one of `extensions`."""
    tools_at_once: Literal[1, 2, 4, 8] = 1
    """How many like tools pull together."""
    tightening: Tightening | None = None
    """This group's own; left out, the joint's."""
    method: Method | None = None
    """How the bolts come from the last torque pass to the target; left out, by torque alone."""

    @property
    def strength(self) -> strength.Strength:
        """Strength of the bolts: the file's own, or of the grade at this thread."""
        own, size = self.own_strength, threads.thread(self.thread)
        if own is None:
            return strength.material(self.grade, size)
        return strength.stated_strength(
            self.grade, proof=own.proof, yield_=own.yield_strength, tensile=own.tensile, source=own.source
        )

    @field_validator("thread")
    @classmethod
    def _known_thread(cls, value: str) -> str:
        checked(lambda: threads.thread(value), value=value)
        return value

    @model_validator(mode="after")
    def _goes_together(self) -> BoltGroup:
        checked(lambda: self.strength, field="grade", value=self.grade)
        if self.target.percent_of_pretension is not None and self.structural is None:
            refuse(
                "needs the rules that name the pretension",
                "structural = 'EN 1090-2' or 'AISC 360-05'",
                field="structural",
            )
        odd = [bolt for other in self.other_lengths for bolt in other.bolts]
        if len(set(odd)) != len(odd) or not set(odd) < set(range(1, self.count + 1)):
            allowed = f"each bolt once, some of 1 to {self.count} but not all"
            refuse("bolts that are not there, come twice, or are all", allowed, field="other_lengths", value=odd)
        if self.nut is not None:
            name = self.nut
            checked(lambda: nuts.nut(name), field="nut", value=name)
        checked(lambda: self.thread_condition, field="condition", value=self.condition)
        return self

    @property
    def thread_condition(self) -> friction.ThreadCondition:
        """What is known of the group's thread condition: its own nut factor, or the published ones."""
        own = self.nut_factor
        if own is None:
            return friction.thread_condition(self.condition)
        value, low, high = (units.magnitude(each, "", name="nut factor") for each in (own.value, own.low, own.high))
        return friction.stated_condition(
            self.condition, nut_factor=value, low=low, high=high, source=own.source, lubricated=own.lubricated
        )


class Joint(Part):
    """A whole joint file."""

    name: Text
    place: Text
    tag: Text | None = None
    """Text on the joint's tag."""
    kind: JointKind
    torque_unit: TorqueUnit
    """The joint's own unit: of all targets and windows in the plan."""
    instruction: Instruction
    groups: Annotated[tuple[BoltGroup, ...], Field(min_length=1, max_length=12)]
    """Bolt groups in the order in which they are tightened."""
    tightening: Tightening | None = None
    """For every group that has none of its own."""
    gasket: Gasket | None = None
    flange: Flange | None = None
    ring: Ring | None = None
    clamped: Clamped | None = None
    coupling: Coupling | None = None
    service: Service | None = None
    criticality: Literal["routine", "important", "critical"] = "routine"
    """How much depends on the joint; 'important' and 'critical' require more to be known and witnessed."""
    procedure: Text | None = None
    """A procedure file beside this one; left out: the usual procedure of the kind."""
    variants: tuple[Text, ...] = ()
    """Which variants of the procedure this joint is, e.g. rope gasket."""
    wrenches: Annotated[tuple[Wrench, ...], Field(min_length=1)]
    multipliers: tuple[Multiplier, ...] = ()
    extensions: tuple[Extension, ...] = ()
    hold_points: Annotated[tuple[HoldPoint, ...], Field(min_length=1)]
    checks: tuple[Check, ...] = ()
    rechecks: tuple[Recheck, ...] = ()
    releases: tuple[Release, ...] = ()
    """Stops of the plan that were settled before the work began."""
    people: Annotated[tuple[Person, ...], Field(min_length=1)]
    settings: Settings = Settings()
    _read_as: tuple[str, ...] = PrivateAttr(default=())
    _examples: tuple[str, ...] = PrivateAttr(default=())

    @property
    def read_as(self) -> tuple[str, ...]:
        """Units that were written as wrenches show them, and how each was read: "'310 Nm' as 310 N*m"."""
        return self._read_as

    @property
    def examples(self) -> tuple[str, ...]:
        """Keys whose values the file itself marks as examples of a template: "groups.thread", "wrenches.serial"."""
        return self._examples

    def with_examples(self, found: Iterable[str]) -> Joint:
        """The same joint, with the keys that its file marks as examples."""
        made = self.model_copy()
        made._examples = tuple(dict.fromkeys(found))
        return made

    @model_validator(mode="wrap")
    @classmethod
    def _remember_readings(cls, data: Any, handler: ModelWrapValidatorHandler[Joint]) -> Joint:
        made = handler(data)
        made._read_as = tuple(dict.fromkeys(_readings(data)))
        return made

    def tightening_of(self, group: BoltGroup) -> Tightening:
        """The group's own tightening, or the joint's."""
        found = group.tightening or self.tightening
        assert found is not None, "checked when the joint was made"
        return found

    def wrench_of(self, group: BoltGroup) -> Wrench:
        """The wrench that the group names."""
        return next(each for each in self.wrenches if each.name == group.wrench)

    def multiplier_of(self, group: BoltGroup) -> Multiplier | None:
        """The multiplier that the group names, if any."""
        return next((each for each in self.multipliers if each.name == group.multiplier), None)

    def extension_of(self, group: BoltGroup) -> Extension | None:
        """The adapter that the group names, if any."""
        return next((each for each in self.extensions if each.name == group.extension), None)

    @model_validator(mode="after")
    def _holds_together(self) -> Joint:
        findings = [
            *_twice(self),
            *_references(self),
            *_questions(self),
            *_gasket(self),
            *_flange(self),
            *_orders(self),
        ]
        if findings:
            refuse_all(findings)
        return self


def _readings(data: Any) -> Iterator[str]:
    """Every text of the file that is a torque in a unit as wrenches show it, in the order of the file."""
    if isinstance(data, dict):
        for value in data.values():
            yield from _readings(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _readings(value)
    elif isinstance(data, str):
        ours = units.read_as(data, "torque")
        if ours is not None:
            yield f"'{data}' as {ours}"


def _twice(joint: Joint) -> Iterator[Finding]:
    """Names that must tell things apart but do not."""
    for table in ("groups", "wrenches", "multipliers", "extensions", "hold_points", "checks"):
        yield from _repeated(table, "name", [each.name for each in getattr(joint, table)])
    yield from _repeated("people", "role", [each.role for each in joint.people])
    yield from _repeated("releases", "stop", [each.stop for each in joint.releases])
    phrases = [each.phrase for each in joint.hold_points]
    yield from _repeated("hold_points", "phrase", phrases)
    for at, check in enumerate(joint.checks, start=1):
        if check.answer in phrases:
            yield Finding(f"checks[{at}].answer", repr(check.answer), "a hold point's phrase", "another answer")


def _repeated(table: str, key: str, values: Sequence[str]) -> Iterator[Finding]:
    plain = [value.casefold() for value in values]
    for at, value in enumerate(values, start=1):
        if Counter(plain)[value.casefold()] > 1:
            yield Finding(f"{table}[{at}].{key}", repr(value), "it stands there twice", "a different one for each")


def _references(joint: Joint) -> Iterator[Finding]:
    """Names that point to nothing."""
    for at, group in enumerate(joint.groups, start=1):
        for key, table in (("wrench", "wrenches"), ("multiplier", "multipliers"), ("extension", "extensions")):
            known = [each.name for each in getattr(joint, table)]
            name = getattr(group, key)
            if name is not None and name not in known:
                listed = f"one of the {table}: {', '.join(known)}" if known else f"a table [[{table}]] of that name"
                yield Finding(f"groups[{at}].{key}", repr(name), f"not in {table}", listed)
        if group.tightening is None and joint.tightening is None:
            yield Finding(f"groups[{at}].tightening", "", "missing", "[tightening] for the joint, or one for the group")
    names = [each.name for each in joint.groups]
    if joint.coupling is not None and joint.coupling.bolts not in names:
        yield Finding("coupling.bolts", repr(joint.coupling.bolts), "no such bolt group", f"one of: {', '.join(names)}")
    if joint.coupling is not None and joint.kind != "split clamp coupling":
        yield Finding("coupling", "", f"kind is '{joint.kind}'", "no [coupling], or another kind")
    roles = [each.role for each in joint.people]
    for at, hold in enumerate(joint.hold_points, start=1):
        if hold.released_by not in roles:
            field = f"hold_points[{at}].released_by"
            yield Finding(field, repr(hold.released_by), "no such role", f"one of the people: {', '.join(roles)}")
    known = [*roles, *(each.name for each in joint.people if each.name is not None)]
    for at, release in enumerate(joint.releases, start=1):
        if release.by not in known:
            field = f"releases[{at}].by"
            yield Finding(field, repr(release.by), "nobody of that role or name", f"one of: {', '.join(known)}")


def _questions(joint: Joint) -> Iterator[Finding]:
    """The lock-out hold point is there, and is asked before anything is touched."""
    found = [hold for hold in joint.hold_points if hold.name.casefold() == LOCK_OUT]
    if not found:
        names = ", ".join(hold.name for hold in joint.hold_points)
        remedy = f"every joint has a hold point named '{LOCK_OUT}' in phase 'prepare'"
        yield Finding("hold_points", names, f"no {LOCK_OUT} hold point", remedy)
    elif found[0].phase != "prepare":
        at = joint.hold_points.index(found[0]) + 1
        yield Finding(f"hold_points[{at}].phase", repr(found[0].phase), "too late for lock-out", "'prepare'")


def _gasket(joint: Joint) -> Iterator[Finding]:
    if joint.gasket is None and joint.kind in NEEDS_GASKET:
        yield Finding("gasket", "", f"missing, and kind is '{joint.kind}'", "a [gasket] table, or another kind")
    if joint.gasket is not None and joint.kind in NO_GASKET:
        yield Finding("gasket", repr(joint.gasket.type), f"kind is '{joint.kind}'", "no [gasket], or another kind")
    if joint.flange is not None and joint.kind not in NEEDS_GASKET:
        yield Finding("flange", repr(joint.flange.size), f"kind is '{joint.kind}'", "no [flange], or another kind")
    for at, group in enumerate(joint.groups, start=1):
        field = f"groups[{at}].target.gasket_stress"
        if group.target.gasket_stress is not None and (joint.gasket is None or len(joint.groups) > 1):
            why = "the stress of one gasket under one bolt group is meant"
            yield Finding(
                field, written(group.target.gasket_stress), why, "another target, or a [gasket] and one group"
            )


def _flange(joint: Joint) -> Iterator[Finding]:
    """The standard's bolt count and size against the file's."""
    if joint.flange is None:
        return
    wanted, group = joint.flange.bolting, joint.groups[0]
    named = f"{wanted.standard} {wanted.size} {wanted.rating}"
    if sum(each.count for each in joint.groups) != wanted.bolts:
        yield Finding("groups[1].count", str(group.count), f"{named} has {wanted.bolts} bolts", "count the holes first")
    if threads.thread(group.thread).diameter != threads.thread(wanted.thread).diameter:
        why = f"{named} takes {wanted.bolt} bolts"
        yield Finding("groups[1].thread", repr(group.thread), why, f"{wanted.thread}, or no [flange] table")


def _orders(joint: Joint) -> Iterator[Finding]:
    """Orders that do not exist for the group's bolt count, or that would harm the joint."""
    for at, group in enumerate(joint.groups, start=1):
        own = group.tightening or joint.tightening
        if own is None:
            continue
        table = f"groups[{at}].tightening" if group.tightening else "tightening"
        if group.method is None and own.percents[-1] < 100:
            listed = ", ".join(f"{share:g} %" for share in own.percents)
            why = "the last pass is not the whole target"
            yield Finding(f"{table}.passes", repr(listed), why, "a last pass of 100 %, or a [groups.method]")
        if group.structural is None and own.percents[-1] > 100:
            listed = ", ".join(f"{share:g} %" for share in own.percents)
            why = "the last pass is more than the target"
            yield Finding(f"{table}.passes", repr(listed), why, "a last pass of 100 %; 110 % is for structural bolts")
        if group.method is not None and group.grip is None and group.method.kind != "direct tension washers":
            yield Finding(f"groups[{at}].grip", "", f"missing, and the method is '{group.method.kind}'", "the grip")
        try:
            group_passes(group, own)
        except AssistantError as error:
            yield Finding(f"{table}.order", repr(own.order), f"{group.name}: {error.message}", error.remedy)
        if joint.gasket is not None and own.order == "circular":
            why = "a circular order is not for the first pass of a gasketed joint"
            yield Finding(f"{table}.order", repr(own.order), why, "the cross order, then the final circular pass")


def group_passes(group: BoltGroup, own: Tightening) -> tuple[passes.Pass, ...]:
    """The passes of a group as shares of its target.

    Args:
        own: how it is tightened: its own way, or the joint's.

    Raises:
        BadBolting: the order does not suit the number of bolts.
    """
    return passes.passes(
        own.order,
        group.count,
        percents=own.percents,
        final_circular=own.circular,
        tools=group.tools_at_once,
        columns=own.columns,
        rows=own.rows,
        group=own.group_size,
    )
