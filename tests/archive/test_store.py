"""The archive's promises: counted once, whole or not at all, whoever adds and whenever it is stopped."""

from __future__ import annotations

import errno
import json
import multiprocessing
import os
import signal

import pytest

pytest.importorskip("duckdb", reason="DuckDB is not installed: pip install 'duckdb>=1.1'")

from assistant.archive import store
from assistant.archive.store import CATALOG, Archive
from assistant.archive.tables import SCHEMA
from assistant.errors import BadSettings, RecordNotWritable
from tests.archive.simulated import session


def counts(archive: Archive) -> tuple[int, int]:
    """Sessions and readings that count."""
    with archive.connection() as found:
        one = found.execute("SELECT count(*), count(DISTINCT session) FROM sessions").fetchone()
        (two,) = found.execute("SELECT count(*) FROM readings").fetchone()
    assert one[0] == one[1]
    return one[0], two


def test_what_was_added_twice_is_counted_once(tmp_path):
    archive = Archive(tmp_path / "a")
    first = archive.add([session(1), session(2), session(2)])
    again = archive.add([session(1), session(2)])
    assert (first.new, again.new, again.known) == (2, 0, 2)
    assert counts(archive) == (2, 16)


def test_a_session_that_went_on_takes_the_place_of_its_rows_and_a_shorter_copy_does_not(tmp_path):
    archive = Archive(tmp_path / "a")
    archive.add([session(1, lines=10, verdict="open")])
    assert archive.add([session(1, lines=20)]).renewed == 1
    assert archive.add([session(1, lines=15, verdict="open")]).known == 1
    with archive.connection() as found:
        assert found.execute("SELECT verdict, lines FROM sessions").fetchall() == [("complete", 20)]
    assert counts(archive) == (1, 8)


def test_rehearsals_are_kept_apart_in_every_view(tmp_path):
    archive = Archive(tmp_path / "a")
    archive.add([session(1), session(2, how="rehearsal")])
    assert counts(archive) == (1, 8)
    with archive.connection() as found:
        assert found.execute("SELECT count(*) FROM played_sessions").fetchone() == (1,)
        assert found.execute("SELECT count(*) FROM played_readings").fetchone() == (8,)


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


def test_a_foreign_schema_is_refused_and_named(tmp_path):
    (tmp_path / CATALOG).write_text(json.dumps({"schema": SCHEMA + 1, "batch": 1, "files": {}}))
    with pytest.raises(BadSettings, match=f"schema {SCHEMA + 1}"):
        Archive(tmp_path)


def test_a_folder_of_something_else_is_not_made_an_archive(tmp_path):
    (tmp_path / "letters.txt").write_text("mine")
    with pytest.raises(BadSettings, match="no archive"):
        Archive(tmp_path)
