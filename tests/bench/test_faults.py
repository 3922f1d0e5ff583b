"""The sweeps of `scripts/bench/faults` can fail, and a few of their cases stand here for the rest."""

from __future__ import annotations

import json

import pytest

from assistant.errors import BadSession
from assistant.journal.disk import Disk
from assistant.journal.seal import installation_key
from scripts.bench.fault_files import Kind, Kinds, attempt
from scripts.bench.faults import Row, fresh, part, table
from tests.journal.whole_course import recorded, session_in


@pytest.fixture(scope="module")
def kinds(tmp_path_factory):
    return Kinds(tmp_path_factory.mktemp("files") / "work")


def test_a_file_of_any_kind_changed_at_random_is_read_or_refused_in_a_sentence(kinds):
    for kind in kinds.all:
        came = {attempt(kind, kinds.case(kind, 7, number)) for number in range(25)}
        assert came <= {"read", "refused"}, kind.name
    assert {kind.name for kind in kinds.all} >= {"line", "joint", "settings", "register", "sound", "review"}
    assert sum(kind.share for kind in kinds.all) == pytest.approx(1.0)


def test_the_same_seed_gives_the_same_case_and_whatever_else_escapes_is_told(kinds):
    kind = kinds.all[0]
    assert kinds.case(kind, 1, 5) == kinds.case(kind, 1, 5) != kinds.case(kind, 2, 5)

    def breaks(raw):
        raise KeyError(raw[:3])

    def talks(raw):
        raise BadSession("x " * 3000, remedy="")

    assert attempt(Kind("any", [b"a"], breaks, 1.0), b"abc").startswith("KeyError")
    assert attempt(Kind("any", [b"a"], talks, 1.0), b"abc") == "a message of 6000 letters"


def test_lost_entries_and_a_forged_look_are_counted_as_such(tmp_path):
    installation_key(tmp_path / "keys")
    root, row = fresh(tmp_path / "work", tmp_path / "keys"), Row("made up")
    recorded(root, Disk(), lambda _count: None, sittings=1)
    row.judge("nothing happened", root, 8)
    assert (row.lost, row.wrong) == (0, [])
    root = fresh(tmp_path / "work", tmp_path / "keys")
    recorded(root, Disk(), lambda _count: None, sittings=1)
    row.judge("more was promised than is there", root, 9)
    assert row.lost == 1 and len(row.wrong) == 1
    root = fresh(tmp_path / "work", tmp_path / "keys")
    recorded(root, Disk(), lambda _count: None, sittings=1)
    folder = session_in(root)
    body = json.loads((folder / "journal.jsonl").read_text("utf-8").splitlines()[0])
    assert body["seq"] == 1
    (folder / "journal.jsonl").write_bytes((folder / "journal.jsonl").read_bytes().replace(b"310", b"311", 1))
    row.judge("a byte changed", root, 8)
    assert len(row.wrong) == 2 and "acknowledged entries lost: 1" in table([row])


def test_a_part_is_one_of_so_many():
    assert part("2/5") == (2, 5)
    for wrong in ("0/5", "6/5", "x", "2"):
        with pytest.raises(Exception, match="is not like"):
            part(wrong)
