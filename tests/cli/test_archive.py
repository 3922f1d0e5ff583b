"""`assistant archive`, in-process, on real session folders."""

from __future__ import annotations

import json
import shutil
import sys
from datetime import datetime, timezone

import pytest

pytest.importorskip("duckdb", reason="DuckDB is not installed: pip install 'duckdb>=1.1'")

from assistant.archive.questions import QUESTIONS
from assistant.archive.tables import TABLES
from assistant.cli import archive
from assistant.cli.keys import own_basis
from assistant.cli.main import parser
from assistant.cli.opening import named
from assistant.errors import BadSettings, ModelMissing
from assistant.events import SessionOpened
from assistant.journal.chain import Link, line_sha256, make_line, read_line
from assistant.journal.sessions import MICROPHONE
from assistant.replay.overview_cache import look
from tests.replay.worked import Worked
from tests.report.sessions_made import unfinished_session

LATER = datetime(2100, 1, 1, tzinfo=timezone.utc)


@pytest.fixture
def folder(tmp_path, own_home, demo_sessions):
    place = tmp_path / "sessions"
    place.mkdir()
    for name in ("north-sluice-dn150-flange", "north-sluice-gearbox-base"):
        shutil.copytree(demo_sessions[name], place / demo_sessions[name].name)
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
    assert json.loads(out) == [{"n": 8 + 12}] and number == 2
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
    why = archive.taken(look(session), "content", archive.Terms(basis=own_basis(), now=early))
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


def test_the_answer_on_a_database_is_that_on_a_folder(capsys, folder, tmp_path, server):
    address = server.database()
    for store in (address, tmp_path / "a"):
        assert call(capsys, "add", folder, "--archive", store)[0] == 0
    for name in ("rounds", "pace"):
        one, two = (call(capsys, "ask", name, "--archive", store)[1] for store in (address, tmp_path / "a"))
        assert one == two and len(one.splitlines()) > 2
    query = "SELECT joint FROM sessions ORDER BY 1"
    one, two = (call(capsys, "sql", query, "--archive", store)[1] for store in (address, tmp_path / "a"))
    assert one == two
    with pytest.raises(BadSettings, match="sql: "):
        call(capsys, "sql", "DELETE FROM all_sessions", "--archive", address)
    with pytest.raises(BadSettings, match="keeps no recordings"):
        call(capsys, "add", folder, "--archive", address, "--sound")


def test_a_later_session_on_the_joint_renews_what_is_due_at_the_earlier_one(capsys, folder, tmp_path):
    """A cold re-check that a later session did is due no more: the earlier session's rows are made anew."""
    looked = [look(path) for path in sorted(folder.iterdir())]
    alone = archive.contents_of(looked, own_basis())
    copy = folder / looked[0].folder.name.replace("2026", "2027", 1)
    shutil.copytree(looked[0].folder, copy)
    beside = archive.contents_of(looked, own_basis())
    assert [each.folder for each in looked if alone[each.folder] != beside[each.folder]] == [looked[0].folder]


def test_names_are_taken_in_only_of_people_who_agreed(capsys, folder, tmp_path):
    store = _added(capsys, folder, tmp_path / "a")

    def stands(name: str) -> list[str]:
        rows = {table: call(capsys, "sql", f"FROM {table}", "--archive", store, "--json")[1] for table in TABLES}
        return [table for table, text in rows.items() if name in text]

    assert stands("Marsh") == stands("Vale") == []
    status, out, _ = call(capsys, "add", folder, "--archive", store, "--person", "Robin Marsh", "--json")
    assert status == 0 and json.loads(out)["renewed"] == len(list(folder.iterdir()))
    assert "people" in stands("Robin Marsh") and stands("Vale") == []
    rows = json.loads(call(capsys, "ask", "people", "--archive", store, "--json")[1])["rows"]
    assert {row["name"] for row in rows} == {"Robin Marsh"}


def _added(capsys, folder, store):
    call(capsys, "add", folder, "--archive", store)
    return store


def test_many_sessions_are_shared_among_processes_with_the_same_rows(capsys, folder, tmp_path, monkeypatch):
    query = "SELECT * EXCLUDE (batch) FROM readings ORDER BY ALL"
    alone = call(capsys, "sql", query, "--archive", _added(capsys, folder, tmp_path / "a"), "--json")[1]
    monkeypatch.setattr(archive, "POOL_FROM", 1)
    shared = call(capsys, "sql", query, "--archive", _added(capsys, folder, tmp_path / "b"), "--json")[1]
    assert shared == alone and len(json.loads(alone)) > 20


def test_pages_and_pictures_are_written_and_a_refusing_place_is_named(capsys, folder, tmp_path):
    store = _added(capsys, folder, tmp_path / "a")
    status, out, _ = call(capsys, "ask", "pace", "--archive", store, "--html", tmp_path / "p.html", "--plot",
                          tmp_path / "p.svg")  # fmt: skip
    assert status == 0 and out == ""
    assert "<table>" in (tmp_path / "p.html").read_text() and "<circle" in (tmp_path / "p.svg").read_text()
    with pytest.raises(BadSettings, match=r"--plot: .*cannot be written"):
        call(capsys, "ask", "pace", "--archive", store, "--plot", tmp_path / "none" / "p.svg")


@pytest.mark.parametrize(("module", "store"), [("duckdb", "folder"), ("psycopg", "postgresql:///none")])
def test_a_package_that_is_missing_is_named_with_its_remedy(capsys, folder, tmp_path, monkeypatch, module, store):
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(ModelMissing, match="not installed") as caught:
        call(capsys, "add", folder, "--archive", store if "://" in store else tmp_path / store)
    assert "pip install" in caught.value.remedy


@pytest.mark.parametrize(
    "query", ["SELECT * FROM read_csv('/etc/passwd')", "COPY (SELECT 1) TO '/tmp/evil.csv'", "SELEC", "SELECT nothing"]
)
def test_sql_reaches_nothing_outside_and_says_what_is_wrong(capsys, tmp_path, query):
    (tmp_path / "a").mkdir()
    with pytest.raises(BadSettings, match="sql: "):
        call(capsys, "sql", query, "--archive", tmp_path / "a")


def test_asking_where_nothing_is_says_how_to_begin(capsys, tmp_path):
    with pytest.raises(BadSettings, match="there is no archive"):
        call(capsys, "ask", "due", "--archive", tmp_path / "none")
    with pytest.raises(BadSettings, match="not a folder"):
        call(capsys, "add", tmp_path / "none", "--archive", tmp_path / "a")


def test_the_microphone_and_the_models_of_a_session_stand_beside_its_questions(tmp_path, own_home, demo_keys):
    settings = {MICROPHONE: "headset 2"}
    opened = SessionOpened(joint="j", joint_sha256="", plan_sha256="", product="p", listeners=(), speaker="")
    (told,) = named((opened,), listeners=("vosk",), speaker="silent", microphone="headset 2")
    assert told.settings == settings and named((opened,), listeners=(), speaker="")[0].settings == {}
    folder = Worked(tmp_path / "s", settings=settings).say("yes").close()
    found = archive.taken(look(folder), "content", archive.Terms(basis=own_basis(), now=LATER))
    assert not isinstance(found, str) and found is not None
    assert found.rows["sessions"][0]["microphone"] == "headset 2"
    assert {row["kind"] for row in found.rows["utterances"]} == {"command"}


@pytest.fixture
def two_courses(tmp_path, own_home, demo_keys):
    """A session that was copied while it was open and then went on in both places, and a copy from before."""
    lines = {"before": ["say again"], "longer": ["say again", "no", "say again"], "other": ["say again", "stop"]}
    return {name: Worked(tmp_path / name).say(*said).close() for name, said in lines.items()}


def counted(capsys, store, status, *folders):
    done, out, _ = call(capsys, "add", *folders, "--archive", store)
    assert done == status
    return out, call(capsys, "sql", "SELECT path FROM sessions", "--archive", store, "--json")[1]


def test_of_two_copies_that_went_on_differently_one_counts_and_the_other_is_set_aside(capsys, tmp_path, two_courses):
    store, longer, other = tmp_path / "a", two_courses["longer"], two_courses["other"]
    out, paths = counted(capsys, store, 1, two_courses["before"], other, longer)
    assert out.startswith("1 new, 0 renewed, ") and "1 set aside" in out
    assert f"set aside: {other.name}: it and {longer} are copies of one session, but differ from journal.jsonl" in out
    assert [row["path"] for row in json.loads(paths)] == [str(longer)]
    assert counted(capsys, store, 0, two_courses["before"])[1] == paths, "an earlier copy of the same course"


def test_what_counts_is_replaced_by_its_own_course_alone(capsys, tmp_path, two_courses):
    store, longer, other = tmp_path / "a", two_courses["longer"], two_courses["other"]
    counted(capsys, store, 0, two_courses["before"])
    _, first = counted(capsys, store, 0, other)
    assert str(other) in first
    out, paths = counted(capsys, store, 1, longer)
    assert "differ from journal.jsonl line" in out and paths == first
    shutil.rmtree(other)
    for each in (longer, two_courses["before"]):
        out, paths = counted(capsys, store, 1, each)
        assert "could not be compared" in out and paths == first


@pytest.mark.parametrize(("kind", "version"), [("from-another-program", 1), ("prompt-spoken", 99)])
def test_a_session_of_a_newer_program_is_set_aside_with_its_reason(tmp_path, own_home, kind, version):
    folder = Worked(tmp_path / "s").say("yes").close()
    journal = folder / "journal.jsonl"
    raw = journal.read_bytes()
    last = read_line(raw.splitlines()[-1])
    link = Link(seq=last.seq, sha256=line_sha256(raw.splitlines()[-1]))
    line, _ = make_line(link, last.utc, sample=last.sample, kind=kind, version=version, payload={})
    journal.write_bytes(raw + line + b"\n")
    why = archive.taken(look(folder), "content", archive.Terms(basis=own_basis(), now=LATER))
    assert isinstance(why, str) and (kind in why or "newer" in why or "version" in why), why
