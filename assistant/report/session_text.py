"""Where a session stands, as plain text: verdict, what is to be decided, and each stage with what came of it."""

from __future__ import annotations

from assistant.replay.record_fields import JointRecord
from assistant.replay.record_open import pass_words
from assistant.replay.record_work import Bolt, PassDone
from assistant.replay.titles import figure_in, plain


def standing(record: JointRecord) -> list[str]:
    """Lines about a session: the verdict first."""
    lines = [f"{record.joint.name or record.session.folder}: {record.verdict_words}"]
    lines += [f"  to be decided: {each.text}" for each in record.decisions if record.verdict != "accepted"]
    lines += [text for _, text in sorted(_stages(record), key=lambda each: each[0])]
    skipped = [d for d in record.deviations if d.kind == "skipped"]
    if skipped:
        lines.append("skipped on the way: " + "; ".join(f"bolt {d.bolt}: {d.reason}" for d in skipped))
    if record.due:
        lines.append(f"next: {record.due}")
    return lines


def _stages(record: JointRecord) -> list[tuple[int, str]]:
    """(stage, its line) of every stage of the work."""
    found = []
    for asked in (*record.hold_points, *record.checks):
        named = f"“{asked.witness}” (as heard)" if asked.witness else ""
        passed = "passed" + (" (typed)" if asked.typed else "") if asked.passed_utc is not None else ""
        found.append((asked.stage, _line(asked.name, ", ".join(p for p in (passed, named) if p))))
    found += [(w.stage, _line(w.name, w.state if w.state != "not begun" else "")) for w in record.waited]
    for each in record.measurements:
        value = figure_in(each.value, each.said_unit) if each.value is not None else ""
        named = f"“{each.who}” (as heard)" if each.who else ""
        found.append((each.stage, _line(each.name, ", ".join(p for p in (value, named) if p))))
    return [*found, *((each.stage, _pass(each)) for each in record.passes)]


def _line(name: str, came: str) -> str:
    return f"  {name:<18} {came or 'open'}"


def _pass(each: PassDone) -> str:
    on = "" if each.measures else " on the wrench"
    setting = f" at {each.setting.value.normalize():f} {each.setting.unit}{on}" if each.setting else ""
    return f"  {each.group}, {pass_words(each)}{setting}: {', '.join(_bolt(bolt) for bolt in each.bolts)}"


def _bolt(bolt: Bolt) -> str:
    found = []
    for entry in bolt.entries:
        if entry.standing == "counts":
            figures = plain(entry.value.value) if entry.value is not None and entry.kind != "clicked" else entry.kind
            found.append(figures + (" kept" if entry.kind == "reading kept" else ""))
    return f"{bolt.bolt} {'/'.join(found) or 'open'}"
