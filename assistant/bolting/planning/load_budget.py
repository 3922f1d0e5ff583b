"""A load budget: what is left of the target in service, stage by stage with a range, against what is needed there.

Each stage keeps a share of the preload, from a lowest to a highest; the shares are multiplied, so that the ends are
the careful and the hopeful case and not a statistical band. Where the joint file does not give the figures of this
joint, the published range stands, and the stage says so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.bolting.friction_and_torque import scatter
from assistant.bolting.joint import gasket, interaction, relaxation, stiffness
from assistant.bolting.joint.gasket_table import MODULI
from assistant.bolting.joint_file.joint import Joint, group_passes
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.planning.joint_target import end_force
from assistant.bolting.planning.limits import gasket_loads_of
from assistant.bolting.planning.service import hot_bolt
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Remark, figure
from assistant.bolting.threads_and_strength import working_load
from assistant.bolting.tightening.pattern import ROUND, family_name
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

STEEL = of(205.0, "GPa")
"""Modulus of steel at room temperature (common practice, no source)."""
NUT_SHARE = 0.4
"""Diameters of thread in each nut or head that count as stretched length. Source: VDI 2230, from memory."""
ROUGHNESS = "10 to 40 um"
"""Roughness assumed for embedding where the joint file gives none (common practice, no source)."""
UNKNOWN_GIVE = {
    True: (interaction.JointGive(0.06, 1.2), interaction.JointGive(6.0, 1.06)),
    False: (interaction.JointGive(0.02, 1.2), interaction.JointGive(0.3, 0.9)),
}
"""Stiffest and softest joint assumed with (True) and without a gasket where the ring is not given: a thick
flange on a hard ring, and a thin pipe flange on a soft gasket. Own estimate, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One stage of the budget.

    Args:
        name: what happens. low, high: share of the preload before it that is kept (1 is all).
        known: whether the joint file's own figures are in it; otherwise the range is a published or estimated one.
        how: with what it was found. source: where that comes from.
    """

    name: str
    low: float
    high: float
    known: bool
    how: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """The budget of one bolt group.

    Args:
        target: preload of a bolt at 100 %, kN. stages: in their order.
        needed: preload that a bolt must keep in service, kN; None where the joint file does not say.
        needed_by: what needs it.
        gives: how the joint gives, stiffest first, and gives_known how that is known.
        predictions: the pass plan followed with each give; () for lines and clamps, which the model is not for.
    """

    target: Quantity
    stages: tuple[Stage, ...]
    needed: Quantity | None
    needed_by: str
    gives: tuple[interaction.JointGive, ...]
    gives_known: str
    predictions: tuple[interaction.Prediction, ...]

    @property
    def after(self) -> tuple[tuple[Quantity, Quantity], ...]:
        """Lowest and highest preload after each stage, kN, beginning with the target itself."""
        target = magnitude(self.target, "kN", name="target")
        low = high = 1.0
        found = [(1.0, 1.0)]
        for stage in self.stages:
            low, high = low * stage.low, high * stage.high
            found.append((low, high))
        return tuple((of(target * least, "kN"), of(target * most, "kN")) for least, most in found)

    @property
    def left(self) -> tuple[Quantity, Quantity]:
        """Lowest and highest preload in service, kN."""
        return self.after[-1]


def load_budget(joint: Joint, figures: GroupFigures) -> Budget:
    """The budget of a group from target to service."""
    needed, by = _needed(joint, figures)
    gives, known = joint_gives(joint, figures)
    followed = _predictions(figures, gives)
    stages = (
        _scatter(figures),
        *_interaction(figures, followed, known),
        _embedding(joint, figures),
        *_creep(joint),
        *_heat(joint, figures),
    )
    return Budget(
        target=figures.preload.preload,
        stages=stages,
        needed=needed,
        needed_by=by,
        gives=gives,
        gives_known=known,
        predictions=followed,
    )


def _method(figures: GroupFigures) -> str:
    """Key of `scatter.METHODS` for a torque wrench on these threads."""
    if figures.condition.tested:
        return "torque wrench, tested on the joint"
    return "torque wrench, lubricated" if figures.condition.lubricated else "torque wrench, unlubricated"


def _scatter(figures: GroupFigures) -> Stage:
    """The wider of our own band and the published scatter of the method."""
    if figures.group.method is not None:
        band = figures.preload
        return Stage(
            name=f"scatter of the method, {figures.group.method.kind}",
            low=1 + band.percent_low / 100,
            high=1 + band.percent_high / 100,
            known=False,
            how=band.how,
            source="NASA and Machinery's Handbook tables, VDI 2230:1986 (read)",
        )
    band, method = figures.preload, _method(figures)
    least, most, _ = scatter.scatter_percent(method)
    low, high = scatter.method_band(band.preload, method)
    centre = magnitude(band.preload, "kN", name="preload")
    ends = [magnitude(min(band.low, low), "kN", name="low"), magnitude(max(band.high, high), "kN", name="high")]
    usual = scatter.percent_of_factor(scatter.TORQUE_WRENCH_FACTOR)
    published = f"+/- {most:g} %" if least == most else f"+/- {least:g} to {most:g} %"
    return Stage(
        name="scatter of the torque method",
        low=ends[0] / centre,
        high=ends[1] / centre,
        known=figures.condition.tested,
        how=f"own band {band.percent_low:+.0f} / {band.percent_high:+.0f} %, {method} {published}; the wider one",
        source=f"NASA and Machinery's Handbook tables, VDI 2230:1986 (read); alpha_A 1.6 is +/- {usual:.0f} %",
    )


def stretched_length(figures: GroupFigures) -> Quantity | None:
    """Length of a bolt that stretches, mm: its grip and a share of each nut or head; None without a grip."""
    grip = figures.group.grip
    if grip is None:
        return None
    extra = 2 * NUT_SHARE * magnitude(figures.thread.diameter, "mm", name="d")
    return of(magnitude(grip, "mm", name="grip") + extra, "mm")


def bolt_stiffness_of(figures: GroupFigures) -> Quantity | None:
    """Stiffness of a bolt threaded over its whole grip, kN/mm, the soft side; None without a grip."""
    length = stretched_length(figures)
    if length is None:
        return None
    return stiffness.bolt_stiffness([(length, figures.thread.stress_area)], modulus=STEEL)


def parts_stiffness_of(joint: Joint, figures: GroupFigures) -> Quantity | None:
    """Stiffness of what one bolt clamps, kN/mm: the gasket's share where there is one, else the parts; None if unknown.

    Args:
        joint: the whole joint.
        figures: of the group.
    """
    if joint.gasket is not None:
        share = _gasket_share(joint, figures)
        return None if share is None else share[0]
    if figures.group.grip is None:
        return None
    return stiffness.clamped_stiffness(figures.thread.diameter, figures.group.grip, modulus=STEEL)


def _gasket_share(joint: Joint, figures: GroupFigures) -> tuple[Quantity, str] | None:
    """Stiffness of the gasket under one bolt, kN/mm, and how its modulus is known; None where it is not."""
    data = joint.gasket
    if data is None or data.thickness is None:
        return None
    modulus, known = data.modulus, "gasket's maker"
    if modulus is None:
        name = next((key for key in MODULI if key.lower() in data.type.lower()), None)
        if name is None:
            return None
        modulus, known = gasket.gasket_modulus(name), "Pressure Vessel Design Manual p. 61 (read)"
    area = magnitude(gasket.contact_area(data.outer_diameter, data.inner_diameter), "mm2", name="Ag")
    share = of(area / figures.group.count, "mm2")
    return stiffness.block_stiffness(share, data.thickness, modulus=modulus), known


def joint_gives(joint: Joint, figures: GroupFigures) -> tuple[tuple[interaction.JointGive, ...], str]:
    """How this joint gives when bolts are tightened: one figure where it is known, else the stiff and the soft end.

    Returns:
        One or two gives, stiffest first, and how they are known.
    """
    bolt, ring, share = bolt_stiffness_of(figures), joint.ring, _gasket_share(joint, figures)
    circle = None if ring is None else ring.bolt_circle
    if circle is None and joint.flange is not None:
        circle = joint.flange.bolting.bolt_circle
    if bolt is None or ring is None or share is None or circle is None:
        return UNKNOWN_GIVE[joint.gasket is not None], "ring, grip or gasket not given: from a stiff to a soft joint"
    pitch = of(math.pi * magnitude(circle, "mm", name="bolt circle") / figures.group.count, "mm")
    give = interaction.joint_give(
        bolt, share[0], width=ring.width, thickness=ring.thickness, modulus=STEEL, pitch=pitch
    )
    return (give,), f"ring {show(ring.width, 'mm')} x {show(ring.thickness, 'mm')}, gasket modulus: {share[1]}"


def _predictions(figures: GroupFigures, gives: tuple[interaction.JointGive, ...]) -> tuple[interaction.Prediction, ...]:
    if family_name(figures.tightening.order) not in (*ROUND, "rectangle"):
        return ()
    plan = group_passes(figures.group, figures.tightening)
    try:
        return tuple(interaction.predict(plan, figures.group.count, joint=give) for give in gives)
    except BadBolting:  # too soft to follow: the stage is left out rather than guessed
        return ()


def _interaction(figures: GroupFigures, found: tuple[interaction.Prediction, ...], known: str) -> Iterator[Stage]:
    if not found:
        return
    last = figures.tightening.percents[-1]
    yield Stage(
        name="elastic interaction",
        low=min(each.outcomes[-1].lowest for each in found) / last,
        high=max(each.outcomes[-1].highest for each in found) / last,
        known=len(found) == 1,
        how=known,
        source="beam on elastic foundation, no friction scatter (Hetenyi, from memory); not a measurement",
    )


def _embedding(joint: Joint, figures: GroupFigures) -> Stage:
    bolt = bolt_stiffness_of(figures)
    if bolt is None:
        return _published("embedding", "embedment", "grip not given", when=" in the ")
    settled = stiffness.embedding(ROUGHNESS, faces=2, joints=1 if joint.gasket is None else 0)
    parts = parts_stiffness_of(joint, figures)
    most = stiffness.embedding_loss(settled, bolt=bolt)
    least = most if parts is None else stiffness.embedding_loss(settled, bolt=bolt, joint=parts)
    preload = magnitude(figures.preload.preload, "kN", name="preload")
    return Stage(
        name="embedding",
        low=max(1 - magnitude(most, "kN", name="loss") / preload, 0.0),
        high=max(1 - magnitude(least, "kN", name="loss") / preload, 0.0),
        known=True,
        how=f"fZ = {show(settled, 'mm', digits=2)}, kb = {show(bolt, 'kN/mm', digits=3)}; rigid parts the low end",
        source="VDI 2230 table 5 (from memory)",
    )


def _creep(joint: Joint) -> Iterator[Stage]:
    data = joint.gasket
    if data is None:
        return
    if data.tightness is not None:
        kept = magnitude(data.tightness.share_kept, "", name="share kept")
        yield Stage(
            name="gasket creep",
            low=kept,
            high=kept,
            known=True,
            how=f"{show(data.tightness.share_kept, '%')} kept",
            source=data.tightness.source,
        )
        return
    yield _published("gasket creep", "gasket creep", "no tightness data", when=", ")


def _published(name: str, loss: str, why: str, *, when: str) -> Stage:
    """A stage for which the joint file has no figures: the published range of a loss."""
    known = relaxation.LOSSES[loss]
    return Stage(
        name=name,
        low=1 - known.high_percent / 100,
        high=1 - known.low_percent / 100,
        known=False,
        how=f"{why}: {known.low_percent:g} to {known.high_percent:g} %{when}{known.when}",
        source=known.source,
    )


def _heat(joint: Joint, figures: GroupFigures) -> Iterator[Stage]:
    found = hot_bolt(joint, figures)
    if found is None or found.steady is None:
        return
    yield Stage(
        name=f"heat, {show(found.temperature, 'degC')}",
        low=min(found.steady, 1.0),
        high=max(found.steady, 1.0),
        known=True,
        how=f"F_hot/F = {found.steady:.2f} when all is equally warm",
        source="ASME II-D expansion and modulus; joint share taken as 1",
    )


def _needed(joint: Joint, figures: GroupFigures) -> tuple[Quantity | None, str]:
    """Preload that a bolt must keep in service, kN, and what requires it."""
    count, data, service = figures.group.count, joint.gasket, joint.service
    if data is not None and len(joint.groups) == 1 and not data.full_face:
        if data.tightness is not None:
            area = magnitude(gasket.contact_area(data.outer_diameter, data.inner_diameter), "mm2", name="Ag")
            stress = magnitude(data.tightness.service_stress, "MPa", name="service stress")
            away = magnitude(end_force(joint, data), "kN", name="end force")
            whole = of(area * stress / 1000 + away, "kN")
            return gasket.load_per_bolt(whole, count), f"gasket tight in service, {data.tightness.tightness_class}"
        loads = gasket_loads_of(joint)
        if loads is not None:
            return gasket.load_per_bolt(loads.operating, count), "operating load Wm1, ASME VIII-1 appendix 2"
    if service is not None and service.load_per_bolt is not None and data is None:
        pulled = magnitude(service.load_per_bolt, "kN", name="load")
        return of(pulled * _parts_share(figures), "kN"), "the parts stay pressed together, P (1 - C)"
    return None, ""


def _parts_share(figures: GroupFigures) -> float:
    """Share of an outside load that comes off the parts, 1 - C; 1 (they open soonest) where the grip is not known."""
    bolt = bolt_stiffness_of(figures)
    if bolt is None or figures.group.grip is None:
        return 1.0
    parts = stiffness.clamped_stiffness(figures.thread.diameter, figures.group.grip, modulus=STEEL)
    return stiffness.joint_share(bolt, parts)


def _constant(figures: GroupFigures) -> float:
    """Share of an outside load that the bolt takes, C; 0 where the grip is not known."""
    bolt = bolt_stiffness_of(figures)
    if bolt is None or figures.group.grip is None:
        return 0.0
    parts = stiffness.clamped_stiffness(figures.thread.diameter, figures.group.grip, modulus=STEEL)
    return working_load.joint_constant(bolt, parts)


def budget_reasons(joint: Joint, figures: GroupFigures, budget: Budget) -> Iterator[Reason]:
    """The budget on the calculation sheet, elastic interaction by pass, and the bolt under an outside load."""
    unit = figures.force_unit
    low, high = (show(each, unit, digits=3) for each in budget.left)
    needed = (
        "nothing known that is needed" if budget.needed is None else f"{show(budget.needed, unit, digits=3)} needed"
    )
    yield Reason(
        title="Load budget",
        formula="F left = F x share of each stage; ends multiplied",
        terms=tuple(
            Term("", each.name, f"{100 * each.low:.0f} to {100 * each.high:.0f} %", f"{each.how}; {each.source}")
            for each in budget.stages
        ),
        result=f"of {show(budget.target, unit)} a bolt keeps {low} to {high}; {needed}"
        + (f" ({budget.needed_by})" if budget.needed_by else ""),
        source="published ranges where a stage is not this joint's own; careful and hopeful end, no statistics",
    )
    yield from _interaction_reason(budget)
    yield from _outside_load(joint, figures, budget)


def _interaction_reason(budget: Budget) -> Iterator[Reason]:
    found, gives, how = budget.predictions, budget.gives, budget.gives_known
    if not found:
        return
    told = []
    for give, prediction in zip(gives, found, strict=True):
        pattern = [each for each in prediction.outcomes if each.kind != "circular"][-1]
        text = f"after pass {pattern.number} bolts hold {pattern.lowest:.0f} to {pattern.highest:.0f} % of the target"
        if prediction.rounds:
            end = prediction.outcomes[-1]
            text += f", after {prediction.rounds} circular round{'s' if prediction.rounds > 1 else ''} "
            text += f"{end.lowest:.0f} to {end.highest:.0f} %"
        told.append(text if len(gives) == 1 else f"give {give.give:g}: {text}")
    yield Reason(
        title="Elastic interaction",
        formula="dF_i = (M_ij/M_jj) dF_j, M = (1/kb + C)^-1",
        terms=tuple(
            term
            for give in gives
            for term in (
                Term("kb C(0)", "give", f"{give.give:.3g}", how),
                Term("lambda", "decay a bolt pitch", f"{give.decay:.3g}", how),
            )
        ),
        result="; ".join(told),
        source="beam on elastic foundation (from memory); flange rotation is not in it, so it shows the better side",
    )


def _outside_load(joint: Joint, figures: GroupFigures, budget: Budget) -> Iterator[Reason]:
    service = joint.service
    if service is None or service.load_per_bolt is None or joint.gasket is not None:
        return
    constant = _constant(figures)
    load, proof = service.load_per_bolt, _proof_load(figures)
    low, _ = budget.left
    terms = [
        Term("P", "outside load of a bolt", show(load, figures.force_unit), "joint file"),
        Term(
            "C",
            "share that the bolt takes, kb/(kb + km)",
            f"{constant:.2f}",
            "Shigley eq. 8-22 (from memory); 0 without a grip",
        ),
    ]
    if constant > 0:
        opens = working_load.separation_factor(low, load, constant=constant)
    else:
        opens = magnitude(low, "kN", name="left") / magnitude(load, "kN", name="load")
    result = f"parts open at {opens:.2f} P with the lowest preload left"
    if constant > 0:
        stress = working_load.service_stress(
            figures.preload.preload, load, figures.thread.stress_area, constant=constant
        )
        factor = working_load.yield_factor(figures.preload.preload, load, proof, constant=constant)
        grows = working_load.load_factor(figures.preload.preload, load, proof, constant=constant)
        result += f"; bolt {show(stress, figures.stress_unit)}, np = {factor:.2f}, nL = {grows:.2f}"
    yield Reason(
        title="Bolt under the outside load",
        formula="n0 = F/(P (1 - C)), S = (C P + F)/As, np = Fp/(C P + F), nL = (Fp - F)/(C P)",
        terms=tuple(terms),
        result=result,
        source="Shigley, Mechanical Engineering Design, 9th ed. sec. 8-7 to 8-9 (read)",
    )


def _proof_load(figures: GroupFigures) -> Quantity:
    proof = magnitude(figures.load.proof, "MPa", name="proof")
    return of(proof * magnitude(figures.thread.stress_area, "mm2", name="As") / 1000, "kN")


def budget_remarks(figures: GroupFigures, budget: Budget) -> Iterator[Remark]:
    """What is left against what is needed: a stop when even the hopeful end is short, a caution when the careful is."""
    if budget.needed is None:
        return
    unit, (low, high) = figures.force_unit, budget.left
    need = f"{show(budget.needed, unit, digits=3)} needed ({budget.needed_by})"
    if high < budget.needed:
        text = f"In service a bolt keeps {show(high, unit, digits=3)} at best, {need}."
        parts = (figure(high, unit), figure(budget.needed, unit))
        yield Remark("stop", "load in service too low", text, "load budget of the calculation sheet", parts)
    elif low < budget.needed:
        text = f"In service a bolt may keep only {show(low, unit, digits=3)}, {need}."
        parts = (figure(low, unit), figure(budget.needed, unit))
        yield Remark("caution", "load in service may be too low", text, "load budget of the calculation sheet", parts)
