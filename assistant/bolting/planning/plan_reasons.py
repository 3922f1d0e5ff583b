"""The calculation sheet of a bolt group: every figure of the plan with its formula, inputs, result and source."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from assistant.bolting.friction_and_torque.friction import thread_condition
from assistant.bolting.friction_and_torque.preload_band import nut_factor_range
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_fields import as_written
from assistant.bolting.planning.coupling import coupling_reasons
from assistant.bolting.planning.cross_checks import (
    bearing_pressure,
    converted_term,
    long_form,
    order_terms,
    structural_reason,
)
from assistant.bolting.planning.group_figures import GroupFigures, minimum_pretension
from assistant.bolting.planning.joint_target import target_reason
from assistant.bolting.planning.limits import gasket_loads_of, seating_of
from assistant.bolting.planning.load_budget import Budget, budget_reasons
from assistant.bolting.planning.methods import MethodStep, method_reasons
from assistant.bolting.planning.pass_figures import PassFigures
from assistant.bolting.planning.service import service_reason
from assistant.bolting.reason import Reason, Term
from assistant.bolting.tightening.pattern import FAMILIES, family_name
from assistant.bolting.tightening.tool_train import wrench_torque
from assistant.bolting.units import Quantity, magnitude, show

__all__ = ["Reason", "Term", "reasons"]

_TARGET_FORMULAS = {
    "preload": "T = K d F",
    "stress": "F = S As, T = K d F",
    "percent_of_proof": "F = p Sp As, T = K d F",
    "percent_of_yield": "F = p Sy As, T = K d F",
    "percent_of_pretension": "F = p Fp, T = K d F",
    "gasket_stress": "F = Sg Ag/n, T = K d F",
}
_APP_2 = "ASME VIII-1 appendix 2; m and y are suggested design values, no assembly targets"
_SHIGLEY_27 = "T = K d F: Shigley, Mechanical Engineering Design, 9th ed. eq. 8-27 (read)"


def reasons(
    joint: Joint,
    figures: GroupFigures,
    passes: Sequence[PassFigures],
    *,
    budget: Budget,
    steps: tuple[MethodStep, ...],
) -> tuple[Reason, ...]:
    """All lines of the sheet, in the order in which they build on each other."""
    return (
        _bolt(figures),
        _condition(figures),
        _target(joint, figures),
        _window(figures),
        *_settings(figures, passes),
        _preload(figures),
        *_stress(figures),
        *long_form(figures),
        *structural_reason(figures),
        *method_reasons(joint, figures, steps),
        *coupling_reasons(joint, figures),
        *service_reason(joint, figures),
        *_gasket(joint, figures),
        *target_reason(joint, figures),
        _order(figures, passes),
        *budget_reasons(joint, figures, budget),
    )


def _bolt(figures: GroupFigures) -> Reason:
    thread, strength = figures.thread, figures.strength
    metric = thread.system == "metric"
    length, area, stress = figures.length_unit, f"{figures.length_unit}2", figures.stress_unit
    formula = "As = pi/4 (d - 0.938194 P)^2" if metric else "As = pi/4 (d - 0.9743/n)^2"
    return Reason(
        title=f"Bolt {thread.name}, {strength.grade}",
        formula=formula,
        terms=(
            Term("d", "nominal diameter", show(thread.diameter, length), thread.name),
            Term("P", "pitch", show(thread.pitch, length), thread.name),
            Term("Sp", figures.load.proof_known, show(figures.load.proof, stress), strength.standard),
            Term("Sy", "minimum yield", show(strength.yield_, stress), strength.standard),
        ),
        result=f"As = {show(thread.stress_area, area)}",
        source="ISO 898-1, ISO 724" if metric else "ASME B1.1",
    )


def _condition(figures: GroupFigures) -> Reason:
    condition = figures.condition
    band = nut_factor_range(condition)
    untested = "" if condition.tested else "; untested, so widened to at least +/- 25 % (Machinery's Handbook, read)"
    return Reason(
        title=f"Thread condition {condition.name}",
        formula="",
        terms=tuple(
            Term(
                "K",
                "published nut factor",
                f"{each.low:g}" if each.low == each.high else f"{each.low:g} to {each.high:g}",
                each.source,
            )
            for each in condition.readings
        ),
        result=f"K = {condition.nut_factor:g}, {band.low:.3g} to {band.high:.3g} for the preload band",
        source=f"{condition.chosen}{untested}",
    )


def _target(joint: Joint, figures: GroupFigures) -> Reason:
    group, target, converted = figures.group, figures.group.target, figures.converted
    unit, result = figures.unit, f"T = {show(figures.target, figures.unit)}"
    instruction = f"{joint.instruction.title}, revision {joint.instruction.revision}"
    if converted is not None and target.torque is not None:
        published = Term("T1", f"published for {target.published_for}", show(target.torque, unit), instruction)
        if converted.rule == "same condition":
            return Reason(
                title="Target torque", formula="T = T1", terms=(published,), result=result, source=instruction
            )
        other = (
            ()
            if converted.other_torque is None
            else (Term("T1 K2/K1", "for comparison, by nut factors", show(converted.other_torque, unit), _SHIGLEY_27),)
        )
        if converted.rule == "ratio of nut factors":
            ratio = magnitude(converted.torque, "N*m", name="T") / magnitude(target.torque, "N*m", name="T1")
            ratio_term = Term(
                "K2/K1", f"{group.condition} over {target.published_for}", f"{ratio:.4g}", "nut factors above"
            )
            return Reason(
                title="Target torque",
                formula="T = T1 K2/K1",
                terms=(published, ratio_term, converted_term(figures, thread_condition(target.published_for or ""))),
                result=result,
                source=f"same preload, other friction; {_SHIGLEY_27}",
            )
        change = target.change_for_condition
        assert change is not None
        stated = Term("c", f"change stated for {group.condition} threads", f"{change.magnitude:+g} %", instruction)
        return Reason(
            title="Target torque",
            formula="T = T1 (1 + c)",
            terms=(published, stated, *other),
            result=result,
            source=f"percentage of the governing instruction ({instruction}); it comes before the nut factors",
        )
    return Reason(
        title="Target torque",
        formula=_TARGET_FORMULAS[target.way],
        terms=(
            *_given(figures),
            Term("F", "tension of each bolt", show(figures.basis, figures.force_unit), "from the above"),
            Term("K", "nut factor", f"{figures.condition.nut_factor:g}", figures.condition.chosen),
        ),
        result=result,
        source=_SHIGLEY_27,
    )


def _given(figures: GroupFigures) -> Iterator[Term]:
    target = figures.group.target
    if target.stress is not None:
        yield Term("S", "target bolt stress on As", as_written(target.stress), "joint file")
    for part, what in (
        (target.percent_of_proof, "share of the proof load"),
        (target.percent_of_yield, "share of the minimum yield"),
        (target.percent_of_pretension, f"share of the minimum pretension of {figures.group.structural}"),
    ):
        if part is not None:
            yield Term("p", what, show(part, "%"), "joint file")
    if target.percent_of_pretension is not None:
        least = minimum_pretension(figures.group, figures.thread)
        rule = "0.7 fub As" if figures.group.structural == "EN 1090-2" else "Table J3.1 or J3.1M"
        yield Term("Fp", rule, show(least, figures.force_unit), f"{figures.group.structural}")
    if target.gasket_stress is not None:
        yield Term("Sg", "gasket stress at assembly", as_written(target.gasket_stress), "joint file")


def _window(figures: GroupFigures) -> Reason:
    own = figures.tightening
    return Reason(
        title="Accepted window",
        formula="low = T (1 + wl), high = T (1 + wh)",
        terms=(
            Term("wl", "lower side", show(own.window_low, "%"), "joint file"),
            Term("wh", "upper side", f"+{show(own.window_high, '%')}", "joint file"),
        ),
        result="each pass has its own window, see the table",
        source="governing instruction; a reading outside is never taken without a question",
    )


def _settings(figures: GroupFigures, passes: Sequence[PassFigures]) -> Iterator[Reason]:
    """One line a pass: target, what the train makes of it, the mark of the scale, what the bolt then gets."""
    wrench, unit, seen = figures.train.wrench, figures.unit, set()
    for each in passes:
        if each.percent in seen:
            continue
        seen.add(each.percent)
        exact = wrench_torque(each.target, figures.train)
        mark, step = each.scale, show(wrench.graduation, wrench.unit)
        yield Reason(
            title=f"Setting at {each.percent:g} %",
            formula=_train_formula(figures),
            terms=(
                Term("T", "target of the pass", show(each.target, unit), f"{each.percent:g} % of the target torque"),
                *_train_terms(figures),
                Term("TW", "exact wrench torque", show(exact, wrench.unit), "formula"),
                Term("g", "graduation, to its nearest mark in the window", step, wrench.name),
            ),
            result=(
                f"set {show(mark, wrench.unit)} ({_rounding(exact, mark)}), "
                f"bolt gets {show(each.setting.at_bolt, unit)} +/- {figures.train.accuracy_percent:g} %"
            ),
            source=_train_source(figures),
        )


def _rounding(exact: Quantity, mark: Quantity) -> str:
    change = 100 * (magnitude(mark, "N*m", name="setting") / magnitude(exact, "N*m", name="exact") - 1)
    return "exact" if abs(change) < 0.005 else f"{change:+.2f} %"


def _train_formula(figures: GroupFigures) -> str:
    parts = (["f"] if figures.train.multiplier else []) + (["(L + A cos a)/L"] if figures.train.adapter else [])
    return "TW = T" + "".join(f"/{part}" if part == "f" else f"/({part})" for part in parts)


def _train_terms(figures: GroupFigures) -> Iterator[Term]:
    gear, adapter = figures.train.multiplier, figures.train.adapter
    if gear is not None:
        how = "calibrated output factor" if gear.output_factor is not None else f"{gear.ratio:g} x {gear.efficiency:g}"
        yield Term("f", f"output over input of {gear.name}", f"{gear.factor:g}", how)
    if adapter is not None:
        yield Term("L", "grip to square drive", as_written(adapter.wrench_length), "joint file")
        yield Term("A", "square drive to bolt", as_written(adapter.length), "joint file")
        yield Term("a", "angle of the adapter", f"{adapter.angle_deg:g} deg", "joint file")


def _train_source(figures: GroupFigures) -> str:
    accuracy = "accuracy: certificate" if figures.train.wrench.deviation_percent else "accuracy: limit of ISO 6789"
    if figures.train.multiplier is not None:
        stated = figures.train.multiplier.deviation_percent is not None
        accuracy += f" + multiplier {figures.train.multiplier.accuracy_percent:g} % "
        accuracy += "(certificate)" if stated else "(common practice, no source)"
    parts = ["statics of the multiplier"] if figures.train.multiplier else []
    parts += ["US Army TM 9-254 for the adapter (read)"] if figures.train.adapter else []
    return "; ".join([*parts, "rounding to the scale: common practice, no source", accuracy])


def _preload(figures: GroupFigures) -> Reason:
    band = figures.preload
    low, high = (show(end, figures.force_unit, digits=3) for end in (band.low, band.high))
    if figures.group.method is not None:
        return Reason(
            title="Predicted preload",
            formula="F of the target",
            terms=(Term("F", "target", show(figures.basis, figures.force_unit), "target above"),),
            result=f"F = {show(band.preload, figures.force_unit)}, expected between {low} and {high}",
            source=band.how,
        )
    return Reason(
        title="Predicted preload",
        formula="F = T/(K d)",
        terms=(
            Term("T", "bolt torque at the last pass", show(figures.full, figures.unit), "target torque"),
            Term("K", "nut factor", f"{figures.condition.nut_factor:g}", figures.condition.chosen),
            Term("d", "nominal diameter", show(figures.thread.diameter, figures.length_unit), figures.thread.name),
        ),
        result=(
            f"F = {show(band.preload, figures.force_unit)}, expected between {low} and {high} "
            f"({band.percent_low:+.0f} / {band.percent_high:+.0f} %)"
        ),
        source=f"{_SHIGLEY_27}; {band.how} (JCGM 100, 101)",
    )


def _stress(figures: GroupFigures) -> Iterator[Reason]:
    thread, band = figures.thread, figures.preload
    area = show(thread.stress_area, f"{figures.length_unit}2")
    yield Reason(
        title="Bolt stress",
        formula="S = F/As",
        terms=(
            Term("F", "preload", show(band.preload, figures.force_unit), "above"),
            Term("As", "tensile stress area", area, "ISO 898-1" if thread.system == "metric" else "ASME B1.1"),
            Term(
                "Sp", figures.load.proof_known, show(figures.load.proof, figures.stress_unit), figures.strength.standard
            ),
            *_pressed(figures),
        ),
        result=f"S = {show(figures.load.stress, figures.stress_unit)}, {figures.load.percent_of_proof:.0f} % of proof",
        source="75 % of proof for joints to be reopened, 90 % for permanent ones: Shigley eq. 8-31 (read)",
    )
    if figures.load.equivalent is not None and figures.load.friction is not None:
        share = (
            100
            * magnitude(figures.load.equivalent, "MPa", name="S")
            / magnitude(figures.strength.yield_, "MPa", name="Sy")
        )
        yield Reason(
            title="Stress while tightening",
            formula="Sv = (S^2 + 3 t^2)^0.5, t = 12 MG/(pi d0^3), MG = F d2/2 (P/(pi d2) + mu/cos 30 deg)",
            terms=(
                Term(
                    "mu",
                    "friction that gives K on a face of 1.25 d",
                    f"{figures.load.friction:.3f}",
                    "JIS B 1083 form (read)",
                ),
                Term(
                    "Sy", "minimum yield", show(figures.strength.yield_, figures.stress_unit), figures.strength.standard
                ),
            ),
            result=f"Sv = {show(figures.load.equivalent, figures.stress_unit)}, {share:.0f} % of yield",
            source="VDI 2230 with plastic torsion",
        )


def _pressed(figures: GroupFigures) -> Iterator[Term]:
    pressed = bearing_pressure(figures)
    if pressed is not None:
        source = "hexagon face on a medium hole (ISO 4014, ISO 273), or heavy hexagon (from memory)"
        yield Term("p", "pressure under head and nut", show(pressed, figures.stress_unit, digits=3), source)


def _gasket(joint: Joint, figures: GroupFigures) -> Iterator[Reason]:
    """Seating and operating load against the preload band; nothing without gasket factors or with several groups."""
    loads, data = gasket_loads_of(joint), joint.gasket
    factors = None if data is None else data.factors
    if loads is None or data is None or factors is None or len(joint.groups) > 1:
        return
    yield Reason(
        title="Gasket: load needed",
        formula="Wm1 = pi/4 G^2 P + 2 b pi G m P, Wm2 = pi b G y",
        terms=(
            Term("b0", "basic width N/2", show(loads.basic_width, "mm"), f"{data.type}"),
            Term("b", "effective width", show(loads.effective_width, "mm"), "Table 2-5.2 (from memory)"),
            Term("G", "diameter of the load reaction", show(loads.reaction_diameter, "mm"), "app. 2"),
            Term("P", "design pressure", as_written(data.pressure), "joint file"),
            Term("m", "gasket factor", f"{factors[0]:g}", factors[2]),
            Term("y", "seating stress", as_written(factors[1]), factors[2]),
        ),
        result=f"Wm1 = {show(loads.operating, 'kN')}, Wm2 = {show(loads.seating, 'kN')}; {loads.governing} governs",
        source=_APP_2,
    )
    found = seating_of(joint, figures, figures.preload.low, figures.preload.high)
    assert found is not None
    allowed = "no limit stated" if found.highest is None else f"maker allows {show(found.highest, 'MPa')}"
    yield Reason(
        title="Gasket: load given",
        formula="W = n Flow, Sg = n Fhigh/Ag",
        terms=(
            Term("n", "bolts", str(figures.group.count), "joint file"),
            Term("Flow", "lower end of the preload band", show(figures.preload.low, "kN"), "above"),
            Term("Fhigh", "upper end", show(figures.preload.high, "kN"), "above"),
        ),
        result=(
            f"W = {show(found.total, 'kN')}, {found.ratio:.2f} times the load needed; "
            f"Sg = {show(found.gasket_stress, 'MPa')} at most ({allowed})"
        ),
        source="seating: ASME VIII-1 appendix 2; stress on the whole contact face: common practice, no source",
    )


def _order(figures: GroupFigures, passes: Sequence[PassFigures]) -> Reason:
    own, name = figures.tightening, family_name(figures.tightening.order)
    shares = ", ".join(f"{share:g} %" for share in own.percents)
    final = f"circular, until no nut moves, {own.max_circular_rounds} at most" if own.circular else "no circular pass"
    sources = {
        "cross": "three-step choice of blocks; it reproduces the cross-pattern lists of ASME PCC-1 for 4 to 24 bolts "
        "(lists from memory, 8 to 24 read on a gasket work sheet)"
    }
    return Reason(
        title=f"Order '{name}'",
        formula="",
        terms=(
            Term("", "passes", shares, "joint file"),
            Term("", "rounds", final, "joint file"),
            *order_terms(figures, passes[0].order),
        ),
        result=FAMILIES[name],
        source=sources.get(name, "see the order family; common practice, no source"),
    )
