"""Promises 3, 4, 5, 6: fail the Nth operation, cut at byte N, flip byte N, for every N of a short record.

After each, opening again gives the longest honest beginning or a loud error, never another value, and verification
tells the truth.
"""

import errno
import os
import random
import shutil

import pytest

from assistant.errors import BadSession, RecordNotWritable
from assistant.events import SessionClosed
from assistant.journal.reading import load_journal
from assistant.journal.seal import installation_key
from assistant.journal.sessions import status_of
from assistant.journal.store import JournalStore
from assistant.journal.verify_lines import examine_lines
from assistant.journal.verify_seal import examine_seal
from tests.journal.short_record import (
    FailingDisk,
    basis_beside,
    new_store,
    opened,
    resumed,
    say,
    sealed_session,
    unsealed_session,
)
from tests.journal.short_record import verify_here as verify


def a_whole_session(sessions, disk, key, acknowledged):
    """From making the folder to the seal; what is acknowledged is noted as it comes."""
    with new_store(sessions, disk) as store:
        acknowledged += [entry.event for entry in store.append([opened(store)], 0)]
        for seed, value in ((1, "310"), (2, "312.5")):
            acknowledged += say(store, value, seed)
        acknowledged += [entry.event for entry in store.append([SessionClosed(utterance="0002")], 5000)]
        store.seal(key, "assistant 0.1.0")


def how_many_operations(tmp_path, key):
    disk, acknowledged = FailingDisk(10**6), []
    a_whole_session(tmp_path / "counted", disk, key, acknowledged)
    assert len(acknowledged) == 6
    return disk.done, acknowledged


@pytest.mark.parametrize("how", ["once", "dead", "half"])
def test_whichever_operation_fails_what_was_acknowledged_is_there(tmp_path, how):
    key = installation_key(tmp_path / "keys")
    operations, intended = how_many_operations(tmp_path, key)
    assert operations > 50
    for passes in range(operations):
        sessions, acknowledged = tmp_path / str(passes), []
        disk = FailingDisk(passes, OSError(errno.EIO, "input/output error"), dead=how == "dead", half=how == "half")
        try:
            a_whole_session(sessions, disk, key, acknowledged)
        except RecordNotWritable as refused:
            assert refused.remedy
        else:
            assert (next(sessions.iterdir()) / "seal.json").exists()
        assert disk.raised
        folders = (
            [path for path in sessions.iterdir() if (path / "journal.jsonl").exists()] if sessions.exists() else []
        )
        if not folders:
            assert acknowledged == []
            continue
        goes_on_honestly(folders[0], acknowledged, intended)


def goes_on_honestly(folder, acknowledged, intended):
    for finding in verify(folder).findings:
        assert finding.severity == "note" or finding.sign == "crash", finding
    if status_of(folder) == "sealed":
        assert len(acknowledged) == 6
        return
    with JournalStore.open(folder) as store:
        events = [entry.event for entry in store.entries]
        assert events[: len(acknowledged)] == acknowledged
        assert [event.kind for event in events] == [event.kind for event in intended[: len(events)]]
        if not store.closed and events:
            store.append([resumed(store.torn_bytes)], 9000)
    if events:
        findings = verify(folder).findings
        assert [finding.code for finding in findings if finding.severity != "note"] in ([], ["closed-not-sealed"])


BATCHES = (0, 1, 3, 5)
"""Lines after which a batch of the unsealed session ends: opened, and two readings of two lines each."""


def kept_of(raw, at):
    """(lines, bytes) of the whole batches before this byte."""
    ends = [0, *(place + 1 for place, byte in enumerate(raw) if byte == 10)]
    return max((lines, ends[lines]) for lines in BATCHES if ends[lines] <= at)


def test_a_cut_at_any_byte_leaves_the_whole_batches_before_it(tmp_path):
    raw = (unsealed_session(tmp_path) / "journal.jsonl").read_bytes()
    whole = load_journal(raw, name="journal").entries
    for at in range(len(raw) + 1):
        lines, size = kept_of(raw, at)
        loaded = load_journal(raw[:at], name="journal")
        assert loaded.entries == whole[:lines] and loaded.torn_bytes == at - size
        found = examine_lines(raw[:at])
        assert found.findings == [] and len(found.hashes) == lines and len(found.torn) == loaded.torn_bytes


@pytest.mark.parametrize("block", [64, 512, 4096])
def test_whichever_blocks_of_the_last_batch_a_power_cut_loses_all_of_it_is_set_aside(tmp_path, block):
    """Blocks that never reached the disk read as zeros; which of them did is not in the order they were written."""
    raw = (unsealed_session(tmp_path) / "journal.jsonl").read_bytes()
    lines, size = kept_of(raw, len(raw) - 1)
    whole = load_journal(raw, name="journal").entries[:lines]
    blocks = [(at, min(at + block, len(raw))) for at in range(size // block * block, len(raw), block)]
    chance = random.Random(block)
    lost = [{n} for n in range(len(blocks))] + [set(range(n)) for n in range(1, len(blocks) + 1)]
    lost += [{n for n in range(len(blocks)) if chance.random() < 0.5} for _ in range(60)]
    for gone in lost:
        torn = bytearray(raw)
        for number in gone:
            start, end = max(blocks[number][0], size), blocks[number][1]
            torn[start:end] = bytes(end - start)
        loaded = load_journal(bytes(torn), name="journal")
        if bytes(torn) == raw:
            assert len(loaded.entries) == 5
        else:
            assert loaded.entries == whole and loaded.torn_bytes == len(raw) - size, gone
            found = examine_lines(bytes(torn))
            assert found.findings == [] and len(found.torn) == len(raw) - size


def test_zeros_before_the_last_batch_are_damage_and_nothing_is_set_aside(tmp_path):
    raw = (unsealed_session(tmp_path) / "journal.jsonl").read_bytes()
    at = raw.index(b"\n") + 20
    with pytest.raises(BadSession, match="line 2 is damaged"):
        load_journal(raw[:at] + bytes(8) + raw[at + 8 :], name="journal")


def test_a_cut_session_opens_tells_goes_on_and_verifies(tmp_path):
    folder = unsealed_session(tmp_path)
    raw = (folder / "journal.jsonl").read_bytes()
    beginnings = sorted({0, 1, 8, 9, 10, 11, len(raw), *range(2, len(raw), 23)})
    for at in beginnings:
        copy = tmp_path / f"cut-{at}"
        shutil.copytree(folder, copy)
        os.truncate(copy / "journal.jsonl", at)
        torn = at - kept_of(raw, at)[1]
        gone = 2 - raw[: at - torn].count(b'"kind":"utterance-heard"')  # recordings whose line was cut off
        first = codes(verify(copy), "warning", "error")
        assert ("torn-tail" in first) == (torn > 0) and ("audio-unnamed" in first) == (gone > 1)
        with JournalStore.open(copy) as store:
            assert store.torn_bytes == torn
            fresh = not store.entries
            store.append([resumed(torn)] if store.entries else [opened(store)], 9000)
        later = codes(verify(copy), "warning", "error")
        assert later == (["audio-unnamed"] * 2 if fresh else [])


def codes(report, *severities):
    return [f.code for f in report.findings if not severities or f.severity in severities]


def flipped(raw, at, bit):
    changed = bytearray(raw)
    changed[at] ^= 1 << bit
    return bytes(changed)


def test_no_flipped_bit_of_a_journal_ever_becomes_another_value(tmp_path):
    raw = (unsealed_session(tmp_path) / "journal.jsonl").read_bytes()
    whole = load_journal(raw, name="journal").entries
    lines, size = kept_of(raw, len(raw) - 1)
    for at in range(len(raw)):
        for bit in (at % 8, (at + 3) % 8):
            loaded = loaded_or_refused(flipped(raw, at, bit))
            if loaded is not None:
                # only the last batch may be set aside, whole and said
                assert at >= size and loaded.entries == whole[:lines] and loaded.torn_bytes == len(raw) - size


def test_a_whole_line_run_into_a_torn_one_is_an_error_and_not_set_aside_with_it(tmp_path):
    raw = (unsealed_session(tmp_path) / "journal.jsonl").read_bytes()[:-10]
    at = raw.rindex(b"\n")
    for bit in range(8):
        with pytest.raises(BadSession, match="line 4 is damaged"):
            load_journal(flipped(raw, at, bit), name="journal")


def loaded_or_refused(raw):
    try:
        return load_journal(raw, name="journal")
    except BadSession as bad:
        assert "line" in bad.message or "not a journal" in bad.message
        return None


def test_every_flipped_byte_of_an_unsealed_journal_is_found(tmp_path):
    raw = (unsealed_session(tmp_path) / "journal.jsonl").read_bytes()
    for at in range(len(raw)):
        found = examine_lines(flipped(raw, at, at % 8))
        assert found.findings or found.torn
        assert {finding.sign for finding in found.findings} <= {"damage"}


def test_every_flipped_byte_of_a_sealed_journal_is_found_and_looks_like_damage(tmp_path):
    folder = sealed_session(tmp_path, tmp_path / "keys")
    raw, seal = (folder / "journal.jsonl").read_bytes(), (folder / "seal.json").read_bytes()
    basis = basis_beside(folder)
    assert all(f.severity == "note" for f in examine_seal(seal, examine_lines(raw), basis=basis)[1])
    for at in range(len(raw)):
        found = examine_lines(flipped(raw, at, at % 8))
        faults = [*found.findings, *examine_seal(seal, found, basis=basis)[1]]
        faults = [finding for finding in faults if finding.severity != "note"]
        assert faults and {finding.sign for finding in faults} == {"damage"}, (at, faults)


def test_every_flipped_byte_of_a_seal_is_found(tmp_path):
    folder = sealed_session(tmp_path, tmp_path / "keys")
    found, seal = examine_lines((folder / "journal.jsonl").read_bytes()), (folder / "seal.json").read_bytes()
    basis = basis_beside(folder)
    for at in range(len(seal)):
        for bit in range(8):
            assert any(f.severity == "error" for f in examine_seal(flipped(seal, at, bit), found, basis=basis)[1])


@pytest.mark.parametrize("make", ["sealed", "unsealed"])
def test_a_flipped_byte_anywhere_in_the_folder_is_found(tmp_path, make):
    folder = sealed_session(tmp_path, tmp_path / "keys") if make == "sealed" else unsealed_session(tmp_path)
    assert verify(folder).good
    for path in sorted([*folder.glob("*.*"), *folder.glob("audio/*")]):
        raw = path.read_bytes()
        for at in {*range(0, len(raw), 61), len(raw) - 1}:
            path.write_bytes(flipped(raw, at, at % 8))
            assert not verify(folder).good, (path.name, at)
        path.write_bytes(raw)
    assert verify(folder).good


def test_a_file_cut_short_or_lengthened_anywhere_is_found(tmp_path):
    folder = sealed_session(tmp_path, tmp_path / "keys")
    for path in sorted([*folder.glob("*.*"), *folder.glob("audio/*")]):
        raw = path.read_bytes()
        for changed in (*(raw[:at] for at in range(0, len(raw), 97)), raw + b"\0", raw + raw, raw + b"\n"):
            path.write_bytes(changed)
            assert not verify(folder).good, (path.name, len(changed))
        path.write_bytes(raw)
