"""How session folders are named and found."""

import hashlib
import re
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadSession
from assistant.events import SessionClosed, SessionLeft
from assistant.journal.sessions import latest, session_folders, slug_of, status_of
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
            store.append([opened(store), SessionLeft(reason="end of shift")], 0)
        return store.folder


def found(sessions, joint_sha256=JOINT_SHA256, slug="north-sluice-dn150-flange"):
    return latest(sessions, joint_sha256=joint_sha256, slug=slug)


def where(sessions, **more):
    earlier = found(sessions, **more)
    return None if earlier is None else (earlier.folder, earlier.state)


def test_the_latest_session_on_the_same_joint_file_is_found(tmp_path):
    begin(tmp_path, at_s=0)
    later = begin(tmp_path, at_s=60)
    begin(tmp_path, "Pump 3", at_s=120, joint_toml=b"another")
    begin(tmp_path, at_s=180, events=False)  # stopped before its first event: nothing to resume
    assert where(tmp_path) == (later, "unfinished")
    assert where(tmp_path, joint_sha256="0" * 64, slug="x") is None
    assert where(tmp_path / "nothing") is None


def test_two_begun_in_the_same_second_give_the_later_made(tmp_path):
    begin(tmp_path)
    later = begin(tmp_path)
    assert later.name.endswith("--2") and where(tmp_path) == (later, "unfinished")


def test_a_session_that_was_left_is_unfinished_and_a_closed_or_sealed_one_is_finished(tmp_path):
    folder = begin(tmp_path)
    assert (status_of(folder), where(tmp_path)) == ("unfinished", (folder, "unfinished"))
    with JournalStore.open(folder) as store:
        store.append([SessionClosed(utterance="0001")], 6)
    assert (status_of(folder), where(tmp_path)) == ("closed", (folder, "finished"))
    sealed = sealed_session(tmp_path, tmp_path / "keys")
    assert status_of(sealed) == "sealed" and where(tmp_path) == (sealed, "finished")


def test_an_unfinished_session_that_a_later_one_has_overtaken_is_not_gone_on_with(tmp_path):
    begin(tmp_path)
    later = begin(tmp_path, at_s=60)
    with JournalStore.open(later) as store:
        store.append([SessionClosed(utterance="0001")], 6)
    assert where(tmp_path) == (later, "finished")


def test_begun_with_another_text_of_the_joint_file_it_is_told(tmp_path):
    first = begin(tmp_path, "Flange", joint_toml=b"old text")
    begin(tmp_path, "Flange 2", at_s=60, joint_toml=b"another")
    assert where(tmp_path, slug="flange") == (first, "changed")
    assert "the joint file has changed since" in found(tmp_path, slug="flange").told
    assert where(tmp_path, slug="flan") is None


def test_a_torn_or_damaged_last_line_does_not_hide_a_session(tmp_path):
    folder = unsealed_session(tmp_path)
    raw = (folder / "journal.jsonl").read_bytes()
    for changed in (raw + b'{"check"', raw[:-30], raw[:-3] + b"x}\n", raw.replace(b"three ten", b"three tEn")):
        (folder / "journal.jsonl").write_bytes(changed)
        assert where(tmp_path) == (folder, "unfinished")  # opening it says what is wrong


@pytest.mark.parametrize("harm", ["journal gone", "journal a link", "joint gone", "joint a link", "link", "line 1"])
def test_one_that_cannot_be_read_is_told_and_nothing_begins_beside_it_in_silence(tmp_path, harm):
    folder = unsealed_session(tmp_path / "s")
    file = folder / ("joint.toml" if "joint" in harm else "journal.jsonl")
    if harm == "link":
        folder.rename(tmp_path / "elsewhere")
        folder.symlink_to(tmp_path / "elsewhere")
    elif harm == "line 1":
        file.write_bytes(b"x" + file.read_bytes())
    else:
        kept = tmp_path / "kept"
        file.rename(kept)
        if "link" in harm:
            file.symlink_to(kept)
    earlier = found(tmp_path / "s")
    assert (earlier.folder, earlier.state) == (folder, "unreadable") and "cannot be continued" in earlier.told


def test_foreign_things_among_the_sessions_are_passed_over(tmp_path):
    folder = unsealed_session(tmp_path)
    (tmp_path / "20991125T101500Z-a-file").write_text("x")
    (tmp_path / "20991125T101500Z-empty").mkdir()
    (tmp_path / "notes").mkdir()
    (tmp_path / "20991125T101500Z-linked").symlink_to(folder)
    assert [path.name for path in session_folders(tmp_path)] == [folder.name, "20991125T101500Z-empty"]
    assert where(tmp_path) == (folder, "unfinished")
    assert session_folders(tmp_path / "nothing") == []


def test_a_folder_of_sessions_with_a_name_too_long_is_a_clear_refusal(tmp_path):
    with pytest.raises(BadSession, match="cannot be read"):
        session_folders(tmp_path / ("x" * 300))


def test_the_status_of_what_is_no_session_is_a_clear_refusal(tmp_path):
    with pytest.raises(BadSession):
        status_of(tmp_path)


def test_a_session_stopped_before_its_first_event_is_empty(tmp_path):
    with new_store(tmp_path) as store:
        assert status_of(store.folder) == "empty"


def test_a_folder_that_was_only_being_made_holds_nobody_up(tmp_path):
    made = tmp_path / "20261125T101500Z-pump-2-discharge-flange"
    (made / "audio").mkdir(parents=True)
    assert latest(tmp_path, joint_sha256="0" * 64, slug="pump-2-discharge-flange") is None
    (made / "audio" / "0001.flac").write_bytes(b"x")
    found = latest(tmp_path, joint_sha256="0" * 64, slug="pump-2-discharge-flange")
    assert found is not None and found.state == "unreadable"
