"""Promise 15. The lead's review: appended beside the session, never in it; every change of it is found."""

from __future__ import annotations

import dataclasses
import json
import random
import shutil

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import BadSession, RecordNotWritable
from assistant.events import SoundLost, event_classes
from assistant.events.review import (
    REVIEW_CLASSES,
    CommentMade,
    JointAccepted,
    RedoOrdered,
    ReviewBegun,
    ReviewSigned,
)
from assistant.journal.encoding import EventFormat
from assistant.journal.reading import read_session
from assistant.journal.review import REVIEW_NAME, REVIEW_SEAL_NAME, append_review, read_review
from assistant.journal.seal import REVIEW_PURPOSE, make_seal, public_key_of, read_seal, seal_bytes, signature_fits
from assistant.journal.store import JournalStore
from assistant.journal.verify_files import examine_audio
from assistant.journal.verify_lines import examine_lines
from assistant.journal.verify_seal import examine_seal
from tests.journal.short_record import (
    START,
    FailingDisk,
    Ticking,
    basis_beside,
    new_store,
    opened,
    resumed,
    say,
    sealed_session,
    unsealed_session,
    verify_here,
)

KEY = Ed25519PrivateKey.from_private_bytes(b"\1" * 32)


def verify(folder, **arguments):
    return verify_here(folder, **{"basis": basis_beside(folder, public_key_of(KEY))} | arguments)


def begun(folder, **changes):
    last = read_session(folder).entries[-1]
    event = ReviewBegun(
        by="the lead",
        session_lines=last.seq,
        session_last_hash=last.sha256,
        as_recorded=True,
        product="assistant 0.1.0",
    )
    return dataclasses.replace(event, **changes)


def reviewed(folder, *events, disk=None):
    return append_review(
        folder, [begun(folder), *events], key=KEY, product="assistant 0.1.0", clock=Ticking(START), disk=disk
    )


COMMENT = CommentMade(by="the lead", text="gap readings filed separately")
COUGH = SoundLost(reason="overrun", at_sample=0, samples=160)
REDO = RedoOrdered(by="the lead", group="flange bolts", bolt=5, reason="not believed")


@pytest.fixture
def sealed(tmp_path):
    return sealed_session(tmp_path / "sessions", tmp_path / "keys")


def faults(folder):
    return [(f.code, f.where, f.sign) for f in verify(folder).findings if f.severity != "note"]


def test_a_review_is_appended_signed_and_read_back_and_the_session_stays_as_it_was(sealed):
    before = {path.name: path.read_bytes() for path in sealed.iterdir() if path.is_file() and path.name != "lock"}
    reviewed(sealed, COMMENT, REDO)
    reviewed(
        sealed,
        JointAccepted(by="the lead", reason="seen on site"),
        ReviewSigned(by="the lead", public_key="", signature=""),
    )
    review = read_review(sealed)
    assert [e.event.kind for e in review.entries] == [
        "review-begun", "comment-made", "redo-ordered", "review-begun", "joint-accepted", "review-signed",
    ]  # fmt: skip
    assert review.entries[2].event == REDO and [e.seq for e in review.entries] == [1, 2, 3, 4, 5, 6]
    assert review.seal.count == 6 and review.seal.public_key == public_key_of(KEY)
    assert {name: (sealed / name).read_bytes() for name in before} == before
    assert faults(sealed) == []
    assert "review-sealed-here" in {f.code for f in verify(sealed).findings}
    unknown = verify(sealed, basis=basis_beside(sealed))
    assert not unknown.trust.trusted and "review-key-unknown" in {f.code for f in unknown.findings}


def test_no_review_is_nothing_to_say(sealed):
    assert read_review(sealed) is None
    assert not any("review" in f.code for f in verify(sealed).findings)


def test_every_changed_byte_of_a_review_and_its_seal_is_found_and_nothing_is_added_to_it(sealed):
    reviewed(sealed, COMMENT)
    for name in (REVIEW_NAME, REVIEW_SEAL_NAME):
        raw = (sealed / name).read_bytes()
        for at in range(0, len(raw), 3):
            changed = bytearray(raw)
            changed[at] ^= 1 << (at % 7)
            (sealed / name).write_bytes(bytes(changed))
            assert not verify(sealed).good, (name, at)
            with pytest.raises(BadSession):
                read_review(sealed)
        with pytest.raises(BadSession):
            reviewed(sealed, COMMENT)
        (sealed / name).write_bytes(raw)
    assert verify(sealed).good


def test_a_review_cut_anywhere_is_found(sealed):
    reviewed(sealed, COMMENT)
    raw = (sealed / REVIEW_NAME).read_bytes()
    for at in range(0, len(raw), 11):
        (sealed / REVIEW_NAME).write_bytes(raw[:at])
        assert not verify(sealed).good, at


def test_a_review_of_another_session_does_not_pass_for_this_ones(sealed, tmp_path):
    with new_store(tmp_path / "more") as store:
        store.append([opened(store)], 0)
        say(store, "300", 3)
        other = store.folder
    reviewed(other, COMMENT)
    assert faults(other) == []
    for name in (REVIEW_NAME, REVIEW_SEAL_NAME):
        shutil.copy(other / name, sealed / name)
    assert faults(sealed) == [("review-of-another", "review.jsonl line 1", "tampering")]


def test_lines_taken_off_the_end_lines_added_and_a_seal_of_another_key_are_found(sealed):
    reviewed(sealed, COMMENT, REDO)
    raw, seal = (sealed / REVIEW_NAME).read_bytes(), (sealed / REVIEW_SEAL_NAME).read_bytes()
    (sealed / REVIEW_NAME).write_bytes(b"".join(raw.splitlines(keepends=True)[:-1]))
    assert faults(sealed) == [("review-lines-missing", REVIEW_NAME, "tampering")]
    (sealed / REVIEW_NAME).unlink()
    assert faults(sealed) == [("review-missing", REVIEW_NAME, "tampering")]
    (sealed / REVIEW_NAME).write_bytes(raw)
    reviewed(sealed, COMMENT)
    (sealed / REVIEW_SEAL_NAME).write_bytes(seal)  # an older seal: the last lines are nobody's
    assert faults(sealed) == [("review-not-sealed", "review.jsonl line 4", "crash")]
    (sealed / REVIEW_SEAL_NAME).unlink()
    assert faults(sealed) == [("review-not-sealed", REVIEW_SEAL_NAME, "crash")]
    reviewed(sealed, COMMENT)  # the next run signs everything
    assert faults(sealed) == []


def test_a_session_seal_never_passes_for_a_review_seal(sealed):
    reviewed(sealed, COMMENT)
    review = read_review(sealed)
    wrong = make_seal(KEY, count=2, last_hash=review.entries[-1].sha256, product="assistant 0.1.0", utc=START)
    assert signature_fits(wrong) and not signature_fits(wrong, purpose=REVIEW_PURPOSE)
    (sealed / REVIEW_SEAL_NAME).write_bytes(seal_bytes(wrong))
    assert [code for code, _, _ in faults(sealed)] == ["review-seal-signature"]


def test_an_unfinished_session_can_be_reviewed_and_gone_on_with(tmp_path):
    folder = unsealed_session(tmp_path)
    reviewed(folder, COMMENT)
    with JournalStore.open(folder, clock=Ticking(START.replace(hour=12))) as store:
        with pytest.raises(BadSession, match="being written"):
            reviewed(folder, COMMENT)
        store.append([resumed(0)], 9000)
    assert faults(folder) == []


def test_a_failing_disk_leaves_the_old_review_or_one_that_the_next_run_signs(sealed):
    reviewed(sealed, COMMENT)
    steps = FailingDisk(10_000)
    shutil.copytree(sealed, sealed.with_name("count"))
    reviewed(sealed.with_name("count"), REDO, disk=steps)
    for passes in range(steps.done):
        folder = sealed.with_name(f"fails-{passes}")
        shutil.copytree(sealed, folder)
        disk = FailingDisk(passes)
        try:
            reviewed(folder, REDO, disk=disk)
        except RecordNotWritable:
            assert disk.raised
        else:
            assert disk.raised == "close"  # what was synced before lasts, whatever a close answers
        kinds = [e.event.kind for e in read_review(folder).entries]
        assert kinds[:2] == ["review-begun", "comment-made"] and len(kinds) in (2, 4)
        assert {code for code, _, _ in faults(folder)} <= {"review-not-sealed"}
        reviewed(folder, COMMENT)
        assert faults(folder) == []


def test_review_events_are_no_session_events_and_all_can_be_kept():
    assert not set(REVIEW_CLASSES) & set(event_classes())
    own = EventFormat(REVIEW_CLASSES)
    for event in (COMMENT, REDO, JointAccepted(by="x", reason=""), ReviewSigned(by="x", public_key="", signature="")):
        assert own.decode(*own.encode(event), where="here") == event


def test_a_seal_on_disk_reads_back(sealed):
    reviewed(sealed, COMMENT)
    raw = (sealed / REVIEW_SEAL_NAME).read_bytes()
    assert read_seal(raw, name="r").product == "assistant 0.1.0" and json.loads(raw)["count"] == 2


def test_two_thousand_single_byte_changes_of_journal_and_audio_are_all_found(sealed):
    """Issue 7: of a sample of 2,000 changed bytes in journal and audio, each is found."""
    chance = random.Random(7)
    files = [sealed / "journal.jsonl", *sorted((sealed / "audio").iterdir())]
    contents = {path: path.read_bytes() for path in files}
    seal, basis = (sealed / "seal.json").read_bytes(), basis_beside(sealed)
    places = [(path, at) for path, raw in contents.items() for at in range(len(raw))]
    assert len(places) > 2000 and verify(sealed).good
    for number, (path, at) in enumerate(chance.sample(places, 2000)):
        raw = contents[path]
        other = (raw[at] + chance.randrange(1, 256)) % 256
        path.write_bytes(raw[:at] + bytes([other]) + raw[at + 1 :])
        lines = examine_lines(files[0].read_bytes())
        parts = [
            lines.findings,
            examine_seal(seal, lines, basis=basis)[1],
            examine_audio(sealed, lines, sealed=True),
        ]
        assert any(f.severity == "error" for part in parts for f in part), (path.name, at, raw[at], other)
        assert number % 20 or not verify(sealed).good  # the parts together, for every twentieth
        path.write_bytes(raw)
    assert verify(sealed).good


def test_a_wall_clock_that_runs_ahead_of_the_sound_is_noted(tmp_path):
    folder = unsealed_session(tmp_path)
    with JournalStore.open(folder, clock=Ticking(START.replace(hour=11))) as store:
        store.append([resumed(0)], 9000)
        store.append([COUGH], 10_000)
    with JournalStore.open(folder, clock=Ticking(START.replace(hour=16))) as store:
        store.append([COUGH], 20_000)
    spoken = [f for f in verify(folder).findings if f.code == "clock-forwards"]
    assert spoken == []  # what was resumed was typed: nothing was counted in sound
    with JournalStore.open(folder, clock=Ticking(START.replace(hour=17))) as store:
        store.append([dataclasses.replace(resumed(0), listeners=("constrained", "vosk"))], 30_000)
    with JournalStore.open(folder, clock=Ticking(START.replace(hour=19))) as store:
        store.append([COUGH], 40_000)
    (found,) = [f for f in verify(folder).findings if f.code == "clock-forwards"]
    assert found.severity == "note" and found.where == "journal.jsonl line 10" and "120 min" in found.message
