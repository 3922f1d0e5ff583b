"""Promises 2, 3, 4, 5, 7, 8, 12 as one contract, held by the folder and by the memory store."""

import dataclasses
import errno
import os
import stat
from datetime import timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import BadSession, RecordNotWritable
from assistant.events import Paused, SessionClosed, SessionLeft
from assistant.journal.chain import read_line
from assistant.journal.disk import Disk
from assistant.journal.recording import MemoryStore
from assistant.journal.store import JournalStore
from tests.journal.short_record import (
    JOINT,
    PLAN,
    START,
    FailingDisk,
    Ticking,
    accepted,
    heard,
    new_store,
    opened,
    resumed,
    say,
    sound,
    unsealed_session,
)


class RecordingContract:
    """What every recording promises. `make` begins one, `again` opens the same anew, `raw` is its journal's bytes."""

    def make(self, folder):
        raise NotImplementedError

    def again(self, store):
        raise NotImplementedError

    def raw(self, store):
        raise NotImplementedError

    def damage(self, store, raw):
        raise NotImplementedError

    @pytest.fixture
    def store(self, tmp_path):
        store = self.make(tmp_path)
        yield store
        store.close()

    def test_events_come_back_equal_in_order_with_number_time_and_sample(self, store):
        first = store.append([opened()], 0)
        events = say(store, "310", 1)
        entries = self.again(store).entries
        assert [entry.event for entry in entries] == [opened(), *events]
        assert [entry.seq for entry in entries] == [1, 2, 3]
        assert [entry.sample for entry in entries] == [0, 1000, 1000]
        assert entries[0] == first[0]
        times = [entry.utc for entry in entries]
        assert times == sorted(times) and times[1] - times[0] == timedelta(seconds=1)

    def test_what_it_shows_live_is_what_is_read_again(self, store):
        store.append([opened()], 0)
        say(store, "310", 1)
        live = store.entries
        assert self.again(store).entries == live

    def test_numbering_goes_on_after_opening_again(self, store):
        store.append([opened()], 0)
        later = self.again(store)
        assert later.append([resumed(0)], 5)[0].seq == 2
        assert [entry.seq for entry in self.again(later).entries] == [1, 2]

    def test_an_empty_append_records_nothing(self, store):
        assert store.append([], 0) == []
        assert self.raw(store) == b""

    def test_no_earlier_byte_ever_changes(self, store):
        store.append([opened()], 0)
        before = self.raw(store)
        say(store, "310", 1)
        later = self.again(store)
        later.append([resumed(0)], 5)
        assert self.raw(later).startswith(before) and len(self.raw(later)) > len(before)

    def test_a_torn_last_batch_costs_only_itself_and_is_told_once(self, store):
        store.append([opened()], 0)
        first = len(self.raw(store))
        say(store, "310", 1)
        whole = self.raw(store)
        self.damage(store, whole[:-10])
        later = self.again(store)
        assert len(later.entries) == 1 and later.torn_bytes == len(whole) - 10 - first
        later.append([resumed(later.torn_bytes)], 5)
        assert later.torn_bytes == 0
        last = self.again(later)
        assert last.torn_bytes == 0
        assert [entry.seq for entry in last.entries] == [1, 2]

    def test_a_torn_line_not_told_of_stays_owed(self, store):
        store.append([opened()], 0)
        self.damage(store, self.raw(store) + b'{"check":"12')
        assert self.again(self.again(store)).torn_bytes == 12

    def test_two_torn_lines_add_up(self, store):
        store.append([opened()], 0)
        self.damage(store, self.raw(store) + b'{"check":"12')
        later = self.again(store)
        later.append([resumed(12)], 1)
        self.damage(later, self.raw(later) + b'{"check":"12')
        last = self.again(later)
        assert last.torn_bytes == 12
        self.damage(last, self.raw(last) + b"\0\0\0")
        assert self.again(last).torn_bytes == 15

    def test_a_last_line_that_contradicts_itself_is_set_aside(self, store):
        store.append([opened()], 0)
        say(store, "310", 1)
        raw = self.raw(store)
        last = raw.splitlines(keepends=True)[-1]
        self.damage(store, raw.replace(last, last.replace(b'"310"', b'"370"')))
        later = self.again(store)
        assert len(later.entries) == 1 and later.torn_bytes > len(last)
        assert not any("370" in repr(entry.event) for entry in later.entries)

    def test_a_bad_line_in_the_middle_is_an_error_that_names_it(self, store):
        store.append([opened()], 0)
        say(store, "310", 1)
        damaged = self.raw(store).replace(b"three ten", b"three tEn")
        self.damage(store, damaged)
        with pytest.raises(BadSession, match="line 2 is damaged"):
            self.again(store)
        assert self.raw(store) == damaged

    def test_a_line_taken_out_of_the_middle_is_an_error(self, store):
        store.append([opened()], 0)
        say(store, "310", 1)
        lines = self.raw(store).splitlines(keepends=True)
        self.damage(store, lines[0] + lines[2])
        with pytest.raises(BadSession, match="line 2 does not belong there: it is number 3"):
            self.again(store)

    def test_a_last_line_of_another_record_is_an_error_and_not_set_aside(self, store, tmp_path_factory):
        other = self.make(tmp_path_factory.mktemp("other"))
        other.append([dataclasses.replace(opened(), speaker="voice")], 0)
        other.append([Paused(reason="radio", utterance="0001")], 5)
        foreign = self.raw(other).splitlines(keepends=True)[1]
        other.close()
        store.append([opened()], 0)
        self.damage(store, self.raw(store) + foreign)
        with pytest.raises(BadSession, match="line 2 does not belong there: it was written after another line"):
            self.again(store)

    def test_something_that_is_no_journal_is_left_alone(self, store):
        for foreign in (b"hello", b"hello\n", b'{"check":"x"}\n', b"{}\n{}\n", b"\n"):
            self.damage(store, foreign)
            with pytest.raises(BadSession):
                self.again(store)
            assert self.raw(store) == foreign

    def test_a_first_line_never_finished_leaves_an_empty_session(self, store):
        for torn in (b"{", b'{"check":"0', b'{"check":"0123456789abcdef","kind":"sess', b"\0" * 40):
            self.damage(store, torn)
            store = self.again(store)
            assert store.entries == () and self.raw(store) == b""

    def test_an_event_that_names_audio_which_is_not_kept_is_our_bug(self, store):
        store.append([opened()], 0)
        name, digest = store.audio.keep(sound(1))
        before = self.raw(store)
        for event in (heard("0002", digest), heard(name, "0" * 64), heard("../0001", digest)):
            with pytest.raises(ValueError, match="names audio that is not kept"):
                store.append([event], 1)
        assert self.raw(store) == before
        store.append([heard(name, digest)], 1)

    def test_an_event_that_cannot_be_kept_writes_nothing_of_its_append(self, store):
        store.append([opened()], 0)
        before = self.raw(store)
        with pytest.raises(ValueError):
            store.append([accepted(1, "310", "0001"), accepted(2, "NaN", "0001")], 1)
        with pytest.raises(ValueError, match="at_sample"):
            store.append([accepted(1, "310", "0001")], -1)
        assert self.raw(store) == before
        assert store.append([accepted(1, "310", "0001")], 1)[0].seq == 2

    def test_an_utterance_number_is_never_used_twice(self, store):
        store.append([opened()], 0)
        assert store.audio.keep(sound(1))[0] == "0001"  # stored, and never named
        later = self.again(store)
        assert later.audio.keep(sound(2))[0] == "0002"
        assert later.audio.keep(sound(2)[:0]) == ("0003", None)
        later.append([accepted(1, "310", "0003")], 5)  # typed: a number without a file
        assert self.again(later).audio.keep(sound(3))[0] == "0004"

    def test_audio_comes_back_sample_by_sample(self, store):
        name, _ = store.audio.keep(sound(5))
        assert (store.audio.load(name) == sound(5)).all()

    def test_nothing_follows_the_close_but_the_seal(self, store):
        key = Ed25519PrivateKey.generate()
        store.append([opened()], 0)
        with pytest.raises(BadSession, match="not closed"):
            store.seal(key, "assistant 0.1.0")
        with pytest.raises(ValueError, match="nothing may follow"):
            store.append([SessionClosed(utterance="0001"), SessionLeft(reason="x")], 5)
        store.append([SessionClosed(utterance="0001")], 5)
        assert store.closed
        with pytest.raises(BadSession, match="is closed"):
            store.append([SessionLeft(reason="x")], 6)
        later = self.again(store)
        with pytest.raises(BadSession, match="is closed"):
            later.append([resumed(0)], 6)
        seal = later.seal(key, "assistant 0.1.0")
        assert (seal.count, seal.last_hash) == (2, later.entries[-1].sha256)
        for more in (lambda: later.append([SessionLeft(reason="x")], 6), lambda: later.seal(key, "x")):
            with pytest.raises(BadSession, match="is sealed"):
                more()
        with pytest.raises(BadSession, match="is sealed"):
            self.again(later)

    def test_the_files_it_began_with_are_there_again(self, store):
        later = self.again(store)
        assert (later.joint_toml, later.plan_json) == (JOINT, PLAN)

    def test_closing_twice_is_allowed(self, store):
        store.close()
        store.close()


class TestMemoryStore(RecordingContract):
    def make(self, folder):
        return MemoryStore(joint_toml=JOINT, plan_json=PLAN, clock=Ticking())

    def again(self, store):
        return store.reopened()

    def raw(self, store):
        return bytes(store.tape.content)

    def damage(self, store, raw):
        store.tape.content[:] = raw


class TestJournalStore(RecordingContract):
    def make(self, folder):
        return new_store(folder / "sessions")

    def again(self, store):
        store.close()
        return JournalStore.open(store.folder, clock=Ticking(START + timedelta(minutes=1)))

    def raw(self, store):
        return (store.folder / "journal.jsonl").read_bytes()

    def damage(self, store, raw):
        (store.folder / "journal.jsonl").write_bytes(raw)


def test_a_folder_holds_what_the_design_says(tmp_path):
    folder = unsealed_session(tmp_path / "deep" / "sessions")
    assert folder.name == "20261125T101500Z-north-sluice-dn150-flange"
    assert sorted(path.name for path in folder.iterdir()) == [
        "audio",
        "joint.toml",
        "journal.jsonl",
        "lock",
        "plan.json",
    ]
    assert (folder / "joint.toml").read_bytes() == JOINT and (folder / "plan.json").read_bytes() == PLAN
    assert sorted(path.name for path in (folder / "audio").iterdir()) == ["0001.flac", "0002.flac"]
    lines = (folder / "journal.jsonl").read_bytes().splitlines()
    assert [read_line(line).kind for line in lines[:2]] == ["session-opened", "utterance-heard"]


def test_two_sessions_in_one_second_do_not_meet(tmp_path):
    names = []
    for _ in range(3):
        with new_store(tmp_path) as store:
            names.append(store.folder.name)
    stem = "20261125T101500Z-north-sluice-dn150-flange"
    assert names == [stem, f"{stem}--2", f"{stem}--3"]


def test_a_torn_line_is_kept_beside_the_journal(tmp_path):
    folder = unsealed_session(tmp_path)
    with (folder / "journal.jsonl").open("ab") as file:
        file.write(b'{"check":"0123')
    JournalStore.open(folder).close()
    assert (folder / "journal.torn-1").read_bytes() == b'{"check":"0123'
    assert (folder / "journal.jsonl").read_bytes().endswith(b"\n")


def test_a_crash_between_setting_aside_and_cutting_sets_aside_once(tmp_path):
    folder = unsealed_session(tmp_path)
    with (folder / "journal.jsonl").open("ab") as file:
        file.write(b'{"check":"0123')

    class NoTruncate(Disk):
        def truncate(self, descriptor, length):
            raise OSError(errno.EIO, "input/output error")

    with pytest.raises(RecordNotWritable):
        JournalStore.open(folder, disk=NoTruncate())
    with JournalStore.open(folder) as store:
        assert store.torn_bytes == 14
    assert [path.name for path in folder.glob("*torn*")] == ["journal.torn-1"]


class SendsToFullDevice(Disk):
    """Every write really goes to a device that is full."""

    def write(self, descriptor, data, at):
        full = os.open("/dev/full", os.O_WRONLY)
        try:
            return os.write(full, data)
        finally:
            os.close(full)


def test_a_full_disk_stops_the_record_for_good_and_says_what_to_do(tmp_path):
    folder = unsealed_session(tmp_path)
    before = (folder / "journal.jsonl").read_bytes()
    with JournalStore.open(folder, disk=SendsToFullDevice()) as store:
        for _ in range(2):
            with pytest.raises(RecordNotWritable, match="No space left") as caught:
                store.append([resumed(0)], 5)
            assert "free some space" in caught.value.remedy and caught.value.exit_status == 4
        with pytest.raises(RecordNotWritable):
            store.audio.keep(sound(1))
    assert (folder / "journal.jsonl").read_bytes() == before
    assert not (folder / "audio" / "0003.flac").exists()
    with JournalStore.open(folder) as store:
        assert store.append([resumed(0)], 5)[0].seq == 6


def test_after_one_failed_write_nothing_is_taken_even_when_the_disk_recovers(tmp_path):
    folder = unsealed_session(tmp_path)
    before = (folder / "journal.jsonl").read_bytes()
    disk = FailingDisk(10**6)
    with JournalStore.open(folder, disk=disk) as store:
        disk.passes = disk.done
        with pytest.raises(RecordNotWritable):
            store.append([resumed(0)], 5)
        with pytest.raises(RecordNotWritable):
            store.append([resumed(0)], 5)
        assert len(store.entries) == 5
    assert (folder / "journal.jsonl").read_bytes() == before


def test_an_interrupted_write_is_finished_by_the_next_so_the_chain_holds(tmp_path):
    for half in (False, True):
        for passes in range(2):  # the write, the sync
            folder = unsealed_session(tmp_path)
            disk = FailingDisk(10**6, KeyboardInterrupt(), half=half)
            with JournalStore.open(folder, disk=disk) as store:
                disk.passes = disk.done + passes
                with pytest.raises(KeyboardInterrupt):
                    store.append([resumed(0)], 5)
                store.append([SessionLeft(reason="stopped at the keyboard")], 6)
                assert [entry.seq for entry in store.entries] == [1, 2, 3, 4, 5, 6, 7]
                live = store.entries
            with JournalStore.open(folder) as store:
                assert store.entries == live and store.torn_bytes == 0


def test_a_disk_that_takes_a_few_bytes_at_a_time_gets_them_all(tmp_path):
    class Slow(Disk):
        def write(self, descriptor, data, at):
            return super().write(descriptor, data[:7], at)

    with new_store(tmp_path, Slow()) as store:
        store.append([opened()], 0)
        say(store, "310", 1)
        folder, live = store.folder, store.entries
    with JournalStore.open(folder) as store:
        assert store.entries == live


@pytest.mark.parametrize("how", ["removed", "appended", "cut"])
def test_a_journal_that_another_program_touches_stops_the_session(tmp_path, how):
    folder = unsealed_session(tmp_path)
    path = folder / "journal.jsonl"
    with JournalStore.open(folder) as store:
        if how == "removed":
            path.unlink()
        elif how == "appended":
            with path.open("ab") as file:
                file.write(b"hello\n")
        else:
            os.truncate(path, 100)
        with pytest.raises(RecordNotWritable, match="removed" if how == "removed" else "changed by another program"):
            store.append([resumed(0)], 5)
        with pytest.raises(RecordNotWritable):
            store.append([resumed(0)], 5)


@pytest.mark.parametrize("code", [errno.EROFS, errno.EACCES, errno.ENOSPC, errno.EIO])
def test_a_folder_that_cannot_be_written_is_a_clear_refusal(tmp_path, code):
    with pytest.raises(RecordNotWritable, match=os.strerror(code)) as caught:
        new_store(tmp_path / "sessions", FailingDisk(0, OSError(code, os.strerror(code))))
    assert caught.value.remedy


def test_sessions_below_a_plain_file_are_a_clear_refusal(tmp_path):
    (tmp_path / "file").write_text("x")
    for sessions in (tmp_path / "file", tmp_path / "file" / "sessions"):
        with pytest.raises(RecordNotWritable, match="Not a directory"):
            new_store(sessions)


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is read-only to root; the refusals are injected above")
def test_a_read_only_folder_is_a_clear_refusal(tmp_path):
    folder = unsealed_session(tmp_path)
    for path in (folder / "journal.jsonl", folder):
        path.chmod(path.stat().st_mode & ~0o222)
    with pytest.raises(RecordNotWritable, match="denied"):
        JournalStore.open(folder)
    folder.chmod(0o755)


def test_too_little_space_is_said_before_anything_is_made(tmp_path):
    class Small(Disk):
        def free_bytes(self, folder):
            return 12 * 1024**2

    with pytest.raises(RecordNotWritable, match=r"only 12 MB are free .* needs 200 MB"):
        JournalStore.create(tmp_path, joint="x", joint_toml=b"", plan_json=b"", disk=Small())
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(RecordNotWritable, match="only 12 MB are free"):
        JournalStore.open(unsealed_session(tmp_path), disk=Small())


def foreign_folders(tmp_path):
    folder = unsealed_session(tmp_path)
    path = folder / "journal.jsonl"
    yield tmp_path / "nothing"
    yield tmp_path
    yield path
    elsewhere = tmp_path / "elsewhere.jsonl"
    path.rename(elsewhere)
    yield folder
    path.symlink_to(elsewhere)
    yield folder
    path.unlink()
    path.mkdir()
    yield folder
    path.rmdir()
    os.mkfifo(path)
    yield folder
    path.unlink()
    elsewhere.rename(path)
    audio, away = folder / "audio", tmp_path / "away"
    audio.rename(away)
    yield folder
    audio.symlink_to(away)
    yield folder
    audio.unlink()
    away.rename(audio)
    (folder / "joint.toml").unlink()
    yield folder
    (folder / "joint.toml").symlink_to(elsewhere)
    yield folder


def test_foreign_folders_and_links_are_refused_and_left_alone(tmp_path):
    seen = 0
    for folder in foreign_folders(tmp_path):
        with pytest.raises(BadSession) as caught:
            JournalStore.open(folder)
        assert caught.value.remedy
        seen += 1
    assert seen == 11


def test_a_session_reached_through_a_link_to_its_folder_is_fine(tmp_path):
    folder = unsealed_session(tmp_path)
    (tmp_path / "latest").symlink_to(folder)
    with JournalStore.open(tmp_path / "latest") as store:
        assert len(store.entries) == 5


def test_a_second_writer_is_refused_and_the_first_goes_on(tmp_path):
    with new_store(tmp_path) as store:
        store.append([opened()], 0)
        with pytest.raises(BadSession, match="being written by another"):
            JournalStore.open(store.folder)
        store.append([Paused(reason="radio", utterance="0001")], 5)
    with JournalStore.open(store.folder) as later:
        assert len(later.entries) == 2


def test_a_refused_opening_lets_go_of_the_lock_and_all_files(tmp_path):
    folder = unsealed_session(tmp_path)
    path = folder / "journal.jsonl"
    raw = path.read_bytes()
    path.write_bytes(raw.replace(b"three ten", b"three tEn"))
    before = len(os.listdir("/proc/self/fd"))  # noqa: PTH208 - the folder of our own open files
    with pytest.raises(BadSession, match="damaged"):
        JournalStore.open(folder)
    assert len(os.listdir("/proc/self/fd")) == before  # noqa: PTH208
    path.write_bytes(raw)
    JournalStore.open(folder).close()


def test_files_of_a_session_are_plain_and_not_executable(tmp_path):
    folder = unsealed_session(tmp_path)
    for path in [*folder.glob("*"), *folder.glob("audio/*")]:
        mode = path.stat().st_mode
        assert stat.S_ISDIR(mode) or (stat.S_ISREG(mode) and not mode & 0o111)
