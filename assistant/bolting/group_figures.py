"""All engineering figures of one bolt group: target, passes with wrench settings and windows, preload, stress.

Nothing is decided here: `limits` refuses harm, `plan` lays out the steps, `plan_reasons` explains.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from assistant.bolting import strength as strengths
from assistant.bolting import threads, tools, torque, units, vdi2230
from assistant.bolting.bearing import rough_bearing_diameter
from assistant.bolting.condition import ConvertedTorque, convert
from assistant.bolting.friction import ThreadCondition, thread_condition
from assistant.bolting.joint import BoltGroup, Joint
from assistant.bolting.joint_parts import Tightening
from assistant.bolting.passes import Pass, passes
from assistant.bolting.preload_band import PreloadBand, needs_sampling, nut_factor_range, preload_band
from assistant.bolting.threads import Thread
from assistant.bolting.tool_train import wrench_torque
from assistant.bolting.units import Quantity, magnitude, of
from assistant.bolting.units import convert as in_unit
from assistant.errors import BadBolting, UnsafeJoint

_SEED = 1
_TINY = 1e-9
_TWO_FRICTIONS = (0.05, 0.15)


@dataclass(frozen=True, slots=True, kw_only=True)
class PassFigures:
    """One pass of a group.

    Args:
        number: 1.. through the group's plan. kind: 'pattern', 'four points' or 'circular'.
        percent: share of the target.
        steps: bolts of each step in order; several bolts a step when several tools pull together.
        target, low, high: bolt torque and its accepted window, in the joint's unit.
        setting: of the wrench, with reasons and warnings.
        scale: setting as a quantity in the wrench's own unit. reading_low, reading_high: window in the same unit.
    """

    number: int
    kind: str
    percent: float
    steps: tuple[tuple[int, ...], ...]
    target: Quantity
    low: Quantity
    high: Quantity
    setting: tools.Setting
    scale: Quantity
    reading_low: Quantity
    reading_high: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupFigures:
    """One bolt group, before its passes.

    Args:
        unit: the joint's torque unit.
        target: bolt torque at 100 %, in it. full: at the last pass (more than target only above 100 %).
        converted: how a published torque was turned into the target; None when the target is a preload.
        basis: preload at 100 % that the target stands for, kN. preload: at the last pass, with its band.
        stress: mean bolt stress at the last pass, MPa. proof: proof strength, `proof_known` how it is known.
        equivalent: von Mises stress while tightening at `friction` (a coefficient), MPa; None where K gives none.
    """

    group: BoltGroup
    tightening: Tightening
    thread: Thread
    strength: strengths.Strength
    condition: ThreadCondition
    train: tools.Tools
    unit: str
    target: Quantity
    full: Quantity
    converted: ConvertedTorque | None
    basis: Quantity
    preload: PreloadBand
    stress: Quantity
    proof: Quantity
    proof_known: str
    equivalent: Quantity | None
    friction: float | None

    @property
    def percent_of_proof(self) -> float:
        """Mean bolt stress at the last pass, in percent of the proof strength."""
        return 100 * magnitude(self.stress, "MPa", name="stress") / magnitude(self.proof, "MPa", name="proof")


def group_figures(joint: Joint, group: BoltGroup) -> GroupFigures:
    """The figures of one group.

    Raises:
        BadBolting: target and thread condition contradict each other, or a value that no formula takes.
    """
    thread = threads.thread(group.thread)
    material = strengths.material(group.grade, thread)
    condition = group.thread_condition
    proof, known = strengths.proof_or_estimate(material)
    tightening = joint.tightening_of(group)
    converted, target = _target(joint, group, thread, condition)
    full = of(magnitude(target, "N*m", name="target") * tightening.percents[-1] / 100, "N*m")
    train = _train(joint, group)
    band = usual_band(full, thread, condition, train.wrench.accuracy_percent)
    friction = _friction(thread, condition.nut_factor)
    return GroupFigures(
        group=group,
        tightening=tightening,
        thread=thread,
        strength=material,
        condition=condition,
        train=train,
        unit=joint.torque_unit,
        target=in_unit(target, joint.torque_unit),
        full=in_unit(full, joint.torque_unit),
        converted=converted,
        basis=torque.preload_from_torque(target, thread, nut_factor=condition.nut_factor),
        preload=band,
        stress=strengths.bolt_stress(band.preload, thread),
        proof=proof,
        proof_known=known,
        equivalent=None if friction is None else vdi2230.equivalent_stress(band.preload, thread, friction=friction),
        friction=friction,
    )


def _target(
    joint: Joint, group: BoltGroup, thread: Thread, condition: ThreadCondition
) -> tuple[ConvertedTorque | None, Quantity]:
    """Bolt torque at 100 %, N*m, and how it was converted."""
    target = group.target
    if target.torque is not None:
        change = target.change_for_condition
        converted = convert(
            target.torque,
            published_for=thread_condition(target.published_for or ""),
            at_hand=condition,
            instruction_percent=None if change is None else float(change.magnitude),
            instruction=f"{joint.instruction.title}, revision {joint.instruction.revision}",
            unit=joint.torque_unit,
        )
        return converted, converted.torque
    preload = target_preload(group, thread)
    return None, torque.torque_from_preload(preload, thread, nut_factor=condition.nut_factor)


def target_preload(group: BoltGroup, thread: Thread) -> Quantity:
    """Tension that a target given as preload, stress or percent of proof stands for, kN.

    Raises:
        BadBolting: the target is a torque, or percent of proof for a grade whose standard defines no proof strength.
    """
    target = group.target
    if target.preload is not None:
        return in_unit(target.preload, "kN")
    if target.stress is not None:
        return strengths.preload_at(target.stress, thread)
    if target.percent_of_proof is not None:
        load = strengths.proof_load(strengths.material(group.grade, thread), thread)
        share = magnitude(target.percent_of_proof, "", name="percent of proof")
        return of(magnitude(load, "kN", name="proof load") * share, "kN")
    raise BadBolting(f"{group.name}: the target is a torque", remedy="Ask for the preload of the torque instead.")


def _train(joint: Joint, group: BoltGroup) -> tools.Tools:
    multiplier, extension = joint.multiplier_of(group), joint.extension_of(group)
    return tools.Tools(
        wrench=joint.wrench_of(group).train_part,
        adapter=None if extension is None else extension.train_part,
        multiplier=None if multiplier is None else multiplier.train_part,
    )


def usual_band(full: Quantity, thread: Thread, condition: ThreadCondition, tool_percent: float) -> PreloadBand:
    """The preload band of a torque, by the law of propagation, which can be recomputed by hand.

    Where that misses an end of the sampled band by too much (`preload_band.needs_sampling`), by sampling.

    Args:
        full: bolt torque.
        tool_percent: accuracy of the wrench, plus or minus.
    """
    factor = nut_factor_range(condition)
    skewed = needs_sampling(full, thread, nut_factor=factor, tool_percent=tool_percent, seed=_SEED)
    return preload_band(full, thread, nut_factor=factor, tool_percent=tool_percent, seed=_SEED if skewed else None)


def _friction(thread: Thread, nut_factor: float) -> float | None:
    """One friction coefficient for thread and bearing face that gives this K; None when no possible one does.

    K is linear in the coefficient (`torque.nut_factor_from_friction`), so that two values of it give the line.
    """
    face = rough_bearing_diameter(thread)
    low, high = (
        torque.nut_factor_from_friction(thread, thread_friction=mu, bearing_friction=mu, bearing_diameter=face)
        for mu in _TWO_FRICTIONS
    )
    slope = (high - low) / (_TWO_FRICTIONS[1] - _TWO_FRICTIONS[0])
    found = _TWO_FRICTIONS[0] + (nut_factor - low) / slope
    try:
        return torque.checked_friction(found, "friction")
    except BadBolting:
        return None


def pass_figures(joint: Joint, figures: GroupFigures, *, today: date) -> tuple[PassFigures, ...]:
    """Every pass of a group with its window and wrench setting.

    A pass whose share changes from block to block (modified cross) is cut where the share changes, because the wrench
    is set anew there.

    Args:
        today: day of the job, for the calibration.

    Raises:
        UnsafeJoint: setting out of the wrench's range, tool overloaded, calibration run out, or no mark of the scale
            inside a window.
    """
    found: list[PassFigures] = []
    for each in group_passes(figures):
        runs = groupby(zip(each.percents, each.steps, strict=True), key=lambda pair: pair[0])
        for percent, run in runs:
            steps = tuple(step for _, step in run)
            found.append(_one_pass(joint, figures, len(found) + 1, each.kind, percent, steps, today))
    return tuple(found)


def group_passes(figures: GroupFigures) -> tuple[Pass, ...]:
    """The passes of a group as shares of its target, not yet cut where the wrench is set anew."""
    own, group = figures.tightening, figures.group
    return passes(
        own.order,
        group.count,
        percents=own.percents,
        final_circular=own.circular,
        tools=group.tools_at_once,
        columns=own.columns,
        rows=own.rows,
        group=own.group_size,
    )


def _one_pass(
    joint: Joint,
    figures: GroupFigures,
    number: int,
    kind: str,
    percent: float,
    steps: tuple[tuple[int, ...], ...],
    today: date,
) -> PassFigures:
    own, unit = figures.tightening, joint.torque_unit
    exact = magnitude(figures.target, unit, name="target") * percent / 100
    low, high = (
        of(exact * (1 + magnitude(side, "", name="window")), unit) for side in (own.window_low, own.window_high)
    )
    target = of(exact, unit)
    setting = _setting(target, low, high, figures, today)
    scale_unit = figures.train.wrench.unit
    return PassFigures(
        number=number,
        kind=kind,
        percent=percent,
        steps=steps,
        target=target,
        low=low,
        high=high,
        setting=setting,
        scale=of(float(setting.scale_value), scale_unit),
        reading_low=in_unit(wrench_torque(low, figures.train), scale_unit),
        reading_high=in_unit(wrench_torque(high, figures.train), scale_unit),
    )


def _setting(target: Quantity, low: Quantity, high: Quantity, figures: GroupFigures, today: date) -> tools.Setting:
    """The nearest mark, or the next one towards the window when the nearest is outside it."""
    train, unit = figures.train, figures.train.wrench.unit
    nearest = tools.wrench_setting(target, train, today=today)
    bounds = [magnitude(wrench_torque(side, train), unit, name="window") for side in (low, high)]
    step = magnitude(train.wrench.graduation, unit, name="graduation")
    mark = float(nearest.scale_value)
    for candidate in (mark, mark - step, mark + step):
        if bounds[0] * (1 - _TINY) <= candidate <= bounds[1] * (1 + _TINY):
            if candidate == mark:
                return nearest
            return tools.wrench_setting(tools.bolt_torque(of(candidate, unit), train), train, today=today)
    shown = " to ".join(units.show(of(bound, unit), unit) for bound in bounds)
    raise UnsafeJoint(
        f"{train.wrench.name}: no mark of its scale lies in the window {shown}, graduation {step:g} {unit}",
        remedy="A wrench with a finer graduation, or a wider window if the governing instruction allows one.",
    )
