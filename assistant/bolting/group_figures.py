"""The engineering figures of one bolt group: target torque, tool train, preload with its band, stress.

Nothing is decided here: `limits` refuses harm, `plan` lays out the steps, `plan_reasons` explains.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bolting import strength as strengths
from assistant.bolting import threads, tools, torque, vdi2230
from assistant.bolting.bearing import rough_bearing_diameter
from assistant.bolting.condition import ConvertedTorque, convert
from assistant.bolting.friction import ThreadCondition, thread_condition
from assistant.bolting.joint import BoltGroup, Joint
from assistant.bolting.joint_parts import Tightening
from assistant.bolting.preload_band import PreloadBand, needs_sampling, nut_factor_range, preload_band
from assistant.bolting.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of
from assistant.bolting.units import convert as in_unit
from assistant.errors import BadBolting

_SEED = 1
_TINY = 1e-9
_TWO_FRICTIONS = (0.05, 0.15)


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
    def force_unit(self) -> str:
        """Unit of forces on the sheet: kN, or kip on Unified threads; the two below alike."""
        return "kN" if self.thread.system == "metric" else "kip"

    @property
    def stress_unit(self) -> str:
        """MPa or ksi."""
        return "MPa" if self.thread.system == "metric" else "ksi"

    @property
    def length_unit(self) -> str:
        """Millimetres or inches: mm or in."""
        return "mm" if self.thread.system == "metric" else "in"

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
