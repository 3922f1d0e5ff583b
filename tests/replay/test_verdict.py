"""The one verdict: stories of joints that were once called good, each with the same right answer everywhere."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.cli.session_sources import record_of as on_this_machine
from assistant.config.paths import key_folder
from assistant.events import SessionLeft, SessionResumed, WorkLaidOut
from assistant.journal.reading import read_session
from assistant.journal.sessions import PLAYED
from assistant.journal.verify import verify
from assistant.procedure.state import State
from assistant.replay.facts import read_facts
from assistant.replay.record_fields import JointRecord
from assistant.report.record_tables import tightened_by
from tests.replay.everywhere import agreed_verdict
from tests.replay.telling import record_of
from tests.replay.worked import START, Technician, Worked

pytestmark = pytest.mark.usefixtures("own_home")


def judged(folder: Path) -> JointRecord:
    """The record, once every surface has given the same verdict."""
    record = record_of(folder)
    agreed_verdict(record, read_facts(read_session(folder).entries))
    return record


def decided(record: JointRecord) -> list[str]:
    return [each.kind for each in record.decisions]


def until(name: str) -> Callable[[State], str | None]:
    """Answers rightly until the stage of this name is due."""
    technician = Technician()
    return lambda state: None if getattr(state.item, "name", "") == name else technician(state)


def at_bolt(number: int, pass_number: int) -> Callable[[State], str | None]:
    """Answers rightly until this bolt of a torqued pass is due."""
    technician = Technician()

    def answers(state: State) -> str | None:
        due = state.current_pass
        here = due is not None and (due.kind, due.number, state.bolt) == ("pattern", pass_number, number)
        return None if here and state.dialogue == "guiding" else technician(state)

    return answers


@pytest.fixture
def worked(tmp_path: Path) -> Worked:
    return Worked(tmp_path / "sessions", sound=True)


def test_nothing_out_of_the_ordinary_is_complete(worked: Worked):
    record = judged(worked.finish().seal(key_folder()))
    assert record.verdict == "complete" and record.complete and decided(record) == []


# --------------------------------------------------------------------------------------------------------- six stories
def test_a_leak_is_to_be_decided_whatever_is_said_after_it(worked: Worked):
    worked.finish(until("leak watch")).say("there is a leak")
    record = judged(worked.finish().seal(key_folder()))
    assert record.whole and record.verdict == "to-decide" and decided(record) == ["finding"]
    assert "there is a leak" in record.verdict_words and record.verdict_words.startswith("To be decided: 1 thing. ")


def test_after_a_redo_of_the_review_no_surface_calls_the_joint_good(worked: Worked, capsys, tmp_path):
    folder = worked.finish().seal(key_folder())
    assert main(["review", str(folder), "--by", "the lead", "--redo", "5", "--comment", "not believed"]) == 0
    record = judged(folder)
    assert record.verdict == "to-redo" and "flange bolts bolt 5" in record.verdict_words
    page = tmp_path / "page.html"
    assert main(["record", str(folder)]) == 1
    assert main(["replay", str(folder)]) == 1
    assert main(["replay", str(folder), "--html", str(page), "--silent-prompts"]) == 1
    assert main(["verify", str(folder)]) == 1
    assert "To be done again" in page.read_text("utf-8") and "the lead wrote" in page.read_text("utf-8")
    capsys.readouterr()
    accepting = ["review", str(folder), "--by", "the lead", "--accept", "--comment", "seen"]
    assert main(accepting) == 0
    assert judged(folder).verdict == "to-redo"  # a name alone may be typed by anybody
    secret = tmp_path / "passphrase"
    secret.write_text("four words never together\n", "utf-8")
    assert main(["key", "new", "--name", "the lead", "--passphrase-file", str(secret)]) == 0
    assert main([*accepting, "--sign", "--passphrase-file", str(secret)]) == 0
    assert on_this_machine(folder).verdict == "accepted"
    assert [main([command, str(folder)]) for command in ("record", "replay", "verify")] == [0, 0, 0]


def test_an_acceptance_by_name_alone_settles_nothing(worked: Worked, capsys, tmp_path):
    worked.finish(until("leak watch")).say("there is a leak")
    folder = worked.finish().seal(key_folder())
    secret = tmp_path / "passphrase"
    secret.write_text("four words never together\n", "utf-8")
    signing = ("--sign", "--passphrase-file", str(secret))
    assert main(["key", "new", "--name", "Kim Lead", "--passphrase-file", str(secret)]) == 0
    # a signature of what was said before does not reach an acceptance that somebody adds to it
    assert main(["review", str(folder), "--by", "Kim Lead", "--comment", "I look at it tomorrow", *signing]) == 0
    assert main(["review", str(folder), "--by", "Kim Lead", "--accept", "--comment", "ok"]) == 0
    record = on_this_machine(folder)
    assert record.verdict == "to-decide" and record.verdict_words.endswith(
        "Accepted by Kim Lead. Not signed with a lead's own key."
    )
    assert [main([command, str(folder)]) for command in ("record", "replay", "verify")] == [1, 1, 1]
    assert main(["review", str(folder), "--by", "Kim Lead", *signing]) == 0
    assert on_this_machine(folder).verdict == "accepted"
    capsys.readouterr()


def test_a_corrected_name_leaves_the_measurement_where_it_is(worked: Worked):
    worked.finish(lambda state: None if state.name_due == "measured" else Technician()(state))
    assert worked.state.name_due == "measured"
    worked.say("Toni Vail")
    worked.finish(lambda state: None if state.current_pass is not None else Technician()(state))
    before = record_of(worked.folder).measurements[0]
    worked.say("correction")
    worked.finish(lambda state: None if state.current_pass is not None else Technician(names=("Toni Vale",))(state))
    after = record_of(worked.folder).measurements[0]
    assert (before.value, before.said_unit) == (after.value, after.said_unit) != (None, "")
    record = judged(worked.finish().seal(key_folder()))
    assert record.whole and record.measurements[0].value is not None and record.measurements[0].who
    assert record.verdict == "complete"


def test_what_is_retightened_after_keep_is_never_the_reason_for_keeping(worked: Worked):
    in_hand = Technician()
    worked.finish(at_bolt(1, 1)).say("44", "keep", "fifty two")
    record = judged(worked.finish(in_hand).seal(key_folder()))
    one = next(b for p in record.passes if (p.kind, p.number) == ("pattern", 1) for b in p.bolts if b.bolt == 1)
    assert one.achieved is not None
    if one.achieved.value == 44:  # kept for whatever was said: never good by itself
        assert record.verdict == "to-decide" and "Bolt 1 was kept at 44 N·m" in record.verdict_words
    else:  # it was asked about, and is the new reading
        assert one.achieved.value == 52 and one.status == "done" and "kept" not in decided(record)


def test_what_was_not_said_is_not_in_the_record_and_what_was_typed_is_typed(tmp_path: Path):
    typed = Worked(tmp_path / "sessions").finish().seal(key_folder())
    record = judged(typed)
    assert record.verdict == "to-decide" and decided(record) == ["typed"]
    readings = [bolt for each in record.passes for bolt in each.bolts if bolt.achieved is not None]
    assert readings and {bolt.how for bolt in readings} == {"reading typed"}
    said = {line.event.text for line in read_session(typed).entries if line.event.kind == "prompt-spoken"}
    assert record.cautions and {each.how for each in record.cautions} == {"shown"}  # no loudspeaker
    assert all(any(caution.text in text for text in said) for caution in record.cautions)
    first, *_ = record.session.sittings
    assert first.to_utc - first.from_utc > timedelta(hours=20)


def test_a_break_ends_the_sitting_where_the_work_ended(worked: Worked):
    worked.finish(lambda state: None if state.dialogue == "waiting" else Technician()(state))
    worked.events(SessionLeft(reason="end of shift"))
    left = read_session(worked.folder).entries[-1].utc
    worked.clock.pass_by(5 * 3600)
    from assistant.session.waits import time_left

    told = time_left(worked.state, worked.store.entries, worked.clock())
    worked.events(*told, SessionResumed(product="assistant", listeners=("constrained", "vosk"), speaker="silent"))
    first, second = record_of(worked.folder).session.sittings
    assert first.to_utc == left and second.from_utc - left >= timedelta(hours=5)


@pytest.mark.parametrize("played", ["rehearsal", "practice"])
def test_what_was_only_played_is_no_complete_joint(tmp_path: Path, played: str):
    folder = Worked(tmp_path / "sessions", settings={PLAYED: played}, sound=True).finish().seal(key_folder())
    record = judged(folder)
    assert record.verdict == "rehearsal" and not record.complete and record.whole
    assert record.verdict_words == f"{played.capitalize()}: nothing was tightened. It was gone through to its end."
    assert main(["record", str(folder)]) == 0
    begun = Worked(tmp_path / "begun", settings={PLAYED: played}, sound=True).say("the papers are here").close()
    assert judged(begun).verdict == "rehearsal" and main(["record", str(begun)]) == 1


def test_a_reading_kept_for_any_reason_is_to_be_decided(worked: Worked):
    worked.finish(at_bolt(7, 3)).say("150", "keep", "the access is blocked by a pipe")
    record = judged(worked.finish().seal(key_folder()))
    assert record.verdict == "to-decide" and decided(record) == ["kept"]
    assert "Bolt 7 was kept at 150 N·m" in record.verdict_words
    assert (record.decisions[0].group, record.decisions[0].bolt) == ("flange bolts", 7)


def test_a_joint_tightened_faster_than_anybody_can_is_to_be_decided(worked: Worked, monkeypatch):
    monkeypatch.setattr("tests.replay.worked.PER_LINE_S", 0.04)
    record = judged(worked.finish().seal(key_folder()))
    assert record.verdict == "to-decide" and "pace" in decided(record)
    assert "faster than anybody can tighten" in record.verdict_words and decided(record).count("pace") == 1


# ------------------------------------------------------------------------------------------------- what else is decided
def test_waits_cut_short_and_a_recheck_before_its_time_are_to_be_decided(worked: Worked):
    class Hurried(Technician):
        def __call__(self, state: State) -> str | None:
            if state.dialogue == "reasoning":
                return "the line is wanted back"
            return "skip" if state.dialogue == "waiting" else super().__call__(state)

    record = judged(worked.finish(Hurried()).seal(key_folder()))
    assert record.verdict == "to-decide" and decided(record) == ["wait", "wait", "early"]
    assert all("the line is wanted back" in each.text for each in record.decisions[:2])


@pytest.mark.parametrize(("state", "verdict"), [("approved", "complete"), ("changed", "to-decide")])
def test_what_was_guided_without_a_valid_approval_is_to_be_decided(tmp_path: Path, state: str, verdict: str):
    approval = {"approval": {"state": state, "by": "the lead", "utc": "2026-11-20T08:00:00Z", "revision": "C"}}
    record = judged(Worked(tmp_path / "sessions", sound=True, settings=approval).finish().seal(key_folder()))
    assert record.verdict == verdict and decided(record) == ["approval"] * (verdict == "to-decide")


def test_whoever_tightens_is_named_and_a_name_that_was_taken_back_is_a_correction(tmp_path: Path):
    def asking(laid_out: WorkLaidOut) -> WorkLaidOut:
        return replace(laid_out, asks_who=True)

    worked = Worked(tmp_path / "sessions", sound=True, work=asking)
    worked.say("Robin Marsh", "yes").say("correction", decision="ask")
    assert worked.state.last_prompt == "Take back the name Robin Marsh?"  # what would be taken back is what is asked
    worked.say("yes", "Toni Vale", "yes", "yes")
    record = judged(worked.close())
    assert [(n.text, n.counts) for n in record.names] == [("Robin Marsh", False), ("Toni Vale", True)]
    assert [(c.item, c.old, c.new) for c in record.corrections] == [("who tightens", "Robin Marsh", "Toni Vale")]
    assert tightened_by(record) == "“Toni Vale” (as said)"


def test_one_listener_alone_is_to_be_decided(tmp_path: Path):
    made = Worked(tmp_path / "sessions", sound=True, listeners=("vosk",)).finish().seal(key_folder())
    record = judged(made)
    assert record.verdict == "to-decide" and decided(record) == ["one listener"]


def test_an_answer_that_was_taken_back_is_nothing_to_decide(worked: Worked):
    worked.finish(at_bolt(7, 3)).say("150", "keep", "the access is blocked by a pipe", "correction", "170")
    record = judged(worked.finish().seal(key_folder()))
    assert record.verdict == "complete" and [c.old for c in record.corrections] == ["150 N·m"]


# ------------------------------------------------------------------------------------------------------------ bad input
def break_(folder: Path, how: str) -> None:
    journal = folder / "journal.jsonl"
    raw = journal.read_bytes()
    lines = raw.splitlines(keepends=True)
    match how:
        case "torn":
            journal.write_bytes(raw[:-40])
        case "half copied":
            journal.write_bytes(raw[: len(raw) // 2])
        case "foreign":
            journal.write_bytes(b'{"not": "ours"}\n' * 3)
        case "line removed":
            journal.write_bytes(b"".join(lines[:30] + lines[31:]))
        case "empty":
            journal.write_bytes(b"")
        case "no journal":
            journal.unlink()
        case "no joint":
            (folder / "joint.toml").unlink()
        case "no sound":
            shutil.rmtree(folder / "audio")
        case "seal garbled":
            (folder / "seal.json").write_bytes(b"{}")
        case "another key":
            pass


@pytest.mark.parametrize(
    "how",
    ["torn", "half copied", "foreign", "line removed", "empty", "no journal", "no joint", "no sound", "seal garbled"],
)
def test_bad_input_cannot_be_trusted_and_says_why(done_session: Path, tmp_path: Path, capsys, how: str):
    folder = tmp_path / "copies" / done_session.name
    shutil.copytree(done_session, folder)
    break_(folder, how)
    page = tmp_path / "page.html"
    assert main(["replay", str(folder), "--html", str(page), "--silent-prompts"]) == 1
    text = page.read_text("utf-8")
    assert 'data-verdict="untrusted"' in text and 'class="verdict red"' in text
    capsys.readouterr()
    status = main(["record", str(folder), "--json"])
    out = capsys.readouterr().out
    document = json.loads(out)
    assert status == 1 and document["verdict"] == "untrusted" and document["distrust"][0]
    assert document["verdict_words"].startswith("Cannot be trusted: ")
    assert main(["replay", str(folder)]) == 1
    assert "Cannot be trusted: " in capsys.readouterr().out
    assert main(["verify", str(folder)]) == 1
    assert "Traceback" not in capsys.readouterr().err


def test_a_key_that_this_machine_does_not_know_is_no_trust(worked: Worked, tmp_path: Path):
    folder = worked.finish().seal(tmp_path / "anybody")
    assert main(["record", str(folder)]) == 1
    record = on_this_machine(folder)
    assert record.verdict == "untrusted" and "does not know" in record.verdict_words


def test_a_joint_tightened_by_a_templates_examples_is_to_be_decided(worked: Worked):
    from assistant.cli.session_sources import sources_of
    from assistant.replay.record import joint_record
    from tests.replay.telling import trusting

    folder = worked.finish().seal(key_folder())
    sources = sources_of(folder, basis=trusting(folder))
    record = joint_record(replace(sources, plan=dict(sources.plan) | {"cautions": [{"name": "example figures"}]}))
    assert record.verdict == "to-decide" and decided(record) == ["examples"]


def test_a_review_older_than_its_session_is_no_review(worked: Worked):
    from assistant.cli.session_sources import sources_of
    from assistant.replay.record import joint_record
    from tests.replay.telling import trusting

    folder = worked.finish().seal(key_folder())
    assert main(["review", str(folder), "--by", "the lead", "--accept"]) == 0
    sources = sources_of(folder, basis=trusting(folder))
    assert joint_record(sources).verdict == "accepted" and sources.review is not None
    begun = sources.beginning.entries[0].utc
    early = replace(sources.review, entries=tuple(replace(e, utc=begun) for e in sources.review.entries))
    record = joint_record(replace(sources, review=early))
    assert record.verdict == "untrusted" and "older than the end of the session" in record.verdict_words


def test_a_rehearsal_reviewed_before_its_own_clock_has_come_so_far_stays_one(tmp_path: Path):
    settings: dict[str, object] = {PLAYED: "rehearsal"}
    worked = Worked(tmp_path / "s", start=START + timedelta(days=36500), settings=settings, sound=True)
    folder = worked.finish().seal(key_folder())
    assert main(["forget", str(folder), "--by", "the lead", "--yes"]) == 0
    assert on_this_machine(folder).verdict == "rehearsal"
    assert not list((folder / "audio").iterdir()) and verify(folder).utterances == 0


def test_a_line_that_does_not_fit_what_came_before_is_no_trust(done_session: Path):
    from tests.replay.telling import record_of_lines

    lines = read_session(done_session).entries
    at = next(n for n, line in enumerate(lines) if line.event.kind == "bolt-snugged")
    twice = tuple(replace(line, seq=n) for n, line in enumerate((*lines[: at + 1], *lines[at:]), start=1))
    assert record_of_lines(twice).verdict == "untrusted"
