"""The work at a joint, laid out from its plan and the steps of its procedure, stage after stage. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from assistant.bolting.joint.clamp import LARGEST_PIPE_DIFFERENCE, pipe_fit
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_people import InOtherWords, Recheck
from assistant.bolting.planning.hot_expectation import hot_shares
from assistant.bolting.planning.plan import GroupPlan, Plan
from assistant.bolting.remark import Caution, Stop
from assistant.bolting.units import Quantity, of
from assistant.errors import BadJointFile
from assistant.events import (
    AskBack,
    Expected,
    Item,
    Lesson,
    Measurement,
    Pass,
    Person,
    Question,
    Wait,
    WorkLaidOut,
    stage_of,
)
from assistant.procedure.joint_steps import steps_of
from assistant.procedure.kinds import ON_BOLTS, Procedure, Step
from assistant.procedure.stage_passes import circular_pass, method_items, pattern_passes, seat_pass, snug_pass
from assistant.speech.wording import Wording, catalogue

APPRENTICE_SUPERVISOR = "supervisor agrees"
EXPECTED_STEP_C = 20
"""A hot re-check's expectation is tabled in steps of so many degrees."""


def lay_out(
    plan: Plan,
    procedure: Procedure,
    *,
    apprentice: bool = False,
    language: str = "en",
    asks_who: bool = False,
    people: Sequence[str] = (),
) -> WorkLaidOut:
    """All that has to be done at a joint, in order; closing comes last.

    Stops of the plan that nobody has released are hold points before the first bolt; its cautions are told there once.

    Args:
        plan: safe figures (`bolting.planning.plan.plan` refuses others).
        procedure: of the joint's kind, or the joint's own.
        apprentice: whether each step is explained.
        language: "en" or "de".
        asks_who: whether it is asked who tightens.
        people: names that are known besides those of the joint file.

    Raises:
        BadJointFile: the joint names groups or variants that the procedure does not have, or the other way round.
    """
    words = catalogue(language)
    steps = steps_of(plan.joint, procedure)
    again = [step for step in steps if step.phase == "re-check" and step.does in ON_BOLTS]
    rechecked = _groups(again[0], plan)[0] if again else plan.groups[0]
    torqued = [item for step in steps for item in _items(step, plan, words, language, rechecked)]
    items = _with_stops(_with_methods(torqued, plan, words), plan, words)
    named = [Person(name=each.name, role=each.role) for each in plan.joint.people if each.name is not None]
    return WorkLaidOut(
        joint=plan.joint.name,
        stages=tuple(stage_of(item) for item in (*items, closing(words))),
        cautions=words.cautions(),
        apprentice=apprentice,
        language=language,
        supervisor=APPRENTICE_SUPERVISOR,
        people=(*named, *(Person(name=name) for name in people if name not in [each.name for each in named])),
        asks_who=asks_who,
    )


def _with_methods(items: list[Item], plan: Plan, words: Wording) -> list[Item]:
    """The stages with what follows the torque passes of groups whose target is not reached by torque.

    Passes of such a group after a wait, or at a re-check, would be torque below the target: a check by the method takes
    their place where there is one.
    """
    for group in (each for each in plan.groups if each.method_steps):
        own = [n for n, item in enumerate(items) if isinstance(item, Pass) and item.group == group.name]
        wait = next((n for n, item in enumerate(items) if isinstance(item, Wait)), len(items))
        last = max(n for n in own if n < wait or n == own[0])
        made: list[Item] = []
        for n, item in enumerate(items):
            later = n in own and n > last
            made += [] if later else [item]
            if later or n == last:
                made += method_items(group, plan.joint, phase=item.phase, words=words, again=later)
        items = made
    return items


RELEASE = "released by the lead"
"""The phrase that releases a stop of the plan."""


def _with_stops(items: list[Item], plan: Plan, words: Wording) -> list[Item]:
    """The stages with the plan's open stops as hold points before the first bolt, its cautions where they belong."""
    first = next((n for n, item in enumerate(items) if isinstance(item, Pass)), len(items))
    lead = next((p.role for p in plan.joint.people if p.role == "lead"), plan.joint.people[-1].role)
    stops = [
        Question(
            name=f"stop: {stop.name}",
            phase=items[first].phase if first < len(items) else "prepare",
            ask=words.stop_asked(" ".join(_said(stop, plan, words))),
            phrase=RELEASE,
            hold=True,
            role=lead,
            refused=negated(RELEASE),
            witness=True,
            reason=True,
            lesson=Lesson(why=" ".join(_said(stop, plan, words)), called=words.stop_called()),
        )
        for stop in plan.open_stops
    ]
    return [*items[:first], *stops, *_warned(items[first:], plan, words)]


WITH_A_FIGURE = frozenset(
    {"tool", "tool error as wide as the window", "setting and bolt value", "reaction force", "other unit on the wrench"}
)
"""Cautions about tools: told before the first pass of their group that has a figure; the others before its first."""


def _warned(rest: list[Item], plan: Plan, words: Wording) -> list[Item]:
    """The stages from the first bolt on, each with the cautions that are told before it.

    Of the joint: before the first bolt, those of a re-check before its phase. Of a group: before its own passes.
    """
    if not rest:
        return rest
    told: dict[int, list[str]] = {}
    about: dict[int, str] = {}  # the group that was named last there
    for caution in plan.cautions:
        at = _place_of(caution, rest, plan)
        said = [words.plan_remark(each) for each in caution.spoken]
        if about.get(at, "") != caution.group:
            said = _of_group(caution, said, plan, words)
        about[at] = caution.group
        told.setdefault(at, []).extend(said)
    return [
        replace(item, lesson=replace(item.lesson, warned=tuple(told[n]))) if n in told else item
        for n, item in enumerate(rest)
    ]


def _place_of(caution: Caution, rest: list[Item], plan: Plan) -> int:
    """The stage before which a caution is told."""
    if caution.remark.endswith("re-check"):
        return next((n for n, item in enumerate(rest) if item.phase == "re-check"), 0)
    group = caution.group or plan.groups[0].name
    own = [n for n, item in enumerate(rest) if isinstance(item, Pass) and item.group == group]
    if caution.remark in WITH_A_FIGURE:
        own = [n for n in own if rest[n].setting is not None] or own  # type: ignore[union-attr]
    return own[0] if caution.group and own else 0


def _said(stop: Stop, plan: Plan, words: Wording) -> list[str]:
    return _of_group(stop, [words.plan_remark(each) for each in stop.spoken], plan, words)


def _of_group(about: Caution | Stop, said: list[str], plan: Plan, words: Wording) -> list[str]:
    """The sentences, the first one with the group's name where there are several groups."""
    if not about.group or len(plan.groups) == 1:
        return said
    return [words.of_group(about.group, said[0]), *said[1:]]


def negated(phrase: str) -> tuple[str, ...]:
    """Ways to say that a phrase does not hold: 'the papers are not here', 'not locked out', 'not everything is dry'."""
    words = phrase.split()
    if phrase in ("yes", "ready"):
        return ()
    if "allows" in words:
        return (phrase.replace("allows", "does not allow"),)
    verbs = [n for n, word in enumerate(words) if word in ("is", "are", "has", "have", "was", "were")]
    inside = [" ".join((*words[: at + 1], "not", *words[at + 1 :])) for at in verbs[:1]]
    if words[0].startswith(("every", "both", "all")):
        return (f"not {phrase}", *inside)
    if inside:
        return tuple(inside)
    parts = [part for part in phrase.split(" and ") if part]
    return tuple(dict.fromkeys((f"not {phrase}", *(f"not {part}" for part in parts), f"it is not {parts[0]}")))


def closing(words: Wording) -> Question:
    """The last hold point of every joint."""
    return Question(
        name="closing",
        phase="close",
        ask=words.closing(),
        phrase="close the joint",
        hold=True,
        lesson=Lesson(why=words.why_closing(), called=words.called_closing()),
    )


def _items(step: Step, plan: Plan, words: Wording, language: str, rechecked: GroupPlan) -> Iterator[Item]:
    """The stages of one step; what a temperature lets expect is told of the group that is re-checked."""
    said = _Said(step, language)
    match step.does:
        case "check" | "hold point":
            yield _question(step, said, [person.role for person in plan.joint.people])
        case "tools":
            yield from _tools(plan, step, said, words)
        case "wait":
            yield from _wait(step, said, plan.joint)
        case "measure":
            yield _measurement(step, said, plan, rechecked)
        case _:
            for n, group in enumerate(_groups(step, plan)):
                for each in _on_bolts(step, said, group, plan.joint, words):
                    # what holds for all groups of a step is told at the first
                    yield replace(each, lesson=replace(each.lesson, caution="", goes_wrong="")) if n else each


class _Said:
    """The texts of a step in a language; what is not there in it is said in English."""

    def __init__(self, step: Step, language: str) -> None:
        self._step = step
        self._other: InOtherWords | None = step.de if language == "de" else None

    def text(self, key: str) -> str:
        return getattr(self._other, key, None) or getattr(self._step, key, None) or ""

    def lesson(self, why: str = "") -> Lesson:
        return Lesson(
            caution=self.text("caution"),
            why=self.text("why") or why,
            goes_wrong=self.text("goes_wrong"),
            ask_back=self._ask_back(),
            called=getattr(self._other, "called", None) or "",
        )

    def _ask_back(self) -> AskBack | None:
        asked = self._step.ask_back
        if asked is None:
            return None
        return AskBack(
            ask=getattr(self._other, "ask_back", None) or asked.ask,
            answer=asked.answer,
            others=asked.others,
            because=getattr(self._other, "because", None) or asked.because,
        )


def _question(step: Step, said: _Said, roles: list[str]) -> Question:
    hold = step.does == "hold point"
    return Question(
        name=step.name,
        phase=step.phase,
        ask=said.text("ask"),
        phrase=str(step.phrase if hold else step.answer),
        hold=hold,
        role=step.released_by if step.released_by in roles else "",
        refused=tuple(dict.fromkeys((*step.refused, *negated(str(step.phrase if hold else step.answer))))),
        witness=step.witness,
        lesson=said.lesson(),
    )


OTHER_WRENCHES = 60
"""Wrenches are numbered up to here where another number than the plan's is to be heard as what it is."""
SCALES = {"N*m": "newton metres", "lbf*ft": "foot pounds", "lbf*in": "inch pounds", "kgf*m": "kilogram metres"}
"""What people answer when they are asked for a wrench's unit."""


def _tools(plan: Plan, step: Step, said: _Said, words: Wording) -> Iterator[Question]:
    """Each wrench by its number, its scale and its label, one thing a question; the person tells, the plan judges.

    Another scale than the plan's does harm, so the unit is asked openly.
    """
    asked: dict[str, GroupPlan] = {}
    for group in plan.groups:
        asked.setdefault(group.wrench.name, group)
    lesson = said.lesson(words.why_tool())
    for wrench, group in asked.items():
        several = group.name if len(asked) > 1 else ""
        named = re.fullmatch(r"wrench ([0-9]+)", wrench, re.IGNORECASE)
        if named is not None:
            others = tuple(f"wrench {n}" for n in range(1, OTHER_WRENCHES + 1) if n != int(named[1]))
            called = words.tool_name(wrench)
            yield _tool_question(
                f"tool {wrench}", step, words.tool(several), f"wrench {named[1]}", others, called, lesson
            )
            lesson = replace(lesson, caution="", goes_wrong="", ask_back=None)
        unit = SCALES[group.wrench.unit]
        others = tuple(each for each in SCALES.values() if each != unit)
        unnamed = "" if named is not None else wrench
        called = words.tool_scale_name(wrench)
        yield _tool_question(f"scale of {wrench}", step, words.tool_scale(unnamed), unit, others, called, lesson)
        lesson = replace(lesson, caution="", goes_wrong="", ask_back=None)
        called = words.tool_label_name(wrench)
        yield _tool_question(f"label of {wrench}", step, words.tool_label(unnamed), "yes", (), called, lesson)
    yield from _multipliers(plan, step, words, lesson)


def _multipliers(plan: Plan, step: Step, words: Wording, lesson: Lesson) -> Iterator[Question]:
    """Each multiplier by its number: another one turns the right setting into the wrong bolt value."""
    for group in plan.joint.groups:
        named = re.fullmatch(r"multiplier ([0-9]+)", group.multiplier or "", re.IGNORECASE)
        if named is not None:
            others = tuple(f"number {n}" for n in range(1, OTHER_WRENCHES + 1) if n != int(named[1]))
            name = f"multiplier {named[1]}"
            lesson = replace(lesson, why=words.why_multiplier())
            called = words.multiplier_name(name)
            ask, phrase = words.multiplier(group.name), f"number {named[1]}"
            yield _tool_question(f"tool {name}", step, ask, phrase, others, called, lesson)


def _tool_question(
    name: str, step: Step, ask: str, phrase: str, refused: tuple[str, ...], called: str, lesson: Lesson
) -> Question:
    return Question(
        name=name,
        phase=step.phase,
        ask=ask,
        phrase=phrase,
        hold=False,
        refused=refused,
        lesson=replace(lesson, called=called),
    )


def _wait(step: Step, said: _Said, joint: Joint) -> Iterator[Wait]:
    lasts: Quantity | None = None
    if step.lasts == "dwell":
        times = [t.dwell for t in (joint.tightening_of(group) for group in joint.groups) if t.dwell is not None]
        lasts = max(times, default=None)
    elif step.lasts == "until re-check":
        lasts = joint.rechecks[0].earliest if joint.rechecks else None
    else:
        lasts = step.lasts
    if lasts is not None:
        seconds = round(float(lasts.to("second").magnitude))
        yield Wait(name=step.name, phase=step.phase, seconds=seconds, lesson=said.lesson())


def _measurement(step: Step, said: _Said, plan: Plan, rechecked: GroupPlan) -> Measurement:
    unit = str(step.unit)
    low, high = (None, None)
    if step.limits == "re-check" and plan.joint.rechecks:
        unit = _recheck_unit(plan.joint.rechecks[0], unit)
        low, high = _recheck_limits(plan.joint.rechecks[0], unit)
    elif step.limits == "pipe fit" and plan.joint.gasket is not None:
        unit = _LENGTHS.get(str(plan.joint.gasket.inner_diameter.units), unit)
        low, high = _pipe_limits(plan.joint.gasket.inner_diameter, unit)
    elif isinstance(step.limits, tuple):
        low, high = (Decimal(f"{limit:g}") for limit in step.limits)
    hot = step.phase == "re-check" and step.quantity == "temperature"
    return Measurement(
        name=step.name,
        phase=step.phase,
        ask=said.text("ask"),
        quantity=str(step.quantity),
        unit=unit,
        low=low,
        high=high,
        who=step.who,
        expected=_expected(plan, rechecked, high, unit) if hot else (),
        lesson=said.lesson(),
    )


_LENGTHS = {"millimeter": "mm", "inch": "in"}
"""A pipe is measured in the unit that the joint file gives its size in."""


def _pipe_limits(nominal: Quantity, unit: str) -> tuple[Decimal, Decimal]:
    """Smallest and largest outside diameter that a clamp flange for pipe of this nominal diameter takes."""
    fits = [
        pipe_fit(nominal, nominal + sign * LARGEST_PIPE_DIFFERENCE.to(nominal.units)) for sign in (-1, 1)
    ]  # refuses what is no fit, so that one rule judges the plan and the measurement
    low, high = (nominal + fit.difference.to(nominal.units) for fit in fits)
    return tuple(Decimal(f"{float(each.to(unit).magnitude):.3f}").normalize() for each in (low, high))  # type: ignore[return-value]


def _recheck_unit(check: Recheck, unit: str) -> str:
    """Temperatures are asked for in the unit in which the joint file limits them."""
    given = check.lowest_temperature if check.highest_temperature is None else check.highest_temperature
    said = {"degree_Celsius": "degC", "degree_Fahrenheit": "degF"}
    return unit if given is None else said.get(str(given.units), unit)


def _recheck_limits(check: Recheck, unit: str) -> tuple[Decimal | None, Decimal | None]:
    low, high = (
        None if limit is None else Decimal(f"{float(limit.to(_PINT[unit]).magnitude):.0f}")
        for limit in (check.lowest_temperature, check.highest_temperature)
    )
    return low, high


_PINT = {"degC": "degree_Celsius", "degF": "degree_Fahrenheit"}


def _expected(plan: Plan, rechecked: GroupPlan, high: Decimal | None, unit: str) -> tuple[Expected, ...]:
    """What that group's preload is expected to be, from 40 degC up to the highest temperature allowed."""
    if high is None:
        return ()
    top = of(float(high), unit).to("degree_Celsius").magnitude
    steps = [of(float(t), "degC") for t in range(40, int(top) + EXPECTED_STEP_C, EXPECTED_STEP_C)]
    shares = hot_shares(plan.joint, rechecked.figures, steps)
    found = zip(steps, shares, strict=False)
    return tuple(
        Expected(at=Decimal(f"{float(t.to(_PINT[unit]).magnitude):.0f}"), percent=round(100 * share))
        for t, share in found
    )


def _groups(step: Step, plan: Plan) -> list[GroupPlan]:
    known = {group.name.casefold(): group for group in plan.groups}
    for name in step.groups:
        if name.casefold() not in known:
            raise BadJointFile(
                f"{plan.joint.name}: step '{step.name}' of the procedure works on the group {name!r}, not in groups",
                remedy=f"a group of that name; there are {', '.join(g.name for g in plan.groups)}",
            )
    return [known[name.casefold()] for name in step.groups] or list(plan.groups)


def _on_bolts(step: Step, said: _Said, group: GroupPlan, joint: Joint, words: Wording) -> Iterator[Pass]:
    made: list[Pass] = []
    match step.does:
        case "snug":
            made = [snug_pass(group, words=words)]
        case "passes":
            made = list(pattern_passes(group, joint, words=words))
        case "seat":
            made = [seat_pass(group, joint, rounds=step.rounds or 1, tap=said.text("tap"), words=words)]
        case "circular pass":
            again = circular_pass(group, joint, words=words)
            made = [] if again is None else [again]
    for n, each in enumerate(made):
        lesson = said.lesson(each.lesson.why)
        # caution and mistakes are told once, at the first of several passes
        yield replace(
            each,
            phase=step.phase,
            lesson=lesson if n == 0 else replace(lesson, caution="", goes_wrong="", ask_back=None, why=each.lesson.why),
        )
