"""The joint record as data: it agrees with the state, tells every repair, and says what is missing."""

from __future__ import annotations

import json
import random
import shutil
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from assistant.config.joint_file import parse_joint
from assistant.errors import BadSession
from assistant.events import (
    Alternative,
    BoltSnugged,
    Measured,
    ReadingAccepted,
    ReadingImpossible,
    SessionLeft,
    SessionOpened,
    SessionResumed,
    SoundLost,
)
from assistant.journal.beginning import Beginning
from assistant.journal.reading import read_session
from assistant.replay.comparison import compare
from assistant.replay.facts import read_facts
from assistant.replay.rebuild import rebuild_state
from assistant.replay.record import Sources, joint_record
from assistant.replay.record_fields import JointRecord, record_schema
from assistant.replay.record_open import pass_words
from assistant.replay.record_steps import KINDS, passes_done
from assistant.report.record_csv import record_csv
from assistant.report.record_pdf import MOST_ROWS, record_pdf
from assistant.report.record_text import record_text
from tests.replay.telling import record_of
from tests.replay.worked import DEMOS, START, Technician, Worked, golden


def most_answers(count: int):
    """A technician who leaves after so many answers."""
    technician, left = Technician(), iter(range(count))
    return lambda state: technician(state) if next(left, None) is not None else None


def bolt(record: JointRecord, number: int, pass_number: int):
    (found,) = [
        b for p in record.passes if p.number == pass_number and p.kind != "snug" for b in p.bolts if b.bolt == number
    ]
    return found


# ------------------------------------------------------------------------------------------------ agrees with the state
@pytest.mark.parametrize("stream", ["plain", "repairs", "rounds", "standing-still"])
def test_at_every_moment_the_record_counts_what_the_state_counts(tmp_path, stream):
    entries = read_session(Worked(tmp_path).say(*golden(stream)).close()).entries
    for cut in {*range(0, len(entries), 4), len(entries)}:
        state = rebuild_state(e.event for e in entries[:cut])
        facts = read_facts(entries[:cut])
        recorded = [e for p in passes_done(facts) for b in p.bolts for e in b.entries]
        taken_back = {e.entry for e in recorded if e.standing == "taken back"}
        assert taken_back == {e.number for e in state.entries if not e.valid and e.bolt is not None}
        assert {e.entry for e in recorded} == {e.number for e in state.entries if e.bolt is not None}
        for each in passes_done(facts):
            done = {b.bolt for b in each.bolts if b.status != "open"}
            assert done == state.done(each.stage, each.round), (cut, each.stage, each.round)


def test_a_finished_joint_is_complete_and_every_bolt_has_its_passes(done_session):
    record = record_of(done_session)
    assert record.complete and record.session.state == "sealed" and record.missing == ()
    assert record.verification is not None and record.verification.good
    assert [(p.kind, p.number, p.round) for p in record.passes] == [
        ("snug", 0, 1), ("pattern", 1, 1), ("pattern", 2, 1), ("pattern", 3, 1), ("circular", 4, 1), ("circular", 4, 2),
        ("circular", 4, 1), ("circular", 4, 2), ("circular", 4, 1), ("circular", 4, 2),
    ]  # fmt: skip
    assert [pass_words(p) for p in record.passes[4::2]] == [
        "circular pass, round 1", "circular pass after the wait, round 1", "re-check, round 1",
    ]  # fmt: skip
    assert [b.bolt for b in record.passes[1].bolts] == [1, 5, 3, 7, 2, 6, 4, 8]
    assert record.passes[4].moved == (2,) and record.passes[4].still is False and record.passes[5].still is True
    last = bolt(record, 5, 3)
    assert last.how == "reading spoken" and last.inside_window and last.attempts == 1 and last.asked == 0
    assert record.passes[3].setting.value == 170 and record.passes[3].target.value == Decimal("170.5")


@pytest.mark.parametrize("demo", sorted(DEMOS.glob("*.toml")), ids=lambda p: p.stem)
def test_every_kind_of_joint_is_identified_with_basis_and_tools(demo_sessions, demo):
    record = record_of(demo_sessions[demo.stem])
    assert record.complete and record.joint.instruction and record.joint.revision and record.joint.tag
    assert record.groups and all(g.thread and g.grade and g.condition and g.target and g.reasons for g in record.groups)
    assert all(sorted(g.sequence) == list(range(1, g.bolts + 1)) for g in record.groups)
    assert record.tools and all(t.valid_on_day for t in record.tools if t.kind != "adapter")
    assert all(t.serial and t.groups for t in record.tools)
    assert {q.name for q in record.hold_points} >= {"lock-out", "closing"}
    assert all(q.passed_utc and q.line for q in (*record.hold_points, *record.checks))


def test_clicks_are_reports_at_a_setting_and_never_readings(demo_sessions):
    record = record_of(demo_sessions["north-sluice-conveying-pipe-coupling"])
    clicked = [b for p in record.passes if p.group == "joint bolts" and p.kind == "pattern" for b in p.bolts]
    assert clicked and all(
        b.how == "clicked at setting" and b.achieved is None and b.inside_window is None for b in clicked
    )
    assert {b.on_scale.value for b in clicked} == {75, 150}


# ----------------------------------------------------------------------------------------------- repairs, one by one
def test_a_reading_in_another_unit_is_kept_as_said_and_converted(repairs_session):
    five = bolt(record_of(repairs_session), 5, 1)
    assert (five.achieved.value, five.achieved.unit) == (38, "lbf*ft")
    assert (
        five.on_scale.unit == "N*m" and abs(float(five.on_scale.value) - 38 * 1.3558) < 0.01
    )  # NIST SP 811: 1.355 818
    assert five.inside_window and five.asked == 1


def test_a_kept_reading_stands_with_its_reason_and_waits_for_the_lead(repairs_session):
    record = record_of(repairs_session)
    three = bolt(record, 3, 2)
    assert three.status == "kept outside window" and three.inside_window is False and "nut face" in three.remark
    (kept,) = [d for d in record.deviations if d.kind == "kept outside window"]
    assert (kept.bolt, kept.pass_number, kept.reason) == (3, 2, "nut face is damaged, lead agreed")
    assert any("To be decided: Bolt 3 was kept at 90 N·m, outside its window" in point for point in record.open_points)


def test_a_correction_has_its_old_and_new_value_and_both_lines(repairs_session):
    (correction,) = record_of(repairs_session).corrections
    assert (correction.bolt, correction.old, correction.new, correction.how) == (3, "52 N·m", "53 N·m", "taken back")
    lines = {e.seq: e.event for e in read_session(repairs_session).entries}
    old, new = lines[correction.old_line], lines[correction.new_line]
    assert isinstance(old, ReadingAccepted) and old.achieved == Measured(Decimal("52"), "N*m")
    assert isinstance(new, ReadingAccepted) and new.achieved == Measured(Decimal("53"), "N*m")
    assert lines[correction.line].kind == "entry-taken-back"


def test_what_happened_is_listed_in_order_with_place_and_sound(repairs_session):
    record = record_of(repairs_session)
    findings = [d for d in record.deviations if "finding" in d.kind or d.kind == "what changed"]
    assert findings and findings[0].kind == "finding" and findings[0].text.startswith("FINDING 1 at ")
    assert {d.kind for d in findings} <= {"finding", "finding described", "what changed", "finding settled"}
    others = [d.kind for d in record.deviations if d not in findings]
    assert [kind for kind in others if kind != "answer refused"] == [
        "other bolt named", "refused", "refused",
        "outside window", "refused", "skipped", "outside window", "outside window", "kept outside window",
    ]  # fmt: skip
    assert [d.line for d in record.deviations] == sorted(d.line for d in record.deviations)
    skipped = next(d for d in record.deviations if d.kind == "skipped")
    assert (skipped.bolt, skipped.pass_number, skipped.reason) == (7, 1, "socket does not fit")
    assert all((repairs_session / "audio" / f"{d.utterance}.flac").exists() for d in record.deviations)
    (note,) = record.notes
    assert note.text == "paint flakes under washer three"
    (still,) = record.breaks
    assert still.reason == "stop was said" and still.to_utc is not None


def test_attempts_count_what_was_tightened_again(repairs_session):
    record = record_of(repairs_session)
    assert bolt(record, 3, 1).attempts == 2  # 46 outside, then 52 (its correction to 53 is a mishearing, not a pull)
    assert bolt(record, 1, 2).attempts == 2 and bolt(record, 3, 2).attempts == 1


def test_stepping_back_and_a_new_reading_is_a_correction(tmp_path):
    at_three = lambda s: s.current_pass is not None and s.current_pass.number == 1 and s.bolt == 3  # noqa: E731
    worked = Worked(tmp_path).finish(lambda s: None if at_three(s) else Technician()(s))
    worked.say("go back", "53")
    (correction,) = record_of(worked.close()).corrections
    assert (correction.bolt, correction.how, correction.new) == (5, "taken back", "53 N·m")


def test_breaks_tell_leaving_from_a_machine_that_stopped(tmp_path):
    resumed = SessionResumed(product="assistant 0.1.0", listeners=("typed",), speaker="silent")
    worked = Worked(tmp_path).finish(most_answers(2))
    worked.events(SessionLeft(reason="end of shift"))
    worked.clock.pass_by(3600)
    worked.events(resumed)
    worked.clock.pass_by(60)
    worked.events(resumed)
    worked.events(SoundLost(reason="unplugged", at_sample=0, samples=1600))
    record = record_of(worked.close())
    left, stopped = record.breaks
    assert left.reason == "left: end of shift" and left.to_utc - left.from_utc >= timedelta(hours=1)
    assert stopped.reason == "the machine or program stopped"
    assert [d.kind for d in record.deviations] == ["sound lost"]


# ------------------------------------------------------------------------------------------------- waits and re-checks
def test_waits_are_told_as_they_passed_and_the_recheck_is_due_from_the_last_bolt_before_it(
    done_session, repairs_session
):
    record = record_of(done_session)
    settling, until = record.waited
    assert record.waits == () and (settling.planned_s, until.planned_s) == (4 * 3600, 24 * 3600)
    assert all(w.state == "over" and w.ended_utc - w.begun_utc >= timedelta(seconds=w.planned_s) for w in record.waited)
    (recheck,) = record.rechecks
    before = [p for p in record.passes if p.phase != "re-check"]
    assert record.session.tightened_utc == before[-1].last_utc < record.passes[-1].first_utc
    assert recheck.earliest_utc - record.session.tightened_utc == timedelta(hours=24)
    assert recheck.latest_utc - record.session.tightened_utc == timedelta(hours=72)
    unfinished = record_of(repairs_session)
    assert unfinished.rechecks[0].earliest_utc is None and {w.state for w in unfinished.waited} == {"not begun"}
    assert any(point.startswith("Wait not begun") for point in unfinished.open_points)


def test_a_later_session_in_the_time_of_the_recheck_is_its_result(tmp_path):
    first = Worked(tmp_path / "s").finish().seal(tmp_path / "k")
    again = Technician((-2, 0, -3, 1))
    second = Worked(tmp_path / "s", start=START + timedelta(hours=30)).finish(again).seal(tmp_path / "k")
    late = Worked(tmp_path / "s", start=START + timedelta(hours=80)).finish().seal(tmp_path / "k")
    record = record_of(first)
    (result,) = record.rechecks[0].results
    assert second.name in result and "8 bolts" in result and late.name not in result
    assert {r.folder: r.relation for r in record.related} == {second.name: "later session", late.name: "later session"}
    changes = record.related[0].readings
    assert len(changes) == 8 and all(
        abs(c.change_percent - 100 * (float(c.there.value / c.here.value) - 1)) < 0.06 for c in changes
    )
    assert {r.relation for r in record_of(late).related} == {"earlier session"}


# ---------------------------------------------------------------------------------------------------- what is missing
def test_json_is_the_record_and_fits_its_published_schema(done_session):
    record = record_of(done_session)
    text = record.model_dump_json()
    assert JointRecord.model_validate_json(text) == record
    document, schema = json.loads(text), record_schema()
    assert set(schema["required"]) < set(document) == set(schema["properties"])
    assert document["passes"][1]["setting"] == {"value": 52, "unit": "N*m"}
    assert schema["$schema"].endswith("2020-12/schema") and schema["additionalProperties"] is False


def test_a_damaged_journal_is_believed_up_to_the_damage_and_no_further(repairs_session, tmp_path):
    folder = tmp_path / repairs_session.name
    shutil.copytree(repairs_session, folder)
    lines = (folder / "journal.jsonl").read_bytes().split(b"\n")
    lines[159] = lines[159].replace(b"e", b"f", 1)
    (folder / "journal.jsonl").write_bytes(b"\n".join(lines))
    record = record_of(folder)
    assert record.session.state == "damaged" and record.session.lines == 159 and not record.complete
    assert "believed up to line 159 only" in record.missing[0]
    assert record.verification is not None and not record.verification.good
    assert max(e.line for p in record.passes for b in p.bolts for e in b.entries) <= 159


def test_lines_out_of_order_end_the_record_where_they_begin(repairs_session, tmp_path):
    folder = tmp_path / repairs_session.name
    shutil.copytree(repairs_session, folder)
    lines = (folder / "journal.jsonl").read_bytes().split(b"\n")
    lines[50], lines[51] = lines[51], lines[50]
    (folder / "journal.jsonl").write_bytes(b"\n".join(lines))
    assert record_of(folder).session.lines == 50


@pytest.mark.parametrize("name", ["joint.toml", "plan.json"])
def test_a_missing_or_garbled_file_is_said_and_the_rest_is_shown(done_session, tmp_path, name):
    for content in (None, b"\xff\xfe not text", b"[1"):
        folder = tmp_path / f"{content!r:.6}" / done_session.name
        shutil.copytree(done_session, folder)
        (folder / name).unlink()
        if content is not None:
            (folder / name).write_bytes(content)
        record = record_of(folder)
        assert any(name in each or "joint file" in each for each in record.missing) and not record.complete
        assert len(record.passes) == 10 and bolt(record, 5, 3).achieved is not None
        assert bool(record.groups) == (name == "plan.json")


def test_missing_recordings_are_counted_and_named(repairs_session, tmp_path):
    folder = tmp_path / repairs_session.name
    shutil.copytree(repairs_session, folder)
    for name in ("0003", "0009"):
        (folder / "audio" / f"{name}.flac").unlink()
    (missing,) = record_of(folder).missing
    kept = len(list((repairs_session / "audio").glob("*.flac")))
    assert missing.startswith(f"2 of {kept} recordings are not there (0003, 0009)")


def test_what_is_no_session_is_refused_and_one_of_which_nothing_can_be_read_is_not_trusted(tmp_path):
    for content in (b"hello\n", b'{"a":1}\n'):
        foreign = tmp_path / f"f{len(content)}"
        foreign.mkdir()
        (foreign / "journal.jsonl").write_bytes(content)
        record = record_of(foreign)
        assert record.verdict == "untrusted" and "damaged after line 0" in record.verdict_words
    (tmp_path / "nothing").mkdir()
    for folder in ("nothing", "nowhere"):
        with pytest.raises(BadSession):
            record_of(tmp_path / folder)
    (foreign / "journal.jsonl").write_bytes(b"")
    record = record_of(foreign)
    assert record.session.state == "empty" and not record.complete and record.passes == ()


def test_a_foreign_journal_that_hangs_together_but_makes_no_sense_is_only_marked():
    """Every event kind with odd places: nothing raises, nothing counts that is not in the work."""
    from assistant.journal.reading import Entry
    from tests.journal.short_record import Ticking, accepted, opened

    clock = Ticking()
    odd = [
        opened(),
        accepted(1, "310", "0001"),
        BoltSnugged(entry=2, stage=99, round=-3, bolt=1000, utterance="x"),
        BoltSnugged(entry=2, stage=-1, round=0, bolt=0, utterance=""),
    ]
    entries = tuple(Entry(seq=n, utc=clock(), sample=0, event=e, sha256="0" * 64) for n, e in enumerate(odd, 1))
    record = joint_record(Sources(folder="f", beginning=Beginning(entries=entries, lines=4), product="p"))
    assert record.passes == () and not record.complete
    assert sum("does not fit what came before it" in each for each in record.missing) == 3
    assert record.verdict == "untrusted"


def test_every_recording_kind_of_event_is_known_to_the_ledger():
    """A new event with an entry number must be told to the record too."""
    import dataclasses

    from assistant.events import event_classes

    with_entry = {cls for cls in event_classes().values() if "entry" in {f.name for f in dataclasses.fields(cls)}}
    assert with_entry == set(KINDS)
    assert SessionOpened not in KINDS


def test_no_jumble_of_real_events_stops_the_record(repairs_session, tmp_path):
    """Foreign journals that hang together: lines dropped, doubled and shuffled, then chained anew."""
    chance = random.Random(3)
    entries = read_session(repairs_session).entries
    joint = parse_joint((repairs_session / "joint.toml").read_bytes(), source="joint.toml")
    for turn in range(40):
        jumbled = [e for e in entries if chance.random() > 0.2] + chance.choices(entries, k=20)
        if turn % 2:
            chance.shuffle(jumbled)
        again = tuple(replace(e, seq=number) for number, e in enumerate(jumbled, start=1))
        beginning = Beginning(entries=again, lines=len(again))
        record = joint_record(Sources(folder="foreign", beginning=beginning, product="p", joint=joint))
        assert not record.complete
        counted = [e for p in record.passes for b in p.bolts for e in b.entries if e.standing == "counts"]
        assert len({e.entry for e in counted}) == len(counted)
        if turn < 6:
            assert record_pdf(record) and record_csv(record) and record_text(record)
            assert compare(record, record).summary.only_first == 0


def test_more_deviations_than_a_page_bears_are_all_in_the_data_and_counted_in_the_pdf(tmp_path):
    heard = Alternative(kind="value", text="seven", probability=0.4, value=Decimal(7))
    far_off = ReadingImpossible(bolt=1, heard=heard, reason="far-off", utterance="9000")
    worked = Worked(tmp_path).finish(lambda s: None if s.current_pass is not None else Technician()(s))
    worked.store.append([far_off] * (MOST_ROWS + 500), worked.sample)
    record = record_of(worked.close())
    assert len(record.deviations) == MOST_ROWS + 500
    assert record_csv(record).count("deviation") == MOST_ROWS + 500
    assert record_pdf(record).startswith(b"%PDF")


@pytest.mark.parametrize(("due", "valid"), [("2026-11-26", True), ("2026-11-25", False)])
def test_a_calibration_that_ran_out_before_the_last_day_is_an_open_point(tmp_path, due, valid):
    joint = tmp_path / "joint.toml"
    text = (DEMOS / "north-sluice-dn150-flange.toml").read_text("utf-8")
    joint.write_text(text.replace("calibration_due = 2036-12-31", f"calibration_due = {due}"), "utf-8")
    folder = Worked(tmp_path / "s", joint, start=START).finish().seal(tmp_path / "k")  # its re-check is the day after
    record = record_of(folder)
    assert record.tools[0].valid_on_day is valid
    assert any("Calibration of wrench 14 ran out on 2026-11-25" in point for point in record.open_points) is not valid
