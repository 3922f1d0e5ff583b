"""`assistant archive`, in-process, on real session folders."""

from __future__ import annotations

import json
import shutil
from datetime import datetime, timezone

import pytest

pytest.importorskip("duckdb", reason="DuckDB is not installed: pip install 'duckdb>=1.1'")

from assistant.archive.questions import QUESTIONS
from assistant.cli import archive
from assistant.cli.keys import own_basis
from assistant.cli.main import parser
from assistant.errors import BadSettings
from tests.report.sessions_made import unfinished_session


@pytest.fixture
def folder(tmp_path, own_home, demo_sessions):
    place = tmp_path / "sessions"
    place.mkdir()
    for session in demo_sessions.values():
        if not (place / session.name).exists():
            shutil.copytree(session, place / session.name)
    return place


def call(capsys, *arguments):
    args = parser("archive").parse_args(["archive", *map(str, arguments)])
    return archive.run(args), *capsys.readouterr()


def test_the_questions_named_in_help_are_those_that_there_are():
    assert tuple(QUESTIONS) == archive.NAMES


def test_sessions_are_taken_in_once_and_asked(capsys, folder, tmp_path):
    store = tmp_path / "a"
    number = len(list(folder.iterdir()))
    status, out, _ = call(capsys, "add", folder, "--archive", store, "--json")
    assert status == 0 and json.loads(out)["new"] == number
    status, out, _ = call(capsys, "add", folder, "--archive", store, "--json")
    assert status == 0 and json.loads(out) | {"new": 0, "known": number} == json.loads(out)
    status, out, _ = call(capsys, "sql", "SELECT sum(bolts) AS n FROM sessions", "--archive", store, "--json")
    assert json.loads(out) == [{"n": 8 + 6 + 24 + 12}] or number != 4
    for name in QUESTIONS:
        assert call(capsys, "ask", name, "--archive", store, "--json")[0] == 0


def test_readings_stand_in_newton_metres(capsys, folder, tmp_path):
    store = tmp_path / "a"
    call(capsys, "add", folder, "--archive", store)
    query = "SELECT said, value_nm FROM readings WHERE said LIKE '%lbf*ft' LIMIT 50"
    rows = json.loads(call(capsys, "sql", query, "--archive", store, "--json")[1])
    assert all(
        row["value_nm"]
        == pytest.approx(float(row["said"].split()[0]) * 1.3558179483314004)  # NIST SP 811 (from memory)
        for row in rows
    )


def test_a_tampered_session_is_set_aside_with_its_reason_and_the_rest_is_taken_in(capsys, folder, tmp_path):
    sealed = sorted(path for path in folder.iterdir() if (path / "seal.json").exists())
    journal = sealed[0] / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b'"52"', b'"53"', 1).replace(b'"75"', b'"76"', 1) + b"x\n")
    status, out, _ = call(capsys, "add", folder, "--archive", tmp_path / "a")
    assert status == 1 and f"set aside: {sealed[0].name}: " in out and f"{len(sealed) - 1} new" in out


def test_half_copied_and_empty_folders_are_set_aside(capsys, folder, tmp_path):
    half = folder / "20270101T000000Z-half"
    half.mkdir()
    status, out, _ = call(capsys, "add", folder, "--archive", tmp_path / "a")
    assert status == 1 and f"set aside: {half.name}: there is no line of a journal" in out


def test_a_session_of_the_future_is_set_aside(folder):
    session = sorted(folder.iterdir())[0]
    early = datetime(2026, 1, 1, tzinfo=timezone.utc)
    why = archive.taken(session, own_basis(), now=early, known={}, rehearsals=False)
    assert isinstance(why, str) and "future" in why


def test_an_unfinished_session_is_taken_in_and_is_due(capsys, folder, tmp_path):
    unfinished_session(folder)
    call(capsys, "add", folder, "--archive", tmp_path / "a")
    rows = json.loads(call(capsys, "ask", "due", "--archive", tmp_path / "a", "--json")[1])["rows"]
    assert any(row["stands"] == "due" and row["verdict"] == "open" for row in rows)


def test_sound_is_copied_only_when_asked_and_by_its_hash(capsys, folder, tmp_path):
    session = next(path for path in folder.iterdir() if any((path / "audio").glob("*.flac")))
    call(capsys, "add", session, "--archive", tmp_path / "a")
    assert not list((tmp_path / "a").rglob("*.flac"))
    first = json.loads(call(capsys, "add", session, "--archive", tmp_path / "b", "--sound", "--json")[1])
    assert first["recordings"] == len(list((tmp_path / "b").rglob("*.flac"))) > 0


@pytest.mark.parametrize(
    "query", ["SELECT * FROM read_csv('/etc/passwd')", "COPY (SELECT 1) TO '/tmp/evil.csv'", "SELEC", "SELECT nothing"]
)
def test_sql_reaches_nothing_outside_and_says_what_is_wrong(capsys, folder, tmp_path, query):
    call(capsys, "add", folder, "--archive", tmp_path / "a")
    with pytest.raises(BadSettings, match="sql: "):
        call(capsys, "sql", query, "--archive", tmp_path / "a")


def test_asking_where_nothing_is_says_how_to_begin(capsys, tmp_path):
    with pytest.raises(BadSettings, match="there is no archive"):
        call(capsys, "ask", "due", "--archive", tmp_path / "none")
    with pytest.raises(BadSettings, match="not a folder"):
        call(capsys, "add", tmp_path / "none", "--archive", tmp_path / "a")
