"""Limits that a joint file may not cross, each refused with the computed figure. Pure; `today` is passed in.

What deserves attention but does no harm is a graded remark of the plan, see `plan_remarks`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from assistant.bolting.friction_and_torque.load_limit import BoltLoad, over_limit
from assistant.bolting.joint import gasket, thermal
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_fields import Finding, written
from assistant.bolting.planning import seating
from assistant.bolting.planning.contradictions import contradictions
from assistant.bolting.planning.group_figures import GroupFigures, group_figures
from assistant.bolting.planning.pass_figures import PassFigures, pass_figures
from assistant.bolting.tightening.tool_accuracy import check_calibration
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import AssistantError, UnsafeJoint

NO_TORQUE = (
    "no torque does both, seat the gasket and spare the bolts: more or stronger bolts, another gasket, or the right "
    "gasket data; have the design checked"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """A joint with the figures of its groups, and everything in it that would do harm.

    Args:
        day: of the job; calibration is judged by it.
        refusals: what would do harm; empty when there is nothing.
        groups: figures and passes of each group, in the joint's order; complete only where nothing is refused.
    """

    joint: Joint
    day: date
    refusals: tuple[Finding, ...]
    groups: tuple[tuple[GroupFigures, tuple[PassFigures, ...]], ...]


def examine(joint: Joint, *, today: date) -> Examined:
    """Work out a joint's figures once and look for harm in them.

    Args:
        joint: any joint whose shape is right.
        today: day of the job; calibration is judged by it.
    """
    found = [*_calibration(joint, today), *_deviation(joint), *_rechecks(joint), *contradictions(joint)]
    groups = []
    for at, group in enumerate(joint.groups, start=1):
        try:
            figures = group_figures(joint, group)
        except AssistantError as error:
            way = group.target.way
            field = f"groups[{at}].target.{way}"
            found.append(Finding(field, written(getattr(group.target, way)), error.message, error.remedy))
            continue
        overload = list(_overload(joint, figures))
        found += [*_stress(joint, at, figures), *overload]
        try:
            # without the calibration, which is refused above
            day = min(today, figures.train.wrench.calibration_due)
            passes = () if overload else pass_figures(joint, figures, today=day)
            groups.append((figures, passes))
        except UnsafeJoint as error:  # out of the wrench's range, or a window narrower than its scale
            found.append(Finding(f"groups[{at}].wrench", repr(group.wrench), error.message, error.remedy))
        if joint.gasket is not None and at == 1 and len(joint.groups) == 1:
            found += _seating(joint, figures)
    return Examined(joint=joint, day=today, refusals=tuple(found), groups=tuple(groups))


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


def _deviation(joint: Joint) -> Iterator[Finding]:
    """A wrench whose certificate is worse than its standard permits."""
    for at, wrench in enumerate(joint.wrenches, start=1):
        if wrench.name not in {group.wrench for group in joint.groups} or wrench.deviation is None:
            continue
        part = wrench.train_part
        if part.accuracy_percent > part.permissible_percent:
            why = f"ISO 6789 permits a {wrench.kind} wrench of this size +/- {part.permissible_percent:g} %"
            yield Finding(
                f"wrenches[{at}].deviation", written(wrench.deviation), why, "another wrench; withdraw this one"
            )


def _rechecks(joint: Joint) -> Iterator[Finding]:
    for at, check in enumerate(joint.rechecks, start=1):
        if check.kind != "hot" or check.highest_temperature is None:
            continue
        elastomer = joint.gasket is not None and joint.gasket.elastomer
        hindrances = thermal.start_up_hindrances(
            check.highest_temperature,
            elastomer=elastomer,
            pressurised=True,
            written_procedure=check.procedure is not None,
        )
        for why in hindrances:
            limit = show(thermal.START_UP_LIMIT, "degC")
            allowed = f"a cold re-check, or at most {limit} with a gasket that bears it, as the written procedure says"
            yield Finding(f"rechecks[{at}].highest_temperature", written(check.highest_temperature), why, allowed)


def _stress(joint: Joint, at: int, figures: GroupFigures) -> Iterator[Finding]:
    """Target or upper edge of the accepted window over the bolt's limit (`load_limit`)."""
    group = figures.group
    edge = figures.load_at(1 + magnitude(figures.tightening.window_high, "", name="window"))

    def over(load: BoltLoad) -> str:
        factor = figures.condition.nut_factor
        return over_limit(load, figures.strength, nut_factor=factor, thread=figures.thread, unit=figures.unit)

    tensioned = group.method is not None and group.method.kind in ("hydraulic tensioner", "elongation")
    why = over(figures.final if tensioned else figures.load)
    field, shown = f"groups[{at}].target.{group.target.way}", written(getattr(group.target, group.target.way))
    if not why:
        why = over(edge)
        if not why:
            return
        why = f"a reading at the upper edge of the window is taken: {why}"
        table = f"groups[{at}].tightening" if group.tightening is not None else "tightening"
        field, shown = f"{table}.window_high", written(figures.tightening.window_high)
    yield Finding(field, shown, why, _allowed(joint, figures))


def _allowed(joint: Joint, figures: GroupFigures) -> str:
    """The target torques that do no harm, as what a refusal allows: never one that breaks the bolt."""
    lowest, highest = target_range(joint, figures)
    if lowest is not None and lowest > highest:
        return NO_TORQUE
    if lowest is None:
        return f"at most {_down(highest, figures.unit)} on these threads with this window; 75 % of proof is usual"
    least, most = _up(lowest, figures.unit), _down(highest, figures.unit)
    return f"from {least} to {most} on these threads with this window"


def target_range(joint: Joint, figures: GroupFigures) -> tuple[Quantity | None, Quantity]:
    """Lowest and highest target torque that seats the gasket, does not crush it and spares the bolt, in N*m.

    Returns:
        (None, highest) where no gasket is checked; the lowest may be above the highest: then no torque does.
    """
    target = magnitude(figures.target, "N*m", name="target")
    edge = 1 + magnitude(figures.tightening.window_high, "", name="window")
    share = figures.tightening.percents[-1] / 100
    highest = magnitude(figures.load.largest_torque, "N*m", name="torque") / edge / share
    found = None
    if len(joint.groups) == 1:
        found = seating_of(joint, figures, figures.preload.preload, figures.preload.preload)
    if found is None:
        return None, of(highest, "N*m")
    if found.highest is not None:
        spare = magnitude(found.highest, "MPa", name="limit") / magnitude(found.gasket_stress, "MPa", name="stress")
        highest = min(highest, target * spare)
    lowest = target / found.ratio if math.isfinite(found.ratio) else 0.0
    return of(lowest, "N*m"), of(highest, "N*m")


def _down(torque: Quantity, unit: str) -> str:
    """A torque in three figures, rounded down: what is allowed stays allowed."""
    return _three(torque, unit, math.floor)


def _up(torque: Quantity, unit: str) -> str:
    return _three(torque, unit, math.ceil)


def _three(torque: Quantity, unit: str, towards: Callable[[float], int]) -> str:
    value = magnitude(torque, unit, name="torque")
    step = 10.0 ** (math.floor(math.log10(value)) - 2) if value > 0 else 1.0
    return show(of(towards(value / step) * step, unit), unit, digits=3)


def _overload(joint: Joint, figures: GroupFigures) -> Iterator[Finding]:
    """A multiplier whose highest output is below the target."""
    multiplier = joint.multiplier_of(figures.group)
    full = magnitude(figures.full, "N*m", name="target")
    if multiplier is not None and full > magnitude(multiplier.highest, "N*m", name="highest"):
        field = f"multipliers[{joint.multipliers.index(multiplier) + 1}].highest"
        why = f"{show(figures.full, joint.torque_unit)} is wanted at the bolts of '{figures.group.name}'"
        yield Finding(field, written(multiplier.highest), why, "a multiplier that may deliver it")


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
        yield Finding(field, shown, why, _allowed(joint, figures))
    if not found.not_crushed and joint.gasket is not None and joint.gasket.highest_stress is not None:
        why = f"{per_bolt} a bolt presses the gasket with {show(found.gasket_stress, 'MPa')}"
        field = "gasket.highest_stress"
        yield Finding(field, written(joint.gasket.highest_stress), why, _allowed(joint, figures))


def gasket_loads_of(joint: Joint) -> gasket.GasketLoads | None:
    """What the gasket needs by ASME VIII-1 app. 2; None without m and y, or for a full-face gasket.

    Vacuum presses the flanges together: it counts as no pressure, which is the careful side.
    """
    data = joint.gasket
    factors = None if data is None else data.factors
    if data is None or factors is None or data.full_face:
        return None
    above = of(max(magnitude(data.pressure, "bar", name="pressure"), 0.0), "bar")
    return gasket.gasket_loads(
        outer=data.outer_diameter, inner=data.inner_diameter, m=factors[0], y=factors[1], pressure=above
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
