"""What happens around the bolts, in the record and on the lead's page: told once, whole, with its sound and reason."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.events import Expected, Measurement, stage_of
from assistant.journal.reading import read_session
from assistant.journal.sessions import PLAYED
from assistant.replay.facts import walk
from assistant.replay.rebuild import rebuild_state
from assistant.replay.record_fields import JointRecord
from assistant.replay.story import Story
from assistant.report.record_tables import headline
from assistant.report.replay_around import around
from assistant.report.replay_head import tags
from tests.replay.telling import record_of, story_of, told
from tests.replay.worked import DEMOS, Technician, Worked


@pytest.fixture(scope="module")
def record(apprentice_folder: Path) -> JointRecord:
    return record_of(apprentice_folder)


@pytest.fixture(scope="module")
def story(apprentice_folder: Path) -> Story:
    return story_of(apprentice_folder)


def rows(story: Story, title: str) -> list[tuple[str, str]]:
    return [(row.what, row.came) for part in around(story) if part.title == title for row in part.rows]


# --------------------------------------------------------------------------------------------------------- the record
def test_a_hold_point_names_its_witness_with_the_recording(record: JointRecord, apprentice_folder: Path):
    lock_out = next(q for q in record.hold_points if q.name == "lock-out")
    assert (lock_out.witness, lock_out.role, lock_out.witness_wanted) == ("Robin Marsh", "lead", True)
    assert (apprentice_folder / "audio" / f"{lock_out.witness_utterance}.flac").exists()
    assert {q.witness for q in record.hold_points if not q.witness_wanted} == {""}


def test_a_wait_cut_short_is_a_deviation_with_its_reason(record: JointRecord):
    (until,) = record.waited
    assert (until.state, until.reason, until.planned_s) == ("cut short", "only a trial", 86400)
    assert until.left_s + until.waited_s == until.planned_s and until.left_s > 86000
    (deviation,) = [d for d in record.deviations if d.kind == "wait cut short"]
    assert deviation.reason == "only a trial" and deviation.utterance == until.utterance


def test_a_measurement_stands_beside_its_limits_with_whoever_measured(record: JointRecord):
    *lengths, figure = record.measurements
    assert (figure.value, figure.said_unit, figure.high, figure.who) == (120, "degF", 350, "Toni Vale")
    assert [(m.name, m.said_unit, m.low, m.high) for m in lengths][:1] == [
        ("first pipe diameter", "in", Decimal("11.875"), Decimal("12.125"))
    ]
    assert len(lengths) == 4, "both pipes, and the gap before and after the joint bolts"


def test_the_recheck_is_filled_from_what_was_said(record: JointRecord):
    (result,) = record.recheck_results
    assert result.group == "joint bolts" and result.moved == ((1,),) and not result.finished
    assert result.measured == ("120 deg F, measured by Toni Vale",)
    assert "the nut of bolt 1 moved" in result.words and "not finished" in result.words
    assert not any("Temperature" in each or "leak watch" in each for each in record.not_recorded)


def test_a_replaced_bolt_and_a_pass_done_over_say_what_no_longer_counts(record: JointRecord):
    replaced, over = record.done_over
    assert (replaced.kind, replaced.bolt, replaced.group) == ("bolt replaced", 1, "joint bolts")
    assert len(replaced.taken_back) == 2 and any("snug" in words for words in replaced.taken_back)
    assert over.kind == "pass done over" and over.bolt is None and len(over.taken_back) == 1
    assert record.corrections == ()  # told there as a whole, not one by one
    one = next(b for p in record.passes if (p.group, p.number) == ("joint bolts", 1) for b in p.bolts if b.bolt == 1)
    assert [e.standing for e in one.entries] == ["taken back", "counts"] and one.status == "done"


def test_seat_rounds_are_counted_and_the_competent_person_named(record: JointRecord):
    seats = [p for p in record.passes if p.kind == "seat"]
    assert [p.round for p in seats] == [1, 2, 3, 4, 5, 6] and seats[-1].still and seats[0].tap
    assert [n.text for n in record.names if n.purpose == "competent"] == ["Kim Wells, site engineer"]
    assert any("looked into by Kim Wells, site engineer" in each.reason for each in record.breaks)


def test_an_apprentices_session_says_so_and_keeps_questions_agreements_and_what_to_look_at_again(
    record: JointRecord, apprentice_folder: Path
):
    assert record.session.apprentice and record.session.how == "" and record.cautions
    wrong = [q for q in record.questions_back if q.right is False]
    assert [q.answer for q in wrong] == ["the noise", "bolt 2"] and all(q.utterance for q in wrong)
    assert wrong[1].expects == "bolt 3" and "which bolt comes next" in wrong[1].question
    assert [a.purpose for a in record.agreements] == ["skip", "cut-short"]
    state = rebuild_state(e.event for e in read_session(apprentice_folder).entries)
    assert len(record.look_again) == len(state.lessons) > 0


@pytest.mark.parametrize("demo", sorted(DEMOS.glob("*.toml")), ids=lambda p: p.stem)
@pytest.mark.parametrize("apprentice", [False, True])
def test_every_demo_joint_is_worked_to_its_close_and_its_record_is_complete(tmp_path, demo, apprentice):
    worked = Worked(tmp_path / "s", demo, apprentice=apprentice, sound=True).finish()
    record = record_of(worked.seal(tmp_path / "k"))
    assert record.complete and record.verdict == "complete", record.verdict_words
    assert record.whole and record.missing == ()
    assert all(w.state == "over" for w in record.waited) and all(m.value is not None for m in record.measurements)
    assert all(q.witness for q in record.hold_points if q.witness_wanted)
    assert [q.right for q in record.questions_back].count(False) == 0
    watch = [q for q in record.leak_watch if q.phase == "leak watch"]
    assert all(q.passed_utc for q in watch) and bool(watch) == bool(record.recheck_results)


def test_a_joint_left_open_in_its_wait_says_what_is_due(tmp_path):
    worked = Worked(tmp_path).finish(lambda s: None if s.dialogue == "waiting" else Technician()(s))
    worked.say("leave it open")
    record = record_of(worked.close())
    assert record.waited[0].state == "running" and "Wait not over: settling time" in record.open_points
    assert record.breaks[-1].reason == "left open for another day"
    assert record.due.startswith("the wait settling time, 4 h")


def test_a_refused_leak_watch_keeps_its_time_and_the_pass_after_it(tmp_path):
    worked = Worked(tmp_path).finish(
        lambda s: None if getattr(s.item, "phase", "") == "leak watch" else Technician()(s)
    )
    refused = worked.state.question.refused[0]
    record = record_of(worked.say(refused).finish().close())
    (watch,) = record.leak_watch
    assert watch.refused[0].startswith(f"{refused} (2026-11-26") and watch.passed_utc is not None


# -------------------------------------------------------------------------------------------------------- the page
def test_the_page_lists_what_a_lead_must_see(story: Story):
    kinds = {item.kind for item in story.items}
    assert kinds >= {"open", "cut short", "person", "done over", "rounds", "agreed", "taught"}
    (person,) = [item.text for item in story.items if item.kind == "person"]
    assert "“Kim Wells, site engineer” (as heard)" in person
    assert [item.text for item in story.items if item.kind == "rounds"] == [
        "split bolts: 6 rounds of tap and re-torque."
    ]
    assert not any(item.kind == "gap" for item in story.items)  # a planned wait is no silence


def test_what_is_around_the_bolts_stands_in_parts_with_their_moments(story: Story):
    assert ("Bolt 1 replaced", "done over from: joint bolts: Snug") in rows(story, "Bolts replaced, passes done over")
    assert any("cut short after" in came and "only a trial" in came for _, came in rows(story, "Waits"))
    seat = "6 rounds; rounds 1 to 5: the nuts of bolts 1, 2 moved; round 6: no nut moved"
    assert rows(story, "Tap and re-torque") == [("split bolts", seat)]
    assert any("wrong, right is bolt 3" in came for _, came in rows(story, "Asked of the apprentice"))
    for part in around(story):
        for row in part.rows:
            assert row.moment is None or 0 <= row.moment < len(story.moments)


def test_a_bolt_of_a_pass_done_over_is_shown_as_it_stands_at_each_moment(story: Story, apprentice_folder: Path):
    """After a bolt was replaced the film shows the others as done, though newer entries of an earlier pass exist."""
    steps = walk(read_session(apprentice_folder).entries)
    for frame in story.film:
        state = steps[frame.number - 1].after
        group = story.groups[frame.group]
        done = {bolt for bolt in state.done(state.stage, state.round) if bolt is not None} - set(state.ahead)
        shown = {b for b, sign in zip(group.bolts, frame.signs, strict=True) if sign in "dmo"}
        assert shown == done - {state.bolt}, frame


# ---------------------------------------------------------------------------------------------- nothing makes it raise
@settings(max_examples=40)
@given(st.data())
def test_no_jumble_of_lines_stops_the_walk_around_the_bolts(apprentice_folder: Path, data: st.DataObject):
    entries = read_session(apprentice_folder).entries
    kept = data.draw(st.lists(st.sampled_from(entries), max_size=60))
    story = told(kept)
    assert len(story.record.names) <= len(kept)
    around(story)


def test_an_expected_preload_is_told_beside_the_temperature(tmp_path):
    """The exchanger's re-check is hot: its table is in the work, and the value between two rows is in proportion."""
    demo = DEMOS / "north-sluice-cooler-girth-flange.toml"
    table = (Expected(at=Decimal(100), percent=96), Expected(at=Decimal(140), percent=92))

    def with_table(whole):
        hot = [replace(i, expected=table) if isinstance(i, Measurement) else i for i in whole.items]
        return replace(whole, stages=tuple(stage_of(item) for item in hot))

    folder = Worked(tmp_path, demo, work=with_table).finish(Technician(measured="120")).close()
    record = record_of(folder)
    (figure,) = [m for m in record.measurements if m.quantity == "temperature"]
    (result,) = record.recheck_results
    assert figure.expected_percent == result.expected_percent == 94
    assert result.words.startswith("At 120 deg C about 94 % of the preload at assembly was expected. Round 1: ")
    shown = rows(story_of(folder), "Re-check results")
    assert shown == [("girth studs", result.words)]


@pytest.mark.parametrize("played", ["rehearsal", "practice"])
def test_what_was_only_played_is_never_taken_for_work_at_a_joint(tmp_path, played):
    folder = Worked(tmp_path, settings={PLAYED: played}, apprentice=True).say("help").close()
    record, story = record_of(folder), story_of(folder)
    assert record.session.how == played and any(played in point for point in record.open_points)
    assert headline(record)[0].startswith(played.upper())
    assert tags(story) == (f"{played.capitalize()}: nothing was tightened", "Apprentice")
    work = Worked(tmp_path / "w").say("help").close()
    assert tags(story_of(work)) == () and record_of(work).session.how == ""
