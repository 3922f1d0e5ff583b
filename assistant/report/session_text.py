"""Where a session stands, as plain text: each pass with its bolts, what is open, what was out of the ordinary."""

from __future__ import annotations

from assistant.events import Item, Measured, Pass
from assistant.procedure.state import Entry, State
from assistant.replay.titles import comes_after_wait, figure_in, item_title, pass_title

SIGNS = {"bolt-snugged": "snug", "bolt-held": "held", "bolt-moved": "moved", "clicked-at-setting": "clicked"}


def standing(state: State) -> list[str]:
    """Lines about a session's state."""
    lines = [f"{state.work.joint}: {'closed' if state.closed else 'NOT FINISHED'}"]
    for stage, item in enumerate(state.stages, start=1):
        lines += _pass(state, stage, item) if isinstance(item, Pass) else [_other(state, stage, item)]
    if state.skipped:
        lines.append("skipped on the way: " + "; ".join(f"bolt {bolt}: {reason}" for _, bolt, reason in state.skipped))
    if not state.closed and state.item is not None:
        due = state.current_pass
        name = item_title(state.stages, state.stage, state.round)
        lines.append(f"next: bolt {state.bolt}, {name}" if due is not None else f"next: {name}")
    return lines


def _other(state: State, stage: int, item: Item) -> str:
    """A question, a wait or a measurement, with what came of it and whoever was named."""
    words = {"question-answered": "passed", "wait-over": "over", "wait-cut-short": "cut short"}
    found = []
    for entry in state.entries:
        if entry.valid and entry.stage == stage:
            figures = "" if entry.reading is None else figure_in(entry.reading.value, entry.reading.unit)
            named = f"“{entry.text}” (as heard)" if entry.kind == "name-kept" else ""
            found.append(figures or named or words.get(entry.kind, entry.kind))
    return f"  {item.name if not isinstance(item, Pass) else '':<18} {', '.join(found) or 'open'}"


def _title(state: State, stage: int, item: Pass) -> str:
    known = pass_title(item, after_wait=comes_after_wait(state.stages, stage)).split(",")[0]
    return known[0].lower() + known[1:]


def _pass(state: State, stage: int, item: Pass) -> list[str]:
    setting = f" at {_figure(item.setting)} on the wrench" if item.setting is not None else ""
    lines = []
    rounds = sorted({e.round for e in state.entries if e.valid and e.stage == stage}) or [1]
    for number in rounds:
        title = _title(state, stage, item) + (f", round {number}" if len(rounds) > 1 else "") + setting
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
