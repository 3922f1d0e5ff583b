"""A procedure file as a Mermaid statechart, phase by phase, hold points marked."""

from __future__ import annotations

from itertools import groupby, pairwise

from assistant.bolting.joint_file.joint_fields import as_written
from assistant.bolting.units import REGISTRY
from assistant.procedure.kinds import DWELL, Procedure, Step

ROUND = ("circular pass", "seat")
HOLD = "classDef hold fill:#ffe0b3,stroke:#b34700,stroke-width:4px,color:#000"


def statechart(procedure: Procedure) -> str:
    """The chart of all steps; variants stand side by side, steps for joints with a dwell can be passed by."""
    steps = procedure.in_order()
    names = {step.name: f"s{number}" for number, step in enumerate(steps, start=1)}
    lines = ["stateDiagram-v2", f"  {HOLD}"]
    phases = [(phase, list(own)) for phase, own in groupby(steps, key=lambda step: step.phase)]
    for number, (phase, own) in enumerate(phases, start=1):
        lines.append(f'  state "{phase}" as p{number} {{')
        lines += [f"    {line}" for line in _phase(own, names, procedure)]
        lines.append("  }")
    lines += ['  state "close" as close {', '    state "closing (hold point)" as closing', "    [*] --> closing"]
    lines += ["    closing --> [*]: close the joint", "  }", *_between([phase for phase, _ in phases])]
    holds = [names[step.name] for step in steps if step.does == "hold point"]
    return "\n".join([*lines, f"  class {','.join([*holds, 'closing'])} hold"])


def _between(phases: list[str]) -> list[str]:
    """The arrows from phase to phase; the re-check is only where the joint file has one."""
    ids = [*(f"p{number}" for number in range(1, len(phases) + 1)), "close"]
    lines = [f"  [*] --> {ids[0]}"]
    for at, (one, two) in enumerate(pairwise(ids)):
        lines.append(f"  {one} --> {two}")
        if at + 1 < len(phases) and phases[at + 1] == "re-check":
            lines.append(f"  {one} --> {ids[at + 2]}: no re-check in the joint file")
    return [*lines, "  close --> [*]"]


def _phase(steps: list[Step], names: dict[str, str], procedure: Procedure) -> list[str]:
    lines = [f'state "{_title(step)}" as {names[step.name]}' for step in steps]
    ways = [("[*]", "")]  # state, label of the arrow that leaves it
    past: list[tuple[str, str]] = []  # ways past steps that only a joint with a dwell has
    for slot in _slots(steps, procedure):
        if not _needs_dwell(slot[0]):
            ways, past = [*ways, *past], []
        elif not past:
            past = [(here, ", ".join(filter(None, (label, "no dwell")))) for here, label in ways]
        entered = [(here, label, step) for here, label in ways for step in slot]
        for here, label, step in entered:
            condition = step.only_for if step.only_for not in (None, DWELL) else ""
            told = ", ".join(part for part in (label, condition) if part)
            lines.append(f"{here} --> {names[step.name]}{': ' + told if told else ''}")
        ways = [(names[step.name], _opens(step)) for step in slot]
    return [*lines, *(f"{here} --> [*]{': ' + label if label else ''}" for here, label in (*ways, *past))]


def _slots(steps: list[Step], procedure: Procedure) -> list[list[Step]]:
    """Steps one after another; those of variants of which a joint has only one stand side by side."""
    slots: list[list[Step]] = []
    for step in steps:
        group = next((g for g in procedure.variants if step.only_for in g), None)
        beside = (
            slots and group is not None and slots[-1][0].only_for in group and slots[-1][0].only_for != step.only_for
        )
        if beside:
            slots[-1].append(step)
        else:
            slots.append([step])
    return slots


def _needs_dwell(step: Step) -> bool:
    return step.only_for == DWELL or step.lasts == DWELL


def _title(step: Step) -> str:
    kind = {"tools": "each wrench", "passes": "passes of the plan"}.get(step.does, step.does)
    groups = f" on {', '.join(step.groups)}" if step.groups and step.does != "check" else ""
    named = ", with a name" if step.witness or step.who else ""
    return f"{step.name} ({kind}{groups}{named}){_stays(step)}".replace('"', "'")


def _opens(step: Step) -> str:
    """What is said, or has to be the case, to leave the step."""
    if step.does == "wait":
        how_long = as_written(step.lasts) if isinstance(step.lasts, REGISTRY.Quantity) else step.lasts
        return "time is up" if how_long == "until re-check" else f"{how_long} over"
    if step.does in ROUND:
        return "no nut moved"
    told = {"tools": "ready", "measure": "figure within the limits", "snug": "all snug", "passes": "all in the window"}
    return step.phrase or step.answer or told[step.does]


def _stays(step: Step) -> str:
    """What keeps the work at this step: answers that stop it, rounds that are repeated, a figure outside."""
    if step.refused:
        return f"<br/>stops at: {', '.join(step.refused)}"
    if step.does in ROUND:
        rounds = f"; after {step.rounds} rounds a competent person" if step.rounds else ""
        return f"<br/>again while a nut moves{rounds}"
    return "<br/>not on with a figure outside" if step.does == "measure" else ""
