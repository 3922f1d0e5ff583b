"""The procedure of a joint kind as data: its steps, checked; one file a kind, which a joint file may extend or replace.

Steps follow one another as they stand in the file, unless one names another in `then`. What is refused: a step that
nothing leads to, a circle, an unknown phase, a hold point without its phrase, a name that stands twice. Reading the
file is `config.procedure_file`'s job; `procedure.work` makes the stages of a joint from the steps and its plan.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, StrictBool, StrictInt, model_validator

from assistant.bolting.joint_file.joint_fields import Answer, Finding, HoldPhrase, Part, Text, refuse_all
from assistant.bolting.joint_file.joint_fields import Time as Duration
from assistant.bolting.joint_file.joint_people import InOtherWords

Phase = Literal["prepare", "assemble", "snug", "tighten", "seat", "restore", "re-check", "leak watch", "close"]
Does = Literal["check", "hold point", "tools", "snug", "passes", "circular pass", "seat", "wait", "measure"]
SPOKEN = ("check", "hold point", "measure")
DWELL, HOT, TWO_LENGTHS, MULTIPLIED = "dwell", "hot re-check", "two lengths", "multiplier"
OF_THE_JOINT = (DWELL, HOT, TWO_LENGTHS, MULTIPLIED)
"""What a step may be `only_for` besides a variant: the joint has a settling time, a hot re-check, bolts of two lengths
in a group, a multiplier."""
ON_BOLTS = ("snug", "passes", "circular pass", "seat")


class AskBackStep(Part):
    """What an apprentice is asked before the step; the answer is one of a few phrases."""

    ask: Text
    answer: Answer
    others: Annotated[tuple[Answer, ...], Field(min_length=1, max_length=4)]
    """Answers that are understood and wrong."""
    because: Text
    """Told after the answer, right or wrong."""


class Step(Part):
    """One step of a procedure."""

    name: Text
    phase: Phase
    does: Does
    then: Text | None = None
    """Name of the step that follows; left out: the next one of the file."""
    only_for: Text | None = None
    """Variant of the joint that this step belongs to, or one of OF_THE_JOINT; left out: every joint."""
    ask: Text | None = None
    """The question of a check, hold point or measurement."""
    answer: Answer | None = None
    """Check: the answer that passes it."""
    refused: tuple[Answer, ...] = ()
    """Check or hold point: answers that are understood and stop the work; its negation is understood anyway."""
    phrase: HoldPhrase | None = None
    """Hold point: the agreed phrase, at least three words."""
    released_by: Text | None = None
    """Hold point: role that may release it."""
    witness: StrictBool = False
    """Hold point: whoever releases it is asked for the name."""
    groups: tuple[Text, ...] = ()
    """Names of the bolt groups that are worked on, in order; left out: all of the joint."""
    rounds: Annotated[StrictInt, Field(ge=1, le=20)] | None = None
    """Seat: rounds after which a competent person is asked for."""
    tap: Text | None = None
    """Seat: what is tapped before each round, with what."""
    lasts: Duration | Literal["dwell", "until re-check"] | None = None
    """Wait: how long; 'dwell' and 'until re-check' are the joint file's own times."""
    quantity: Literal["temperature", "length"] | None = None
    """Measure: what is measured."""
    limits: Literal["re-check", "pipe fit"] | tuple[float, float] | None = None
    """Measure: lowest and highest figure with which work goes on; 're-check': the joint file's temperatures; 'pipe
    fit': the pipe diameters that a clamp flange takes."""
    unit: Literal["degC", "degF", "mm", "in"] | None = None
    """Measure: unit of the figure and of the limits."""
    who: StrictBool = False
    """Measure: whoever measured is asked for the name."""
    caution: Text | None = None
    """Said to everybody when the step begins."""
    why: Text | None = None
    goes_wrong: Text | None = None
    """What usually goes wrong here; said to an apprentice."""
    ask_back: AskBackStep | None = None
    de: InOtherWords | None = None
    """German texts."""

    @model_validator(mode="after")
    def _fits_what_it_does(self) -> Step:
        findings = [*self._missing(), *self._idle()]
        if findings:
            refuse_all(findings)
        return self

    def _missing(self) -> Iterator[Finding]:
        needed = {
            "check": ("ask", "answer"),
            "hold point": ("ask", "phrase"),
            "measure": ("ask", "quantity", "unit"),
            "wait": ("lasts",),
            "seat": ("tap", "rounds"),
        }
        for key in needed.get(self.does, ()):
            if getattr(self, key) is None:
                yield Finding(key, "", f"step '{self.name}' is a {self.does} and has none", f"{key} = ...")

    def _idle(self) -> Iterator[Finding]:
        belongs = {
            "ask": SPOKEN,
            "answer": ("check",),
            "refused": ("check", "hold point"),
            "phrase": ("hold point",),
            "released_by": ("hold point",),
            "witness": ("hold point",),
            "groups": ON_BOLTS,
            "rounds": ("seat",),
            "tap": ("seat",),
            "lasts": ("wait",),
            "quantity": ("measure",),
            "limits": ("measure",),
            "unit": ("measure",),
            "who": ("measure",),
        }
        for key, does in belongs.items():
            if getattr(self, key) not in (None, (), False) and self.does not in does:
                why = f"step '{self.name}' is a {self.does}"
                yield Finding(key, repr(getattr(self, key)), why, f"only where does is {' or '.join(does)}")


class Procedure(Part):
    """One kind of joint, from permit to close."""

    title: Text
    extends: Text | None = None
    """Kind whose steps this file adds to; a step of the same name replaces that one."""
    variants: tuple[tuple[Text, ...], ...] = ()
    """Alternatives of which a joint has exactly one each, e.g. ["tapered gasket", "rope gasket"]."""
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=200)]

    @model_validator(mode="after")
    def _holds_together(self) -> Procedure:
        findings = [*_twice(self), *_unknown(self)] or [*_unreachable(self)]
        if findings:
            refuse_all(findings)
        return self

    def in_order(self) -> tuple[Step, ...]:
        """The steps as they follow one another."""
        return tuple(self.steps[at] for at in _walk(self))


def _twice(procedure: Procedure) -> Iterator[Finding]:
    names = [step.name.casefold() for step in procedure.steps]
    for at, step in enumerate(procedure.steps):
        if step.name.casefold() in names[:at]:
            yield Finding(f"steps[{at + 1}].name", repr(step.name), "it stands there twice", "a different one for each")


def _unknown(procedure: Procedure) -> Iterator[Finding]:
    names = [step.name for step in procedure.steps]
    variants = [*OF_THE_JOINT, *(each for group in procedure.variants for each in group)]
    for at, step in enumerate(procedure.steps, start=1):
        if step.then is not None and step.then not in names:
            why = f"step '{step.name}' leads to a step that is not there"
            yield Finding(f"steps[{at}].then", repr(step.then), why, f"one of {', '.join(names)}")
        if step.only_for is not None and step.only_for not in variants:
            why = f"step '{step.name}' is for a variant that is not there"
            yield Finding(f"steps[{at}].only_for", repr(step.only_for), why, f"one of {', '.join(variants)}")


def _next(procedure: Procedure, at: int) -> int | None:
    step = procedure.steps[at]
    if step.then is not None:
        return next(n for n, other in enumerate(procedure.steps) if other.name == step.then)
    return at + 1 if at + 1 < len(procedure.steps) else None


def _walk(procedure: Procedure) -> list[int]:
    """Indices of the steps in their order; ends before a step that was there already."""
    order: list[int] = []
    at: int | None = 0
    while at is not None and at not in order:
        order.append(at)
        at = _next(procedure, at)
    return order


def _unreachable(procedure: Procedure) -> Iterator[Finding]:
    order = _walk(procedure)
    back = _next(procedure, order[-1])
    if back is not None:
        last, again = procedure.steps[order[-1]], procedure.steps[back]
        why = f"step '{last.name}' leads back to '{again.name}': a circle"
        yield Finding(
            f"steps[{order[-1] + 1}].then", repr(last.then or again.name), why, "a step that was not there yet"
        )
    for at, step in enumerate(procedure.steps):
        if at not in order:
            yield Finding(
                f"steps[{at + 1}].name", repr(step.name), "nothing leads to this step", "a `then` that names it"
            )
    phases = list(Phase.__args__)  # type: ignore[attr-defined]
    for earlier, later in pairwise(order):
        first, second = procedure.steps[earlier], procedure.steps[later]
        if phases.index(second.phase) < phases.index(first.phase) and second.phase in ("prepare", "assemble"):
            why = f"step '{second.name}' comes after '{first.name}' ({first.phase})"
            yield Finding(
                f"steps[{later + 1}].phase", repr(second.phase), why, f"phases in the order {', '.join(phases)}"
            )


def extended(base: Procedure, own: Procedure) -> Procedure:
    """The steps of `base` with those of `own` that have the same name put in their place, the others behind the last
    step of their phase (or of the phase before).

    Raises:
        pydantic.ValidationError: what comes out does not hold together.
    """
    steps = list(base.in_order())
    for step in own.in_order():
        steps = with_step(steps, step)
    plain = [step.model_copy(update={"then": None}) for step in steps]
    return Procedure.model_validate({"title": own.title, "variants": own.variants or base.variants, "steps": plain})


def with_step(steps: list[Step], step: Step) -> list[Step]:
    """The steps with one more: in the place of the one of its name, or behind the last of its phase."""
    names = [each.name.casefold() for each in steps]
    if step.name.casefold() in names:
        at = names.index(step.name.casefold())
        return [*steps[:at], step, *steps[at + 1 :]]
    phases = list(Phase.__args__)  # type: ignore[attr-defined]
    before = [n for n, each in enumerate(steps) if phases.index(each.phase) <= phases.index(step.phase)]
    at = before[-1] + 1 if before else 0
    return [*steps[:at], step, *steps[at:]]
