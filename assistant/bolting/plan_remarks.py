"""Graded remarks of a plan: to know (note), to watch (caution), to settle before the first bolt (stop)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from assistant.bolting import nuts
from assistant.bolting.condition import DISAGREEMENT
from assistant.bolting.group_figures import GroupFigures
from assistant.bolting.joint import Joint
from assistant.bolting.joint_people import Recheck
from assistant.bolting.limits import seating_of
from assistant.bolting.pass_figures import PassFigures
from assistant.bolting.pattern import ROUND, family_name, precautions
from assistant.bolting.remark import Remark, gravest_first
from assistant.bolting.strength import yield_load
from assistant.bolting.threads import thread
from assistant.bolting.units import magnitude, show

_SOON_DAYS = 30
_INTERVAL_DAYS = 366
_REUSABLE_PERCENT, _PERMANENT_PERCENT = 75.0, 90.0
_FIRST_PASS_PERCENT = 40.0


def group_remarks(joint: Joint, figures: GroupFigures, passes: Sequence[PassFigures]) -> tuple[Remark, ...]:
    """Remarks on one bolt group, gravest first."""
    found = [
        *_condition(figures),
        *_stress(figures),
        *_nut(figures),
        *_gasket(joint, figures),
        *_order(joint, figures),
        *_tools(joint, figures, passes),
    ]
    return gravest_first(found)


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
        found.append(Remark("caution", "gasket load not checked", text, "outside this sheet"))
    if joint.gasket is not None and joint.gasket.m is None:
        text = "Gasket factors m and y are not given: seating is not checked here."
        found.append(Remark("caution", "gasket factors missing", text, "outside this sheet"))
    found += [
        Remark(
            "note" if check.kind == "cold" else "caution",
            f"{check.kind} re-check",
            _recheck_text(check),
            check.procedure or "",
        )
        for check in joint.rechecks
    ]
    return gravest_first(found)


def _recheck_text(check: Recheck) -> str:
    when = f"after {show(check.earliest, 'h')}"
    when += "" if check.latest is None else f", by {show(check.latest, 'h')} at the latest"
    low, high = (
        "" if limit is None else show(limit.to("degC"), "degC", places=0)
        for limit in (check.lowest_temperature, check.highest_temperature)
    )
    where = f", between {low} and {high}" if low and high else f", not above {high}" if high else ""
    how = ", by the written procedure only" if check.kind == "hot" else ", empty and without pressure"
    return f"{check.kind.capitalize()} re-check {when}{where}{how}."


def _condition(figures: GroupFigures) -> Iterator[Remark]:
    converted, condition = figures.converted, figures.condition
    if condition.name == "unknown":
        text = "The thread condition is unknown: find out what is on the threads before the first bolt is tightened."
        yield Remark("stop", "thread condition unknown", text, "the same torque gives very different preloads")
    if condition.name == "stainless dry":
        yield Remark("stop", "dry stainless threads", "Dry stainless threads gall: lubricate them.", condition.chosen)
    if converted is None:
        return
    grade = "stop" if converted.disagreement > DISAGREEMENT else "caution"
    for text in converted.warnings:
        yield Remark(
            grade,
            "conversion of the torque",
            f"Conversion of the published torque: {text}.",
            "nut factors of the calculation sheet",
        )


def _stress(figures: GroupFigures) -> Iterator[Remark]:
    band, share = figures.preload, figures.percent_of_proof
    source = "Shigley eq. 8-31, 8-32 (read)"
    if share > _PERMANENT_PERCENT:
        yield Remark(
            "caution", "high bolt load", f"Bolts at {share:.0f} % of proof: above 90 %, the usual limit.", source
        )
    elif share > _REUSABLE_PERCENT:
        yield Remark(
            "note", "bolt load", f"Bolts at {share:.0f} % of proof: above 75 %, so for joints that stay closed.", source
        )
    high, told = magnitude(band.high, "kN", name="preload"), show(band.high, figures.force_unit, digits=3)
    if high > magnitude(yield_load(figures.strength, figures.thread), "kN", name="yield load"):
        text = (
            f"With the slickest threads of the published range a bolt may reach {told} and "
            "yield: have the lubricant's own nut factor looked up before tightening."
        )
        yield Remark("stop", "bolts may yield", text, band.how)
    elif (
        high
        > magnitude(figures.proof, "MPa", name="proof")
        * magnitude(figures.thread.stress_area, "mm2", name="stress area")
        / 1000
    ):
        text = f"A bolt at the upper end of the band, {told}, is above its proof load."
        yield Remark("caution", "bolts may pass proof load", text, band.how)
    for note in figures.strength.notes:
        yield Remark("note", "grade", f"{figures.strength.grade}: {note}.", figures.strength.standard)
    if figures.strength.proof is None:
        yield Remark(
            "note",
            "proof strength estimated",
            f"Percent of proof uses an {figures.proof_known}.",
            "Shigley 9th ed. p. 442 (read)",
        )


def _nut(figures: GroupFigures) -> Iterator[Remark]:
    if figures.group.nut is not None:
        for text in nuts.check_nut(nuts.nut(figures.group.nut), figures.strength):
            yield Remark(
                "stop",
                "nut too weak",
                f"{text[0].upper()}{text[1:]}.",
                "ISO 898-2 (from memory), or tensile rule: no source",
            )


def _gasket(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    if joint.gasket is None or len(joint.groups) > 1:
        return
    found = seating_of(joint, figures, figures.preload.low, figures.preload.high)
    if found is not None and not found.seated:
        text = (
            f"With all bolts at the lower end of the band the gasket gets {show(found.total, 'kN')} and needs "
            f"{show(found.needed, 'kN')}: have the target checked before tightening."
        )
        yield Remark("stop", "gasket may not seat", text, "ASME VIII-1 appendix 2")
    if found is not None and not found.not_crushed:
        text = f"With all bolts at the upper end of the band the gasket bears {show(found.gasket_stress, 'MPa')}."
        yield Remark("stop", "gasket may be crushed", text, "limit of the gasket's maker")
    if not figures.tightening.circular:
        text = "No final circular pass: neighbours that went slack stay slack."
        yield Remark("caution", "no circular pass", text, "read in articles of the sealing trade")
    first = figures.tightening.percents[0]
    if first > _FIRST_PASS_PERCENT:
        text = f"The first pass goes to {first:g} %: uneven pull in the first passes is what spoils a gasket."
        yield Remark("caution", "high first pass", text, "published plans start at 20 to 40 %")


def _order(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    for text in precautions(figures.tightening.order, gasketed=joint.gasket is not None):
        yield Remark(
            "caution", "order", f"{text[0].upper()}{text[1:]}.", "read in public articles on ASME PCC-1 appendix F"
        )
    if figures.tightening.dwell is not None:
        hours = show(figures.tightening.dwell, "h")
        text = f"After the circular pass wait {hours}, then once more circular at the full target."
        yield Remark("note", "settling time", text, "4 h: abstract of an ASME PVP2021 paper on PCC-1 (read)")
    if figures.group.tools_at_once > 1:
        text = f"{figures.group.tools_at_once} tools pull together: a step counts when each of its bolts has its value."
        yield Remark("note", "tools at once", text, "common practice, no source")


def _tools(joint: Joint, figures: GroupFigures, passes: Sequence[PassFigures]) -> Iterator[Remark]:
    texts = dict.fromkeys(text for each in passes for text in each.setting.warnings)
    for text in texts:
        yield Remark("caution", "tool", f"{text[0].upper()}{text[1:]}.")
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
        )
    if figures.train.multiplier is not None:
        text = "Settings are at the wrench, far below the bolt torque: speak of 'setting' and 'bolt value'."
        yield Remark("caution", "setting and bolt value", text, "common practice, no source")
    if thread(figures.group.thread).series == "fine":
        yield Remark("note", "fine thread", "Fine thread: do not mix with coarse nuts.", "common practice, no source")
