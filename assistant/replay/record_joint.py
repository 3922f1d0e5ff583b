"""What a record takes from the joint file and the plan: identification, basis, tools, people, waits. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from pydantic import ValidationError

from assistant.bolting.joint_file import joint as joint_file
from assistant.bolting.joint_file.joint_fields import as_written
from assistant.bolting.joint_file.joint_people import Recheck as AskedRecheck
from assistant.bolting.tightening.pattern import family_name
from assistant.bolting.units import Quantity, magnitude
from assistant.events import Pass
from assistant.replay import record_basis as basis
from assistant.replay.facts import Facts
from assistant.replay.record_fields import Recheck
from assistant.replay.record_work import PassDone


def identification(joint: joint_file.Joint | None, *, name: str) -> basis.Joint:
    """What was tightened; the name alone where there is no joint file."""
    if joint is None:
        return basis.Joint(name=name)
    flange = joint.flange
    return basis.Joint(
        name=joint.name,
        tag=joint.tag or "",
        place=joint.place,
        kind=joint.kind,
        flange=f"{flange.standard} {flange.size} {flange.rating}" if flange else "",
        gasket=_gasket(joint),
        instruction=joint.instruction.title,
        revision=joint.instruction.revision,
        instruction_note=joint.instruction.note or "",
    )


def _gasket(joint: joint_file.Joint) -> str:
    gasket = joint.gasket
    if gasket is None:
        return ""
    parts = [
        gasket.type,
        f"sealing ring {as_written(gasket.inner_diameter)} x {as_written(gasket.outer_diameter)}",
        f"design pressure {as_written(gasket.pressure)}",
        "" if gasket.m is None or gasket.y is None else f"m {gasket.m:g}, y {as_written(gasket.y)}",
        "" if gasket.highest_stress is None else f"at most {as_written(gasket.highest_stress)} on it",
        "an elastomer: never tightened again once hot" if gasket.elastomer else "",
    ]
    return "; ".join(part for part in parts if part)


def people(joint: joint_file.Joint | None) -> tuple[basis.Person, ...]:
    """Roles and, where the joint file has them, names."""
    if joint is None:
        return ()
    return tuple(basis.Person(role=p.role, name=p.name or "", task=p.task or "") for p in joint.people)


def groups(joint: joint_file.Joint | None, plan: Mapping[str, Any], facts: Facts) -> tuple[basis.Group, ...]:
    """The bolt groups with what their figures rest on.

    Args:
        plan: content of plan.json, an object; anything in it may be missing.
    """
    if joint is None:
        return ()
    return tuple(_group(joint, group, plan, facts) for group in joint.groups)


def _group(joint: joint_file.Joint, group: joint_file.BoltGroup, plan: Mapping[str, Any], facts: Facts) -> basis.Group:
    own = joint.tightening_of(group)
    others = [
        f"{as_written(o.length)} at bolts {', '.join(map(str, o.bolts))} ({o.where})" for o in group.other_lengths
    ]
    factor = group.nut_factor
    low, high = float(own.window_low.magnitude), float(own.window_high.magnitude)
    return basis.Group(
        name=group.name,
        bolts=group.count,
        thread=group.thread,
        grade=group.grade,
        nut=group.nut or "",
        length="; ".join([as_written(group.length), *others]),
        condition=group.condition,
        nut_factor="" if factor is None else f"K {as_written(factor.value)} ({factor.source})",
        target=_target(group),
        window=f"{low:+g} % to {high:+g} % of each pass's target",
        order=family_name(own.order),
        sequence=_sequence(group.name, plan, facts),
        columns=own.columns,
        rows=own.rows,
        passes=tuple(as_written(share) for share in own.passes),
        circular=f"until no nut moves, {own.max_circular_rounds} rounds at most" if own.circular else "none",
        dwell="" if own.dwell is None else as_written(own.dwell),
        wrench=group.wrench,
        multiplier=group.multiplier or "",
        extension=group.extension or "",
        method="" if group.method is None else group.method.kind,
        tools_at_once=group.tools_at_once,
        reasons=_reasons(group.name, plan),
        calculation=_calculation(group.name, plan),
    )


def _target(group: joint_file.BoltGroup) -> str:
    target = group.target
    if target.torque is not None:
        change = (
            ""
            if target.change_for_condition is None
            else f", {as_written(target.change_for_condition)} for {group.condition}"
        )
        return f"torque {as_written(target.torque)}, published for {target.published_for}{change}"
    words = {
        "preload": "preload",
        "stress": "bolt stress",
        "percent_of_proof": "share of the proof load",
        "percent_of_yield": "share of the yield load",
        "percent_of_pretension": f"share of the minimum pretension of {group.structural}",
        "gasket_stress": "gasket stress",
    }
    return f"{words[target.way]} {as_written(getattr(target, target.way))}"


def _in_plan(name: str, plan: Mapping[str, Any]) -> Mapping[str, Any]:
    found = plan.get("groups")
    return (
        next((g for g in found if isinstance(g, dict) and g.get("name") == name), {}) if isinstance(found, list) else {}
    )


def _reasons(name: str, plan: Mapping[str, Any]) -> tuple[str, ...]:
    found = _in_plan(name, plan).get("reasons")
    return tuple(str(line) for line in found) if isinstance(found, list) else ()


def _calculation(name: str, plan: Mapping[str, Any]) -> tuple[basis.Calculated, ...]:
    found = _in_plan(name, plan).get("calculation")
    try:
        return tuple(map(basis.Calculated.model_validate, found)) if isinstance(found, list) else ()
    except ValidationError:  # a plan that somebody wrote by hand: its lines are shown as they are
        return ()


def _sequence(name: str, plan: Mapping[str, Any], facts: Facts) -> tuple[int, ...]:
    found = _in_plan(name, plan).get("order")
    if isinstance(found, list) and found and all(type(bolt) is int for bolt in found):
        return tuple(found)
    return next((p.bolts for p in facts.items if isinstance(p, Pass) and p.group == name and p.kind != "circular"), ())


def tools(joint: joint_file.Joint | None, *, day: date | None) -> tuple[basis.Tool, ...]:
    """Every tool that a bolt group names.

    Args:
        day: last day of the session, by which calibrations are judged.
    """
    if joint is None:
        return ()
    found = []
    for wrench in joint.wrenches:
        users = tuple(g.name for g in joint.groups if g.wrench == wrench.name)
        span = f"{as_written(wrench.lowest)} to {as_written(wrench.highest)}"
        scale = f"{span} in steps of {as_written(wrench.graduation)}"
        found.append(_tool(f"{wrench.kind} wrench", wrench, scale, wrench.calibration_due, users, day))
    for gear in joint.multipliers:
        users = tuple(g.name for g in joint.groups if g.multiplier == gear.name)
        known = (("calibrated factor", gear.output_factor), ("efficiency", gear.efficiency))
        losses = ", ".join(f"{name} {as_written(value)}" for name, value in known if value is not None)
        scale = f"ratio {as_written(gear.ratio)}, {losses}, at most {as_written(gear.highest)}"
        found.append(_tool("multiplier", gear, scale, gear.calibration_due, users, day))
    for arm in joint.extensions:
        users = tuple(g.name for g in joint.groups if g.extension == arm.name)
        scale = f"{as_written(arm.length)} on a wrench of {as_written(arm.wrench_length)} at {as_written(arm.angle)}"
        found.append(basis.Tool(kind="adapter", name=arm.name, scale=scale, groups=users))
    return tuple(found)


def _tool(kind: str, tool: Any, scale: str, due: date | None, users: Sequence[str], day: date | None) -> basis.Tool:
    return basis.Tool(
        kind=kind,
        name=tool.name,
        serial=tool.serial,
        scale=scale,
        calibration_due=due,
        valid_on_day=None if due is None or day is None else day <= due,
        groups=tuple(users),
    )


def waits(joint: joint_file.Joint | None, passes: Sequence[PassDone]) -> tuple[basis.Wait, ...]:
    """The waits that the instruction asks for, counted from the last entry of the group's last pass."""
    found = []
    for group in joint.groups if joint is not None else ():
        dwell = joint.tightening_of(group).dwell if joint is not None else None
        if dwell is not None:
            own = [each for each in passes if each.group == group.name]
            whole = bool(own) and all(bolt.status != "open" for bolt in own[-1].bolts)
            start = own[-1].last_utc if whole else None
            found.append(
                basis.Wait(group=group.name, wait=as_written(dwell), from_utc=start, over_utc=_later(start, dwell))
            )
    return tuple(found)


def rechecks(joint: joint_file.Joint | None, tightened: datetime | None) -> tuple[Recheck, ...]:
    """The re-checks that the joint file asks for, with the times between which each is due."""
    found = joint.rechecks if joint is not None else ()
    return tuple(
        Recheck(
            kind=each.kind,
            earliest_utc=_later(tightened, each.earliest),
            latest_utc=_later(tightened, each.latest),
            condition=_condition(each),
        )
        for each in found
    )


def _condition(each: AskedRecheck) -> str:
    low, high = each.lowest_temperature, each.highest_temperature
    parts = [
        each.procedure or "",
        "" if low is None else f"not below {as_written(low)}",
        "" if high is None else f"not above {as_written(high)}",
    ]
    return "; ".join(part for part in parts if part)


def _later(start: datetime | None, wait: Quantity | None) -> datetime | None:
    if start is None or wait is None:
        return None
    try:
        return start + timedelta(seconds=magnitude(wait, "s", name="wait"))
    except OverflowError:
        return None
