"""The work at a joint, laid out from its plan: questions, snug pass, passes, closing questions. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import groupby

from assistant.bolting import units
from assistant.bolting.joint import Joint
from assistant.bolting.plan import GroupPlan, Plan, Step
from assistant.bolting.units import Quantity
from assistant.events import Measured, Pass, Question, WorkLaidOut
from assistant.speech.wording import number as number_words
from assistant.speech.wording import unit_words

CLOSING = Question(
    name="closing",
    phase="close",
    ask="Tools counted, area clear?",
    phrase="close the joint",
    hold=True,
    why="The record is sealed now, and nothing can be added to it.",
)
CAUTIONS = (
    "Manufacturer's instruction, site rules and local codes come first.",
    "Pull, do not push. Stay out of the line of fire of a stud under load. Hands clear of the reaction arm.",
    "Never tighten a joint under pressure without a written procedure that allows it.",
)
"""Usual cautions (common practice, no source; pull, stand clear, hands off the arm: read in public safety pages)."""


def lay_out(plan: Plan) -> WorkLaidOut:
    """All that has to be done at a joint, in order.

    Args:
        plan: safe figures (`bolting.plan.plan` refuses others).
    """
    joint = plan.joint
    return WorkLaidOut(
        joint=joint.name,
        before=(*_hold_points(joint, "prepare"), *_tools(plan), *_checks(joint, "prepare")),
        passes=tuple(p for group in plan.groups for p in _passes(group, joint)),
        after=(*_checks(joint, "close"), *_hold_points(joint, "close"), CLOSING),
        cautions=CAUTIONS,
    )


def _hold_points(joint: Joint, phase: str) -> tuple[Question, ...]:
    return tuple(
        Question(
            name=hold.name,
            phase=phase,
            ask=hold.ask,
            phrase=hold.phrase,
            hold=True,
            role=hold.released_by,
            why=hold.why or "A hold point: work may not go on until it is released.",
        )
        for hold in joint.hold_points
        if hold.phase == phase
    )


def _checks(joint: Joint, phase: str) -> tuple[Question, ...]:
    return tuple(
        Question(
            name=check.name,
            phase=phase,
            ask=check.ask,
            phrase=check.answer,
            hold=False,
            refused=check.refused,
            why=check.why or "",
        )
        for check in joint.checks
        if check.phase == phase
    )


def _tools(plan: Plan) -> tuple[Question, ...]:
    """One question for each wrench: its scale said aloud, so that another scale is noticed before it does harm.

    Left out where the joint file has a check of its own about the wrench.
    """
    asked: dict[str, Question] = {}
    if any("wrench" in check.name.casefold() for check in plan.joint.checks):
        return ()
    for group in plan.groups:
        asked.setdefault(
            group.wrench,
            Question(
                name=f"tool {group.wrench}",
                phase="prepare",
                ask=f"{group.wrench}: scale in {unit_words(group.wrench_unit)}, calibration label valid?",
                phrase="ready",
                hold=False,
                why="Every value that I say is on this wrench's own scale.",
            ),
        )
    return tuple(asked.values())


def _passes(group: GroupPlan, joint: Joint) -> tuple[Pass, ...]:
    snug = Pass(
        group=group.name,
        kind="snug",
        number=0,
        bolts=group.order,
        why="Snug brings the faces into even contact before any load.",
    )
    # in the modified cross order the load steps up within the first pass: each load is a stage of its own
    stages = groupby(group.steps, key=lambda step: (step.pass_number, step.setting.magnitude))
    return (snug, *(_pass(group, number, list(steps), _unit_words(group, joint)) for (number, _), steps in stages))


def _pass(group: GroupPlan, number: int, steps: list[Step], unit_said: str) -> Pass:
    first, last = steps[0], group.steps[-1]
    unit = group.wrench_unit
    share = round(100 * float((first.target / last.target).to("dimensionless").magnitude))
    circular = first.kind == "circular"
    return Pass(
        group=group.name,
        kind="circular" if circular else "pattern",
        number=number,
        bolts=tuple(step.bolt for step in steps),
        target=_measured(first.target, first.unit),
        setting=_measured(first.setting, unit),
        low=_measured(first.reading_low, unit),
        high=_measured(first.reading_high, unit),
        tool_low=_measured(group.wrench_low, unit),
        tool_high=_measured(group.wrench_high, unit),
        clicks=group.clicks,
        unit_words=unit_said,
        last_round=group.last_round if circular else 1,
        why=(
            "Each bolt unloads its neighbours. We go round until no nut moves."
            if circular
            else f"{number_words(Decimal(share)).capitalize()} percent of the full value, in {group.family} order, "
            "so that the load comes on evenly."
        ),
    )


def _unit_words(group: GroupPlan, joint: Joint) -> str:
    """The people's own words are for the joint's unit; a wrench with another scale keeps the usual ones."""
    return joint.settings.unit_words or "" if group.wrench_unit == joint.torque_unit else ""


def _measured(value: Quantity, unit: str) -> Measured:
    kept = units.measured(value, unit, 4)
    return Measured(Decimal(f"{kept.value.normalize():f}"), unit)


def follow_up(work: WorkLaidOut, bolts: Mapping[str, Collection[int]]) -> WorkLaidOut:
    """The work that answers a review: the named bolts' last pass at full value, then all round, with every question.

    Args:
        work: of the whole joint, as `lay_out` makes it.
        bolts: group -> bolts to be done again; groups and bolts that are not in the work are left out.

    Returns:
        The review is named by a question of its own. In a group without a circular pass all bolts get the last pass
        once more in their order, as one bolt done again unloads its neighbours (elastic interaction, common practice).
    """
    passes: list[Pass] = []
    for group in dict.fromkeys(p.group for p in work.passes):
        own = [p for p in work.passes if p.group == group]
        wanted = set(bolts.get(group, ())) & {bolt for p in own for bolt in p.bolts}
        if wanted:
            passes += _again(own, wanted)
    told = sorted({bolt for group in bolts.values() for bolt in group})
    few = "bolts " * (len(told) > 1) or "bolt "
    which = few + ", ".join(number_words(Decimal(bolt)) for bolt in told)
    which = which if len(told) <= 3 else f"{number_words(Decimal(len(told)))} bolts"
    review = Question(
        name="review",
        phase="prepare",
        ask=f"The review wants {which} again, then all round. Ready?",
        phrase="ready",
        hold=False,
        why="The lead has reviewed the record of this joint and wants these bolts done again.",
    )
    return replace(work, before=(review, *work.before), passes=tuple(passes))


def _again(own: Sequence[Pass], wanted: set[int]) -> Iterator[Pass]:
    """The passes at full value with the wanted bolts only, then the circular pass, or the last pass over all bolts."""
    pattern = [p for p in own if p.kind == "pattern"]
    circular = [p for p in own if p.kind == "circular"]
    full = [p for p in pattern if p.target == pattern[-1].target]
    for each in full:  # one, or several where the load steps up within a pass
        again = tuple(bolt for bolt in each.bolts if bolt in wanted)
        if again:
            yield replace(each, bolts=again)
    yield from circular or full
