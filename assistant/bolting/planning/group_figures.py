"""The engineering figures of one bolt group: target torque, tool train, preload with its band, stress.

Nothing is decided here: `limits` refuses harm, `plan` lays out the steps, `plan_reasons` explains.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bolting.friction_and_torque import scatter, structural, torque
from assistant.bolting.friction_and_torque.condition import ConvertedTorque, convert
from assistant.bolting.friction_and_torque.friction import ThreadCondition, thread_condition
from assistant.bolting.friction_and_torque.load_limit import BoltLoad, bolt_load
from assistant.bolting.friction_and_torque.preload_band import (
    PreloadBand,
    needs_sampling,
    nut_factor_range,
    preload_band,
)
from assistant.bolting.joint import gasket
from assistant.bolting.joint_file.joint import BoltGroup, Joint
from assistant.bolting.joint_file.joint_parts import Tightening
from assistant.bolting.threads_and_strength import strength as strengths
from assistant.bolting.threads_and_strength import threads
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.threads_and_strength.working_load import preload_of_share
from assistant.bolting.tightening import tools
from assistant.bolting.units import Quantity, magnitude, of
from assistant.bolting.units import convert as in_unit
from assistant.errors import BadBolting

_SEED = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupFigures:
    """One bolt group, before its passes.

    Args:
        unit: the joint's torque unit.
        target: bolt torque at 100 %, in it. full: at the last pass (more than target only above 100 %).
        converted: how a published torque was turned into the target; None when the target is a preload.
        basis: preload at 100 % that the target stands for, kN. preload: in the end, with its band: at the last pass, or
            at the target where another method than torque goes there.
        load: the bolt at the last torque pass, against its limit.
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
    load: BoltLoad

    @property
    def force_unit(self) -> str:
        """Unit of forces on the sheet: kN, or kip on Unified threads."""
        return "kN" if self.thread.system == "metric" else "kip"

    @property
    def stress_unit(self) -> str:
        """Unit of stresses: MPa or ksi."""
        return "MPa" if self.thread.system == "metric" else "ksi"

    @property
    def length_unit(self) -> str:
        """Unit of lengths: mm or in."""
        return "mm" if self.thread.system == "metric" else "in"

    @property
    def final(self) -> BoltLoad:
        """The bolt in the end: at the last pass, or at the target where another method than torque goes there."""
        if self.group.method is None:
            return self.load
        return self.load_at(magnitude(self.target, "N*m", name="T") / magnitude(self.full, "N*m", name="T"))

    def load_at(self, torque_share: float) -> BoltLoad:
        """The bolt at a share of the last pass's torque."""
        share = of(magnitude(self.full, "N*m", name="torque") * torque_share, "N*m")
        return bolt_load(
            share,
            self.thread,
            self.strength,
            nut_factor=self.condition.nut_factor,
            structural=self.group.structural is not None,
        )


def group_figures(joint: Joint, group: BoltGroup) -> GroupFigures:
    """The figures of one group.

    Raises:
        BadBolting: target and thread condition contradict each other, or a value that no formula takes.
    """
    thread = threads.thread(group.thread)
    material = group.strength
    condition = group.thread_condition
    tightening = joint.tightening_of(group)
    converted, target = _target(joint, group, thread, condition)
    full = of(magnitude(target, "N*m", name="target") * tightening.percents[-1] / 100, "N*m")
    train = _train(joint, group)
    basis = torque.preload_from_torque(target, thread, nut_factor=condition.nut_factor)
    if group.method is None:
        band = usual_band(full, thread, condition, train.accuracy_percent)
    else:
        band = method_band(basis, group.method.kind)
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
        basis=basis,
        preload=band,
        load=bolt_load(
            full, thread, material, nut_factor=condition.nut_factor, structural=group.structural is not None
        ),
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
    preload = target_preload(joint, group, thread)
    return None, torque.torque_from_preload(preload, thread, nut_factor=condition.nut_factor)


def target_preload(joint: Joint, group: BoltGroup, thread: Thread) -> Quantity:
    """Tension that a target given as anything but a torque stands for, kN.

    Raises:
        BadBolting: the target is a torque, percent of proof for a grade whose standard defines no proof strength, or a
            pretension that the structural rules do not list.
    """
    target = group.target
    if target.preload is not None:
        return in_unit(target.preload, "kN")
    if target.stress is not None:
        return strengths.preload_at(target.stress, thread)
    if target.percent_of_proof is not None:
        share = magnitude(target.percent_of_proof, "", name="share")
        return preload_of_share(strengths.proof_load(group.strength, thread), share)
    if target.percent_of_yield is not None:
        return _share(strengths.yield_load(group.strength, thread), target.percent_of_yield)
    if target.percent_of_pretension is not None:
        return _share(minimum_pretension(group, thread), target.percent_of_pretension)
    if target.gasket_stress is not None and joint.gasket is not None:
        area = gasket.contact_area(joint.gasket.outer_diameter, joint.gasket.inner_diameter)
        whole = magnitude(target.gasket_stress, "MPa", name="gasket stress") * magnitude(area, "mm2", name="area")
        return of(whole / group.count / 1000, "kN")
    raise BadBolting(f"{group.name}: the target is a torque", remedy="Ask for the preload of the torque instead.")


def _share(load: Quantity, share: Quantity) -> Quantity:
    return of(magnitude(load, "kN", name="load") * magnitude(share, "", name="share"), "kN")


def minimum_pretension(group: BoltGroup, thread: Thread) -> Quantity:
    """Minimum pretension of the group's structural rules, kN.

    Raises:
        BadBolting: a grade or size that the rules do not list.
    """
    if group.structural == "AISC 360-05":
        return in_unit(structural.minimum_pretension(thread, group.strength.grade.removeprefix("F3125 ")), "kN")
    ultimate = structural.EN_CLASSES.get(group.strength.grade)
    if ultimate is None:
        listed = ", ".join(structural.EN_CLASSES)
        raise BadBolting(f"EN 1090-2: grade is {group.grade!r}", remedy=f"EN 14399 has classes {listed}.")
    return structural.en1090_preload(thread, ultimate=of(ultimate, "MPa"))


def _train(joint: Joint, group: BoltGroup) -> tools.Tools:
    multiplier, extension = joint.multiplier_of(group), joint.extension_of(group)
    return tools.Tools(
        wrench=joint.wrench_of(group).train_part,
        adapter=None if extension is None else extension.train_part,
        multiplier=None if multiplier is None else multiplier.train_part,
    )


_SCATTER_OF = {
    "torque then angle": "angle controlled",
    "turn of nut": "turn of nut",
    "direct tension washers": "preload indicating washer",
    "hydraulic tensioner": "hydraulic",
    "elongation": "bolt elongation",
}


def method_band(preload: Quantity, kind: str) -> PreloadBand:
    """The band of a preload that another method than torque brings: the widest published scatter of the method.

    Args:
        preload: target.
        kind: of `joint_parts.Method`.
    """
    method = _SCATTER_OF[kind]
    low, high = scatter.method_band(preload, method)
    most = scatter.scatter_percent(method)[1]
    return PreloadBand(
        preload=in_unit(preload, "kN"),
        low=low,
        high=high,
        percent_low=-most,
        percent_high=most,
        how=f"widest published scatter of the method '{method}'",
        nut_factor_share=0.0,
    )


def usual_band(full: Quantity, thread: Thread, condition: ThreadCondition, tool_percent: float) -> PreloadBand:
    """The preload band of a torque, by the law of propagation, which can be recomputed by hand.

    Where that is too far from the sampled band (`preload_band.needs_sampling`), the band is sampled.

    Args:
        full: bolt torque.
        tool_percent: accuracy of the wrench, plus or minus.
    """
    factor = nut_factor_range(condition)
    skewed = needs_sampling(full, thread, nut_factor=factor, tool_percent=tool_percent, seed=_SEED)
    return preload_band(full, thread, nut_factor=factor, tool_percent=tool_percent, seed=_SEED if skewed else None)
