"""The archive's promises: counted once, whole or not at all, whoever adds and whenever it is stopped."""

from __future__ import annotations

import contextlib
import errno
import json
import multiprocessing
import os
import shutil
import signal
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

pytest.importorskip("duckdb", reason="DuckDB is not installed: pip install 'duckdb>=1.1'")

from assistant.archive import store
from assistant.archive.postgres import Database
from assistant.archive.store import CATALOG, Archive
from assistant.archive.tables import ADDED, SCHEMA, TABLES
from assistant.errors import BadSettings, RecordNotWritable
from tests.archive.simulated import session


def counts(archive) -> tuple[int, int]:
    """Sessions and readings of a first tightening that count."""
    with archive.connection() as found:
        one = found.execute("SELECT count(*), count(DISTINCT session) FROM sessions", []).fetchall()[0]
        ((two,),) = found.execute("SELECT count(*) FROM readings WHERE phase = 'tighten'", []).fetchall()
    assert one[0] == one[1]
    return one[0], two


def again(number: int, models: str = "m1", lines: int = 10) -> dict[str, object]:
    """A row of `relistened` for a session."""
    own = session(number, lines=lines)
    return {
        "session": own.session,
        "last": own.rows["sessions"][0]["last"],
        "models": models,
        "line": 7,
        "utterance": "0001",
        "verdict": "same",
        "grave": False,
        "sound_seconds": 1.5,
    }


class StoreContract:
    """What a folder and a database promise alike."""

    def test_what_was_added_twice_is_counted_once(self, archive):
        first = archive.add([session(1), session(2), session(2)])
        again = archive.add([session(1), session(2)])
        assert (first.new, again.new, again.known) == (2, 0, 2)
        assert counts(archive) == (2, 16)

    def test_a_session_that_went_on_takes_the_place_of_its_rows_and_a_shorter_copy_does_not(self, archive):
        archive.add([session(1, lines=10, verdict="open")])
        assert archive.add([session(1, lines=20)]).renewed == 1
        assert archive.add([session(1, lines=15, verdict="open")]).known == 1
        with archive.connection() as found:
            assert found.execute("SELECT verdict, lines FROM sessions", []).fetchall() == [("complete", 20)]
        assert counts(archive) == (1, 8)

    def test_another_course_of_a_session_does_not_take_its_place_though_it_is_longer(self, archive):
        archive.add([session(1, lines=10), replace(session(1, lines=20), course=frozenset({"another"}))])
        archive.add([replace(session(1, lines=30), course=frozenset({"another"}))])
        with archive.connection() as found:
            assert found.execute("SELECT lines FROM sessions", []).fetchall() == [(10,)]

    def test_rehearsals_are_kept_apart_in_every_view(self, archive):
        archive.add([session(1), session(2, how="rehearsal")])
        assert counts(archive) == (1, 8)
        with archive.connection() as found:
            assert found.execute("SELECT count(*) FROM played_sessions", []).fetchall() == [(1,)]
            assert found.execute("SELECT count(*) FROM played_readings", []).fetchall() == [(8,)]

    def test_what_was_heard_again_is_taken_in_once_for_each_state_of_a_session_and_the_models(self, archive):
        archive.add([session(1), session(2)])
        assert archive.add_relistened([again(1), again(99)]) == 1, "of a session that is not there nothing is taken in"
        assert archive.add_relistened([again(1), again(2)]) == 1
        assert archive.add_relistened([again(1, models="m2")]) == 1
        archive.add([session(1, lines=20)])
        with archive.connection() as found:
            assert found.execute("SELECT count(*) FROM relistened", []).fetchall() == [(1,)], "it went on since"
        assert archive.add_relistened([again(1, lines=20)]) == 1

    def test_a_query_of_people_can_change_nothing(self, archive):
        archive.add([session(1)])
        for query in ("DELETE FROM sessions", "DROP VIEW sessions", "SELECT 1; DROP VIEW sessions"):
            with archive.connection(shut=True) as found, contextlib.suppress(archive.errors):
                found.execute(query, [])
        assert counts(archive) == (1, 8)


class TestFolder(StoreContract):
    @pytest.fixture
    def archive(self, tmp_path):
        return Archive(tmp_path / "a")


class TestDatabase(StoreContract):
    @pytest.fixture
    def archive(self, server):
        return Database(server.database())

    def test_the_tables_and_views_are_those_of_the_folder(self, archive, tmp_path):
        shapes = []
        for each in (archive, Archive(tmp_path / "a")):
            with each.connection() as found:
                names = {
                    table: {column[0] for column in found.execute(f"SELECT * FROM {table}", []).description}
                    for table in (*TABLES, *(f"played_{table}" for table in TABLES))
                }
                shapes.append(names)
        assert shapes[0] == shapes[1]

    def test_a_database_that_goes_away_loses_nothing_and_counts_nothing_twice(self, server, archive):
        archive.add([session(1)])
        gone = pytest.raises(RecordNotWritable, match="nothing of this batch was taken in")
        with gone, archive._writing() as connection:
            archive._copy(connection, "sessions", [session(2).rows["sessions"][0]])
            server.stop()
            connection.execute("SELECT 1")
        with pytest.raises(BadSettings, match="cannot be reached"):
            archive.add([session(2)])
        server.start()
        assert counts(archive) == (1, 8)
        assert archive.add([session(1), session(2)]).new == 1
        assert counts(archive) == (2, 16)

    def test_two_importers_at_once_count_each_session_once(self, archive):
        with ThreadPoolExecutor(2) as both:
            for done in [both.submit(_add_to_database, archive._address, part) for part in (range(8), range(4, 12))]:
                done.result()
        assert counts(archive) == (12, 96)

    def test_an_older_schema_is_brought_up_to_date_and_a_newer_one_refused(self, server):
        archive = Database(server.database())
        archive.add([session(1)])
        with archive._writing() as connection:
            for prefix in ("", "played_"):
                for table in TABLES:
                    connection.execute(f"DROP VIEW {prefix}{table}")
            for table, columns in ADDED[1].items():
                for column in columns:
                    connection.execute(f"ALTER TABLE all_{table} DROP COLUMN {column}")
                if not columns:
                    connection.execute(f"DROP TABLE all_{table}")
            connection.execute("UPDATE version SET version = 1")
        lifted = Database(archive._address)
        assert counts(lifted) == (1, 8)
        with lifted.connection() as found:
            assert found.execute("SELECT models, microphone FROM sessions", []).fetchall() == [("", "")]
        with lifted._writing() as connection:
            connection.execute("UPDATE version SET version = $1", [SCHEMA + 1])
        with pytest.raises(BadSettings, match=f"schema {SCHEMA + 1}"):
            Database(archive._address)

    def test_a_password_in_the_address_is_not_shown(self, server):
        with pytest.raises(BadSettings) as caught:
            Database(f"postgresql://site:secret@/none?host={server.folder}/nowhere")
        assert "secret" not in caught.value.message


def _add_to_database(address, numbers):
    archive = Database(address)
    for number in numbers:
        archive.add([session(number)])


def test_many_small_files_are_made_one_and_nothing_is_lost_or_doubled(tmp_path, monkeypatch):
    monkeypatch.setattr(store, "MOST_FILES", 3)
    archive = Archive(tmp_path / "a")
    for number in range(8):
        archive.add([session(number % 6, lines=10 + number)])
    assert counts(archive) == (6, 48)
    named = archive.catalog().files["sessions"]
    places = [name.rpartition("/")[0] for name in named]
    assert max(map(places.count, places)) <= 4
    on_disk = {path.relative_to(archive.folder).as_posix() for path in archive.folder.rglob("*.parquet")}
    assert on_disk == {name for names in archive.catalog().files.values() for name in names}


class Stopped(Archive):
    """Killed by the system at the Nth step of a batch."""

    at = ""
    after = 0
    steps = 0

    def _step(self, name: str) -> None:
        if name == self.at:
            self.steps += 1
            if self.steps > self.after:
                os.kill(os.getpid(), signal.SIGKILL)

    def _copy(self, query, table, place):
        self._step("copy")
        return super()._copy(query, table, place)

    def _settle(self, catalog):
        self._step("before settling")
        super()._settle(catalog)
        self._step("after settling")


def _add_and_die(folder, at, after):
    archive = Stopped(folder)
    archive.at, archive.after = at, after
    archive.add([session(number) for number in range(10, 16)])


@pytest.mark.parametrize(
    ("at", "after", "taken_in"),
    [
        ("copy", 0, False),
        ("copy", 1, False),
        ("copy", 3, False),
        ("before settling", 0, False),
        ("after settling", 0, True),
    ],
)
@pytest.mark.parametrize("empty", [True, False], ids=["first batch", "later batch"])
def test_a_killed_import_loses_nothing_and_counts_nothing_twice(tmp_path, at, after, taken_in, empty):
    folder = tmp_path / "a"
    before = 0 if empty else 3
    if not empty:
        Archive(folder).add([session(number) for number in range(3)])
    child = multiprocessing.get_context("fork").Process(target=_add_and_die, args=(folder, at, after))
    child.start()
    child.join()
    assert child.exitcode == -signal.SIGKILL
    assert counts(Archive(folder))[0] == before + 6 * taken_in
    Archive(folder).add([session(number) for number in range(10, 16)])
    assert counts(Archive(folder)) == (before + 6, (before + 6) * 8)
    on_disk = {path.relative_to(folder).as_posix() for path in folder.rglob("*.parquet")}
    assert on_disk == {name for names in Archive(folder).catalog().files.values() for name in names}


def _add_some(folder, numbers):
    for number in numbers:
        Archive(folder).add([session(number)])


def test_two_importers_at_once_count_each_session_once(tmp_path):
    folder = tmp_path / "a"
    context = multiprocessing.get_context("fork")
    both = [context.Process(target=_add_some, args=(folder, list(numbers))) for numbers in (range(8), range(4, 12))]
    for each in both:
        each.start()
    for each in both:
        each.join()
        assert each.exitcode == 0
    assert counts(Archive(folder)) == (12, 96)


class Full(Archive):
    """A disk without room."""

    def _copy(self, query, table, place):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_full_disk_is_said_plainly_and_the_archive_is_as_it_was(tmp_path):
    folder = tmp_path / "a"
    Archive(folder).add([session(1)])
    with pytest.raises(RecordNotWritable, match="No space left"):
        Full(folder).add([session(2)])
    assert counts(Archive(folder)) == (1, 8)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"schema": 1}', '{"schema": 1, "batch": "x", "files": {}}'])
def test_a_damaged_catalog_is_refused(tmp_path, text):
    (tmp_path / CATALOG).write_text(text)
    with pytest.raises(BadSettings, match=CATALOG):
        Archive(tmp_path)


@pytest.fixture
def older(tmp_path):
    """An archive that the first version of the tables wrote: four sessions, one that went on, and a rehearsal."""
    return Path(shutil.copytree(Path(__file__).parent / "schema_1", tmp_path / "older"))


def test_an_older_schema_is_brought_up_to_date_with_nothing_lost(older):
    archive = Archive(older)
    assert archive.catalog().schema == SCHEMA and counts(archive) == (4, 32)
    with archive.connection() as found:
        assert found.execute("SELECT DISTINCT models, microphone FROM sessions", []).fetchall() == [("", "")]
        assert found.execute("SELECT count(*) FROM played_readings", []).fetchall() == [(8,)]
    assert archive.add([session(7)]).new == 1 and counts(archive) == (5, 40)
    on_disk = {path.relative_to(older).as_posix() for path in older.rglob("*.parquet")}
    assert on_disk == {name for names in archive.catalog().files.values() for name in names}


@pytest.mark.parametrize(("at", "after"), [("copy", 0), ("copy", 2), ("before settling", 0)])
def test_bringing_up_to_date_that_was_killed_is_done_again(older, at, after):
    child = multiprocessing.get_context("fork").Process(target=_lift_and_die, args=(older, at, after))
    child.start()
    child.join()
    assert child.exitcode == -signal.SIGKILL
    assert counts(Archive(older)) == (4, 32)


def _lift_and_die(folder, at, after):
    Stopped.at, Stopped.after = at, after
    Stopped(folder)


def test_a_foreign_schema_is_refused_and_named(tmp_path):
    (tmp_path / CATALOG).write_text(json.dumps({"schema": SCHEMA + 1, "batch": 1, "files": {}}))
    with pytest.raises(BadSettings, match=f"schema {SCHEMA + 1}"):
        Archive(tmp_path)


def test_a_folder_of_something_else_is_not_made_an_archive(tmp_path):
    (tmp_path / "letters.txt").write_text("mine")
    with pytest.raises(BadSettings, match="no archive"):
        Archive(tmp_path)
