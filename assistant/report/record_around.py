"""What a joint record says of the work around the bolts, as blocks: waits, measurements, re-check, names, work done
over, an apprentice's session.
"""

from __future__ import annotations

from assistant.replay.record_course import COUNTED, BackQuestion, MeasuredFigure, RecheckDone, Waited
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_recheck import limits_words
from assistant.replay.titles import AGREED_TO, MISHEARD, PURPOSES, clock, figure_in, length_words
from assistant.report.printable import printable
from assistant.report.record_blocks import Block, cells

MOST_TAKEN_BACK = 12


def around_blocks(record: JointRecord) -> tuple[Block, ...]:
    """What there is of it, in the order of the work."""
    found = (
        *(_rechecks(record)),
        _waits(record),
        _measurements(record),
        _done_over(record),
        _names(record),
    )
    return tuple(block for block in found if block.rows)


def apprentice_blocks(record: JointRecord) -> tuple[Block, ...]:
    """Questions, the supervisor's agreements, and what to look at again; nothing where no apprentice was guided."""
    if not record.session.apprentice:
        return ()
    asked = Block(
        title="Asked of the apprentice",
        head=("When (UTC)", "Before", "Question", "Answer", "Why, in own words", "Recording"),
        rows=tuple(_asked(each) for each in record.questions_back),
        widths=(28, 32, 44, 34, 32, 20),
    )
    agreed = Block(
        title="Supervisor agreed",
        head=("When (UTC)", "At", "To what", "Recording"),
        rows=tuple(
            cells(clock(a.utc), _at(a.item, a.bolt), AGREED_TO.get(a.purpose, a.purpose), a.utterance or "-")
            for a in record.agreements
        ),
        widths=(30, 70, 60, 20),
    )
    again = Block(
        title="Moments to look at again",
        head=("When (UTC)", "At", "What happened", "Recording"),
        rows=tuple(cells(clock(e.utc), _at(e.item, e.bolt), e.text, e.utterance or "-") for e in record.look_again),
        widths=(30, 50, 80, 20),
    )
    return tuple(block for block in (asked, agreed, again) if block.rows)


def _at(item: str, bolt: int | None) -> str:
    return f"{item}, bolt {bolt}" if bolt is not None else item


def _asked(each: BackQuestion) -> tuple[str, ...]:
    wrong = f"{each.answer}: wrong, right is {each.expects}"
    verdict = {None: "no answer", True: f"{each.answer}: right"}.get(each.right, wrong)
    recording = ", ".join(name for name in (each.utterance, each.reason_utterance) if name)
    return cells(clock(each.utc), each.item, each.question, verdict, each.reason or "-", recording or "-")


def _rechecks(record: JointRecord) -> tuple[Block, ...]:
    if not record.recheck_results:
        return ()
    rows = tuple(_recheck(each) for each in record.recheck_results)
    head = ("Group", "Temperature", "Expected of the preload", "Nuts that moved", "Readings", "From, to (UTC)")
    return (Block(title="Re-check results", head=head, rows=rows, widths=(24, 36, 30, 40, 30, 34)),)


def _recheck(each: RecheckDone) -> tuple[str, ...]:
    expected = "-" if each.expected_percent is None else f"about {each.expected_percent} % of that at assembly"
    moved = "; ".join(
        f"round {n}: {', '.join(map(str, bolts)) or 'none'}" for n, bolts in enumerate(each.moved, start=1)
    )
    span = each.lowest if each.lowest == each.highest else f"{each.lowest} to {each.highest}"
    readings = f"{each.readings}: {span}" if each.readings else "none spoken"
    times = " to ".join(clock(t) for t in (each.begun_utc, each.ended_utc) if t is not None)
    done = "" if each.finished else " NOT FINISHED"
    return cells(each.group, "; ".join(each.measured) or "-", expected, (moved or "-") + done, readings, times)


def _waits(record: JointRecord) -> Block:
    head = ("Wait", "Planned", "Waited", "From (UTC)", "To (UTC)", "How it ended")
    return Block(
        title="Waits",
        head=head,
        rows=tuple(_wait(each) for each in record.waited),
        widths=(34, 20, 20, 30, 30, 56),
    )


def _wait(each: Waited) -> tuple[str, ...]:
    ended = {
        "not begun": "not begun",
        "running": "NOT OVER",
        "over": f"over, {COUNTED[each.counted_by]}" if each.counted_by in COUNTED else "over",
        "cut short": f"CUT SHORT by {length_words(each.left_s or 0)}: {each.reason}",
    }[each.state]
    times = (clock(t) if t is not None else "-" for t in (each.begun_utc, each.ended_utc))
    waited = "-" if each.waited_s is None else length_words(each.waited_s)
    return cells(each.name, length_words(each.planned_s), waited, *times, ended)


def _measurements(record: JointRecord) -> Block:
    head = ("Measured", "Value", "Allowed", "By, as heard", "When (UTC)", "Refused before", "Recording")
    return Block(
        title="Measurements",
        head=head,
        rows=tuple(_measured(each) for each in record.measurements),
        widths=(30, 20, 28, 26, 28, 38, 20),
    )


def _measured(each: MeasuredFigure) -> tuple[str, ...]:
    value = "OPEN" if each.value is None else figure_in(each.value, each.said_unit)
    recording = ", ".join(name for name in (each.utterance, each.who_utterance) if name)
    name = f"{each.name} ({each.phase})"
    when = clock(each.utc) if each.utc is not None else "-"
    who = each.who or "-"
    return cells(name, value, limits_words(each) or "-", who, when, "; ".join(each.refused) or "-", recording or "-")


def _done_over(record: JointRecord) -> Block:
    rows = []
    for each in record.done_over:
        what = f"bolt {each.bolt} replaced" if each.kind == "bolt replaced" else each.kind
        shown = "; ".join(each.taken_back[:MOST_TAKEN_BACK])
        more = len(each.taken_back) - MOST_TAKEN_BACK
        gone = (shown + (f"; and {more} more" if more > 0 else "")) or "nothing"
        rows.append(cells(clock(each.utc), f"{what}, {each.group}", each.since, gone, each.utterance or "-"))
    return Block(
        title="Bolts replaced, passes done over",
        head=("When (UTC)", "What", "Done over from", "No longer counts", "Recording"),
        rows=tuple(rows),
        widths=(28, 34, 34, 66, 20),
    )


def _names(record: JointRecord) -> Block:
    rows = tuple(
        cells(
            clock(n.utc),
            PURPOSES.get(n.purpose, n.purpose) + (f" ({n.role})" if n.role else ""),
            n.text + ("" if n.counts else " (taken back)"),
            n.item,
            n.utterance or "-",
        )
        for n in record.names
    )
    return Block(
        title="Names spoken",
        head=("When (UTC)", "What for", "Name, as heard", "At", "Recording"),
        rows=rows,
        widths=(30, 46, 42, 44, 20),
        lines=(printable(MISHEARD),),
    )
