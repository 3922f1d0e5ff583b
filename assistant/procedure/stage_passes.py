"""The passes of a group as stages, from its plan, and what follows where torque does not reach the target. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from assistant.bolting import units
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.methods import FINEST, MethodStep
from assistant.bolting.planning.pass_figures import PassFigures
from assistant.bolting.planning.plan import GroupPlan
from assistant.bolting.units import Quantity
from assistant.events import Item, Lesson, Measured, Measurement, Pass, Question
from assistant.speech.wording import Wording


def snug_pass(group: GroupPlan, *, words: Wording) -> Pass:
    """The snug pass: every bolt in the group's order, no figures."""
    return Pass(
        group=group.name,
        kind="snug",
        number=0,
        phase="snug",
        bolts=group.order,
        where=_places(group, words),
        lesson=Lesson(why=words.why_snug()),
    )


def pattern_passes(group: GroupPlan, joint: Joint, *, words: Wording) -> Iterator[Pass]:
    """The pattern passes, rising; where the load steps up within a pass, each load is a stage of its own."""
    for each in group.passes:
        if each.kind != "circular":
            yield _pass(group, each, joint, words)


def circular_pass(group: GroupPlan, joint: Joint, *, words: Wording) -> Pass | None:
    """All round at full value until no nut moves; None where the group's tightening has none."""
    found = next((each for each in group.passes if each.kind == "circular"), None)
    return None if found is None else _pass(group, found, joint, words)


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


def _pass(group: GroupPlan, each: PassFigures, joint: Joint, words: Wording) -> Pass:
    unit = group.wrench.unit
    share = round(100 * each.percent / group.passes[-1].percent)
    circular = each.kind == "circular"
    return Pass(
        group=group.name,
        kind="circular" if circular else "pattern",
        number=each.number,
        phase="seat" if circular else "tighten",
        bolts=each.order,
        tools=group.figures.group.tools_at_once,
        target=_measured(each.target, group.unit),
        setting=_measured(each.scale, unit),
        through=_through(group),
        scales=_scales(joint, group),
        low=_measured(each.reading_low, unit),
        high=_measured(each.reading_high, unit),
        tool_low=_measured(group.wrench.lowest, unit),
        tool_high=_measured(group.wrench.highest, unit),
        clicks=group.clicks,
        unit_words=_unit_words(group, joint),
        last_round=group.last_round if circular else 1,
        where=_places(group, words),
        lesson=Lesson(why=words.why_circular() if circular else words.why_pattern(Decimal(share), group.family)),
    )


PRESSURE_OFF = "pressure is off"
"""The answer that ends a pull of tensioners."""
PULLED = ("nuts by hand", "pressure check")
"""Passes between a pressure and letting it off."""
_QUANTITIES = {"deg": "angle", "mm": "length"}


def method_items(group: GroupPlan, joint: Joint, *, phase: str, words: Wording, again: bool = False) -> Iterator[Item]:
    """The stages behind the torque passes of a group whose target is not reached by torque; none where it is.

    A turn, a gap and a stretch are read bolt by bolt. A pull of tensioners is one pressure on one gauge, then the nuts
    are run down (at the last pull: tried), then the pressure is let off.

    Args:
        phase: that they belong to.
        again: after a wait or at a re-check: what shows that nothing was lost. A turn is never done twice.
    """
    steps = group.method_steps
    if again:
        steps = tuple(step for step in steps if step.unit == "mm" or step.name == "check")
    for number, step in enumerate(steps, start=group.passes[-1].number + 1):
        if step.unit == "bar":
            yield from _pull(group, joint, step, number, phase, words)
        else:
            yield Pass(
                group=group.name,
                kind="pattern",
                number=number,
                phase=phase,
                bolts=step.bolts,
                target=_read(step.target, step.unit, ROUND_HALF_EVEN),
                setting=_read(step.target, step.unit, ROUND_HALF_EVEN),
                low=_read(step.low, step.unit, ROUND_CEILING),
                high=_read(step.high, step.unit, ROUND_FLOOR),
                measures=_QUANTITIES[step.unit],
                method=step.name,
                where=_places(group, words),
                lesson=Lesson(why=words.why_method(step.name)),
            )


def _pull(group: GroupPlan, joint: Joint, step: MethodStep, number: int, phase: str, words: Wording) -> Iterator[Item]:
    several = f" of the {group.name}" if len(joint.groups) > 1 else ""
    pressure = _read(step.target, step.unit, ROUND_HALF_EVEN)
    said = words.amount(pressure.value, pressure.unit)
    check = step.name == "check"
    yield Measurement(
        name=f"{step.name}{several}",
        phase=phase,
        ask=words.pull_together(step.bolts, said, everyone=len(step.bolts) == group.bolts),
        quantity="pressure",
        unit=step.unit,
        low=_read(step.low, step.unit, ROUND_CEILING).value,
        high=_read(step.high, step.unit, ROUND_FLOOR).value,
        lesson=Lesson(
            caution=words.pressure_caution(),
            why=words.why_method("pressure"),
            called=words.pressure_called(step.name),
        ),
    )
    method = PULLED[check]
    yield Pass(
        group=group.name,
        kind="circular" if check else "snug",
        number=number,
        phase=phase,
        bolts=step.bolts,
        method=method,
        last_round=group.last_round,
        where=_places(group, words),
        lesson=Lesson(why=words.why_method(method)),
    )
    yield Question(
        name=f"pressure off after {step.name}{several}",
        phase=phase,
        ask=words.pressure_off(),
        phrase=PRESSURE_OFF,
        hold=False,
        refused=("pressure is not off",),
        lesson=Lesson(why=words.pressure_caution(), called=words.pressure_off_called()),
    )


def _read(value: Quantity, unit: str, rounding: str) -> Measured:
    """A figure to what a dial or gauge is read to."""
    exact = Decimal(f"{units.magnitude(value, unit, name='reading'):.6f}")
    tidy = exact.quantize(Decimal(f"{FINEST[unit]:g}"), rounding=rounding)
    return Measured(Decimal(f"{tidy.normalize():f}"), unit)


def _through(group: GroupPlan) -> str:
    """What stands between wrench and bolt."""
    train = group.figures.train
    parts = ("multiplier" if train.multiplier else "", "adapter" if train.adapter else "")
    return " and ".join(part for part in parts if part)


def _scales(joint: Joint, group: GroupPlan) -> tuple[str, ...]:
    """The wrench's second scale, if it has one."""
    second = joint.wrench_of(group.figures.group).also_reads
    return () if second is None else (str(second),)


def _places(group: GroupPlan, words: Wording) -> tuple[tuple[int, str], ...]:
    others = group.figures.group.other_lengths
    german = words.language == "de"
    told = ((other, other.de.where if german and other.de is not None else other.where) for other in others)
    return tuple((bolt, where) for other, where in told for bolt in other.bolts)


def _unit_words(group: GroupPlan, joint: Joint) -> str:
    """The people's own words are for the joint's unit; a wrench with another scale keeps the usual ones."""
    return joint.settings.unit_words or "" if group.wrench.unit == group.unit else ""


def _measured(value: Quantity, unit: str) -> Measured:
    kept = units.measured(value, unit, 4)
    return Measured(Decimal(f"{kept.value.normalize():f}"), unit)
