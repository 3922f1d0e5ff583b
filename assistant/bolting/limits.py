"""Limits that a joint file may not cross, each refused with the computed figure. Pure; `today` is passed in.

What is only worth a word (not harm) is a graded remark of the plan, see `plan_remarks`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from assistant.bolting import gasket, seating
from assistant.bolting.group_figures import GroupFigures, group_figures
from assistant.bolting.joint import Joint
from assistant.bolting.joint_fields import Finding, written
from assistant.bolting.pass_figures import pass_figures
from assistant.bolting.tool_accuracy import check_calibration
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import AssistantError, UnsafeJoint

HOTTEST_RETORQUE_DEGC = 232.0
"""Start-up re-torque only below this flange or bolt temperature (450 degF). Source: glossary of the trade (read)."""


def refusals(joint: Joint, *, today: date) -> tuple[Finding, ...]:
    """Everything in a joint file that would do harm; empty when there is nothing.

    Args:
        joint: any joint whose shape is right.
        today: day of the job; calibration is judged by it.
    """
    found = [*_calibration(joint, today), *_rechecks(joint)]
    for at, group in enumerate(joint.groups, start=1):
        try:
            figures = group_figures(joint, group)
        except AssistantError as error:
            way = group.target.way
            field = f"groups[{at}].target.{way}"
            found.append(Finding(field, written(getattr(group.target, way)), error.message, error.remedy))
            continue
        found += [*_stress(at, figures), *_tools(joint, at, figures, today)]
        if joint.gasket is not None and at == 1 and len(joint.groups) == 1:
            found += _seating(joint, figures)
    return tuple(found)


def _calibration(joint: Joint, today: date) -> Iterator[Finding]:
    used = {group.wrench for group in joint.groups} | {group.multiplier for group in joint.groups}
    for table in ("wrenches", "multipliers"):
        for at, tool in enumerate(getattr(joint, table), start=1):
            if tool.name not in used or tool.calibration_due is None:
                continue
            try:
                check_calibration(tool.name, due=tool.calibration_due, today=today)
            except UnsafeJoint as error:
                due = tool.calibration_due.isoformat()
                yield Finding(f"{table}[{at}].calibration_due", due, error.message, error.remedy)


def _rechecks(joint: Joint) -> Iterator[Finding]:
    for at, check in enumerate(joint.rechecks, start=1):
        if check.kind != "hot" or check.highest_temperature is None:
            continue
        field, shown = f"rechecks[{at}].highest_temperature", written(check.highest_temperature)
        if check.highest_temperature.to("degC").magnitude > HOTTEST_RETORQUE_DEGC:
            why = f"above {HOTTEST_RETORQUE_DEGC:g} degC (450 degF) bolts relax and a joint is not re-torqued"
            yield Finding(field, shown, why, f"at most {HOTTEST_RETORQUE_DEGC:g} degC, as the written procedure says")
        if joint.gasket is not None and joint.gasket.elastomer:
            why = "an elastomer gasket that has been hot is never re-torqued"
            yield Finding(f"rechecks[{at}].kind", repr(check.kind), why, "a cold re-check, or another gasket")


def _stress(at: int, figures: GroupFigures) -> Iterator[Finding]:
    """Mean stress over proof, or combined stress while tightening over yield, at the figures calculated with."""
    over_proof = figures.percent_of_proof / 100
    yield_, twisted = figures.strength.yield_, figures.equivalent
    over_yield = 0.0
    if twisted is not None:
        over_yield = magnitude(twisted, "MPa", name="equivalent stress") / magnitude(yield_, "MPa", name="yield")
    if max(over_proof, over_yield) <= 1:
        return
    way = figures.group.target.way
    grade, thread, unit = figures.strength.grade, figures.thread.name, figures.stress_unit
    given = (
        f"{show(figures.full, figures.unit)} at nut factor {figures.condition.nut_factor:g} gives "
        f"{show(figures.preload.preload, figures.force_unit)} a bolt"
    )
    if over_proof > 1:
        why = (
            f"{given}, {show(figures.stress, unit)}, that is {100 * over_proof:.4g} % of the "
            f"{show(figures.proof, unit)} {figures.proof_known} ({grade}, {thread})"
        )
    else:
        assert twisted is not None
        why = (
            f"{given}; with the twist of tightening that is an equivalent stress of {show(twisted, unit)}, over the "
            f"yield of {show(yield_, unit)} ({grade}, {thread})"
        )
    yield Finding(
        f"groups[{at}].target.{way}",
        written(getattr(figures.group.target, way)),
        why,
        f"at most {_torque_at(figures, 1 / max(over_proof, over_yield))} on these threads; 75 % of proof is usual",
    )


def _torque_at(figures: GroupFigures, share: float) -> str:
    """Largest target torque at a share of the present one, in the joint's unit, never rounded up."""
    unit = figures.unit
    value = magnitude(figures.target, unit, name="target") * share * 0.999
    return show(of(value, unit), unit, digits=3)


def _tools(joint: Joint, at: int, figures: GroupFigures, today: date) -> Iterator[Finding]:
    """Wrench out of its range, multiplier overloaded, window narrower than the scale; calibration is asked above."""
    multiplier = joint.multiplier_of(figures.group)
    full = magnitude(figures.full, "N*m", name="target")
    if multiplier is not None and full > magnitude(multiplier.highest, "N*m", name="highest"):
        field = f"multipliers[{joint.multipliers.index(multiplier) + 1}].highest"
        why = f"{show(figures.full, joint.torque_unit)} is wanted at the bolts of '{figures.group.name}'"
        yield Finding(field, written(multiplier.highest), why, "a multiplier that may deliver it")
        return
    try:
        pass_figures(joint, figures, today=min(today, figures.train.wrench.calibration_due))
    except UnsafeJoint as error:
        yield Finding(f"groups[{at}].wrench", repr(figures.group.wrench), error.message, error.remedy)


def _seating(joint: Joint, figures: GroupFigures) -> Iterator[Finding]:
    """The mean preload does not even seat the gasket, or crushes it."""
    found = seating_of(joint, figures, figures.preload.preload, figures.preload.preload)
    if found is None:
        return
    per_bolt = show(figures.preload.preload, "kN")
    way = figures.group.target.way
    field, shown = f"groups[1].target.{way}", written(getattr(figures.group.target, way))
    if not found.seated:
        why = (
            f"{figures.group.count} bolts with {per_bolt} each give {show(found.total, 'kN')}, the gasket needs "
            f"{show(found.needed, 'kN')} ({found.governing})"
        )
        allowed = f"at least {_torque_at(figures, 1.01 / found.ratio)} on these threads, or the right gasket data"
        yield Finding(field, shown, why, allowed)
    if not found.not_crushed and joint.gasket is not None and joint.gasket.highest_stress is not None:
        why = f"{per_bolt} a bolt presses the gasket with {show(found.gasket_stress, 'MPa')}"
        field = "gasket.highest_stress"
        yield Finding(field, written(joint.gasket.highest_stress), why, "a lower target, as the gasket's maker says")


def gasket_loads_of(joint: Joint) -> gasket.GasketLoads | None:
    """What the gasket needs by ASME VIII-1 app. 2; None without m and y."""
    data = joint.gasket
    if data is None or data.m is None or data.y is None:
        return None
    return gasket.gasket_loads(
        outer=data.outer_diameter, inner=data.inner_diameter, m=data.m, y=data.y, pressure=data.pressure
    )


def seating_of(joint: Joint, figures: GroupFigures, lowest: Quantity, highest: Quantity) -> seating.SeatingCheck | None:
    """The gasket at a band of preload; None without m and y."""
    loads, data = gasket_loads_of(joint), joint.gasket
    if loads is None or data is None:
        return None
    return seating.seating_check(
        loads,
        bolts=figures.group.count,
        lowest_preload=lowest,
        highest_preload=highest,
        area=gasket.contact_area(data.outer_diameter, data.inner_diameter),
        highest_stress=data.highest_stress,
    )
