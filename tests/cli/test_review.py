"""`review`, in-process: rulings and their limits, and the follow-up that `guide` picks up, typed to its seal."""

from __future__ import annotations

import io
import json
import shutil
import sys

import pytest

from assistant.cli.main import main
from assistant.cli.session_sources import record_of
from assistant.config.paths import key_folder
from assistant.journal.reading import read_session
from assistant.journal.review import read_review
from assistant.procedure.follow_up import follow_up
from tests.replay.worked import FLANGE, Technician, Worked, golden

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.fixture
def folder(done_session, tmp_path):
    shutil.copytree(done_session, tmp_path / "sessions" / done_session.name)
    return tmp_path / "sessions" / done_session.name


def review(capsys, folder, *arguments) -> tuple[int, str, str]:
    status = main(["review", str(folder), *arguments])
    out, err = capsys.readouterr()
    return status, out, err


def kinds(folder):
    found = read_review(folder)
    return [] if found is None else [e.event.kind for e in found.entries]


def test_accepting_and_signing_a_complete_joint(capsys, folder, tmp_path):
    journal = (folder / "journal.jsonl").read_bytes()
    assert "not reviewed yet" in review(capsys, folder)[1] and kinds(folder) == []
    ruling = ("--by", "the lead", "--comment", "all seen", "--accept", "--sign")
    status, _, err = review(capsys, folder, *ruling)
    assert status == 2 and "there is no key of 'the lead'" in err and kinds(folder) == []
    secret = tmp_path / "passphrase"
    secret.write_text("four words never together\n")
    assert main(["key", "new", "--name", "the lead", "--passphrase-file", str(secret)]) == 0
    capsys.readouterr()
    status, out, err = review(capsys, folder, *ruling, "--passphrase-file", str(secret))
    assert status == 0 and err == "" and "the lead: accepted: all seen" in out
    assert kinds(folder) == ["review-begun", "joint-accepted", "review-signed"]
    assert (folder / "journal.jsonl").read_bytes() == journal
    record = record_of(folder)
    assert record.complete and record.review.accepted_by == record.review.signed_by == "the lead"
    assert record.review.seal.fits and not any("reviewed" in point for point in record.open_points)
    assert main(["verify", str(folder)]) == 0


def test_a_comment_alone_and_the_document(capsys, folder):
    status, out, _ = review(capsys, folder, "--by", "the lead", "--comment", "gap readings are filed apart", "--json")
    document = json.loads(out)
    assert status == 0 and [r["kind"] for r in document["review"]["rulings"]] == ["begun", "comment"]
    assert document["complete"] and document["session"] == folder.name


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--accept"], "nobody is named"),
        (["--by", " ", "--sign"], "nobody is named"),
        (["--by", "x" * 81, "--sign"], "--by"),
        (["--by", "lead", "--comment", "a\x1b[2Jb"], "--comment"),
        (["--by", "lead", "--comment", "y" * 2001], "--comment"),
        (["--by", "lead", "--accept", "--redo", "5"], "contradict"),
        (["--by", "lead", "--redo", "9"], "no such bolt"),
        (["--by", "lead", "--redo", "0"], "no such bolt"),
        (["--by", "lead", "--redo", "five"], "a bolt like 5"),
        (["--by", "lead", "--redo", "split bolts:5"], "groups: flange bolts"),
        (["--by", "lead", "--redo", "99999999999999999999"], "no such bolt"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(capsys, folder, arguments, told):
    status, _, err = review(capsys, folder, *arguments)
    assert status == 2 and told in err and kinds(folder) == [] and not (folder / "review-seal.json").exists()


def test_a_bolt_number_in_two_groups_must_name_its_group(capsys, demo_sessions, tmp_path):
    silt = tmp_path / "s" / demo_sessions["north-sluice-conveying-pipe-coupling"].name
    shutil.copytree(demo_sessions["north-sluice-conveying-pipe-coupling"], silt)
    status, _, err = review(capsys, silt, "--by", "lead", "--redo", "1")
    assert status == 2 and "'joint bolts:1', 'split bolts:1'" in err
    assert review(capsys, silt, "--by", "lead", "--redo", "split bolts:1", "3")[0] == 0  # 3: joint bolts only
    assert [(r.group, r.bolt) for r in record_of(silt).review.rulings[1:]] == [("split bolts", 1), ("joint bolts", 3)]


def test_rulings_need_a_finished_joint_as_recorded(capsys, tmp_path, folder):
    unfinished = Worked(tmp_path / "u").say(*golden("repairs")).close()
    for arguments in (["--accept"], ["--redo", "5"]):
        status, _, err = review(capsys, unfinished, "--by", "lead", *arguments)
        assert status == 1 and "refused" in err and kinds(unfinished) == []
    status, out, _ = review(capsys, unfinished, "--by", "lead", "--accept", "--json")
    assert status == 1 and "the joint was not closed" in json.loads(out)["refused"]
    (folder / "plan.json").write_bytes(b"{}")
    status, _, err = review(capsys, folder, "--by", "lead", "--accept", "--comment", "all the same")
    assert status == 1 and "cannot be trusted" in err


def test_accepting_over_a_kept_reading_needs_a_reason(capsys, tmp_path):
    class Low(Technician):
        def __call__(self, state):
            if state.dialogue == "off-window":
                return "keep"
            if state.dialogue == "reasoning":
                return "because the nut face is damaged"
            low = state.current_pass is not None and state.current_pass.number == 3 and state.bolt == 7
            return "150" if low and state.current_pass.kind == "pattern" else super().__call__(state)

    kept = Worked(tmp_path / "s", sound=True).finish(Low()).seal(key_folder())
    status, _, err = review(capsys, kept, "--by", "lead", "--accept")
    assert status == 1 and "outside its window" in err
    secret = tmp_path / "passphrase"
    secret.write_text("four words never together\n")
    assert main(["key", "new", "--name", "lead", "--passphrase-file", str(secret)]) == 0
    signed = ("--accept", "--comment", "nut replaced at the next stop", "--sign", "--passphrase-file", str(secret))
    assert review(capsys, kept, "--by", "lead", *signed)[0] == 0
    assert not any("To be decided" in point for point in record_of(kept).open_points)


def guide(lines, sessions, monkeypatch, *more) -> int:
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(["Robin Marsh", "yes", *lines]) + "\n"))
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(sessions), "--date", "2026-11-25", *more]
    return main(["guide", str(FLANGE), *options])


class Hurried(Technician):
    """Waits for nothing: each wait is cut short for a reason."""

    def __call__(self, state):
        if state.dialogue == "reasoning":
            return "only a trial"
        return "skip" if state.dialogue == "waiting" else super().__call__(state)


def lines_for(tmp_path, work=lambda whole: whole) -> list[str]:
    """What a technician types for this work, from its first question to its close."""
    worked = Worked(tmp_path / "lines", work=work).finish(Hurried((0,), moving=()))
    return [e.event.free_text for e in worked.store.entries if e.event.kind == "utterance-heard"]


def test_a_redo_opens_a_follow_up_that_guide_picks_up_and_closes(capsys, folder, monkeypatch, tmp_path):
    sessions = folder.parent
    lines = lines_for(tmp_path, lambda whole: follow_up(whole, {"flange bolts": (5, 2)}))
    readings = lines.index("170")
    assert review(capsys, folder, "--by", "the lead", "--redo", "5", "2", "--comment", "not believed")[0] == 0
    assert main(["record", str(folder)]) == 1
    capsys.readouterr()

    assert guide(lines[:2], sessions, monkeypatch) == 1
    out, err = capsys.readouterr()
    assert "by the lead wants done again: flange bolts, bolt 5: not believed" in err
    assert "The lead wants bolts two, five done again, then all round. Ready?" in out

    assert guide([*lines[2:readings], "170", "172"], sessions, monkeypatch) == 1  # resumed, at the same question
    out, err = capsys.readouterr()
    assert "bolt five" in out.lower() and "wants done again" in err
    assert guide(lines[readings + 2 :], sessions, monkeypatch) == 0
    out, err = capsys.readouterr()
    assert "NOT complete" not in err and "To be decided" in err  # it was typed, and both waits were cut short

    (later,) = [each for each in sessions.iterdir() if each != folder]
    record = record_of(later)
    assert record.verdict == "to-decide" and record.whole and record.session.follows_up == folder.name
    assert [b.bolt for b in record.passes[0].bolts] == [5, 2]
    assert main(["record", str(folder)]) == 0
    assert guide([], sessions, monkeypatch) == 2  # nothing is wanted any more: the joint is done
    assert "this joint is done" in capsys.readouterr().err
    assert guide([], sessions, monkeypatch, "--new") == 1
    assert "wants done again" not in capsys.readouterr().err
    names = {each.name for each in sessions.iterdir()}
    assert len(names) == 3
    assert len([e for e in read_session(later).entries if e.event.kind == "session-resumed"]) == 2


def test_guide_does_not_call_a_joint_complete_while_a_review_cannot_be_read(capsys, folder, monkeypatch, tmp_path):
    assert review(capsys, folder, "--by", "the lead", "--redo", "5")[0] == 0
    (folder / "review.jsonl").write_bytes(b"garbled\n")
    assert guide(lines_for(tmp_path), folder.parent, monkeypatch, "--new") == 1
    err = capsys.readouterr().err
    assert "Closed and sealed" in err and "The joint is NOT complete. The review of " in err
