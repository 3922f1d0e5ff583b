"""The passes of a bolt group as stages, from its plan. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import groupby

from assistant.bolting import units
from assistant.bolting.joint import BoltGroup, Joint
from assistant.bolting.plan import GroupPlan, Step
from assistant.bolting.units import Quantity
from assistant.events import Lesson, Measured, Pass
from assistant.speech.wording import Wording


def snug_pass(group: GroupPlan, joint: Joint, *, words: Wording) -> Pass:
    """The snug pass: every bolt in the group's order, no figures."""
    return Pass(
        group=group.name,
        kind="snug",
        number=0,
        phase="snug",
        bolts=group.order,
        where=_places(joint, group, words),
        lesson=Lesson(why=words.why_snug()),
    )


def pattern_passes(group: GroupPlan, joint: Joint, *, words: Wording) -> Iterator[Pass]:
    """The pattern passes, rising; where the load steps up within a pass, each load is a stage of its own."""
    steps = (step for step in group.steps if step.kind != "circular")
    stages = groupby(steps, key=lambda step: (step.pass_number, step.setting.magnitude))
    for (number, _), own in stages:
        yield _pass(group, number, list(own), joint, words)


def circular_pass(group: GroupPlan, joint: Joint, *, words: Wording) -> Pass | None:
    """All round at full value until no nut moves; None where the group's tightening has none."""
    steps = [step for step in group.steps if step.kind == "circular"]
    return _pass(group, steps[0].pass_number, steps, joint, words) if steps else None


def seat_pass(group: GroupPlan, joint: Joint, *, rounds: int, tap: str, words: Wording) -> Pass:
    """Tap, re-torque at full value, until it holds.

    Args:
        rounds: after so many a competent person is asked for.
        tap: what is tapped before each round.
    """
    full = list(pattern_passes(group, joint, words=words))[-1]
    circular = circular_pass(group, joint, words=words)
    return replace(
        circular or full,
        kind="seat",
        phase="seat",
        last_round=rounds,
        tap=tap,
        lesson=Lesson(why=words.why_seat()),
    )


def _pass(group: GroupPlan, number: int, steps: list[Step], joint: Joint, words: Wording) -> Pass:
    first, last = steps[0], group.steps[-1]
    unit = group.wrench_unit
    share = round(100 * float((first.target / last.target).to("dimensionless").magnitude))
    circular = first.kind == "circular"
    tools = _group(joint, group).tools_at_once
    return Pass(
        group=group.name,
        kind="circular" if circular else "pattern",
        number=number,
        phase="seat" if circular else "tighten",
        bolts=tuple(step.bolt for step in steps),
        tools=tools,
        target=_measured(first.target, first.unit),
        setting=_measured(first.setting, unit),
        through=_through(joint, group),
        scales=_scales(joint, group),
        low=_measured(first.reading_low, unit),
        high=_measured(first.reading_high, unit),
        tool_low=_measured(group.wrench_low, unit),
        tool_high=_measured(group.wrench_high, unit),
        clicks=group.clicks,
        unit_words=_unit_words(group, joint),
        last_round=group.last_round if circular else 1,
        where=_places(joint, group, words),
        lesson=Lesson(why=words.why_circular() if circular else words.why_pattern(Decimal(share), group.family)),
    )


def _through(joint: Joint, group: GroupPlan) -> str:
    """What stands between wrench and bolt."""
    own = _group(joint, group)
    extension = joint.extension_of(own)
    parts = ("multiplier" if own.multiplier else "", "adapter" if extension is not None else "")
    return " and ".join(part for part in parts if part)


def _scales(joint: Joint, group: GroupPlan) -> tuple[str, ...]:
    """The wrench's second scale, if it has one."""
    wrench = next(each for each in joint.wrenches if each.name == group.wrench)
    return () if wrench.also_reads is None else (str(wrench.also_reads),)


def _group(joint: Joint, group: GroupPlan) -> BoltGroup:
    return next(each for each in joint.groups if each.name == group.name)


def _places(joint: Joint, group: GroupPlan, words: Wording) -> tuple[tuple[int, str], ...]:
    others = _group(joint, group).other_lengths
    german = words.language == "de"
    told = ((other, other.de.where if german and other.de is not None else other.where) for other in others)
    return tuple((bolt, where) for other, where in told for bolt in other.bolts)


def _unit_words(group: GroupPlan, joint: Joint) -> str:
    """The people's own words are for the joint's unit; a wrench with another scale keeps the usual ones."""
    return joint.settings.unit_words or "" if group.wrench_unit == joint.torque_unit else ""


def _measured(value: Quantity, unit: str) -> Measured:
    kept = units.measured(value, unit, 4)
    return Measured(Decimal(f"{kept.value.normalize():f}"), unit)
