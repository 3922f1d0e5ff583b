"""`assistant sessions`, in-process, on real session folders."""

from __future__ import annotations

import hashlib
import json
import shutil
from datetime import datetime, timezone

import pytest

from assistant.cli import sessions, verify
from assistant.cli.main import parser
from assistant.config.paths import key_folder
from assistant.errors import BadSettings
from assistant.journal.register import add_to_register
from assistant.journal.seal import installation_key
from assistant.journal.sessions import slug_in
from tests.replay.worked import Worked
from tests.report.sessions_made import unfinished_session


@pytest.fixture
def folder(tmp_path, own_home, demo_sessions):
    place = tmp_path / "sessions"
    place.mkdir()
    for session in demo_sessions.values():
        if not (place / session.name).exists():
            shutil.copytree(session, place / session.name)
    unfinished_session(place)
    return place


def call(capsys, *arguments):
    status = sessions.run(parser("sessions").parse_args(["sessions", *map(str, arguments)]))
    return status, *capsys.readouterr()


def test_every_session_has_its_row_with_the_verdict_of_its_record(capsys, folder):
    from assistant.cli.session_sources import record_of

    status, out, _ = call(capsys, folder, "--json")
    document = json.loads(out)
    rows = document["sessions"] + document["rehearsals"]
    copies = [name for each in document["copies"] for name in each["copies"]]
    assert len(rows) + len(copies) == len(list(folder.iterdir()))
    for row in rows:
        record = record_of(folder / row["session"].rpartition("/")[2])
        assert (row["verdict"], row["joint"], row["words"]) == (record.verdict, record.joint.name, record.verdict_words)
    assert status == int(any(row["verdict"] in ("untrusted", "to-decide", "to-redo") for row in document["sessions"]))
    assert {row["verdict"] for row in rows} > {"open"}


def test_a_second_look_reads_nothing_anew_and_a_changed_session_is(capsys, folder, monkeypatch):
    first = call(capsys, folder, "--json")[1]
    read = []
    real = sessions.row
    monkeypatch.setattr(sessions, "row", lambda each, basis: read.append(each.folder.name) or real(each, basis))
    second = call(capsys, folder, "--json")[1]
    assert json.loads(first)["sessions"] == json.loads(second)["sessions"] or read == []
    assert read == []
    changed = next(path for path in folder.iterdir() if (path / "seal.json").exists())
    text = (changed / "journal.jsonl").read_bytes()
    (changed / "journal.jsonl").write_bytes(text.replace(b"N*m", b"N*n", 1))
    status, out, _ = call(capsys, folder, "--json")
    assert status == 1 and changed.name in read
    assert {slug_in(name) for name in read} == {slug_in(changed.name)}, "and those on the same joint, no others"
    (row,) = [row for row in json.loads(out)["sessions"] if row["session"].endswith(changed.name)]
    assert row["verdict"] == "untrusted" and row["trouble"]


def test_a_recording_that_went_after_the_first_look_is_seen_at_the_second(capsys, folder):
    call(capsys, folder)
    sound = next(path for path in sorted(folder.glob("*/audio/*.flac")) if (path.parents[1] / "seal.json").exists())
    sound.unlink()
    status, out, _ = call(capsys, folder, "--json")
    rows = {row["session"].rpartition("/")[2]: row for row in json.loads(out)["sessions"]}
    assert status == 1 and rows[sound.parents[1].name]["verdict"] == "untrusted"


def test_a_copy_under_another_name_is_named_and_counted_once(capsys, folder):
    session = next(path for path in folder.iterdir() if (path / "seal.json").exists())
    shutil.copytree(session, folder / "20270101T000000Z-pump-3")
    _, out, _ = call(capsys, folder)
    assert "counted once: 20270101T000000Z-pump-3" in out


def test_a_copy_that_went_on_differently_is_told_with_the_line(capsys, tmp_path, own_home, demo_keys):
    Worked(tmp_path / "s").say("say again", "no").close()
    there = Worked(tmp_path / "there").say("say again", "stop").close()
    there.rename(tmp_path / "s" / "20270101T000000Z-pump-3")
    status, out, _ = call(capsys, tmp_path / "s")
    assert status == 1 and "20270101T000000Z-pump-3 differs from what it is a copy of from journal.jsonl line" in out
    assert json.loads(call(capsys, tmp_path / "s", "--json")[1])["parted"]


def test_an_empty_folder_is_no_fault_and_a_missing_one_is(capsys, tmp_path, own_home):
    (tmp_path / "empty").mkdir()
    status, out, _ = call(capsys, tmp_path / "empty")
    assert status == 0 and out.startswith("0 sessions")
    with pytest.raises(BadSettings, match="nowhere"):
        call(capsys, tmp_path / "nowhere")


def test_a_folder_without_a_journal_has_a_row_that_says_so(capsys, folder):
    (folder / "20270102T000000Z-lost").mkdir()
    status, out, _ = call(capsys, folder)
    assert status == 1 and "20270102T000000Z-lost" in out and "cannot be trusted" in out


def test_the_page_is_whole_and_needs_no_network(capsys, folder, tmp_path):
    page = tmp_path / "sessions.html"
    call(capsys, folder, "--html", page)
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!doctype html>") and text.rstrip().endswith("</html>")
    assert "http://" not in text and "https://" not in text and "Pump 2 discharge flange" in text


def registered(sessions_of, folder):
    """The register of this machine as guiding these sessions would have left it."""
    keys = key_folder()
    for session in sessions_of:
        lines = (session / "journal.jsonl").read_bytes().splitlines()
        add_to_register(
            keys,
            installation_key(keys),
            act="opened",
            session=folder / session.name,
            first=hashlib.sha256(lines[0]).hexdigest(),
            count=1,
            last_hash=hashlib.sha256(lines[0]).hexdigest(),
            utc=datetime(2026, 11, 25, tzinfo=timezone.utc),
        )


def test_the_register_says_which_of_two_copies_is_the_original_and_what_vanished(capsys, folder):
    work = sorted(path for path in folder.iterdir() if (path / "seal.json").exists())
    registered(work[:2], folder)
    shutil.copytree(work[0], folder / "20250101T000000Z-earlier-by-its-name")
    gone = work[1].rename(folder.parent / work[1].name)
    status, out, _ = call(capsys, folder, "--json")
    document = json.loads(out)
    assert status == 1 and document["vanished"] == [gone.name] and document["register_trouble"] is None
    (copied,) = document["copies"]
    assert copied["session"].endswith(work[0].name) and copied["copies"][0].endswith("earlier-by-its-name")
    assert f"vanished: {gone.name}" in call(capsys, folder)[1]
    assert verify.run(parser("verify").parse_args(["verify", "--register"])) == 1
    assert f"{gone.name}\n  MISSING: It was last registered" in capsys.readouterr().out
    gone.rename(folder / f"{gone.name}--2")
    assert json.loads(call(capsys, folder, "--json")[1])["vanished"] == [], "it was renamed"


def test_a_damaged_register_is_said_and_hides_nothing(capsys, folder):
    registered(sorted(folder.iterdir())[:2], folder)
    register = key_folder() / "register.jsonl"
    register.write_bytes(register.read_bytes().replace(b'"opened"', b'"closed"', 1))
    document = json.loads(call(capsys, folder, "--json")[1])
    assert "does not follow" in document["register_trouble"] and len(document["sessions"]) > 2
