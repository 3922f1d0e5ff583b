"""The plan: for each bolt group the ordered steps with targets, wrench settings and windows, and the reasons for them.

A pure function of the joint file and the day of the job. Every number that is spoken can be traced to a line of it.
"""

from __future__ import annotations

import dataclasses
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

from assistant.bolting.joint_file.joint import BoltGroup, Joint
from assistant.bolting.joint_file.joint_parts import Tightening
from assistant.bolting.planning.group_figures import group_figures
from assistant.bolting.planning.limits import refusals
from assistant.bolting.planning.load_budget import Budget, load_budget
from assistant.bolting.planning.methods import MethodStep, method_steps
from assistant.bolting.planning.pass_figures import PassFigures, pass_figures
from assistant.bolting.planning.plan_reasons import Reason, reasons
from assistant.bolting.planning.plan_remarks import group_remarks, joint_remarks
from assistant.bolting.remark import Caution, Remark, Stop, gravest_first
from assistant.bolting.tightening import passes, pattern
from assistant.bolting.tightening.passes import Pass
from assistant.bolting.units import Quantity, magnitude, rounded, show
from assistant.errors import UnsafeJoint

SAFETY = (
    "The manufacturer's instruction and the site rules come first; where this sheet differs, they count.",
    "This sheet does not replace a competent person, and it is not an alarm.",
    "Lock-out is the people's own act; the assistant only asks about it and records the answer.",
    "Never trust a heard number that you did not say.",
)
"""Safety lines of every plan."""
_PLACES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One bolt in one pass.

    Args:
        pass_number: 1.. through the group's plan; the final circular pass is the last.
        kind: 'pattern', 'four points' or 'circular'.
        position: 1.., place in the pass. turn: 1.., the same for bolts that several tools pull together.
        bolt: location number, 1.. clockwise.
        target, low, high: bolt torque and its accepted window, in the joint's unit; low <= target <= high.
        setting: of the wrench, a mark of its scale, in the wrench's unit.
        reading_low, reading_high: the window on the wrench's own scale, in the wrench's unit.
        unit, wrench_unit: symbols of TORQUE_UNITS.
    """

    pass_number: int
    kind: str
    position: int
    turn: int
    bolt: int
    target: Quantity
    low: Quantity
    high: Quantity
    setting: Quantity
    reading_low: Quantity
    reading_high: Quantity
    unit: str
    wrench_unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupPlan:
    """The plan of one bolt group.

    Args:
        bolts: how many. family: order family; order: bolts of a full pattern pass in order of visiting.
        wrench: name of the wrench; clicks: it clicks at its setting and shows no reading.
        wrench_low, wrench_high: lowest and highest mark of its scale, in wrench_unit.
        last_round: circular rounds after which a competent person is asked for.
        passes: figures of each pass, in order. steps: one for each bolt of each pass, in order.
        reasons: the calculation sheet. remarks: graded 'note', 'caution' or 'stop'.
        budget: what is left of the target in service.
        method_steps: what follows the torque passes where another method goes to the target.
        loosening: the passes of taking the joint apart again.
    """

    name: str
    bolts: int
    family: str
    columns: int | None
    rows: int | None
    order: tuple[int, ...]
    unit: str
    wrench: str
    wrench_unit: str
    wrench_low: Quantity
    wrench_high: Quantity
    clicks: bool
    last_round: int
    passes: tuple[PassFigures, ...]
    steps: tuple[Step, ...]
    reasons: tuple[Reason, ...]
    remarks: tuple[Remark, ...]
    budget: Budget
    method_steps: tuple[MethodStep, ...]
    loosening: tuple[Pass, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The plan of a joint; groups in the order in which they are tightened."""

    joint: Joint
    day: date
    groups: tuple[GroupPlan, ...]
    remarks: tuple[Remark, ...]
    safety: tuple[str, ...] = SAFETY

    @property
    def stops(self) -> tuple[Stop, ...]:
        """Remarks of grade stop as hold points, with who released each beforehand; the joint's own come first."""
        released = {each.stop.casefold(): each for each in self.joint.releases}
        found = []
        for caution in _told(self, "stop"):
            release = released.get(caution.name.casefold())
            by, reason = (None, None) if release is None else (release.by, release.reason)
            fields = {each.name: getattr(caution, each.name) for each in dataclasses.fields(caution)}
            found.append(Stop(**fields, released_by=by, reason=reason))
        return tuple(found)

    @property
    def open_stops(self) -> tuple[Stop, ...]:
        """Stops that nobody has released yet: nothing is tightened before they are."""
        return tuple(each for each in self.stops if each.stands)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Remarks of grade caution, each spoken once before the work that it is about."""
        return _told(self, "caution")


def _told(plan: Plan, grade: str) -> tuple[Caution, ...]:
    """Remarks of one grade by their name in the plan; those of one name are told together."""
    lists = [("", plan.remarks), *((each.name, each.remarks) for each in plan.groups)]
    found: dict[str, Caution] = {}
    for group, remarks in lists:
        for each in remarks:
            if each.grade != grade:
                continue
            name = f"{group}: {each.name}" if group and len(plan.groups) > 1 else each.name
            new = Caution(
                name=name, remark=each.name, group=group, text=each.text, source=each.source, spoken=(each.spoken,)
            )
            found[name] = _joined(found[name], new) if name in found else new
    return tuple(found.values())


def _joined(one: Caution, other: Caution) -> Caution:
    source = one.source if other.source in one.source else f"{one.source}; {other.source}"
    spoken = tuple(dict.fromkeys((*one.spoken, *other.spoken)))
    return replace(one, text=f"{one.text} {other.text}", source=source, spoken=spoken)


def plan(joint: Joint, *, today: date) -> Plan:
    """Lay out a joint.

    Args:
        joint: any joint whose shape is right.
        today: day of the job; only the calibration of the tools depends on it.

    Raises:
        UnsafeJoint: figures that would do harm (see `limits.refusals`).
    """
    unsafe = refusals(joint, today=today)
    if unsafe:
        told = "; ".join(f"{each.field} is {each.value}: {each.why}" for each in unsafe)
        raise UnsafeJoint(f"{joint.name}: {told}", remedy="; ".join(each.allowed for each in unsafe))
    made = Plan(
        joint=joint,
        day=today,
        groups=tuple(_group(joint, group, today) for group in joint.groups),
        remarks=joint_remarks(joint, today=today),
    )
    return replace(made, remarks=gravest_first((*made.remarks, *_idle_releases(made))))


def _idle_releases(made: Plan) -> list[Remark]:
    """Releases in the joint file of stops that this plan does not have."""
    names = {each.name.casefold() for each in made.stops}
    return [
        Remark(
            "caution",
            "release of no stop",
            f"The joint file releases '{each.stop}', a stop that this plan has not.",
            parts=(each.stop,),
        )
        for each in made.joint.releases
        if each.stop.casefold() not in names
    ]


def _group(joint: Joint, group: BoltGroup, today: date) -> GroupPlan:
    figures = group_figures(joint, group)
    made = pass_figures(joint, figures, today=today)
    own, wrench = figures.tightening, joint.wrench_of(group)
    order = _order(group, own, made[0])
    budget, steps = load_budget(joint, figures), method_steps(joint, figures, order)
    return GroupPlan(
        name=group.name,
        bolts=group.count,
        family=pattern.family_name(own.order),
        columns=own.columns,
        rows=own.rows,
        order=order,
        unit=joint.torque_unit,
        wrench=wrench.name,
        wrench_unit=wrench.unit,
        wrench_low=wrench.lowest,
        wrench_high=wrench.highest,
        clicks=wrench.kind == "click",
        last_round=own.max_circular_rounds,
        passes=made,
        steps=tuple(step for each in made for step in _steps(each, joint.torque_unit, wrench.unit)),
        reasons=reasons(joint, figures, made, budget=budget, steps=steps),
        remarks=group_remarks(joint, figures, made, budget=budget, steps=steps),
        budget=budget,
        method_steps=steps,
        loosening=_loosening(group, own),
    )


def _order(group: BoltGroup, own: Tightening, first: PassFigures) -> tuple[int, ...]:
    if group.tools_at_once > 1:
        return tuple(bolt for step in first.steps for bolt in step)
    return pattern.order(own.order, group.count, columns=own.columns, rows=own.rows, group=own.group_size)


def _loosening(group: BoltGroup, own: Tightening) -> tuple[Pass, ...]:
    return passes.loosening(own.order, group.count, columns=own.columns, rows=own.rows, group=own.group_size)


def _steps(each: PassFigures, unit: str, wrench_unit: str) -> list[Step]:
    bolts = [(turn, bolt) for turn, step in enumerate(each.steps, start=1) for bolt in step]
    return [
        Step(
            pass_number=each.number,
            kind=each.kind,
            position=position,
            turn=turn,
            bolt=bolt,
            target=each.target,
            low=each.low,
            high=each.high,
            setting=each.scale,
            reading_low=each.reading_low,
            reading_high=each.reading_high,
            unit=unit,
            wrench_unit=wrench_unit,
        )
        for position, (turn, bolt) in enumerate(bolts, start=1)
    ]


def plan_document(plan: Plan) -> dict[str, Any]:
    """The plan as plain data for JSON: the keys of `plan --json`, and more; torques are numbers in the unit beside."""
    joint = plan.joint
    return {
        "joint": joint.name,
        "tag": joint.tag,
        "place": joint.place,
        "kind": joint.kind,
        "instruction": joint.instruction.model_dump(),
        "day": plan.day.isoformat(),
        "groups": [_group_document(each) for each in plan.groups],
        "remarks": [_remark_document(each) for each in plan.remarks],
        "stops": [_told_document(each) for each in plan.stops],
        "cautions": [_told_document(each) for each in plan.cautions],
        "hold_points": [each.model_dump() for each in joint.hold_points],
        "checks": [{**each.model_dump(), "refused": list(each.refused)} for each in joint.checks],
        "safety": list(plan.safety),
    }


def _group_document(group: GroupPlan) -> dict[str, Any]:
    return {
        "name": group.name,
        "bolts": group.bolts,
        "family": group.family,
        "order": list(group.order),
        "wrench": group.wrench,
        "wrench_unit": group.wrench_unit,
        "wrench_low": _number(group.wrench_low, group.wrench_unit),
        "wrench_high": _number(group.wrench_high, group.wrench_unit),
        "clicks": group.clicks,
        "max_circular_rounds": group.last_round,
        "steps": [_step_document(step) for step in group.steps],
        "reasons": [each.line for each in group.reasons],
        "calculation": [each.document for each in group.reasons],
        "remarks": [_remark_document(each) for each in group.remarks],
        "budget": _budget_document(group.budget),
        "method_steps": [_method_document(each) for each in group.method_steps],
        "loosening": [{"percent": each.percents[0], "order": list(each.order)} for each in group.loosening],
    }


def _budget_document(budget: Budget) -> dict[str, Any]:
    """The budget in kN: target, lowest and highest after each stage, and what is needed in service."""
    ends = [[_force(low), _force(high)] for low, high in budget.after]
    return {
        "target_kN": _force(budget.target),
        "stages": [
            {"name": stage.name, "known": stage.known, "low_kN": low, "high_kN": high}
            for stage, (low, high) in zip(budget.stages, ends[1:], strict=True)
        ],
        "needed_kN": None if budget.needed is None else _force(budget.needed),
        "needed_by": budget.needed_by,
    }


def _method_document(step: MethodStep) -> dict[str, Any]:
    return {
        "name": step.name,
        "bolts": list(step.bolts),
        "unit": step.unit,
        "target": _number(step.target, step.unit),
        "low": _number(step.low, step.unit),
        "high": _number(step.high, step.unit),
        "text": step.text,
    }


def _force(value: Quantity) -> float:
    return float(rounded(magnitude(value, "kN", name="force"), _PLACES))


def _step_document(step: Step) -> dict[str, Any]:
    return {
        "pass": step.pass_number,
        "kind": step.kind,
        "position": step.position,
        "turn": step.turn,
        "bolt": step.bolt,
        "target": _number(step.target, step.unit),
        "setting": _number(step.setting, step.wrench_unit),
        "low": _number(step.low, step.unit),
        "high": _number(step.high, step.unit),
        "unit": step.unit,
        "setting_unit": step.wrench_unit,
        "reading_low": _number(step.reading_low, step.wrench_unit),
        "reading_high": _number(step.reading_high, step.wrench_unit),
    }


def _told_document(each: Stop | Caution) -> dict[str, Any]:
    return {key: value for key, value in asdict(each).items() if key not in ("remark", "spoken")}


def _remark_document(remark: Remark) -> dict[str, str]:
    return {"grade": remark.grade, "name": remark.name, "text": remark.text, "source": remark.source}


def _number(value: Quantity, unit: str) -> float:
    """A figure as a JSON number, to four decimals; rounding keeps low <= target <= high."""
    return float(rounded(magnitude(value, unit, name="torque"), _PLACES))


def window_text(low: Quantity, high: Quantity, unit: str) -> str:
    """A window as people read it: '162 to 179 N*m'."""
    return f"{show(low, unit).removesuffix(unit).strip()} to {show(high, unit)}"
