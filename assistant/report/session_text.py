"""Where a session stands, as plain text: each pass with its bolts, what is open, what was out of the ordinary."""

from __future__ import annotations

from assistant.events import Measured, Pass
from assistant.procedure.state import Entry, State

SIGNS = {"bolt-snugged": "snug", "bolt-held": "held", "bolt-moved": "moved", "clicked-at-setting": "clicked"}


def standing(state: State) -> list[str]:
    """Lines about a session's state."""
    lines = [f"{state.work.joint}: {'closed' if state.closed else 'NOT FINISHED'}"]
    for stage, item in enumerate(state.stages, start=1):
        lines += _pass(state, stage, item) if isinstance(item, Pass) else [_question(state, stage, item.name)]
    if state.skipped:
        lines.append("skipped on the way: " + "; ".join(f"bolt {bolt}: {reason}" for _, bolt, reason in state.skipped))
    if not state.closed and state.item is not None:
        due = state.current_pass
        lines.append(
            f"next: bolt {state.bolt}, {_title(due)}"
            if due is not None
            else f"next: {state.question.name if state.question else ''}"
        )
    return lines


def _question(state: State, stage: int, name: str) -> str:
    done = any(e.valid and e.stage == stage for e in state.entries)
    return f"  {name:<18} {'passed' if done else 'open'}"


def _title(item: Pass) -> str:
    return {"snug": "snug", "circular": "circular pass"}.get(item.kind, f"pass {item.number}")


def _pass(state: State, stage: int, item: Pass) -> list[str]:
    setting = f" at {_figure(item.setting)} on the wrench" if item.setting is not None else ""
    lines = []
    rounds = sorted({e.round for e in state.entries if e.valid and e.stage == stage}) or [1]
    for number in rounds:
        title = _title(item) + (f", round {number}" if len(rounds) > 1 else "") + setting
        bolts = ", ".join(_bolt(state, stage, number, bolt) for bolt in item.bolts)
        lines.append(f"  {item.group}, {title}: {bolts}")
    return lines


def _bolt(state: State, stage: int, round_number: int, bolt: int) -> str:
    entries = [e for e in state.entries if e.valid and (e.stage, e.round, e.bolt) == (stage, round_number, bolt)]
    return f"{bolt} {'/'.join(_entry(e) for e in entries) or 'open'}"


def _entry(entry: Entry) -> str:
    if entry.reading is None:
        return SIGNS.get(entry.kind, entry.kind)
    return _figure(entry.reading).split()[0] + (" kept" if entry.kind == "reading-kept" else "")


def _figure(value: Measured) -> str:
    return f"{value.value.normalize():f} {value.unit}"
