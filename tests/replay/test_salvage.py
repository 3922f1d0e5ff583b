"""What is read of a journal that as a whole is not believed."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadSession
from assistant.journal.reading import read_session
from assistant.replay.salvage import salvage
from tests.journal.short_record import unsealed_session
from tests.replay.telling import told


@pytest.fixture(scope="module")
def raw(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return (unsealed_session(tmp_path_factory.mktemp("short")) / "journal.jsonl").read_bytes()


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("place")


def put(place: Path, raw: bytes) -> Path:
    (place / "journal.jsonl").write_bytes(raw)
    return place


def test_a_whole_journal_reads_as_ever(raw: bytes, place: Path):
    folder = put(place, raw)
    found = salvage(folder)
    assert found.entries == read_session(folder).entries
    assert (found.unread, found.refused, found.torn_bytes) == ((), "", 0)


def test_a_damaged_line_costs_only_itself_and_is_named(raw: bytes, place: Path):
    lines = raw.split(b"\n")
    lines[2] = lines[2].replace(b'"bolt":5', b'"bolt":6')
    folder = put(place, b"\n".join(lines))
    with pytest.raises(BadSession):
        read_session(folder)
    found = salvage(folder)
    assert len(found.entries) == 4 and [each.line for each in found.unread] == [3]
    assert "line 3 is damaged" in found.refused


def test_lines_that_changed_places_are_all_read_and_the_whole_is_not_believed(raw: bytes, place: Path):
    lines = raw.split(b"\n")
    lines[1], lines[3] = lines[3], lines[1]
    found = salvage(put(place, b"\n".join(lines)))
    assert len(found.entries) == 5 and not found.unread and "does not belong there" in found.refused


def test_a_journal_that_is_not_there_is_said(tmp_path: Path):
    found = salvage(tmp_path)
    assert not found.entries and found.unread[0].line == 0 and "cannot be read" in found.unread[0].why


def test_a_link_in_place_of_the_journal_is_not_followed(raw: bytes, tmp_path: Path):
    (tmp_path / "elsewhere").write_bytes(raw)
    (tmp_path / "journal.jsonl").symlink_to(tmp_path / "elsewhere")
    assert not salvage(tmp_path).entries


@given(at=st.integers(0, 10**6), byte=st.integers(0, 255))
def test_no_changed_byte_makes_it_raise_or_tells_of_a_line_that_was_not_there(
    raw: bytes, place: Path, at: int, byte: int
):
    damaged = bytearray(raw)
    damaged[at % len(raw)] = byte
    whole = {entry.sha256 for entry in salvage(put(place, raw)).entries}
    found = salvage(put(place, bytes(damaged)))
    assert {entry.sha256 for entry in found.entries} <= whole
    told(found.entries, unread=found.unread)


@given(st.binary(max_size=400))
def test_foreign_bytes_are_no_entries(place: Path, foreign: bytes):
    assert salvage(put(place, foreign)).entries == ()
