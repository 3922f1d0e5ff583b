"""The steps of a joint: its kind's procedure with the joint file's own hold points, checks and variants. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_people import Check, HoldPoint, InOtherWords
from assistant.errors import BadJointFile
from assistant.procedure.kinds import DWELL, HOT, MULTIPLIED, TWO_LENGTHS, Procedure, Step, with_step


def steps_of(joint: Joint, procedure: Procedure) -> tuple[Step, ...]:
    """The procedure's steps for this joint: its variants only, with its own hold points and checks.

    A hold point or check of the joint file takes the place of the step of that name; others come last in their phase.

    Raises:
        BadJointFile: not exactly one of each set of variants is chosen.
    """
    _check_variants(joint, procedure)
    here = (None, *joint.variants, *_traits(joint))
    steps = [s for s in procedure.in_order() if s.only_for in here]
    if not joint.rechecks:
        steps = [s for s in steps if s.phase != "re-check"]
    if any("wrench" in check.name.casefold() for check in joint.checks):
        steps = [s for s in steps if s.does != "tools"]
    for own in _own_steps(joint, steps):
        steps = with_step(steps, own)
    return tuple(steps)


def _traits(joint: Joint) -> Iterator[str]:
    """What the joint has of `kinds.OF_THE_JOINT`."""
    if any(joint.tightening_of(group).dwell is not None for group in joint.groups):
        yield DWELL
    if joint.rechecks and joint.rechecks[0].kind == "hot":
        yield HOT
    if any(group.other_lengths for group in joint.groups):
        yield TWO_LENGTHS
    if any(group.multiplier is not None for group in joint.groups):
        yield MULTIPLIED


def _check_variants(joint: Joint, procedure: Procedure) -> None:
    known = [each for group in procedure.variants for each in group]
    for each in joint.variants:
        if each not in known:
            allowed = f"one of {', '.join(known)}" if known else "no variants: this procedure has none"
            raise BadJointFile(f"{joint.name}: variants names {each!r}, unknown to the procedure", remedy=allowed)
    for group in procedure.variants:
        if len(set(group) & set(joint.variants)) != 1:
            raise BadJointFile(
                f"{joint.name}: variants is {list(joint.variants)!r}", remedy=f"exactly one of {', '.join(group)}"
            )


def _own_steps(joint: Joint, steps: list[Step]) -> Iterator[Step]:
    there = {step.name.casefold(): step for step in steps}
    for hold in joint.hold_points:
        kept = _kept(there.get(hold.name.casefold()))
        own: dict[str, object] = {
            "name": hold.name,
            "phase": hold.phase,
            "does": "hold point",
            "ask": hold.ask,
            "phrase": hold.phrase,
        }
        own |= {"released_by": hold.released_by, "witness": hold.witness or kept.get("witness", False)}
        yield Step.model_validate(kept | own | _own_words(hold, kept))
    for check in joint.checks:
        kept = {k: v for k, v in _kept(there.get(check.name.casefold())).items() if k != "witness"}
        own = {"name": check.name, "phase": check.phase, "does": "check", "ask": check.ask, "answer": check.answer}
        own |= {"refused": check.refused}
        yield Step.model_validate(kept | own | _own_words(check, kept))


def _own_words(own: HoldPoint | Check, kept: dict[str, object]) -> dict[str, object]:
    """Its reason, and its texts in the other language; a reason of its own is not followed by the usual one's."""
    base = kept.get("de")
    there = base.model_dump(exclude_none=True) if isinstance(base, InOtherWords) else {}
    if own.why:
        there.pop("why", None)
    there |= own.de.model_dump(exclude_none=True) if own.de is not None else {}
    return ({"why": own.why} if own.why else {}) | {"de": InOtherWords(**there) if there else None}


def _kept(base: Step | None) -> dict[str, object]:
    """What a joint file's own question keeps of the step whose place it takes; its question is another one."""
    if base is None:
        return {}
    found = {k: getattr(base, k) for k in ("caution", "why", "goes_wrong", "ask_back", "witness")}
    if base.de is not None:
        found["de"] = base.de.model_copy(update={"ask": None})
    return {k: v for k, v in found.items() if v}
