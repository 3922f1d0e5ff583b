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
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.planning.limits import Examined, examine
from assistant.bolting.planning.load_budget import Budget, load_budget
from assistant.bolting.planning.methods import MethodStep, method_steps
from assistant.bolting.planning.pass_figures import PassFigures
from assistant.bolting.planning.plan_reasons import Reason, reasons
from assistant.bolting.planning.plan_remarks import group_remarks, joint_remarks
from assistant.bolting.remark import Caution, Remark, Stop, gravest_first
from assistant.bolting.tightening import passes, pattern
from assistant.bolting.tightening.passes import Pass
from assistant.bolting.tightening.tool_train import Wrench
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
class GroupPlan:
    """The plan of one bolt group.

    Args:
        figures: target, tools, preload and stress of the group.
        order: bolts of a full pattern pass in order of visiting.
        passes: each pass with its window, wrench setting and bolts, in order.
        reasons: the calculation sheet. remarks: graded 'note', 'caution' or 'stop'.
        budget: what is left of the target in service.
        method_steps: what follows the torque passes where another method goes to the target.
        loosening: the passes of taking the joint apart again.
    """

    figures: GroupFigures
    order: tuple[int, ...]
    passes: tuple[PassFigures, ...]
    reasons: tuple[Reason, ...]
    remarks: tuple[Remark, ...]
    budget: Budget
    method_steps: tuple[MethodStep, ...]
    loosening: tuple[Pass, ...]

    @property
    def name(self) -> str:
        """What the joint file calls the group."""
        return self.figures.group.name

    @property
    def bolts(self) -> int:
        """How many bolts it has."""
        return self.figures.group.count

    @property
    def family(self) -> str:
        """Family of its order."""
        return pattern.family_name(self.figures.tightening.order)

    @property
    def unit(self) -> str:
        """The joint's torque unit, one of TORQUE_UNITS."""
        return self.figures.unit

    @property
    def wrench(self) -> Wrench:
        """The wrench; settings and readings are in the unit of its scale."""
        return self.figures.train.wrench

    @property
    def clicks(self) -> bool:
        """Whether the wrench clicks at its setting and shows no reading."""
        return self.wrench.kind == "click"

    @property
    def last_round(self) -> int:
        """The circular round after which a competent person is asked for."""
        return self.figures.tightening.max_circular_rounds


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
    """Remarks of one grade by their name in the plan; those of one name are joined."""
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
        UnsafeJoint: figures that would do harm (see `limits.examine`).
    """
    return planned(examine(joint, today=today))


def planned(examined: Examined) -> Plan:
    """Lay out a joint whose figures were examined.

    Raises:
        UnsafeJoint: they would do harm.
    """
    joint, unsafe = examined.joint, examined.refusals
    if unsafe:
        told = "; ".join(f"{each.field} is {each.value}: {each.why}" for each in unsafe)
        raise UnsafeJoint(f"{joint.name}: {told}", remedy="; ".join(each.allowed for each in unsafe))
    made = Plan(
        joint=joint,
        day=examined.day,
        groups=tuple(_group(joint, figures, passes) for figures, passes in examined.groups),
        remarks=joint_remarks(joint, today=examined.day),
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


def _group(joint: Joint, figures: GroupFigures, made: tuple[PassFigures, ...]) -> GroupPlan:
    group, own = figures.group, figures.tightening
    order = _order(group, own, made[0])
    budget, steps = load_budget(joint, figures), method_steps(joint, figures, order)
    return GroupPlan(
        figures=figures,
        order=order,
        passes=made,
        reasons=reasons(joint, figures, made, budget=budget, steps=steps),
        remarks=group_remarks(joint, figures, made, budget=budget, steps=steps),
        budget=budget,
        method_steps=steps,
        loosening=_loosening(group, own),
    )


def _order(group: BoltGroup, own: Tightening, first: PassFigures) -> tuple[int, ...]:
    if group.tools_at_once > 1:
        return first.order
    return pattern.order(own.order, group.count, columns=own.columns, rows=own.rows, group=own.group_size)


def _loosening(group: BoltGroup, own: Tightening) -> tuple[Pass, ...]:
    return passes.loosening(own.order, group.count, columns=own.columns, rows=own.rows, group=own.group_size)


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
        "wrench": group.wrench.name,
        "wrench_unit": group.wrench.unit,
        "wrench_low": _number(group.wrench.lowest, group.wrench.unit),
        "wrench_high": _number(group.wrench.highest, group.wrench.unit),
        "clicks": group.clicks,
        "max_circular_rounds": group.last_round,
        "steps": [step for each in group.passes for step in _step_documents(each, group)],
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


def _step_documents(each: PassFigures, group: GroupPlan) -> list[dict[str, Any]]:
    """A pass bolt by bolt: 'position' counts the bolts from 1, 'turn' those that several tools pull together once."""
    scale = group.wrench.unit
    bolts = [(turn, bolt) for turn, step in enumerate(each.steps, start=1) for bolt in step]
    return [
        {
            "pass": each.number,
            "kind": each.kind,
            "position": position,
            "turn": turn,
            "bolt": bolt,
            "target": _number(each.target, group.unit),
            "setting": _number(each.scale, scale),
            "low": _number(each.low, group.unit),
            "high": _number(each.high, group.unit),
            "unit": group.unit,
            "setting_unit": scale,
            "reading_low": _number(each.reading_low, scale),
            "reading_high": _number(each.reading_high, scale),
        }
        for position, (turn, bolt) in enumerate(bolts, start=1)
    ]


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
