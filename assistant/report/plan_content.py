"""What a plan sheet says, as plain text in order: one source for the terminal, the HTML page and the PDF."""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.bolting.joint_file.joint import BoltGroup, Joint
from assistant.bolting.joint_file.joint_fields import as_written
from assistant.bolting.planning.methods import MethodStep
from assistant.bolting.planning.pass_figures import PassFigures
from assistant.bolting.planning.plan import GroupPlan, Plan, window_text
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Remark, Stop
from assistant.bolting.threads_and_strength import threads
from assistant.bolting.units import show
from assistant.events import PHASES
from assistant.report.wording import Words

PASS_HEADINGS = ("Pass", "Kind", "Share", "Bolt target", "Accepted at bolt", "Set wrench", "Accept reading")
_CHAIN = 60  # letters of an order that stand together on a line
KIND_WORDS = {"pattern": "pattern", "four points": "four points", "circular": "circular"}


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupContent:
    """One bolt group: facts as (name, text), rows under PASS_HEADINGS, orders of the rows, force unit."""

    plan: GroupPlan
    title: str
    facts: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]
    orders: tuple[tuple[str, str], ...]
    remarks: tuple[Remark, ...]
    reasons: tuple[Reason, ...]
    force_unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanContent:
    """A whole sheet: heading lines, safety lines, stops, groups, questions as (name, text), remarks on the joint."""

    title: str
    facts: tuple[tuple[str, str], ...]
    safety: tuple[str, ...]
    stops: tuple[tuple[str, str], ...]
    groups: tuple[GroupContent, ...]
    questions: tuple[tuple[str, str], ...]
    remarks: tuple[Remark, ...]


def plan_content(plan: Plan) -> PlanContent:
    """All text of a plan's sheet."""
    joint = plan.joint
    instruction = f"{joint.instruction.title}, revision {joint.instruction.revision}"
    facts = [
        ("Tag", joint.tag or "-"),
        ("Place", joint.place),
        ("Kind", joint.kind),
        ("Instruction", instruction),
        ("It says", joint.instruction.note or ""),
        ("Flange", _flange(joint)),
        ("Gasket", _gasket(joint)),
        ("Plan made for", plan.day.isoformat()),
    ]
    return PlanContent(
        title=joint.name,
        facts=tuple((name, text) for name, text in facts if text),
        safety=plan.safety,
        stops=tuple((f"Stop: {each.name}", _stop_text(each)) for each in plan.stops),
        groups=tuple(_group(joint, group, each) for group, each in zip(joint.groups, plan.groups, strict=True)),
        questions=_questions(joint),
        remarks=plan.remarks,
    )


OWN_FACTS = frozenset({"Tag", "Place", "Instruction", "It says"})
"""Facts that are people's own words, or names."""


def said_in(content: PlanContent, words: Words) -> PlanContent:
    """The sheet in another language; names and people's own words stay."""
    say = words.say

    def facts(pairs: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
        return tuple((say(name), text if name in OWN_FACTS else say(text)) for name, text in pairs)

    groups = tuple(
        replace(
            each,
            facts=facts(each.facts),
            rows=tuple(tuple(map(say, row)) for row in each.rows),
            orders=facts(each.orders),
            remarks=_remarks_in(each.remarks, words),
            reasons=tuple(reason_in(reason, words) for reason in each.reasons),
        )
        for each in content.groups
    )
    return replace(
        content,
        facts=facts(content.facts),
        safety=tuple(map(say, content.safety)),
        stops=facts(content.stops),
        groups=groups,
        questions=facts(content.questions),
        remarks=_remarks_in(content.remarks, words),
    )


def reason_in(reason: Reason, words: Words) -> Reason:
    """A figure of the calculation in another language; symbols stay."""
    say = words.say

    def figures(text: str) -> str:
        return words.figure(text) if say(text) == text else say(text)

    return Reason(
        title=say(reason.title),
        formula=figures(reason.formula),
        terms=tuple(Term(t.symbol, say(t.meaning), figures(t.value), say(t.source)) for t in reason.terms),
        result=figures(reason.result),
        source=say(reason.source),
    )


def _remarks_in(found: tuple[Remark, ...], words: Words) -> tuple[Remark, ...]:
    return tuple(replace(each, text=words.say(each.text), source=words.say(each.source)) for each in found)


def grade_in(remark: Remark, words: Words) -> str:
    """The grade of a remark in a word."""
    mark = "remark: "
    return words.say(f"{mark}{remark.grade}").removeprefix(mark)


def _stop_text(stop: Stop) -> str:
    if stop.released_by is None:
        return f"{stop.text} Not released: the lead settles it before the first bolt."
    return f"{stop.text} Released by {stop.released_by}: {stop.reason}"


def _flange(joint: Joint) -> str:
    if joint.flange is None:
        return ""
    found = joint.flange.bolting
    circle = show(found.bolt_circle, "mm")
    return f"{found.standard} {found.size} {found.rating}: {found.bolts} x {found.bolt} on {circle} ({found.known})"


def _gasket(joint: Joint) -> str:
    if joint.gasket is None:
        return ""
    ring = f"{as_written(joint.gasket.inner_diameter)} x {as_written(joint.gasket.outer_diameter)}"
    return f"{joint.gasket.type}, sealing ring {ring}, design pressure {as_written(joint.gasket.pressure)}"


def _questions(joint: Joint) -> tuple[tuple[str, str], ...]:
    holds = [
        (each.phase, f"Hold point: {each.name}", f"{each.ask} Released by the {each.released_by} with: '{each.phrase}'")
        for each in joint.hold_points
    ]
    checks = [(each.phase, f"Check: {each.name}", f"{each.ask} Right answer: '{each.answer}'") for each in joint.checks]
    asked = sorted((*holds, *checks), key=lambda each: PHASES.index(each[0]))
    return tuple((f"{name} (phase: {phase})", text) for phase, name, text in asked)


def _group(joint: Joint, group: BoltGroup, plan: GroupPlan) -> GroupContent:
    wrench, gear, extension = joint.wrench_of(group), joint.multiplier_of(group), joint.extension_of(group)
    facts = [
        ("Bolts", f"{group.count} x {group.thread}, {group.grade}, length {as_written(group.length)}"),
        *(
            (f"Bolts {_numbers(list(other.bolts))}", f"length {as_written(other.length)}, {other.where}")
            for other in group.other_lengths
        ),
        ("Nuts", group.nut or ""),
        ("Threads", group.condition),
        (
            "Wrench",
            f"{wrench.name} ({wrench.kind}, serial {wrench.serial}), "
            f"{window_text(wrench.lowest, wrench.highest, wrench.unit)} in steps of "
            f"{show(wrench.graduation, wrench.unit)}, calibration holds until {wrench.calibration_due}",
        ),
        ("Multiplier", "" if gear is None else f"{gear.name} (serial {gear.serial})"),
        ("Adapter", "" if extension is None else f"{extension.name}, {as_written(extension.length)}"),
        ("Tools at once", "" if group.tools_at_once == 1 else str(group.tools_at_once)),
    ]
    return GroupContent(
        plan=plan,
        title=group.name,
        facts=tuple((name, text) for name, text in facts if text),
        rows=tuple(_row(plan, each) for each in plan.passes),
        orders=_orders(plan),
        remarks=plan.remarks,
        reasons=plan.reasons,
        force_unit="kN" if threads.thread(group.thread).system == "metric" else "kip",
    )


def _row(plan: GroupPlan, each: PassFigures) -> tuple[str, ...]:
    return (
        str(each.number),
        KIND_WORDS[each.kind],
        f"{each.percent:g} %",
        show(each.target, plan.unit),
        window_text(each.low, each.high, plan.unit),
        show(each.scale, plan.wrench.unit),
        "clicks, no reading" if plan.clicks else window_text(each.reading_low, each.reading_high, plan.wrench.unit),
    )


def _orders(plan: GroupPlan) -> tuple[tuple[str, str], ...]:
    """Passes that share an order with the bolts in that order, the method's steps, and the loosening."""
    found: dict[str, list[int]] = {}
    for each in plan.passes:
        text = _chain(["+".join(map(str, step)) for step in each.steps])
        if each.kind == "circular":
            text += f", until no nut moves, {plan.last_round} rounds at most"
        found.setdefault(text, []).append(each.number)
    last = [(f"Then: {each.name}", _method_text(each)) for each in plan.method_steps]
    return (*_pass_orders(found), *last, ("Loosening", _loosening(plan)))


def _method_text(step: MethodStep) -> str:
    window = f"{show(step.low, step.unit, digits=3)} to {show(step.high, step.unit, digits=3)}"
    bolts = _chain(list(map(str, step.bolts)))
    return f"{show(step.target, step.unit, digits=3)}, accepted {window}, bolts {bolts}. {step.text}"


def _loosening(plan: GroupPlan) -> str:
    """How the joint is taken apart: proved empty first, in the order of tightening, no bolt freed alone."""
    first = plan.loosening[0]
    return (
        f"Only when the line is proved empty and locked out. Same order: every bolt to about {first.percents[0]:g} % "
        "first, then free; nuts stay on by their last threads until the joint has sprung open. Bolts may need far more "
        "than the tightening torque."
    )


def _pass_orders(found: dict[str, list[int]]) -> tuple[tuple[str, str], ...]:
    return tuple(
        (f"Pass{'es' if len(numbers) > 1 else ''} {_numbers(numbers)}", text) for text, numbers in found.items()
    )


def _chain(steps: list[str]) -> str:
    """Steps joined by dashes, with a blank to break the line at in time."""
    lines = [""]
    for step in steps:
        if len(lines[-1]) + len(step) >= _CHAIN:
            lines.append("")
        lines[-1] += f"{step}-"
    return " ".join(lines).removesuffix("-")


def _numbers(numbers: list[int]) -> str:
    if len(numbers) > 1 and numbers == list(range(numbers[0], numbers[-1] + 1)):
        return f"{numbers[0]} to {numbers[-1]}"
    return ", ".join(map(str, numbers))
