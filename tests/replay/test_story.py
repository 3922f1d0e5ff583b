"""The story of a session: what a lead is told, from the entries alone, and that no record can make it raise."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.journal.reading import Entry, read_session
from assistant.replay.attention import GRADE_OF, GRADES, HEADINGS
from assistant.replay.facts import walk
from assistant.replay.frames import SIGNS, frames
from assistant.replay.moments import MARKS, moments
from assistant.replay.outcomes import outcome_of
from assistant.replay.story import Story
from assistant.report.torque_chart import marks, title_of
from tests.replay.telling import story_of, told
from tests.report.sessions_made import SessionMaker, at_pass, finished_session, unfinished_session
from tests.session.test_golden import GOLDEN


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("finished")
    return finished_session(made / "sessions", made / "keys")


@pytest.fixture(scope="module")
def story(folder: Path) -> Story:
    return story_of(folder)


@pytest.fixture(scope="module")
def entries(folder: Path) -> tuple[Entry, ...]:
    return read_session(folder).entries


def texts(story: Story, kind: str) -> list[str]:
    return [item.text for item in story.items if item.kind == kind]


def test_every_slip_of_the_session_is_told_once_with_its_end(story: Story):
    assert texts(story, "kept") == ["Bolt 2, pass 2: 90 N·m kept. Reason given: “nut face is damaged, lead agreed”"]
    assert texts(story, "later") == [
        "Bolt 6 was skipped. Reason given: “socket does not fit” It was done at the end of the pass."
    ]
    assert texts(story, "outside") == ["Bolt 7: 90 was 7.2 N·m too low; not recorded, then 102 N·m was."]
    assert texts(story, "corrected") == ["Bolt 1: 102 N·m was taken back, then 104 N·m was recorded."]
    assert texts(story, "asked") == ["Bolt 5: asked “52 or 72?”; then 52 N·m was recorded."]
    assert texts(story, "unsure") == ["Bolt 2: “53”, only just sure enough to be recorded without a question."]
    assert texts(story, "refused") == [
        "Refused: bolt 3 was named, bolt 5 is due.",
        "Refused: 38; it fits another unit.",
        "Refused: 200; twice or half of what is due, or beyond.",
    ]
    assert texts(story, "moved") == ["Round 1: the nut of bolt 2 moved.", "Round 1: the nut of bolt 6 moved."]
    findings = [each.text for each in story.record.decisions if each.kind == "finding"]
    assert findings == [
        "“dry” was said at thread condition; said to be put right: “the paste is on all threads now”.",
        "“there is a leak” was said at leak watch; said to be put right: “the paste is on all threads now”.",
    ]
    assert texts(story, "cut short") == [
        "Time to the re-check: 4 h of 24 h were left. Reason given: “the line is wanted back tonight”"
    ]
    assert texts(story, "measured") == ["Measured outside its limits, not recorded: 95 is too high."]
    assert texts(story, "over to") == ["Taken over by “Alex Moor” (as heard)."]
    assert texts(story, "note") == ["At bolt 7: “paint flakes under washer three”"]
    assert texts(story, "not passed") == ["“yes” did not pass: lock-out."]
    assert texts(story, "sound") == ["0.8 s of sound were lost: overrun."]
    assert texts(story, "gap") == ["7 min without a word before this."]
    assert texts(story, "halt") == ["“Stop” was said.", "Handed over."]
    assert len(texts(story, "broken off")) == 1 and "half-written line of 36 bytes" in texts(story, "broken off")[0]
    assert sum(Counter(item.kind for item in story.items).values()) == 21


def test_the_gravest_stands_first_and_each_item_leads_to_its_own_moment(story: Story):
    grades = [GRADES.index(item.grade) for item in story.items]
    assert grades == sorted(grades)
    kept = next(item for item in story.items if item.kind == "kept")
    assert kept.moment is not None
    moment = story.moments[kept.moment]
    assert moment.text == "nut face is damaged, lead agreed" and "outside" in moment.marks
    assert kept.where == "Pass 2, 102 N·m"


def test_an_unfinished_session_says_what_is_open_before_anything_else(tmp_path: Path):
    story = story_of(unfinished_session(tmp_path))
    assert story.record.verdict == "open" and story.record.due == "bolt 2 of Pass 2, 102 N·m"
    assert story.record.verdict_words == "Not finished: next is bolt 2 of Pass 2, 102 N·m."
    assert {
        "Open: flange bolts, pass 2 at 102 N·m: bolts 3, 2, 6, 4, 8.",
        "Open: flange bolts, pass 3 at 170 N·m: no bolt done.",
    } <= set(texts(story, "open"))
    assert texts(story, "skipped") == ["Bolt 3 was skipped. Reason given: “stud is bent” It is still open."]
    assert {
        "Hold point open: gaps measured.", "Wait not begun: settling time.", "Not measured: temperature.",
        "Open: flange bolts, re-check, round 1 at 170 N·m: no bolt done.",
    } <= set(texts(story, "open"))  # fmt: skip
    asked = sorted((*story.record.hold_points, *story.record.checks), key=lambda each: each.stage)
    passed = [each.passed_utc is not None for each in asked]
    assert passed == sorted(passed, reverse=True) and {True, False} == set(passed)
    assert story.film[-1].signs == "dnspdpdp"  # bolts 1, 5 and 7 done, 3 skipped, 2 due


def test_the_head_counts_sittings_releases_and_readings(story: Story, entries: tuple[Entry, ...]):
    first, second = story.record.session.sittings
    assert (first.from_utc, second.to_utc) == (entries[0].utc, entries[-1].utc)
    assert (second.from_utc - first.to_utc).total_seconds() == pytest.approx(55 * 60 + 0.8, abs=1e-3)
    assert first.listeners == ("constrained", "vosk")
    kinds = Counter(entry.event.kind for entry in entries)
    counts = dict(story.counts)
    assert counts["bolts"] == 8
    assert (
        counts["readings recorded"] == kinds["reading-accepted"] + kinds["reading-kept"] - 1 == 25
    )  # one was taken back
    lock_out = next(r for r in story.record.hold_points if r.name == "lock-out")
    assert (lock_out.role, lock_out.witness) == ("lead", "Sam Reed")
    assert story.moments[story.place_of[lock_out.line]].text == lock_out.phrase
    assert story.moments[story.place_of[lock_out.witness_line]].text == "yes"  # to the name that was read back


def test_a_gap_between_two_sittings_is_not_told_as_silence(story: Story):
    assert not any("55 min" in text for text in texts(story, "gap"))


def test_what_was_taken_back_or_said_in_vain_does_not_stand(story: Story):
    second = next(each for each in story.record.passes if title_of(each) == "Pass 2, 102 N·m")
    drawn = {bolt.bolt: [(m.kind, m.scale) for m in marks(bolt)] for bolt in second.bolts}
    assert drawn[1] == [("gone", 102.0), ("recorded", 104.0)]
    assert sorted(drawn[7]) == [("outside", 90.0), ("recorded", 102.0)]
    assert ("kept", 90.0) in drawn[2]
    asked = [(b.bolt, m.scale) for p in story.record.passes for b in p.bolts for m in marks(b) if m.kind == "asked"]
    assert (5, 52.0) in asked


def test_what_was_taken_back_without_anything_in_its_place_is_open_again(tmp_path: Path):
    made = SessionMaker(tmp_path, sound=False)
    made.answer(until=at_pass(1))
    made.say("52", "52", "correction")
    story = story_of(made.close())
    first = next(each for each in story.record.passes if title_of(each) == "Pass 1, 52 N·m")
    assert {b.bolt: [m.kind for m in marks(b)] for b in first.bolts if b.entries} == {1: ["recorded"], 5: ["gone"]}
    assert "Open: flange bolts, pass 1 at 52 N·m: bolts 5, 3, 7, 2, 6, 4, 8." in texts(story, "open")
    assert texts(story, "corrected") == ["Bolt 5: 52 N·m was taken back; no reading was recorded in its place."]


def test_a_reading_and_a_movement_of_one_round_both_stand(story: Story):
    last = next(each for each in story.record.passes if title_of(each) == "Circular pass, round 2, 170 N·m")
    of = {b.bolt: [e.kind for e in b.entries if e.standing == "counts"] for b in last.bolts}
    assert of[1] == ["reading", "held"] and of[2] == ["held"]


def test_the_last_picture_shows_the_bolt_that_was_kept(story: Story):
    assert story.final == ("d" + SIGNS["outside"] + "dddddd",)


def test_marks_of_a_moment_follow_from_what_came_of_it(story: Story, entries: tuple[Entry, ...]):
    steps = walk(entries)
    found, place_of = moments(steps)
    for step in steps:
        if step.number in place_of:
            assert outcome_of(step.entry.event).marks <= found[place_of[step.number]].marks
    assert {mark for moment in story.moments for mark in moment.marks} <= set(MARKS)


def test_a_reading_after_one_outside_the_window_is_marked_as_tightened_again(story: Story):
    again = [moment for moment in story.moments if "again" in moment.marks and moment.heard is not None]
    assert [(moment.text, moment.bolt) for moment in again] == [("102", 7), ("moved", 2), ("moved", 6)]


def test_a_pass_that_was_begun_is_not_told_as_not_begun(tmp_path: Path):
    made = SessionMaker(tmp_path, sound=False)
    made.answer(until=at_pass(4))
    made.say("172")
    story = story_of(made.close())
    assert "Open: flange bolts, circular pass, round 1 at 170 N·m: no bolt done." in texts(story, "open")


def test_listeners_that_differed_are_told_though_the_probability_was_high(tmp_path: Path):
    made = SessionMaker(tmp_path, sound=False)
    made.answer(until=at_pass(1))
    made.hear("52", agreed=False, vosk="fifty")
    made.hear("52")
    story = story_of(made.close())
    assert texts(story, "unsure") == ["Bolt 1: “52”, heard surely, though the two listeners differed."]


def test_what_was_asked_before_it_was_recorded_is_told_once_and_lies_in_the_answer(tmp_path: Path):
    made = SessionMaker(tmp_path, sound=False)
    made.answer(until=at_pass(0))
    made.hear("snug", probability=0.6, decision="ask", other=("stop", 0.01), agreed=False)
    made.say("yes")
    made.hear("snug", probability=0.6, decision="ask")
    made.say("stop")
    story = story_of(made.close())
    assert texts(story, "asked") == [
        "Bolt 1: asked “snug?”; then it was recorded: snug.",
        "Bolt 5: asked “snug?”; nothing was recorded for it.",
    ]
    assert texts(story, "unsure") == []
    yes = next(m for m in story.moments if m.text == "yes" and any("snug" in said for said in m.outcomes))
    assert yes.outcomes == ["recorded: bolt 1 snug"] and "recorded" in yes.marks
    heard = next(moment for moment in story.moments if moment.text == "snug")
    assert story.record.passes[0].bolts[0].entries[0].utterance == heard.name


def test_every_kind_of_item_has_a_heading_and_a_grade():
    assert set(HEADINGS) == set(GRADE_OF) and set(GRADE_OF.values()) == set(GRADES)


@pytest.mark.parametrize("stream", sorted(GOLDEN.glob("*.events.jsonl")), ids=lambda path: path.name.split(".")[0])
def test_each_frame_shows_the_due_bolt_and_only_bolts_that_are_there(stream: Path):
    import json

    from assistant.journal.encoding import EVENT_FORMAT

    records = [json.loads(line) for line in stream.read_text(encoding="utf-8").splitlines()]
    events = [
        EVENT_FORMAT.decode(r.pop("kind"), r.pop("version"), r, where=stream.name) for r in (dict(x) for x in records)
    ]
    made = [Entry(seq=n, utc=START, sample=0, event=e, sha256="") for n, e in enumerate(events, start=1)]
    steps = walk(made)
    film = frames(steps)
    assert film
    for frame in film:
        state = steps[frame.number - 1].after
        due = [place + 1 for place, sign in enumerate(frame.signs) if sign == SIGNS["due"]]
        assert due == ([state.bolt] if state.bolt is not None and not state.closed else [])
        assert len(frame.signs) == 8 and set(frame.signs) <= set(SIGNS.values())


START = datetime(2026, 11, 25, 10, 15, tzinfo=timezone.utc)


@given(st.data())
def test_no_order_and_no_loss_of_lines_makes_the_story_raise(entries: tuple[Entry, ...], data: st.DataObject):
    """A foreign, reordered or thinned-out journal is still told; nothing that does not fit is counted as done."""
    kept = data.draw(st.lists(st.sampled_from(entries), max_size=60))
    story = told(kept)
    assert len(story.moments) <= len(kept)
    anchors = [moment.anchor for moment in story.moments]
    assert len(anchors) == len(set(anchors))
    for item in story.items:
        assert item.moment is None or 0 <= item.moment < len(story.moments)


@given(st.data())
def test_a_session_cut_anywhere_tells_the_same_of_what_came_before(entries: tuple[Entry, ...], data: st.DataObject):
    cut = data.draw(st.integers(0, len(entries)))
    whole, part = moments(walk(entries))[0], moments(walk(entries[:cut]))[0]
    known = {moment.anchor: moment for moment in whole}
    for moment in part:
        later = known[moment.anchor]
        assert (moment.text, moment.who, moment.number) == (later.text, later.who, later.number)
        assert moment.outcomes == later.outcomes[: len(moment.outcomes)]


def test_of_no_entries_there_is_nothing_to_tell():
    story = told(())
    assert (story.moments, story.items, story.record.passes, story.film) == ((), (), (), ())
    assert story.record.verdict == "untrusted"
