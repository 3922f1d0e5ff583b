"""Graded remarks of a plan: to know (note), to watch (caution), to settle before the first bolt (stop)."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from assistant.bolting.friction_and_torque.condition import DISAGREEMENT
from assistant.bolting.friction_and_torque.load_limit import over_limit
from assistant.bolting.joint.assembly_stress import assembly_stress
from assistant.bolting.joint.compatibility import compatibility
from assistant.bolting.joint.relaxation import RECHECK_STEP_DEG
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_people import Recheck
from assistant.bolting.planning.contradictions import LEAST_ENGAGEMENT
from assistant.bolting.planning.coupling import coupling_remarks
from assistant.bolting.planning.cross_checks import cross_remarks
from assistant.bolting.planning.group_figures import GroupFigures, minimum_pretension
from assistant.bolting.planning.joint_target import target_remarks
from assistant.bolting.planning.limits import seating_of
from assistant.bolting.planning.load_budget import Budget, budget_remarks
from assistant.bolting.planning.methods import MethodStep, method_remarks
from assistant.bolting.planning.pass_figures import PassFigures
from assistant.bolting.planning.service import service_remarks
from assistant.bolting.remark import Figure, Remark, figure, gravest_first, percent
from assistant.bolting.threads_and_strength.strength import yield_load
from assistant.bolting.threads_and_strength.threads import thread
from assistant.bolting.tightening.pattern import ROUND, family_name, precautions
from assistant.bolting.tightening.tool_accuracy import (
    EXERCISE_PULLS,
    SLOW_FINISH_S,
    SLOW_FINISH_SHARE,
    largest_resolution,
)
from assistant.bolting.tightening.tool_train import reaction_force
from assistant.bolting.units import magnitude, show

_SOON_DAYS = 30
_INTERVAL_DAYS = 366
_FIRST_PASS_PERCENT = 40.0
FAR_BELOW = 0.5
"""Share of the usual lowest load below which a target is a stop and not a caution. Common practice, no source."""
NEVER_AGAIN = ("A490", "F3125 A490", "A490M", "12.9")
"""Grades whose bolts are used once. RCSC for A490 (from memory); 12.9: common practice, no source."""
RAISED = (
    *("gasket factors missing", "gasket load not checked", "hot preload not checked", "strength when hot not known"),
    *("low bolt load", "high bolt load", "tool error as wide as the window", "conversion of the torque"),
)
"""Cautions that are stops on a critical joint."""


def group_remarks(
    joint: Joint,
    figures: GroupFigures,
    passes: Sequence[PassFigures],
    *,
    budget: Budget,
    steps: tuple[MethodStep, ...],
) -> tuple[Remark, ...]:
    """Remarks on one bolt group, gravest first."""
    found = [
        *compatibility(figures.strength, figures.condition, figures.thread, figures.group.nut),
        *_conversion(figures),
        *_stress(figures),
        *_kind_limits(joint, figures),
        *_structural(figures),
        *method_remarks(joint, figures, steps),
        *cross_remarks(joint, figures),
        *coupling_remarks(joint, figures),
        *_reuse(figures),
        *_lengths(figures),
        *_gasket(joint, figures),
        *target_remarks(joint, figures),
        *budget_remarks(figures, budget),
        *service_remarks(joint, figures),
        *_order(joint, figures),
        *_accuracy(joint, figures),
        *_tools(joint, figures, passes),
    ]
    return gravest_first(_raised(joint, each) for each in found)


def _raised(joint: Joint, remark: Remark) -> Remark:
    """On a critical joint, a caution about something unknown becomes a stop."""
    if joint.criticality != "critical" or remark.grade != "caution" or remark.name not in RAISED:
        return remark
    return replace(remark, grade="stop", text=f"{remark.text} The joint is critical, so this is settled first.")


def joint_remarks(joint: Joint, *, today: date) -> tuple[Remark, ...]:
    """Remarks on the joint as a whole, gravest first.

    Args:
        today: day of the job, for calibrations that end soon.
    """
    found = []
    if any(family_name(joint.tightening_of(group).order) in ROUND for group in joint.groups):
        text = (
            "Bolts are numbered by location: 1 at twelve o'clock or the painted mark, clockwise seen from the worker's "
            "side. Order labels are another thing: agree before work starts which of the two is painted."
        )
        found.append(Remark("note", "bolt numbers", text, "read in a public article quoting ASME PCC-1-2019"))
    if joint.flange is not None and joint.flange.bolting.note:
        found.append(
            Remark("caution", "flange drilling", f"Flange: {joint.flange.bolting.note}.", joint.flange.bolting.known)
        )
    for tool in joint.wrenches:
        left = (tool.calibration_due - today).days
        if 0 <= left <= _SOON_DAYS:
            found.append(
                Remark(
                    "note",
                    "calibration ends soon",
                    f"{tool.name}: calibration ends in {left} days, on {tool.calibration_due}.",
                )
            )
        elif left > _INTERVAL_DAYS:
            text = (
                f"{tool.name}: its calibration is said to hold until {tool.calibration_due}, more than 12 months: ask."
            )
            found.append(
                Remark(
                    "note",
                    "calibration far ahead",
                    text,
                    "ISO 6789: 12 months or 5000 loads, unless the user has an own interval (read)",
                )
            )
    if joint.gasket is not None and len(joint.groups) > 1:
        text = "Several bolt groups press one gasket: its load is not checked here; ask the governing instruction."
        found.append(
            Remark(
                "caution", "gasket load not checked", text, "outside this sheet", sentence="gasket of several groups"
            )
        )
    if joint.gasket is not None and joint.gasket.factors is None:
        text = "Gasket factors m and y are not given: seating is not checked here."
        found.append(Remark("caution", "gasket factors missing", text, "outside this sheet"))
    if joint.gasket is not None and joint.gasket.full_face:
        text = "The gasket reaches across the bolts: seating is not checked here; ask its maker for the bolt load."
        found.append(Remark("caution", "gasket load not checked", text, "outside this sheet"))
    if joint.criticality != "routine":
        found += _witnesses(joint)
    found += _examples(joint)
    if joint.read_as:
        text = f"Read {', '.join(joint.read_as)}."
        found.append(Remark("note", "units as wrenches show them", text, "pound as a force, Nm as newton metre"))
    found += [
        Remark(
            "note" if check.kind == "cold" else "caution",
            f"{check.kind} re-check",
            _recheck_text(check),
            check.procedure or "",
            _recheck_parts(check),
            f"re-check{'' if check.latest is None else ' by'}{'' if check.highest_temperature is None else ' below'}",
        )
        for check in joint.rechecks
    ]
    return gravest_first(found)


EXAMPLE_FIGURES = "example figures"
"""The caution about examples that the torque or the tool depends on."""
_DECIDES = re.compile(r"groups\.|wrenches\.(?!serial|name)")
"""Keys that the torque or the tool depends on."""


def _examples(joint: Joint) -> Iterator[Remark]:
    """Values that nobody gave: they stand in the file as a template's examples, and its lines still say so.

    A caution, so that a new file plans at once; a joint that was guided by them is not good before a lead says so.
    """
    decide = [each for each in joint.examples if _DECIDES.match(each)]
    for name, keys in (
        (EXAMPLE_FIGURES, decide),
        ("example entries", [each for each in joint.examples if each not in decide]),
    ):
        if keys:
            text = f"Still marked EXAMPLE in the file: {', '.join(keys)}. Put the joint's own and take the mark out."
            yield Remark("caution", name, text, "the joint file's own marks", (Figure(Decimal(len(keys)), ""),))


def _witnesses(joint: Joint) -> Iterator[Remark]:
    """What an important or critical joint requires of its hold points."""
    quiet = [each.name for each in joint.hold_points if not each.witness]
    if quiet:
        grade = "stop" if joint.criticality == "critical" else "caution"
        text = f"The joint is {joint.criticality} and nobody is named at: {', '.join(quiet)}. Write witness = true."
        count = Figure(Decimal(len(quiet)), "")
        yield Remark(grade, "hold points without witness", text, "common practice, no source", (count,))


def _recheck_parts(check: Recheck) -> tuple[Figure, ...]:
    """How the voice says it: hours, and the temperature in the joint file's unit."""
    hours = [figure(each, "h") for each in (check.earliest, check.latest) if each is not None]
    high = check.highest_temperature
    unit = "degF" if high is not None and str(high.units) == "degree_Fahrenheit" else "degC"
    return (*hours, *(() if high is None else (figure(high.to(unit), unit),)))


def _recheck_text(check: Recheck) -> str:
    when = f"after {show(check.earliest, 'h')}"
    when += "" if check.latest is None else f", by {show(check.latest, 'h')} at the latest"
    low, high = (
        "" if limit is None else show(limit.to("degC"), "degC", places=0)
        for limit in (check.lowest_temperature, check.highest_temperature)
    )
    where = f", between {low} and {high}" if low and high else f", not above {high}" if high else ""
    how = ", by the written procedure only" if check.kind == "hot" else ", empty and without pressure"
    look = f" Read where the nut first moves, about {RECHECK_STEP_DEG:g} degrees, no more."
    return f"{check.kind.capitalize()} re-check {when}{where}{how}.{look}"


def _conversion(figures: GroupFigures) -> Iterator[Remark]:
    converted = figures.converted
    if converted is None:
        return
    grade = "stop" if converted.disagreement > DISAGREEMENT else "caution"
    for text in converted.warnings:
        told = f"Conversion of the published torque: {text}."
        name, source = "conversion of the torque", "nut factors of the calculation sheet"
        if converted.spread is None:
            yield Remark(grade, name, told, source, (percent(100 * converted.disagreement, digits=2),))
        else:
            ratios = tuple(Figure(Decimal(f"{each:.2f}"), "") for each in converted.spread)
            yield Remark(grade, name, told, source, ratios, "conversion by nut factors")


def _stress(figures: GroupFigures) -> Iterator[Remark]:
    band = figures.preload
    high, told = magnitude(band.high, "kN", name="preload"), show(band.high, figures.force_unit, digits=3)
    if figures.group.structural is not None:
        return
    if high > magnitude(yield_load(figures.strength, figures.thread), "kN", name="yield load"):
        text = (
            f"With the slickest threads of the published range a bolt may reach {told} and "
            "yield: have the lubricant's own nut factor looked up before tightening."
        )
        yield Remark("stop", "bolts may yield", text, band.how, (figure(band.high, figures.force_unit),))
    elif (
        high
        > magnitude(figures.load.proof, "MPa", name="proof")
        * magnitude(figures.thread.stress_area, "mm2", name="stress area")
        / 1000
    ):
        text = f"A bolt at the upper end of the band, {told}, is above its proof load."
        reached = (figure(band.high, figures.force_unit),)
        yield Remark("caution", "bolts may pass proof load", text, band.how, reached)
    for note in figures.strength.notes:
        yield Remark("note", "grade", f"{figures.strength.grade}: {note}.", figures.strength.standard)
    if figures.strength.proof is None:
        text = f"Percent of proof uses an {figures.load.proof_known}."
        yield Remark("note", "proof strength estimated", text, "Shigley 9th ed. p. 442 (read)")


def _kind_limits(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    """The target against what is usual for this kind of joint. Too little is as bad as too much."""
    kind = joint.kind if figures.group.structural is None else "structural bolt"
    found = assembly_stress(figures.final.preload, figures.thread, strength=figures.strength, joint=kind)
    limit, share = found.limit, f"{found.basis_percent:.3g} % of {found.basis}"
    usual = f"a {kind} usually gets {limit.low_percent:g} to {limit.high_percent:g} %"
    by = "the target" if figures.group.method is not None else show(figures.full, figures.unit)
    gives = f"{by} gives {show(found.stress, figures.stress_unit)}, {share}"
    of_basis = f"of {limit.basis}"
    if found.verdict == "too high":
        text = f"{gives}: {usual}, and never above {limit.most_percent:g} % without an engineer's word."
        parts = (percent(found.basis_percent), percent(limit.most_percent))
        yield Remark("stop", "bolt load too high", text, limit.source, parts, f"bolt load too high {of_basis}")
    elif found.verdict == "high":
        parts = (percent(found.basis_percent), percent(limit.high_percent))
        text = f"{gives}: {usual}."
        yield Remark("caution", "high bolt load", text, limit.source, parts, f"high bolt load {of_basis}")
    elif found.verdict == "low" and not _gasket_rules(joint, figures):
        parts = (percent(found.basis_percent), percent(limit.low_percent))
        if found.basis_percent < limit.low_percent * FAR_BELOW:
            text = f"{gives}: {usual}. Is the unit right, and no figure lost?"
            yield Remark("stop", "bolt load too low", text, limit.source, parts, f"bolt load too low {of_basis}")
        else:
            text = f"{gives}: {usual}."
            yield Remark("caution", "low bolt load", text, limit.source, parts, f"low bolt load {of_basis}")


def _gasket_rules(joint: Joint, figures: GroupFigures) -> bool:
    """Whether the gasket keeps the load below what the bolts could give, and is itself checked."""
    gasket = joint.gasket
    found = None
    if gasket is not None and len(joint.groups) == 1:
        found = seating_of(joint, figures, figures.preload.preload, figures.preload.preload)
    if gasket is None or found is None:
        return False
    if gasket.elastomer:
        return True
    at_low = assembly_stress(figures.final.preload, figures.thread, strength=figures.strength, joint=joint.kind)
    rise = at_low.limit.low_percent / at_low.basis_percent
    pressed = magnitude(found.gasket_stress, "MPa", name="stress") * rise
    return found.highest is not None and pressed > magnitude(found.highest, "MPa", name="limit")


def _structural(figures: GroupFigures) -> Iterator[Remark]:
    rules = figures.group.structural
    if rules is None:
        return
    text = (
        f"{rules}: the bolts are tightened past their proof load; tightened once and loosened they are not used again."
    )
    yield Remark("note", "structural bolts", text, "RCSC for A490 and galvanised A325; EN 1090-2 (from memory)")
    least = minimum_pretension(figures.group, figures.thread)
    if figures.final.preload < least:
        gives = f"{show(figures.final.preload, figures.force_unit)} in the end"
        text = f"{gives} is below the minimum pretension of {rules}, {show(least, figures.force_unit)}."
        parts = tuple(figure(each, figures.force_unit) for each in (figures.final.preload, least))
        yield Remark("stop", "below the minimum pretension", text, f"{rules} (as in the calculation sheet)", parts)
    if not figures.condition.tested and figures.group.method is None:
        text = "The nut factor is not tested: the torque method needs the k of the assembly's own certificate."
        yield Remark(
            "stop", "structural torque without test", text, "EN 1090-2 class K2; RCSC has no torque without test"
        )


def _reuse(figures: GroupFigures) -> Iterator[Remark]:
    uses, grade = figures.group.uses, figures.strength.grade
    if not uses:
        return
    if figures.group.structural is not None or grade in NEVER_AGAIN:
        text = f"{grade} bolts that were tightened before ({uses}) are not used again."
        source = "RCSC: A490 and galvanised A325 once only (from memory)"
        yield Remark("stop", "bolts used before", text, source, sentence="bolts used once")
    elif figures.load.percent_of_proof > 75:
        text = f"Bolts tightened before ({uses}), now at {figures.load.percent_of_proof:.0f} % of proof: use new ones."
        source = "75 % of proof for bolts to be used again: Shigley (read)"
        parts = (percent(figures.load.percent_of_proof, digits=2),)
        yield Remark("stop", "bolts used before", text, source, parts, "used bolts far up")
    else:
        text = f"Bolts tightened before ({uses}): look for necking, stretched pitch and worn threads; nuts run by hand."
        count = Figure(Decimal(uses), "times")
        yield Remark("caution", "bolts used before", text, "common practice, no source", (count,), "used bolts")


def _lengths(figures: GroupFigures) -> Iterator[Remark]:
    group = figures.group
    if group.engagement is None:
        return
    share = magnitude(group.engagement, "mm", name="engagement") / magnitude(figures.thread.diameter, "mm", name="d")
    if share < LEAST_ENGAGEMENT:
        least = f"{LEAST_ENGAGEMENT:g} at the least in steel, more in softer metal"
        text = f"Only {share:.2f} diameters of thread are engaged: {least}."
        engaged = (Figure(Decimal(f"{share:.2f}"), ""),)
        yield Remark("stop", "short engagement", text, "common practice, no source", engaged)


def _accuracy(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    """The error of the tools against the accepted window, and tools whose error is unknown."""
    own, train, unit = figures.tightening, figures.train, figures.unit
    error = train.accuracy_percent
    low, high = (magnitude(side, "%", name="window") for side in (own.window_low, own.window_high))
    if error >= min(-low, high):
        least, most = ((1 + side / 100) * (1 + sign * error / 100) for side, sign in ((low, -1), (high, 1)))
        text = (
            f"The tools may be off by +/- {error:g} %, the window is {low:+g} / {high:+g} %: a bolt whose reading is "
            f"taken may have {100 * (least - 1):+.1f} / {100 * (most - 1):+.1f} %."
        )
        low_end, high_end = (math.ceil(abs(100 * (each - 1))) for each in (least, most))
        parts = (percent(error), percent(low_end), Figure(Decimal(high_end), ""))
        yield Remark("caution", "tool error as wide as the window", text, "ISO 6789 or certificate; ends added", parts)
    worst = figures.load_at((1 + high / 100) * (1 + error / 100))
    over = over_limit(
        worst, figures.strength, nut_factor=figures.condition.nut_factor, thread=figures.thread, unit=unit
    )
    if over:
        text = f"At the upper edge of the window with the tools' error of {error:g} %: {over}."
        yield Remark("stop", "tool error reaches the limit", text, "ends added: the careful side", (percent(error),))
    gear = joint.multiplier_of(figures.group)
    if gear is not None and gear.calibration_due is None:
        text = f"{gear.name} has no calibration date: nobody knows what it gives."
        yield Remark("stop", "multiplier not calibrated", text, "common practice, no source", (gear.name,))


def _gasket(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    if joint.gasket is None or len(joint.groups) > 1:
        return
    found = seating_of(joint, figures, figures.preload.low, figures.preload.high)
    if found is not None and not found.seated:
        text = (
            f"With all bolts at the lower end of the band the gasket gets {show(found.total, 'kN')} and needs "
            f"{show(found.needed, 'kN')}: have the target checked before tightening."
        )
        parts = (figure(found.total, "kN"), figure(found.needed, "kN"))
        yield Remark("stop", "gasket may not seat", text, "ASME VIII-1 appendix 2", parts)
    if found is not None and not found.not_crushed:
        text = f"With all bolts at the upper end of the band the gasket bears {show(found.gasket_stress, 'MPa')}."
        pressed = (figure(found.gasket_stress, "MPa"),)
        yield Remark("stop", "gasket may be crushed", text, "limit of the gasket's maker", pressed)
    if not figures.tightening.circular:
        text = "No final circular pass: neighbours that went slack stay slack."
        yield Remark("caution", "no circular pass", text, "read in articles of the sealing trade")
    first = figures.tightening.percents[0]
    if first > _FIRST_PASS_PERCENT:
        text = f"The first pass goes to {first:g} %: uneven pull in the first passes is what spoils a gasket."
        yield Remark("caution", "high first pass", text, "published plans start at 20 to 40 %", (percent(first),))


def _order(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    count = figures.group.count
    for each in precautions(figures.tightening.order, gasketed=joint.gasket is not None, bolts=count):
        text = f"{each.text[0].upper()}{each.text[1:]}."
        parts = (Figure(Decimal(count), ""),) if each.counts else ()
        source = "read in public articles on ASME PCC-1 appendix F"
        yield Remark("caution", "order", text, source, parts, f"order {each.name}")
    if figures.tightening.dwell is not None:
        hours = show(figures.tightening.dwell, "h")
        text = f"After the circular pass wait {hours}, then once more circular at the full target."
        yield Remark("note", "settling time", text, "4 h: abstract of an ASME PVP2021 paper on PCC-1 (read)")
    if figures.group.tools_at_once > 1:
        text = f"{figures.group.tools_at_once} tools pull together: a step counts when each of its bolts has its value."
        yield Remark("note", "tools at once", text, "common practice, no source")


def _tools(joint: Joint, figures: GroupFigures, passes: Sequence[PassFigures]) -> Iterator[Remark]:
    for warned in dict.fromkeys(warned for each in passes for warned in each.setting.warnings):
        text = f"{warned.text[0].upper()}{warned.text[1:]}."
        parts = (warned.tool,) if warned.percent is None else (warned.tool, percent(warned.percent))
        yield Remark("caution", "tool", text, "", parts, f"tool {warned.name}")
    wrench = joint.wrench_of(figures.group)
    if wrench.unit != joint.torque_unit:
        text = (
            f"{wrench.name} reads {wrench.unit}, this joint is in {joint.torque_unit}: say every value with its unit."
        )
        yield Remark(
            "caution",
            "other unit on the wrench",
            text,
            "a wrong scale is the commonest gross error (common practice, no source)",
            (wrench.name, Figure(None, wrench.unit), Figure(None, joint.torque_unit)),
        )
    pull = (
        f"From {100 * SLOW_FINISH_SHARE:g} % of the value pull evenly, {SLOW_FINISH_S[0]:g} to {SLOW_FINISH_S[1]:g} s."
    )
    if wrench.kind == "click":
        pull += f" Before the first bolt click it {EXERCISE_PULLS} times near its highest mark."
    yield Remark("note", "how to pull", pull, "ISO 6789:2003 (read), there for calibration")
    if wrench.kind == "digital":
        part = figures.train.wrench
        step = largest_resolution(permissible_percent=part.permissible_percent, lowest=part.lowest)
        if part.graduation > step:
            shown, allowed = show(wrench.graduation, wrench.unit), show(step, wrench.unit, digits=2)
            text = f"{wrench.name} shows steps of {shown}; its class allows {allowed} at its lowest value."
            yield Remark("note", "coarse display", text, "ISO 6789-1:2017 (read in a public article)")
    gear = joint.multiplier_of(figures.group)
    if gear is not None and gear.reaction_arm is not None:
        force = reaction_force(figures.full, gear.train_part, arm=gear.reaction_arm)
        pressed = show(force, figures.force_unit, digits=3)
        text = f"The reaction arm of {gear.name} presses with {pressed}: nothing of you between."
        yield Remark("caution", "reaction force", text, "statics", (gear.name, figure(force, figures.force_unit)))
    if wrench.kind == "click" and joint.criticality == "critical":
        text = f"{wrench.name} clicks and shows no reading: no value can be witnessed."
        yield Remark("stop", "click wrench on a critical joint", text, "common practice, no source", (wrench.name,))
    if figures.train.multiplier is not None:
        text = "Settings are at the wrench, far below the bolt torque: speak of 'setting' and 'bolt value'."
        yield Remark("caution", "setting and bolt value", text, "common practice, no source")
    if thread(figures.group.thread).series == "fine":
        yield Remark("note", "fine thread", "Fine thread: do not mix with coarse nuts.", "common practice, no source")
