"""Holds every surface of one random session against the state that guided it."""

from __future__ import annotations

from dataclasses import fields

from assistant.events import ReadingKept, WaitCutShort
from assistant.procedure import standing
from assistant.procedure.state import State
from assistant.replay.facts import Facts, read_facts
from assistant.replay.record import joint_record
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_story import PURPOSES
from assistant.replay.story import tell
from assistant.replay.titles import plain
from assistant.replay.verdict import verdict
from tests.replay.dialogues import Dialogue, dialogue, reviewed, sources_of
from tests.replay.everywhere import agreed_verdict, lines_named, rows_of
from tests.replay.rests_on import check_rests


def check_agreement(seed: int, *, page: bool) -> str:
    """Run a dialogue and compare everything; the verdict. AssertionError names what differs."""
    made = dialogue(seed)
    review, _ = reviewed(made, seed)
    sources = sources_of(made, review if made.state.closed else None)
    facts = read_facts(made.lines)
    record = joint_record(sources, facts)
    _state(made.state, facts)
    _places(made.state, record)
    _entries(made, record)
    _around(made.state, record)
    _table(record)
    _verdict(made, record)
    _lines(made, record)
    _story(made, record, facts)
    token = agreed_verdict(record, facts, page=page)
    assert token == record.verdict == verdict(record).token
    return token


def _state(live: State, facts: Facts) -> None:
    """The fold of the lines is the live state, in every field."""
    for each in fields(State):
        assert getattr(facts.state, each.name) == getattr(live, each.name), each.name
    assert facts.misfits == () and len(facts.recorded_by) == len(live.entries)


def _places(live: State, record: JointRecord) -> None:
    """What the record calls done, moved and open is what the guide goes by."""
    last = standing.last_rounds(live)
    for each in record.passes:
        done = {bolt.bolt for bolt in each.bolts if bolt.status != "open"}
        assert done == live.done(each.stage, each.round), (each.stage, each.round)
        for bolt in each.bolts:
            here = [
                e for e in live.entries if e.valid and (e.stage, e.round, e.bolt) == (each.stage, each.round, bolt.bolt)
            ]
            figures = [e.reading for e in here if e.reading is not None]
            said = None if bolt.achieved is None else (bolt.achieved.value, bolt.achieved.unit)
            assert said == ((figures[-1].value, figures[-1].unit) if figures else None), bolt
            kept = bool(figures) and [e for e in here if e.reading is not None][-1].event is ReadingKept
            assert kept == (
                bolt.on_scale is not None
                and any(e.kind == "reading kept" and e.standing == "counts" for e in bolt.entries)
            )
            assert (bolt.status == "kept outside window") == (kept and bolt.bolt in done), bolt
    rounds: dict[int, int] = {}
    for each in record.passes:
        rounds[each.stage] = max(rounds.get(each.stage, 0), each.round)
    assert all(rounds[stage] >= number for stage, number in last.items())
    finished = live.finished and not live.closed
    assert record.whole == live.closed and (
        live.closed or finished or bool(standing.open_places(live)) or bool(record.due)
    )
    if live.closed:
        assert standing.open_places(live) == () and standing.moved_last(live) == ()
        assert record.due == "" and all(b.status != "open" for p in record.passes for b in p.bolts)
    elif live.current_pass is not None and live.bolt is not None:
        assert record.due.startswith(f"bolt {live.bolt} of ")
    elif live.item is not None:
        assert getattr(live.item, "name", "") in record.due


def _entries(made: Dialogue, record: JointRecord) -> None:
    """Each entry stands in the record once, taken back where the state says so, at the line that recorded it."""
    live = made.state
    recorded = {entry.entry: entry for each in record.passes for bolt in each.bolts for entry in bolt.entries}
    left_out = {e.number for e in live.entries if e.bolt is not None} - set(recorded)
    # rounds that a new bolt or a restart did over are told there as a whole; others were taken back one by one
    assert not left_out or record.done_over or record.corrections
    assert not any(e.valid for e in live.entries if e.number in left_out)
    for entry in live.entries:
        if entry.bolt is not None and entry.number in recorded:
            told = recorded[entry.number]
            assert (told.standing == "taken back") == (not entry.valid), entry
            event = made.lines[told.line - 1].event
            assert type(event) is entry.event and event.entry == entry.number  # type: ignore[attr-defined]
    told_back = sum(len(each.taken_back) for each in record.done_over)
    taken = [e for e in live.entries if not e.valid]
    replaced = [c for c in record.corrections if c.how == "replaced"]
    names = sum(line.event.kind == "name-taken-back" for line in made.lines)
    assert len(record.corrections) - len(replaced) - names + told_back == len(taken)
    assert names == sum(not n.counts and n.purpose in PURPOSES for n in record.names)


def _around(live: State, record: JointRecord) -> None:
    for each in (*record.hold_points, *record.checks):
        done = None in live.done(each.stage, 1)
        assert done == (each.passed_utc is not None and bool(each.witness or not each.witness_wanted)), each.name
    for each in record.measurements:
        done = None in live.done(each.stage, 1)
        assert done == (each.value is not None and bool(each.who or not each.who_wanted)), each.name
        figures = [e.reading for e in live.entries if e.valid and e.stage == each.stage and e.reading is not None]
        assert each.value == (figures[-1].value if figures else None)
    for each in record.waited:
        assert (each.state in ("over", "cut short")) == (None in live.done(each.stage, 1)), each.name
        assert each.state != "running" or each.stage in live.waits


def _table(record: JointRecord) -> None:
    """The table for a spreadsheet says of each bolt what the record says."""
    rows = [row for row in rows_of(record) if row["Row"] == "bolt"]
    bolts = [(each, bolt) for each in record.passes for bolt in each.bolts]
    for row, (each, bolt) in zip(rows, bolts, strict=True):
        assert (row["Group"], row["Round"], row["Bolt"]) == (each.group, str(each.round), str(bolt.bolt))
        assert (row["Status"], row["Movement"]) == (bolt.status, bolt.movement)
        said = "" if bolt.achieved is None else f"{plain(bolt.achieved.value)} {bolt.achieved.unit}"
        assert row["Achieved as said"] == said and row["Order done"] == ("" if bolt.turn is None else str(bolt.turn))
        assert bolt.turn is None or row["Line"] == str(max(e.line for e in bolt.entries if e.standing == "counts"))
    assert sum(row["Row"] == "to be decided" for row in rows_of(record)) == len(record.decisions)


def _verdict(made: Dialogue, record: JointRecord) -> None:
    """The verdict, told anew from the bare events: nothing good where anything speaks against it."""
    live = made.state
    kinds = {line.event.kind for line in made.lines}
    rulings = [r.kind for r in record.review.rulings] if record.review is not None else []
    last = next((r for r in reversed(rulings) if r in ("accepted", "redo")), "")
    redo = "redo" in rulings  # nobody signs here, and an acceptance that is not signed lifts nothing
    if record.session.how:
        wanted = {"rehearsal"}
    elif redo:
        wanted = {"to-redo"}
    elif not live.closed:
        wanted = {"open"}
    elif last == "accepted":
        wanted = {"to-decide" if record.decisions else "accepted"}
    else:
        wanted = {"to-decide", "complete"}
    assert record.verdict in wanted, (record.verdict, wanted)
    if record.verdict == "complete":
        assert not [e for e in live.entries if e.valid and e.event in (ReadingKept, WaitCutShort)]
        assert "finding-made" not in kinds
        assert not any(
            line.event.answer in made.work.items[line.event.stage - 1].refused  # type: ignore[attr-defined,union-attr]
            for line in made.lines
            if line.event.kind == "question-refused"
        )
        heard = {line.event.utterance: line.event for line in made.lines if line.event.kind == "utterance-heard"}  # type: ignore[attr-defined]
        assert all(heard[e.utterance].audio_sha256 for e in live.entries if e.valid and e.utterance)


def _lines(made: Dialogue, record: JointRecord) -> None:
    """Every part of the record rests on a line that is there and says it."""
    for part, line in lines_named(record.model_copy(update={"review": None})):
        assert 1 <= line <= len(made.lines), part
    check_rests(record, made.lines)


def _story(made: Dialogue, record: JointRecord, facts: Facts) -> None:
    """The page's last picture shows of each bolt what the record says."""
    story = tell(record, facts)
    assert story.record is record
    for group, signs in zip(story.groups, story.final, strict=True):
        for bolt, sign in zip(group.bolts, signs, strict=True):
            last = {p.stage: p for p in record.passes if p.group == group.name}
            open_ = any(b.bolt == bolt and b.status == "open" for p in last.values() for b in p.bolts)
            assert open_ == (sign in "ps"), (group.name, bolt, sign)
            here = [b for p in record.passes if p.group == group.name for b in p.bolts if b.bolt == bolt]
            kept = any(b.status == "kept outside window" for b in here)
            assert (kept and not open_) == (sign == "o"), (group.name, bolt, sign)
    del made
