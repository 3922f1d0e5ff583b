"""How session folders are named and found."""

import hashlib
import re
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadSession
from assistant.events import SessionClosed, SessionLeft
from assistant.journal.sessions import find_unfinished, session_folders, slug_of, status_of
from assistant.journal.store import JournalStore
from tests.journal.short_record import JOINT, START, Ticking, new_store, opened, sealed_session, unsealed_session

JOINT_SHA256 = hashlib.sha256(JOINT).hexdigest()


@given(st.text())
def test_a_slug_is_safe_and_stable(joint):
    slug = slug_of(joint)
    assert re.fullmatch("[a-z0-9]+(-[a-z0-9]+)*", slug) and len(slug) <= 60
    assert slug_of(slug) == slug


def test_slugs_people_will_see():
    assert slug_of("North Sluice DN150 flange") == "north-sluice-dn150-flange"
    assert slug_of("  Größe/../N°7 ") == "groe-n7"
    assert slug_of("ねじ") == "joint"


def begin(sessions, joint="North Sluice DN150 flange", at_s=0, joint_toml=JOINT, events=True):
    with JournalStore.create(
        sessions,
        joint=joint,
        joint_toml=joint_toml,
        plan_json=b"{}",
        clock=Ticking(START + timedelta(seconds=at_s)),
        need_bytes=0,
    ) as store:
        if events:
            store.append([opened(store)], 0)
        return store.folder


def test_the_latest_unfinished_session_on_the_same_joint_file_is_found(tmp_path):
    begin(tmp_path, at_s=0)
    later = begin(tmp_path, at_s=60)
    begin(tmp_path, at_s=120, joint_toml=b"another")
    begin(tmp_path, at_s=180, events=False)  # stopped before its first event: nothing to resume
    assert find_unfinished(tmp_path, joint_sha256=JOINT_SHA256) == later
    assert find_unfinished(tmp_path, joint_sha256="0" * 64) is None


def test_two_begun_in_the_same_second_give_the_later_made(tmp_path):
    begin(tmp_path)
    later = begin(tmp_path)
    assert later.name.endswith("--2") and find_unfinished(tmp_path, joint_sha256=JOINT_SHA256) == later


def test_a_session_that_was_left_is_unfinished_a_closed_or_sealed_one_is_not(tmp_path):
    folder = begin(tmp_path)
    with JournalStore.open(folder) as store:
        store.append([SessionLeft(reason="end of shift")], 5)
    assert (status_of(folder), find_unfinished(tmp_path, joint_sha256=JOINT_SHA256)) == ("unfinished", folder)
    with JournalStore.open(folder) as store:
        store.append([SessionClosed(utterance="0001")], 6)
    assert (status_of(folder), find_unfinished(tmp_path, joint_sha256=JOINT_SHA256)) == ("closed", None)
    assert status_of(sealed_session(tmp_path, tmp_path / "keys")) == "sealed"
    assert find_unfinished(tmp_path, joint_sha256=JOINT_SHA256) is None


def test_a_torn_or_damaged_last_line_does_not_hide_a_session(tmp_path):
    folder = unsealed_session(tmp_path)
    raw = (folder / "journal.jsonl").read_bytes()
    for changed in (raw + b'{"check"', raw[:-30], raw[:-3] + b"x}\n"):
        (folder / "journal.jsonl").write_bytes(changed)
        assert find_unfinished(tmp_path, joint_sha256=JOINT_SHA256) == folder


def test_a_session_damaged_in_the_middle_is_found_so_that_opening_it_says_so(tmp_path):
    folder = unsealed_session(tmp_path)
    raw = (folder / "journal.jsonl").read_bytes()
    (folder / "journal.jsonl").write_bytes(raw.replace(b"three ten", b"three tEn"))
    assert find_unfinished(tmp_path, joint_sha256=JOINT_SHA256) == folder


def test_by_slug_only_that_joint_is_found(tmp_path):
    first = begin(tmp_path, "Flange", joint_toml=b"old text")
    begin(tmp_path, "Flange 2", at_s=60)
    assert find_unfinished(tmp_path, slug="flange") == first
    second = begin(tmp_path, "Flange")  # same second: gets a suffix
    assert find_unfinished(tmp_path, slug="flange") == second
    assert find_unfinished(tmp_path, slug="flan") is None


def test_one_way_of_naming_the_joint_must_be_chosen(tmp_path):
    for arguments in ({}, {"slug": "x", "joint_sha256": "y"}):
        with pytest.raises(ValueError):
            find_unfinished(tmp_path, **arguments)


def test_foreign_things_among_the_sessions_are_passed_over(tmp_path):
    folder = unsealed_session(tmp_path)
    (tmp_path / "20991125T101500Z-a-file").write_text("x")
    (tmp_path / "20991125T101500Z-empty").mkdir()
    (tmp_path / "notes").mkdir()
    (tmp_path / "20991125T101500Z-linked").symlink_to(folder)
    assert [path.name for path in session_folders(tmp_path)] == [folder.name, "20991125T101500Z-empty"]
    assert find_unfinished(tmp_path, joint_sha256=JOINT_SHA256) == folder
    assert session_folders(tmp_path / "nothing") == [] and find_unfinished(tmp_path / "nothing", slug="x") is None


def test_the_status_of_what_is_no_session_is_a_clear_refusal(tmp_path):
    with pytest.raises(BadSession):
        status_of(tmp_path)


def test_a_session_stopped_before_its_first_event_is_empty(tmp_path):
    with new_store(tmp_path) as store:
        assert status_of(store.folder) == "empty"
