"""The joint record as one table for a spreadsheet: a row for every bolt in every pass, question, deviation and note.

Comma-separated after RFC 4180 (read), UTF-8; each figure is a plain number in a column that names its unit, so that a
session with two units has two columns. Text that a spreadsheet would take for a formula gets an apostrophe before it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import datetime

from assistant.replay.record_course import COUNTED
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_recheck import limits_words
from assistant.replay.record_work import Asked, Bolt, Happening, PassDone, Torque
from assistant.replay.titles import UNIT_SIGNS, plain
from assistant.report.printable import printable

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""With these a cell is taken for a formula or a command by one spreadsheet or another (public advice on CSV
injection, from memory; the full-width forms too)."""
_FIGURES = ("Target", "Setting", "Low", "High", "Achieved on scale")
_LEAD = (
    "Joint",
    "Tag",
    "Session",
    "Verdict",
    "Row",
    "Time (UTC)",
    "Group",
    "Pass",
    "Kind",
    "Round",
    "Planned place",
    "Order done",
    "Bolt",
)
_TAIL = (
    "Achieved as said",
    "How",
    "Inside window",
    "Movement",
    "Status",
    "Asked",
    "Tries",
    "Probability",
    "Recording",
    "Line",
    "Text",
    "Reason",
)

Row = dict[str, str]


def record_csv(record: JointRecord) -> str:
    """The table, first row as headings, lines ended by CR LF. Write it with the encoding `utf-8-sig`."""
    units = _units(record)
    columns = [*_LEAD, *(_column(name, unit) for name in _FIGURES for unit in units), *_TAIL]
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\r\n")
    writer.writeheader()
    same = {
        "Joint": record.joint.name,
        "Tag": record.joint.tag,
        "Session": record.session.folder,
        "Verdict": record.verdict,
    }
    for row in _rows(record):
        writer.writerow({name: _safe(name, value) for name, value in {**same, **row}.items()})
    return out.getvalue()


def _units(record: JointRecord) -> tuple[str, ...]:
    """Units of planned figures, in the order in which they come up."""
    found = [t.unit for p in record.passes for t in (p.setting, p.target) if t is not None]
    return tuple(dict.fromkeys(found))


def _column(name: str, unit: str) -> str:
    return f"{name} ({UNIT_SIGNS.get(unit, unit)})"


def _safe(column: str, value: str) -> str:
    """Text without control signs, and never a formula; figures as they are."""
    shown = printable(value)
    if column == "Recording" and shown:
        return f"'{shown}"  # a name of figures: without the mark a spreadsheet drops its leading zeros
    if column.startswith(_FIGURES) or not shown.lstrip().startswith(FORMULA_STARTS):
        return shown
    return f"'{shown}"


def _rows(record: JointRecord) -> Iterator[Row]:
    for each in (*record.hold_points, *record.checks):
        yield _asked(each)
    for done in record.passes:
        for bolt in done.bolts:
            yield _bolt(bolt, done)
    yield from _happened("deviation", record.deviations)
    for c in record.corrections:
        yield {
            "Row": "correction",
            "Time (UTC)": _time(c.utc),
            "Group": c.group,
            "Pass": _count(c.pass_number),
            "Round": _count(c.round),
            "Bolt": _count(c.bolt),
            "Recording": c.utterance,
            "Line": str(c.line),
            "Text": f"{c.item}: {c.old} -> {c.new or 'open'} ({c.how})",
        }
    yield from _happened("note", record.notes)
    yield from _around(record)
    for b in record.breaks:
        until = _time(b.to_utc) if b.to_utc else "not continued"
        yield {"Row": "break", "Time (UTC)": _time(b.from_utc), "Text": f"until {until}", "Reason": b.reason}
    for r in record.review.rulings if record.review is not None else ():
        place = {"Group": r.group, "Bolt": _count(r.bolt)}
        yield {"Row": "review", "Time (UTC)": _time(r.utc), **place, "Text": f"{r.kind} by {r.by}", "Reason": r.text}
    for d in record.decisions:
        place = {"Time (UTC)": _time(d.utc), "Group": d.group, "Bolt": _count(d.bolt), "Line": _count(d.line)}
        yield {"Row": "to be decided", "Kind": d.kind, **place, "Recording": d.utterance, "Text": d.text}
    for said in record.cautions:
        place = {"Time (UTC)": _time(said.utc), "Line": str(said.line)}
        yield {"Row": "caution", "Kind": said.how, **place, "Text": said.text}
    yield from _happened("prompt", record.prompts_cut)
    for point in record.open_points:
        yield {"Row": "open", "Text": point}
    for gone in record.missing:
        yield {"Row": "missing", "Text": gone}


def _asked(each: Asked) -> Row:
    return {
        "Row": "hold point" if each.hold else "check",
        "Time (UTC)": _time(each.passed_utc),
        "Status": "passed" if each.passed_utc is not None else "open",
        "Recording": each.utterance,
        "Line": _count(each.line),
        "Text": f"{each.name}: {each.ask} '{each.phrase}'"
        + (f" by {each.role}" if each.role else "")
        + (f", named (as heard): {each.witness}" if each.witness else ""),
        "Reason": "; ".join(each.refused),
    }


def _around(record: JointRecord) -> Iterator[Row]:
    """Waits, measurements, re-check, names, work done over, apprentice: `Kind` says what it is about."""
    for w in record.waited:
        text = f"{w.name}: planned {w.planned_s} s, waited {'-' if w.waited_s is None else w.waited_s} s"
        text += f", {COUNTED[w.counted_by]}" if w.counted_by in COUNTED else ""
        row = {"Time (UTC)": _time(w.ended_utc or w.begun_utc), "Status": w.state, "Recording": w.utterance}
        yield {"Row": "wait", "Kind": w.phase, **row, "Line": _count(w.line), "Text": text, "Reason": w.reason}
    for m in record.measurements:
        said = "" if m.value is None else f"{plain(m.value)} {m.said_unit}"
        yield {
            "Row": "measurement",
            "Kind": m.quantity,
            "Time (UTC)": _time(m.utc),
            "Status": "open" if m.value is None else "measured",
            "Achieved as said": said,
            "Recording": m.utterance,
            "Line": _count(m.line),
            "Text": f"{m.name}; allowed: {limits_words(m) or 'any'}" + (f"; by (as heard): {m.who}" if m.who else ""),
            "Reason": "; ".join(m.refused),
        }
    for r in record.recheck_results:
        done = {"Status": "finished" if r.finished else "open", "Text": r.words}
        yield {"Row": "re-check", "Group": r.group, "Time (UTC)": _time(r.ended_utc), **done}
    for n in record.names:
        place = {"Time (UTC)": _time(n.utc), "Recording": n.utterance, "Line": str(n.line)}
        yield {"Row": "name", "Kind": n.purpose, **place, "Text": f"{n.item}: {n.text}"}
    for d in record.done_over:
        place = {"Time (UTC)": _time(d.utc), "Group": d.group, "Bolt": _count(d.bolt), "Line": str(d.line)}
        text = f"from {d.since}; no longer counts: {'; '.join(d.taken_back) or 'nothing'}"
        yield {"Row": "done over", "Kind": d.kind, **place, "Recording": d.utterance, "Text": text}
    for q in record.questions_back:
        status = {None: "no answer", True: "right"}.get(q.right, "wrong")
        place = {"Time (UTC)": _time(q.utc), "Recording": q.utterance, "Line": str(q.line), "Status": status}
        yield {"Row": "asked back", **place, "Text": f"{q.item}: {q.question} {q.answer}", "Reason": q.reason}
    for a in record.agreements:
        place = {"Time (UTC)": _time(a.utc), "Bolt": _count(a.bolt), "Recording": a.utterance, "Line": str(a.line)}
        yield {"Row": "supervisor", "Kind": a.purpose, **place, "Text": a.item}
    for e in record.look_again:
        place = {"Time (UTC)": _time(e.utc), "Bolt": _count(e.bolt), "Recording": e.utterance, "Line": str(e.line)}
        yield {"Row": "look again", **place, "Text": f"{e.item}: {e.text}"}


def _bolt(bolt: Bolt, done: PassDone) -> Row:
    counting = [entry for entry in bolt.entries if entry.standing == "counts"]
    last = counting[-1] if counting else None
    row = {
        "Row": "bolt",
        "Time (UTC)": _time(last.utc if last is not None else None),
        "Group": done.group,
        "Pass": str(done.number),
        "Kind": done.method or done.kind,
        "Round": str(done.round),
        "Planned place": str(bolt.position),
        "Order done": _count(bolt.turn),
        "Bolt": str(bolt.bolt),
        "Achieved as said": "" if bolt.achieved is None else f"{plain(bolt.achieved.value)} {bolt.achieved.unit}",
        "How": bolt.how + (", typed" if bolt.typed and "typed" not in bolt.how else ""),
        "Inside window": {None: "", True: "yes", False: "no"}[bolt.inside_window],
        "Movement": bolt.movement,
        "Status": bolt.status,
        "Asked": str(bolt.asked),
        "Tries": str(bolt.attempts),
        "Probability": "" if last is None or last.probability is None else f"{last.probability:.4f}",
        "Recording": last.utterance if last is not None else "",
        "Line": _count(last.line if last is not None else None),
        "Text": bolt.remark,
    }
    figures: Iterable[tuple[str, Torque | None]] = zip(
        _FIGURES,
        (done.target, done.setting, done.low, done.high, bolt.on_scale if bolt.achieved else None),
        strict=True,
    )
    for name, value in figures:
        if value is not None:
            row[_column(name, value.unit)] = plain(value.value)
    return row


def _happened(row: str, found: Iterable[Happening]) -> Iterator[Row]:
    for h in found:
        yield {
            "Row": row,
            "Time (UTC)": _time(h.utc),
            "Group": h.group,
            "Pass": _count(h.pass_number),
            "Kind": h.kind,
            "Round": _count(h.round),
            "Bolt": _count(h.bolt),
            "Recording": h.utterance,
            "Line": str(h.line),
            "Text": h.text,
            "Reason": h.reason,
        }


def _count(number: int | None) -> str:
    return "" if number is None else str(number)


def _time(utc: datetime | None) -> str:
    """As spreadsheets read it: day, blank, time of day."""
    return "" if utc is None else f"{utc:%Y-%m-%d %H:%M:%S}"
