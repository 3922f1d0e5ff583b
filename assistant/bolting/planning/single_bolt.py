"""One bolt without a joint file: torque for a preload, preload for a torque, or a published torque converted."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bolting.friction_and_torque import torque as torques
from assistant.bolting.friction_and_torque.condition import DISAGREEMENT, convert
from assistant.bolting.friction_and_torque.friction import ThreadCondition
from assistant.bolting.friction_and_torque.load_limit import bolt_load, over_limit
from assistant.bolting.friction_and_torque.preload_band import PreloadBand
from assistant.bolting.joint.compatibility import compatibility
from assistant.bolting.planning.group_figures import usual_band
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Remark
from assistant.bolting.threads_and_strength import strength as strengths
from assistant.bolting.threads_and_strength.strength import Strength
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.tightening.tool_accuracy import permissible_deviation
from assistant.bolting.units import Quantity, show
from assistant.bolting.units import convert as in_unit
from assistant.errors import UnsafeJoint

_SHORT_FORM = "T = K d F: Shigley, Mechanical Engineering Design, 9th ed. eq. 8-27 (read)"
_USUAL_PERCENT = 75.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleBolt:
    """The figures of one bolt.

    Args:
        torque: in the unit asked for. preload: kN with its band. stress: mean, MPa, on the stress area.
        percent_of_proof: of the standard's proof strength, or of 0.85 yield where it defines none.
        rule: how the torque was found.
    """

    thread: Thread
    strength: Strength
    condition: ThreadCondition
    torque: Quantity
    unit: str
    preload: PreloadBand
    stress: Quantity
    percent_of_proof: float
    rule: str
    reasons: tuple[Reason, ...]
    remarks: tuple[Remark, ...]


def from_preload(
    preload: Quantity, thread: Thread, strength: Strength, *, condition: ThreadCondition, unit: str
) -> SingleBolt:
    """Torque for a tension, T = K d F.

    Raises:
        UnsafeJoint: stress above proof. BadBolting, BadQuantity: as `torque.torque_from_preload`.
    """
    torque = torques.torque_from_preload(preload, thread, nut_factor=condition.nut_factor)
    reason = Reason(
        title="Torque for the preload",
        formula="T = K d F",
        terms=(*_bolt_terms(thread, condition), Term("F", "preload", show(preload, "kN"), "given")),
        result=f"T = {show(torque, unit)}",
        source=_SHORT_FORM,
    )
    return _figures(torque, thread, strength, condition, unit=unit, rule="from preload", reasons=(reason,))


def from_torque(
    torque: Quantity, thread: Thread, strength: Strength, *, condition: ThreadCondition, unit: str
) -> SingleBolt:
    """What a torque gives, F = T/(K d); errors as `from_preload`."""
    return _figures(torque, thread, strength, condition, unit=unit, rule="torque as given", reasons=())


def from_published(
    published: Quantity,
    thread: Thread,
    strength: Strength,
    *,
    published_for: ThreadCondition,
    condition: ThreadCondition,
    change_percent: float | None,
    unit: str,
) -> SingleBolt:
    """A published torque for other threads.

    Args:
        published_for: condition that the torque was published for.
        condition: of the threads at hand.
        change_percent: what the governing instruction states, e.g. -45; None takes the ratio of nut factors.

    Raises:
        UnsafeJoint, BadBolting, BadQuantity: as `condition.convert` and `from_preload`.
    """
    found = convert(
        published, published_for=published_for, at_hand=condition, instruction_percent=change_percent, unit=unit
    )
    terms = [Term("T1", f"published for {published_for.name}", show(published, unit), "given")]
    if change_percent is not None:
        terms.append(Term("c", "change stated by the instruction", f"{change_percent:+g} %", "given"))
    terms += [
        _divisor(published_for, condition),
        Term("K2", condition.name, f"{condition.nut_factor:g}", condition.chosen),
    ]
    formula = {"same condition": "T = T1", "ratio of nut factors": "T = T1 K2/K1"}.get(found.rule, "T = T1 (1 + c)")
    reason = Reason(
        title="Conversion of the published torque",
        formula=formula,
        terms=tuple(terms),
        result=f"T = {show(found.torque, unit)}",
        source=f"{found.rule}; {_SHORT_FORM}",
    )
    grade = "stop" if found.disagreement > DISAGREEMENT else "caution"
    remarks = tuple(
        Remark(grade, "conversion of the torque", f"{text[0].upper()}{text[1:]}.") for text in found.warnings
    )
    return _figures(
        found.torque, thread, strength, condition, unit=unit, rule=found.rule, reasons=(reason,), remarks=remarks
    )


def _divisor(published_for: ThreadCondition, condition: ThreadCondition) -> Term:
    """The K1 of the calculation: the highest published one where the torque is raised."""
    if condition.nut_factor > published_for.nut_factor:
        return Term("K1", published_for.name, f"{published_for.high:g}", "highest published, so that no bolt gets more")
    return Term("K1", published_for.name, f"{published_for.nut_factor:g}", published_for.chosen)


def _bolt_terms(thread: Thread, condition: ThreadCondition) -> tuple[Term, ...]:
    length = "mm" if thread.system == "metric" else "in"
    return (
        Term("K", f"nut factor, {condition.name}", f"{condition.nut_factor:g}", condition.chosen),
        Term("d", "nominal diameter", show(thread.diameter, length), thread.name),
    )


def _yields(band: PreloadBand, strength: Strength, thread: Thread) -> tuple[Remark, ...]:
    """Whether a bolt with the slickest threads of the range yields."""
    if band.high <= strengths.yield_load(strength, thread):
        return ()
    text = f"With the slickest threads of the published range a bolt may reach {show(band.high, 'kN')} and yield."
    return (Remark("stop", "bolts may yield", text, band.how),)


def _figures(
    torque: Quantity,
    thread: Thread,
    strength: Strength,
    condition: ThreadCondition,
    *,
    unit: str,
    rule: str,
    reasons: tuple[Reason, ...],
    remarks: tuple[Remark, ...] = (),
) -> SingleBolt:
    tool = permissible_deviation("II", "A", largest=torque)
    band = usual_band(torque, thread, condition, tool)
    load = bolt_load(torque, thread, strength, nut_factor=condition.nut_factor)
    over = over_limit(load, strength, nut_factor=condition.nut_factor, thread=thread, unit=unit)
    if over:
        raise UnsafeJoint(
            f"torque is {show(torque, unit)} on {condition.name} threads: {over}",
            remedy=f"At most {show(load.largest_torque, unit, digits=3)}; 75 % of proof is usual.",
        )
    stress, percent, proof, known = load.stress, load.percent_of_proof, load.proof, load.proof_known
    bolt = Reason(
        title="Preload of the torque",
        formula="F = T/(K d)",
        terms=(Term("T", "bolt torque", show(torque, unit), rule), *_bolt_terms(thread, condition)),
        result=(
            f"F = {show(band.preload, 'kN')}, expected between {show(band.low, 'kN', digits=3)} and "
            f"{show(band.high, 'kN', digits=3)}"
        ),
        source=f"{_SHORT_FORM}; {band.how}",
    )
    loaded = Reason(
        title="Bolt stress",
        formula="S = F/As",
        terms=(
            Term("As", "tensile stress area", show(thread.stress_area, "mm2"), thread.name),
            Term("Sp", known, show(proof, "MPa"), strength.standard),
        ),
        result=(
            f"S = {show(stress, 'MPa')}, {percent:.0f} % of proof ({strength.grade}); with the twist of tightening "
            f"{load.percent_of_yield:.0f} % of yield"
        ),
        source="75 % for joints to be reopened, 90 % for permanent ones: Shigley eq. 8-31 (read); twist: VDI 2230",
    )
    remarks = (*remarks, *compatibility(strength, condition, thread, None), *_yields(band, strength, thread))
    if percent > _USUAL_PERCENT:
        remarks = (
            *remarks,
            Remark(
                "caution",
                "high bolt load",
                f"{percent:.0f} % of proof is more than the usual {_USUAL_PERCENT:g} %.",
                sentence="high bolt load of proof",
            ),
        )
    return SingleBolt(
        thread=thread,
        strength=strength,
        condition=condition,
        torque=in_unit(torque, unit),
        unit=unit,
        preload=band,
        stress=stress,
        percent_of_proof=percent,
        rule=rule,
        reasons=(*reasons, bolt, loaded),
        remarks=(*remarks, *(Remark("note", "grade", f"{strength.grade}: {note}.") for note in strength.notes)),
    )
