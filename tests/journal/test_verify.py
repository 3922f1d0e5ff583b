"""Promises 6 and 14: what is wrong is said with its place; a crash, damage and tampering are told apart."""

import hashlib
import json
import os
import shutil
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import BadSession
from assistant.events import Paused, SessionClosed
from assistant.journal.audio import encode_flac
from assistant.journal.chain import START as CHAIN_START
from assistant.journal.chain import make_line, read_line
from assistant.journal.clock import Uptime
from assistant.journal.keyring import basis_of
from assistant.journal.seal import installation_key, make_seal, public_key_of, seal_bytes
from assistant.journal.store import JournalStore
from assistant.journal.strict_json import canonical
from tests.journal.short_record import (
    START,
    Ticking,
    accepted,
    heard,
    new_store,
    opened,
    resumed,
    say,
    sealed_session,
    sound,
    unsealed_session,
)
from tests.journal.short_record import verify_here as verify

NOT_SIGNED = "No line of it is signed yet, so a change of the whole session would not be found."


@pytest.fixture
def sealed(tmp_path):
    return sealed_session(tmp_path / "sessions", tmp_path / "keys")


@pytest.fixture
def unsealed(tmp_path):
    return unsealed_session(tmp_path / "sessions")


def faults(folder, **arguments):
    """(code, where, sign) of everything worse than a note."""
    found = verify(folder, **arguments).findings
    return {(f.code, f.where, f.sign) for f in found if f.severity != "note"}


def notes(folder, **arguments):
    return {f.code for f in verify(folder, **arguments).findings if f.severity == "note"}


def lines_of(folder):
    return (folder / "journal.jsonl").read_bytes().splitlines(keepends=True)


def put_lines(folder, lines):
    (folder / "journal.jsonl").write_bytes(b"".join(lines))


def rewritten(line, after=None, **changes):
    """The line with other content and a check figure that fits: what somebody with the program's source could make."""
    record = read_line(line.rstrip(b"\n"))
    body = json.loads(line)
    del body["check"]
    body.update(changes)
    body["previous"] = after if after is not None else record.previous
    return canonical({**body, "check": hashlib.sha256(canonical(body)).hexdigest()[:16]}) + b"\n"


def test_a_sealed_session_is_good_and_says_who_sealed(sealed, tmp_path):
    key = installation_key(tmp_path / "keys")
    report = verify(sealed, rebuild=list, basis=basis_of([public_key_of(key)]))
    assert report.good and report.status == "sealed"
    assert (report.lines, report.utterances) == (6, 2)
    assert [f.code for f in report.findings] == ["sealed-here"]
    assert report.sealed_by.replace(" ", "") == public_key_of(key)[:16]
    assert report.trust.trusted and report.trust.signer == "this machine" and report.trust.reasons == ()


def test_verification_changes_nothing(sealed):
    def picture():
        return {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in sealed.rglob("*") if path.is_file()}

    (sealed / "journal.jsonl").write_bytes((sealed / "journal.jsonl").read_bytes() + b"torn")
    before = picture()
    verify(sealed, rebuild=list)
    assert picture() == before


def test_an_unfinished_session_is_good_and_says_that_its_end_is_open(unsealed):
    report = verify(unsealed)
    assert report.good and report.status == "unfinished" and report.sealed_by == ""
    assert notes(unsealed) == {"not-finished", "not-checkpointed", "rebuild-not-checked"}


def test_a_torn_tail_looks_like_a_crash_and_is_good_once_it_is_set_aside_and_told(unsealed):
    with (unsealed / "journal.jsonl").open("ab") as file:
        file.write(b'{"check":"0123')
    assert faults(unsealed) == {("torn-tail", "journal.jsonl", "crash")}
    with JournalStore.open(unsealed, clock=Ticking(START + timedelta(hours=1))) as store:
        assert notes(unsealed) >= {"torn-untold", "in-use"} and not faults(unsealed)
        store.append([resumed(store.torn_bytes)], 5000)
    assert verify(unsealed).good and "torn-set-aside" in notes(unsealed)
    (unsealed / "journal.torn-1").write_bytes(b"{")
    assert faults(unsealed) == {("torn-missing", "journal.jsonl", "damage")}
    (unsealed / "journal.torn-1").unlink()
    assert faults(unsealed) == {("torn-missing", "journal.jsonl", "damage")}


def test_a_line_being_written_now_is_no_crash(unsealed):
    with JournalStore.open(unsealed), (unsealed / "journal.jsonl").open("ab") as file:
        file.write(b'{"check":"0123')
        file.flush()
        assert faults(unsealed) == set() and "line-in-the-making" in notes(unsealed)


def test_closed_without_a_seal_looks_like_a_crash_until_it_is_sealed(unsealed, tmp_path):
    with JournalStore.open(unsealed) as store:
        store.append([SessionClosed(utterance="0002")], 5000)
    assert faults(unsealed) == {("closed-not-sealed", "seal.json", "crash")}
    with JournalStore.open(unsealed) as store:
        store.seal(installation_key(tmp_path / "keys"), "assistant 0.1.0")
    assert verify(unsealed).good


def test_a_session_stopped_at_its_very_start_looks_like_a_crash(tmp_path):
    with new_store(tmp_path) as store:
        folder = store.folder
    assert faults(folder) == {("empty", "journal.jsonl", "crash")}
    (folder / "journal.jsonl").unlink()
    assert faults(folder) == {("journal-missing", "journal.jsonl", "crash")}


def test_a_damaged_byte_names_its_line_and_only_that(sealed):
    lines = lines_of(sealed)
    put_lines(sealed, [*lines[:2], lines[2].replace(b'"310"', b'"370"'), *lines[3:]])
    assert faults(sealed) == {("line-damaged", "journal.jsonl line 3", "damage")}


def test_a_rewritten_line_looks_like_tampering(sealed, unsealed):
    for folder in (sealed, unsealed):
        lines = lines_of(folder)
        payload = json.loads(lines[2])["payload"]
        payload["achieved"]["value"] = "370"
        put_lines(folder, [*lines[:2], rewritten(lines[2], payload=payload), *lines[3:]])
        assert faults(folder) == {
            ("chain-broken", "journal.jsonl line 4", "tampering"),
            ("entry-not-heard", "journal.jsonl line 3", "tampering"),
        }


def chained_again(lines):
    """All lines bound anew, as somebody would who knows how."""
    after, out = "0" * 64, []
    for seq, line in enumerate(lines, start=1):
        out.append(rewritten(line, after=after, seq=seq))
        after = hashlib.sha256(out[-1].rstrip(b"\n")).hexdigest()
    return out


def test_a_whole_chain_made_anew_breaks_the_seal(sealed):
    lines = lines_of(sealed)
    payload = json.loads(lines[2])["payload"]
    payload["achieved"]["value"] = "370"
    put_lines(sealed, chained_again([*lines[:2], rewritten(lines[2], payload=payload), *lines[3:]]))
    assert faults(sealed) == {
        ("seal-broken", "journal.jsonl line 6", "tampering"),
        ("entry-not-heard", "journal.jsonl line 3", "tampering"),
    }


def seal_with_another_key(folder):
    lines = lines_of(folder)
    last = hashlib.sha256(lines[-1].rstrip(b"\n")).hexdigest()
    key = Ed25519PrivateKey.generate()
    seal = make_seal(key, count=len(lines), last_hash=last, product="assistant 0.1.0", utc=START)
    (folder / "seal.json").write_bytes(seal_bytes(seal))


def test_sealing_anew_with_another_key_shows_another_key(sealed, tmp_path):
    own = public_key_of(installation_key(tmp_path / "keys"))
    seal_with_another_key(sealed)
    assert faults(sealed, basis=basis_of([own])) == {("key-unknown", "seal.json", "none")}
    assert not verify(sealed).trust.trusted and "assistant key add" in verify(sealed).trust.reasons[0]
    assert verify(sealed).sealed_by != " ".join(own[n : n + 4] for n in range(0, 16, 4))


def test_lines_taken_out_doubled_or_swapped_look_like_tampering(sealed):
    lines = lines_of(sealed)
    for changed in (
        [*lines[:2], *lines[3:]],
        [*lines[:3], lines[2], *lines[3:]],
        [*lines[:2], lines[3], lines[2], *lines[4:]],
        lines[1:],
        lines[:-1],
        [],
    ):
        put_lines(sealed, changed)
        found = faults(sealed)
        assert found and {sign for code, _, sign in found if code != "audio-unnamed"} <= {"tampering"}, found


def test_lines_cut_off_behind_a_seal_are_missed(sealed):
    put_lines(sealed, lines_of(sealed)[:-1])
    assert ("lines-missing", "journal.jsonl", "tampering") in faults(sealed)
    put_lines(sealed, [b"".join(lines_of(sealed))[:-7]])
    assert ("lines-missing", "journal.jsonl", "damage") in faults(sealed)


def test_anything_after_the_seal_is_found(sealed):
    lines = lines_of(sealed)
    put_lines(sealed, [*lines, b"x"])
    assert faults(sealed) == {("content-after-seal", "journal.jsonl", "tampering")}
    last = read_line(lines[-1].rstrip(b"\n"))
    more, _ = make_line(
        last.link, START + timedelta(hours=1), sample=9, kind="paused", version=1,
        payload={"reason": "x", "utterance": "0002"},
    )  # fmt: skip
    put_lines(sealed, [*lines, more + b"\n"])
    assert faults(sealed) == {
        ("content-after-seal", "journal.jsonl line 7", "tampering"),
        ("content-after-close", "journal.jsonl line 7", "tampering"),
    }


def test_a_seal_over_a_session_that_was_not_closed_is_found(unsealed):
    seal_with_another_key(unsealed)
    assert faults(unsealed) == {
        ("sealed-not-closed", "journal.jsonl", "tampering"),
        ("key-unknown", "seal.json", "none"),
    }


def test_a_seal_that_does_not_fit_or_cannot_be_read_is_found(sealed):
    raw = (sealed / "seal.json").read_bytes()
    (sealed / "seal.json").write_bytes(raw.replace(b'"count":6', b'"count":5'))
    assert faults(sealed) == {("seal-signature", "seal.json", "tampering")}
    (sealed / "seal.json").write_bytes(raw[:-5])
    assert faults(sealed) == {("seal-damaged", "seal.json", "damage")}
    (sealed / "seal.json").unlink()
    assert faults(sealed) == {("closed-not-sealed", "seal.json", "crash")}
    (sealed / "seal.json").symlink_to("journal.jsonl")
    assert ("file-kind", "seal.json", "tampering") in faults(sealed)


def test_missing_damaged_and_exchanged_recordings_are_told_apart(sealed):
    path = sealed / "audio" / "0001.flac"
    raw = path.read_bytes()
    path.unlink()
    assert faults(sealed) == {("audio-missing", "audio/0001.flac", "damage")}
    for changed in (raw[:-9], b"", raw[:100] + bytes([raw[100] ^ 4]) + raw[101:]):
        path.write_bytes(changed)
        assert faults(sealed) == {("audio-changed", "audio/0001.flac", "damage")}
    path.write_bytes(encode_flac(sound(9)))
    assert faults(sealed) == {("audio-changed", "audio/0001.flac", "tampering")}
    path.unlink()
    path.symlink_to(sealed / "audio" / "0002.flac")
    assert ("audio-unreadable", "audio/0001.flac", "damage") in faults(sealed)
    path.unlink()
    path.write_bytes(raw)
    assert verify(sealed).good


def test_a_line_written_for_something_that_is_no_sound_is_found(tmp_path):
    with new_store(tmp_path) as store:
        (store.folder / "audio" / "0001.flac").write_bytes(b"no sound")
        store.append([opened(store), heard("0001", hashlib.sha256(b"no sound").hexdigest())], 0)
        folder = store.folder
    assert faults(folder) == {("audio-undecodable", "audio/0001.flac", "tampering")}


def test_recordings_without_a_line_are_a_crash_only_as_far_as_stops_explain(unsealed):
    audio = unsealed / "audio"
    shutil.copy(audio / "0001.flac", audio / "0003.flac")
    assert verify(unsealed).good and "audio-unnamed" in notes(unsealed)
    shutil.copy(audio / "0001.flac", audio / "0004.flac")
    assert faults(unsealed) == {
        ("audio-unnamed", "audio/0003.flac", "tampering"),
        ("audio-unnamed", "audio/0004.flac", "tampering"),
    }
    with JournalStore.open(unsealed, clock=Ticking(START + timedelta(hours=1))) as store:
        store.append([resumed(0)], 5000)
    assert verify(unsealed).good


def test_a_sealed_session_without_stops_has_no_recording_without_a_line(sealed):
    shutil.copy(sealed / "audio" / "0001.flac", sealed / "audio" / "0003.flac")
    assert faults(sealed) == {("audio-unnamed", "audio/0003.flac", "tampering")}


def test_half_written_files_are_a_crash_and_strangers_are_named(sealed):
    (sealed / "audio" / "0003.flac.part").write_bytes(b"fL")
    (sealed / "seal.json.part").write_bytes(b"{")
    (sealed / "journal.torn-1.part").write_bytes(b"{")
    assert verify(sealed).good and notes(sealed) >= {"audio-half-written", "file-half-written"}
    (sealed / "audio" / "loud.wav").write_bytes(b"")
    (sealed / "audio" / "0005.flac").mkdir()
    (sealed / "notes.txt").write_text("x")
    (sealed / "journal.torn-2").mkdir()
    assert {code_where[:2] for code_where in faults(sealed)} == {
        ("file-unknown", "audio/loud.wav"),
        ("file-unknown", "audio/0005.flac"),
        ("file-unknown", "notes.txt"),
        ("file-kind", "journal.torn-2"),
    }


def test_the_joint_file_and_the_plan_are_those_it_began_with(sealed):
    for name in ("joint.toml", "plan.json"):
        raw = (sealed / name).read_bytes()
        (sealed / name).write_bytes(raw.replace(b"150", b"200"))
        assert faults(sealed) == {("file-changed", name, "damage")}
        (sealed / name).unlink()
        assert faults(sealed) == {("file-missing", name, "damage")}
        (sealed / name).write_bytes(raw)
    shutil.rmtree(sealed / "audio")
    assert ("audio-folder", "audio", "damage") in faults(sealed)


def test_a_clock_that_went_back_is_told_and_never_a_fault(tmp_path):
    times = iter([*([START] * 2), START - timedelta(seconds=1), START - timedelta(hours=1, seconds=1)])
    with JournalStore.create(
        tmp_path, joint="x", joint_toml=b"", plan_json=b"", clock=lambda: next(times), need_bytes=0
    ) as store:
        store.append([opened(store)], 0)
        store.append([Paused(reason="radio", utterance="")], 1)
        assert verify(store.folder).good and verify(store.folder).trust.remarks == (NOT_SIGNED,)
        store.append([Paused(reason="radio", utterance="")], 2)
        folder = store.folder
    report = verify(folder)
    assert report.good and any("went back by 3600 s" in each for each in report.trust.remarks)


class Running(Ticking):
    """A clock beside which the time since the machine was switched on is counted."""

    def __init__(self, *, boot="a" * 16, up_s=100):
        super().__init__()
        self.boot, self.up_s = boot, up_s

    def __call__(self):
        self.up_s += 1
        return super().__call__()

    def uptime(self):
        return Uptime(boot=self.boot, ms=self.up_s * 1000)


@pytest.mark.parametrize(
    ("set_by", "told"), [(-3, "back by 3 s"), (86_400 * 365, "on by 8760 h"), (1, ""), (-86_400, "24 h")]
)
def test_a_clock_that_was_set_while_the_machine_ran_is_told_with_how_much(tmp_path, set_by, told):
    clock = Running()
    with JournalStore.create(tmp_path, joint="x", joint_toml=b"", plan_json=b"", clock=clock, need_bytes=0) as store:
        store.append([opened(store)], 0)
        clock.next += timedelta(seconds=set_by)
        store.append([Paused(reason="radio", utterance="")], 1)
        assert store.entries[1].uptime == Uptime(boot="a" * 16, ms=103_000)
    report = verify(store.folder, clock=lambda: clock.next)
    assert report.good and ("clock-set" in {f.code for f in report.findings}) == bool(told)
    assert any(told in each for each in report.trust.remarks)


def test_a_reboot_is_no_jump_and_time_that_runs_backwards_within_one_is_a_fault(tmp_path):
    clock = Running()
    with JournalStore.create(tmp_path, joint="x", joint_toml=b"", plan_json=b"", clock=clock, need_bytes=0) as store:
        store.append([opened(store)], 0)
        clock.boot, clock.up_s = "b" * 16, 5
        clock.next += timedelta(hours=4)
        store.append([Paused(reason="radio", utterance="")], 1)
        assert "clock-set" not in notes(store.folder) and verify(store.folder).good
        clock.up_s = 1
        store.append([Paused(reason="radio", utterance="")], 2)
    assert faults(store.folder) == {("uptime-backwards", "journal.jsonl line 3", "tampering")}


def test_a_session_of_the_future_and_a_review_before_it_was_closed_are_remarked(sealed):
    assert verify(sealed, clock=lambda: START + timedelta(hours=1)).trust.remarks == ()
    remarks = verify(sealed, clock=lambda: START - timedelta(hours=1)).trust.remarks
    assert len(remarks) == 1 and "later than this machine's clock" in remarks[0]


def test_a_rehearsal_whose_waits_were_skipped_is_not_from_the_future(tmp_path):
    clock = Running()
    with JournalStore.create(tmp_path, joint="x", joint_toml=b"", plan_json=b"", clock=clock, need_bytes=0) as store:
        first = opened(store)
        store.append([replace(first, settings={**first.settings, "played": "rehearsal"})], 0)
        clock.next += timedelta(days=1)
        store.append([Paused(reason="radio", utterance="")], 1)
    assert "future" not in {f.code for f in verify(store.folder, clock=lambda: START).findings}


def test_a_journal_that_does_not_begin_with_opening_is_found(tmp_path):
    with new_store(tmp_path) as store:
        store.append([Paused(reason="radio", utterance="")], 1)
        folder = store.folder
    assert faults(folder) == {("not-opened", "journal.jsonl line 1", "tampering")}


def hostile_line(**changes):
    body = {"sample": 0, "kind": "paused", "version": 1, "payload": {"reason": "x", "utterance": "1"}, **changes}
    return make_line(CHAIN_START, START, **body)[0] + b"\n"


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        (b"[" * 200_000 + b"\n", "line-damaged"),
        (b'{"a":' * 50_000 + b"\n", "line-damaged"),
        (b"\xff\xfe\n\n\n", "line-damaged"),
        (b'{"seq":1e400}\n', "line-damaged"),
        (b'{"seq":1,"seq":2}\n', "line-damaged"),
        (b'{"seq":NaN}\n', "line-damaged"),
        (b"9" * 100_000 + b"\n", "line-damaged"),
        (hostile_line(kind="<script>alert(1)</script>"), "event-unreadable"),
        (hostile_line(version=99), "event-unreadable"),
        (hostile_line(payload={}), "event-unreadable"),
        (hostile_line(payload={"reason": "x" * 10**6, "utterance": 5}), "event-unreadable"),
        (hostile_line(payload={"reason": [[[[]]]], "utterance": "1"}), "event-unreadable"),
    ],
)
def test_hostile_lines_are_findings_not_crashes(unsealed, raw, code):
    (unsealed / "journal.jsonl").write_bytes(raw)
    report = verify(unsealed, rebuild=list)
    assert code in {f.code for f in report.findings} and not report.good
    assert max(len(f.message) for f in report.findings) < 600
    with pytest.raises(BadSession):
        JournalStore.open(unsealed)


@pytest.mark.parametrize("name", ["../../joint", "", "/etc/passwd", "1", "0001\0", "0001.flac", "a" * 5000])
def test_a_line_that_names_a_strange_file_is_found_and_nothing_else_is_read(tmp_path, name):
    with new_store(tmp_path) as store:
        store.append([opened(store)], 0)
        folder, link = store.folder, read_line(lines_of(store.folder)[0].rstrip(b"\n")).link
    event = heard(name, "0" * 64)
    from assistant.journal.encoding import EVENT_FORMAT

    kind, version, payload = EVENT_FORMAT.encode(event)
    line, _ = make_line(link, START + timedelta(hours=1), sample=1, kind=kind, version=version, payload=payload)
    put_lines(folder, [*lines_of(folder), line + b"\n"])
    assert faults(folder) == {("audio-name", "journal.jsonl line 2", "tampering")}


def test_a_recording_named_by_two_lines_is_found(tmp_path):
    with new_store(tmp_path) as store:
        store.append([opened(store)], 0)
        name, digest = store.audio.keep(sound(1))
        store.append([heard(name, digest), heard(name, digest)], 5)
        folder = store.folder
    assert faults(folder) == {("audio-named-twice", "journal.jsonl line 3", "tampering")}


class TestRebuild:
    def test_it_is_given_the_events_in_order(self, sealed):
        seen = []
        verify(sealed, rebuild=lambda events: seen.append([event.kind for event in events]))
        assert seen[0] == [
            "session-opened", "utterance-heard", "reading-accepted", "utterance-heard", "reading-accepted",
            "session-closed",
        ]  # fmt: skip
        assert seen[0] == seen[1]

    def test_its_exception_is_the_finding(self, sealed):
        def rebuild(events):
            raise KeyError("bolt 5 was never announced")

        assert faults(sealed, rebuild=rebuild) == {("rebuild-failed", "journal.jsonl", "none")}
        assert "bolt 5" in verify(sealed, rebuild=rebuild).findings[-1].message

    def test_two_different_states_are_the_finding(self, sealed):
        assert faults(sealed, rebuild=lambda events: object()) == {("rebuild-differs", "journal.jsonl", "none")}

    def test_it_is_left_out_when_a_line_cannot_be_read(self, sealed):
        lines = lines_of(sealed)
        put_lines(sealed, [*lines[:2], lines[2].replace(b'"310"', b'"370"'), *lines[3:]])
        verify(sealed, rebuild=lambda events: pytest.fail("must not be folded"))
        assert "rebuild-not-checked" in notes(sealed, rebuild=list)


def test_what_is_no_session_is_a_clear_refusal(tmp_path, unsealed):
    (tmp_path / "empty").mkdir()
    for folder in (tmp_path / "nothing", tmp_path / "empty", unsealed / "journal.jsonl"):
        with pytest.raises(BadSession) as caught:
            verify(folder)
        assert caught.value.remedy
    (unsealed / "journal.jsonl").unlink()
    os.mkfifo(unsealed / "journal.jsonl")
    with pytest.raises(BadSession, match="not a plain file"):
        verify(unsealed)


def test_a_sealed_session_whose_journal_is_gone_looks_like_tampering(sealed):
    (sealed / "journal.jsonl").unlink()
    assert faults(sealed) == {("journal-missing", "journal.jsonl", "tampering")}
    report = verify(sealed)
    assert not report.good and report.signs == ("tampering",)


def test_a_report_is_plain_json(sealed):
    put_lines(sealed, [*lines_of(sealed), b"x"])
    document = json.loads(json.dumps(verify(sealed).as_json()))
    assert document["good"] is False and document["signs"] == ["tampering"]
    assert document["findings"][0].keys() == {"severity", "code", "where", "message", "sign"}


def test_a_copy_elsewhere_verifies_as_well(sealed, tmp_path):
    shutil.copytree(sealed, tmp_path / "copy")
    assert verify(Path(tmp_path / "copy")).good


def test_a_long_session_with_many_stops_is_good(tmp_path):
    folder, clock = None, Ticking()
    for shift in range(5):
        if folder is None:
            store = new_store(tmp_path)
            store.append([opened(store)], 0)
        else:
            store = JournalStore.open(folder, clock=clock)
            store.append([resumed(store.torn_bytes)], 0)
        clock = Ticking(START + timedelta(days=shift + 1))
        with store:
            folder = store.folder
            for reading in range(3):
                say(store, str(300 + reading), 10 * shift + reading + 1)
            store.audio.keep(sound(99))  # the machine stops before its line
            store.append([accepted(1, "300", "0001")], 1)
        with (folder / "journal.jsonl").open("ab") as file:
            file.write(b'{"check":"' + b"0" * shift)
    with JournalStore.open(folder, clock=clock) as store:
        store.append([resumed(store.torn_bytes)], 0)
    assert verify(folder).good
