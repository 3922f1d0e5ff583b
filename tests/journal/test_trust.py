"""What whoever knows the program's source could forge, tried: each ends in 'cannot be trusted', or is told.

The forger here works as another program would: new lines in a new chain, other keys, files taken away and put back.
Only the machine's key is out of reach; with it (as the account that runs the assistant) most of this could be forged,
which README says in so many words.
"""

import hashlib
import json
import shutil
from datetime import timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import BadSession, BadSettings
from assistant.events import SessionClosed, SessionLeft
from assistant.events.review import JointAccepted, RedoOrdered, ReviewBegun, ReviewSigned
from assistant.journal.checkpoints import (
    CHECKPOINTS_NAME,
    EVERY,
    LONGEST_UNPROTECTED,
    Found,
    make_checkpoint,
    read_checkpoints,
)
from assistant.journal.keyring import read_basis, trust_key
from assistant.journal.person_key import make_person_key, unlock_person_key
from assistant.journal.reading import read_session
from assistant.journal.register import REGISTER_NAME, read_register
from assistant.journal.review import REVIEW_NAME, REVIEW_SEAL_NAME, append_review
from assistant.journal.seal import REVIEW_PURPOSE, installation_key, make_seal, public_key_of, read_seal, seal_bytes
from assistant.journal.signing import machine_signer
from assistant.journal.store import JournalStore
from assistant.journal.strict_json import canonical
from assistant.journal.verify import verify
from assistant.journal.verify_signed import missing_sessions
from tests.journal.short_record import START, Ticking, accepted, new_store, opened, resumed, say

PRODUCT = "assistant 0.1.0"


@pytest.fixture
def keys(tmp_path):
    return tmp_path / "keys"


def signer(keys):
    return machine_signer(keys, PRODUCT)


def begun(tmp_path, keys, readings=12):
    """An open session of one sitting: opened, so many readings, left."""
    with new_store(tmp_path / "sessions", signer=signer(keys)) as store:
        store.append([opened(store)], 0)
        for seed in range(1, readings + 1):
            say(store, "310", seed)
        store.append([SessionLeft(reason="left open")], 1000 * readings)
        return store.folder


def again(folder, keys, hour=1):
    return JournalStore.open(folder, clock=Ticking(START + timedelta(hours=hour)), signer=signer(keys))


def closed(folder, keys):
    with again(folder, keys) as store:
        store.append([resumed(store.torn_bytes)], 50_000)
        store.append([SessionClosed(utterance="0001")], 60_000)
        store.seal(signer(keys).key, PRODUCT)
    return folder


def report(folder, keys):
    return verify(folder, rebuild=list, basis=read_basis(keys))


def faults(folder, keys):
    return {f.code for f in report(folder, keys).findings if f.severity != "note"}


def rewrite(folder, change=lambda body: body, *, keep=None):
    """All lines in a new chain, each with what `change` makes of it; of a whole journal the first `keep` lines."""
    after, out = "0" * 64, []
    for line in (folder / "journal.jsonl").read_bytes().splitlines()[:keep]:
        body = change(json.loads(line))
        del body["check"]
        body |= {"seq": len(out) + 1, "previous": after}
        new = canonical({**body, "check": hashlib.sha256(canonical(body)).hexdigest()[:16]})
        out.append(new)
        after = hashlib.sha256(new).hexdigest()
    (folder / "journal.jsonl").write_bytes(b"\n".join(out) + b"\n")
    return after, len(out)


def another_reading(body):
    if body["kind"] == "reading-accepted" and body["payload"]["entry"] == 3:
        body["payload"]["achieved"]["value"] = "318"
    return body


def heard_alike(body):
    """The entry and what was heard changed alike, as a careful forger would."""
    if body["kind"] == "utterance-heard" and body["payload"]["utterance"] == "0003":
        body["payload"]["alternatives"][0]["value"] = "318"
    return another_reading(body)


def sealed_with(folder, key, end, **more):
    last_hash, count = end
    seal = make_seal(key, count=count, last_hash=last_hash, product=PRODUCT, utc=START, **more)
    (folder / "seal.json").write_bytes(seal_bytes(seal))


# ------------------------------------------------------------------------------------------------ the honest course
def test_an_honest_session_is_trusted_open_and_sealed_and_says_who_signed(tmp_path, keys):
    folder = begun(tmp_path, keys)
    assert report(folder, keys).trust.trusted and report(folder, keys).trust.signer == "this machine"
    closed(folder, keys)
    found = report(folder, keys)
    assert found.good and found.trust.trusted and found.trust.remarks == ()
    whys = [each.why for each in read_checkpoints(folder).checkpoints]
    assert whys[0] == "begun" and whys[-1] == "sitting" and whys.count("lines") >= 2
    assert [each.act for each in read_register(keys).entries] == ["opened", "left", "left", "sealed"]


def test_on_another_machine_it_is_trusted_once_the_key_has_a_name(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    shutil.copytree(folder, tmp_path / "lead" / folder.name)
    there, lead = tmp_path / "lead" / folder.name, tmp_path / "lead-keys"
    installation_key(lead)
    assert faults(there, lead) == {"key-unknown"}
    trust_key(lead, public_key_of(installation_key(keys)), name="gallery tablet", by="the lead")
    assert report(there, lead).good and report(there, lead).trust.signer == "gallery tablet"


def test_what_a_kill_leaves_unsigned_is_gone_on_with_and_told_for_ever(tmp_path, keys):
    store = new_store(tmp_path / "sessions", signer=signer(keys))
    store.append([opened(store)], 0)
    for seed in range(1, 4):
        say(store, "310", seed)
    store._signing = None  # as a kill leaves it: nothing is signed at the end
    store.close()
    folder = store.folder
    assert "unprotected" in {f.code for f in report(folder, keys).findings} and report(folder, keys).good
    closed(folder, keys)
    found = report(folder, keys)
    assert found.good and any("Lines 2 to 7 were not signed" in each for each in found.trust.remarks)
    assert read_seal((folder / "seal.json").read_bytes(), name="s").unprotected == ((2, 7),)


def test_never_more_than_a_few_lines_are_unsigned_while_it_runs(tmp_path, keys):
    with new_store(tmp_path / "sessions", signer=signer(keys)) as store:
        store.append([opened(store)], 0)
        for seed in range(1, 20):
            say(store, "310", seed)
            signed = read_checkpoints(store.folder).checkpoints[-1].count
            assert len(store.entries) - signed < EVERY


# --------------------------------------------------------------------------------- a sealed session, made otherwise
@pytest.mark.parametrize("change", [another_reading, heard_alike])
def test_a_changed_reading_sealed_with_a_fresh_key_is_not_trusted(tmp_path, keys, change):
    folder = closed(begun(tmp_path, keys), keys)
    sealed_with(folder, Ed25519PrivateKey.generate(), rewrite(folder, change))
    assert "key-unknown" in faults(folder, keys) and not report(folder, keys).trust.trusted


def test_nor_where_checkpoints_and_register_are_taken_away_as_well(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    sealed_with(folder, Ed25519PrivateKey.generate(), rewrite(folder, heard_alike))
    (folder / CHECKPOINTS_NAME).unlink()
    (keys / REGISTER_NAME).unlink()
    assert faults(folder, keys) == {"key-unknown"}


def test_an_entry_that_nobody_said_is_found_whoever_sealed(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    sealed_with(folder, installation_key(keys), rewrite(folder, another_reading))
    assert "entry-not-heard" in faults(folder, keys)


def test_a_rehearsal_made_a_session_and_a_day_moved_are_not_trusted(tmp_path, keys):
    def a_year_ago(body):
        return body | {"utc": body["utc"].replace("2026", "2025")}

    folder = closed(begun(tmp_path, keys), keys)
    sealed_with(folder, Ed25519PrivateKey.generate(), rewrite(folder, a_year_ago))
    assert not report(folder, keys).trust.trusted


def test_a_session_sealed_with_the_real_key_that_the_register_does_not_know_is_not_trusted(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    other = tmp_path / "sessions" / folder.name.replace("T1015", "T1115")
    shutil.copytree(folder, other)
    checkpoints = (other / CHECKPOINTS_NAME).read_bytes()
    end = rewrite(other, lambda body: body | {"sample": body["sample"] + 1})
    sealed_with(other, installation_key(keys), end, checkpoints_sha256=hashlib.sha256(checkpoints).hexdigest())
    assert "not-registered" in faults(other, keys)


# ------------------------------------------------------------------------------- an open session, sealed in good faith
def test_an_open_session_rewritten_is_refused_before_anything_is_signed(tmp_path, keys):
    folder = begun(tmp_path, keys)
    rewrite(folder, heard_alike)
    assert "checkpoint-contradicted" in faults(folder, keys)
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and path.name != "lock"}
    with pytest.raises(BadSession, match="cannot be trusted: line"):
        again(folder, keys)
    assert {path: path.read_bytes() for path in before} == before


def test_a_closed_joint_cut_back_and_changed_is_refused(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    (folder / "seal.json").unlink()
    rewrite(folder, heard_alike, keep=20)
    with pytest.raises(BadSession, match="cannot be trusted"):
        again(folder, keys)
    assert {"checkpoint-contradicted", "register-unsealed"} <= faults(folder, keys)


@pytest.mark.parametrize("keep", [26, 25, 6])
def test_last_lines_and_seal_removed_are_missed(tmp_path, keys, keep):
    folder = closed(begun(tmp_path, keys), keys)
    (folder / "seal.json").unlink()
    rewrite(folder, keep=keep)
    with pytest.raises(BadSession, match="cannot be trusted"):
        again(folder, keys)
    assert "checkpoint-contradicted" in faults(folder, keys) and "register-unsealed" in faults(folder, keys)


def test_a_closed_session_without_seal_and_checkpoints_is_not_taken_for_a_crash_even_where_no_register_knows_it(
    tmp_path, keys
):
    folder = closed(begun(tmp_path, keys, readings=16), keys)
    away = tmp_path / "lead" / folder.name
    shutil.copytree(folder, away)
    (away / "seal.json").unlink()
    installation_key(tmp_path / "lead-keys")
    trust_key(tmp_path / "lead-keys", public_key_of(installation_key(keys)), name="gallery tablet", by="the lead")
    assert faults(away, tmp_path / "lead-keys") == {
        "closed-not-sealed"
    }  # so a stop between closing and sealing leaves it
    (away / CHECKPOINTS_NAME).unlink()
    assert faults(away, tmp_path / "lead-keys") == {"closed-not-sealed", "closed-unsigned"}
    assert not report(away, tmp_path / "lead-keys").trust.trusted


def test_taking_the_checkpoints_away_too_does_not_help(tmp_path, keys):
    folder = begun(tmp_path, keys)
    rewrite(folder, heard_alike)
    (folder / CHECKPOINTS_NAME).unlink()
    with pytest.raises(BadSession, match="register says otherwise"):
        again(folder, keys)
    assert {"register-contradicted"} <= faults(folder, keys)


def test_nor_does_taking_the_register_away(tmp_path, keys):
    folder = begun(tmp_path, keys, readings=LONGEST_UNPROTECTED)
    (keys / REGISTER_NAME).unlink()
    with pytest.raises(BadSession, match="register is gone"):
        again(folder, keys)
    (folder / CHECKPOINTS_NAME).unlink()
    rewrite(folder, heard_alike)
    with pytest.raises(BadSession, match="never signed"):
        again(folder, keys)


def test_checkpoints_of_the_forgers_own_are_refused(tmp_path, keys):
    folder = begun(tmp_path, keys)
    last_hash, count = rewrite(folder, heard_alike)
    forger = Ed25519PrivateKey.generate()
    line, _ = make_checkpoint(
        forger, Found(), count=count, last_hash=last_hash, why="sitting", product=PRODUCT, utc=START
    )
    (folder / CHECKPOINTS_NAME).write_bytes(line)
    (keys / REGISTER_NAME).write_bytes(b"")
    assert "checkpoint-key" in faults(folder, keys)
    with pytest.raises(BadSession, match="a key that is not trusted here"):
        again(folder, keys)


def test_a_journal_emptied_is_refused(tmp_path, keys):
    folder = begun(tmp_path, keys)
    (folder / "journal.jsonl").write_bytes(b"")
    with pytest.raises(BadSession, match="cannot be trusted"):
        again(folder, keys)


def test_another_session_in_the_same_folder_is_refused(tmp_path, keys):
    folder = begun(tmp_path, keys, readings=5)
    (folder / CHECKPOINTS_NAME).unlink()
    rewrite(folder, lambda body: body | {"sample": body["sample"] + 1})
    assert "register-another" in faults(folder, keys)
    with pytest.raises(BadSession, match="another session of that name"):
        again(folder, keys)


def test_each_changed_byte_of_the_checkpoints_is_found(tmp_path, keys):
    folder = begun(tmp_path, keys)
    raw = (folder / CHECKPOINTS_NAME).read_bytes()
    for at in range(0, len(raw), 7):
        changed = bytearray(raw)
        changed[at] ^= 1 << (at % 8)
        (folder / CHECKPOINTS_NAME).write_bytes(bytes(changed))
        found = report(folder, keys)
        last_end = at == len(raw) - 1
        assert not found.trust.trusted or last_end, (at, found.findings)


def test_a_torn_checkpoint_is_what_a_stop_leaves(tmp_path, keys):
    folder = begun(tmp_path, keys)
    raw = (folder / CHECKPOINTS_NAME).read_bytes()
    lines = raw.splitlines(keepends=True)
    (folder / CHECKPOINTS_NAME).write_bytes(raw[:-10])
    # the register knows the end of the sitting, and the lines are as it was: only a checkpoint is missing
    assert report(folder, keys).trust.trusted
    closed(folder, keys)
    assert report(folder, keys).good
    assert (folder / CHECKPOINTS_NAME).read_bytes().startswith(b"".join(lines[:-1]))


def zeroed(path, first, last):
    raw = path.read_bytes()
    path.write_bytes(raw[:first] + bytes(last - first) + raw[last:])


@pytest.mark.parametrize("name", [CHECKPOINTS_NAME, REGISTER_NAME])
def test_zeros_that_a_power_cut_left_in_the_last_signed_line_are_a_stop_and_elsewhere_are_not(tmp_path, keys, name):
    folder = begun(tmp_path, keys)
    path = (folder if name == CHECKPOINTS_NAME else keys) / name
    whole = path.read_bytes()
    last = whole.rindex(b"\n", 0, -1) + 1
    for first, end in ((last - 1, last), (last - 100, last - 40)):  # in the line before, which was synced
        zeroed(path, first, end)
        assert not report(folder, keys).trust.trusted
        path.write_bytes(whole)
    zeroed(path, last, last + 100)
    assert report(folder, keys).trust.trusted
    closed(folder, keys)
    assert report(folder, keys).good and path.read_bytes().startswith(whole[:last])


# ---------------------------------------------------------------------------------- vanished, renamed, copied, reviewed
def test_a_copy_under_another_name_is_found_and_a_copy_elsewhere_under_its_own_is_good(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    copy = folder.with_name(folder.name.replace("dn150", "dn200"))
    shutil.copytree(folder, copy)
    assert faults(copy, keys) == {"register-renamed"} and "a copy" in report(copy, keys).trust.reasons[0]
    shutil.copytree(folder, tmp_path / "backup" / folder.name)
    assert report(tmp_path / "backup" / folder.name, keys).good
    shutil.rmtree(folder)
    assert "renamed" in report(copy, keys).trust.reasons[0]


def test_a_session_that_is_gone_is_named(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    assert missing_sessions(read_basis(keys)) == []
    shutil.rmtree(folder)
    (gone,) = missing_sessions(read_basis(keys))
    assert gone.session == folder.name and gone.act == "sealed"


def reviewed(folder, keys, *events):
    last = read_session(folder).entries[-1]
    first = ReviewBegun(
        by="lead", session_lines=last.seq, session_last_hash=last.sha256, as_recorded=True, product=PRODUCT
    )
    append_review(folder, [first, *events], key=installation_key(keys), product=PRODUCT, clock=Ticking(), register=keys)


def test_a_review_that_was_removed_or_cut_back_is_missed(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    reviewed(folder, keys, JointAccepted(by="lead", reason="seen"))
    kept = {name: (folder / name).read_bytes() for name in (REVIEW_NAME, REVIEW_SEAL_NAME)}
    reviewed(folder, keys, RedoOrdered(by="lead", group="flange bolts", bolt=5, reason="not believed"))
    assert report(folder, keys).good
    for name, raw in kept.items():
        (folder / name).write_bytes(raw)
    assert faults(folder, keys) == {"register-review-changed"}
    for name in kept:
        (folder / name).unlink()
    assert faults(folder, keys) == {"register-review-missing"}


@pytest.mark.parametrize("take", [slice(1, None), slice(0, 2), slice(2, None)])
def test_lines_taken_out_of_the_register_are_found(tmp_path, keys, take):
    folder = closed(begun(tmp_path, keys), keys)
    lines = (keys / REGISTER_NAME).read_bytes().splitlines(keepends=True)
    kept = lines[take]
    (keys / REGISTER_NAME).write_bytes(b"".join(kept))
    if take == slice(0, 2):  # whole lines cut off its end: the seal shows that it knew more
        assert report(folder, keys).good  # nothing binds the end of the register; only what is left of it speaks
    else:
        assert faults(folder, keys) == {"register-damaged"}


def test_a_register_signed_by_somebody_else_is_not_believed(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    stranger = tmp_path / "stranger"
    closed(begun(tmp_path / "other", stranger), stranger)
    shutil.copy(stranger / REGISTER_NAME, keys / REGISTER_NAME)
    assert faults(folder, keys) == {"register-key"}


def test_an_entry_without_the_utterance_it_names_is_found(tmp_path, keys):
    with new_store(tmp_path / "sessions", signer=signer(keys)) as store:
        store.append([opened(store), accepted(1, "310", "0001"), SessionLeft(reason="left open")], 0)
    assert faults(store.folder, keys) == {"entry-without-words"}


def test_nobody_else_on_the_machine_may_read_what_people_said(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    for path in [folder, *folder.rglob("*"), keys, *keys.iterdir(), tmp_path / "sessions"]:
        assert path.stat().st_mode & 0o077 == 0, path


# ------------------------------------------------------------------------------------------------- the lead's own key
SECRET = "four words never together"


def lead_key(tmp_path, name="Kim Lead"):
    return make_person_key(tmp_path / "stick" / "kim.json", name, SECRET)


def signed_by(folder, keys, person, by="Kim Lead"):
    last = read_session(folder).entries[-1]
    events = [
        ReviewBegun(by=by, session_lines=last.seq, session_last_hash=last.sha256, as_recorded=True, product=PRODUCT),
        JointAccepted(by=by, reason="seen"),
        ReviewSigned(by=by, public_key="", signature=""),
    ]
    append_review(
        folder, events, key=installation_key(keys), product=PRODUCT, clock=Ticking(), register=keys, person=person
    )


def test_lead_and_technician_are_two_keys(tmp_path, keys):
    folder, lead = closed(begun(tmp_path, keys), keys), tmp_path / "lead-keys"
    person = lead_key(tmp_path)
    signed_by(folder, lead, person)
    assert {"review-key-unknown", "review-signer-key-unknown"} <= faults(folder, keys)
    trust_key(keys, public_key_of(installation_key(lead)), name="the lead's laptop", by="the technician")
    trust_key(keys, person.public_key, name="Kim Lead", by="the technician")
    assert report(folder, keys).good and report(folder, keys).trust.remarks == ()


def test_signed_by_the_technician_in_the_leads_name_is_told(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    signed_by(folder, keys, None)
    assert any("no second person" in each for each in report(folder, keys).trust.remarks)


def test_the_technicians_own_key_does_not_pass_for_the_leads(tmp_path, keys):
    folder = closed(begun(tmp_path, keys), keys)
    technician = make_person_key(tmp_path / "t.json", "Sam Tech", SECRET)
    trust_key(keys, technician.public_key, name="Sam Tech", by="the lead")
    signed_by(folder, keys, technician)
    assert faults(folder, keys) == {"review-name"}


def test_a_review_changed_under_the_leads_signature_is_found_whoever_seals_it_anew(tmp_path, keys):
    folder, person = closed(begun(tmp_path, keys), keys), lead_key(tmp_path)
    trust_key(keys, person.public_key, name="Kim Lead", by="the lead")
    signed_by(folder, keys, person)
    assert report(folder, keys).good
    raw = (folder / REVIEW_NAME).read_bytes()
    lines, after = [], "0" * 64
    for line in raw.splitlines():
        body = json.loads(line)
        if body["kind"] == "joint-accepted":
            body["payload"]["reason"] = "as good as new"
        del body["check"]
        body["previous"] = after
        lines.append(canonical({**body, "check": hashlib.sha256(canonical(body)).hexdigest()[:16]}))
        after = hashlib.sha256(lines[-1]).hexdigest()
    (folder / REVIEW_NAME).write_bytes(b"\n".join(lines) + b"\n")
    seal = make_seal(
        installation_key(keys), count=3, last_hash=after, product=PRODUCT, utc=START, purpose=REVIEW_PURPOSE
    )
    (folder / REVIEW_SEAL_NAME).write_bytes(seal_bytes(seal))
    assert {"review-signature", "register-review-changed"} == faults(folder, keys)


def test_a_persons_key_opens_with_its_passphrase_only(tmp_path):
    made = lead_key(tmp_path)
    path = tmp_path / "stick" / "kim.json"
    assert unlock_person_key(path, SECRET).public_key == made.public_key
    for wrong in ("", SECRET + " ", SECRET.upper()):
        with pytest.raises(BadSettings, match="not its passphrase"):
            unlock_person_key(path, wrong)
    assert SECRET.encode() not in path.read_bytes() and made.private.private_bytes_raw().hex() not in path.read_text()
    raw = path.read_bytes()
    for at in range(0, len(raw), 5):
        path.write_bytes(raw[:at] + bytes([raw[at] ^ 1]) + raw[at + 1 :])
        with pytest.raises(BadSettings):
            unlock_person_key(path, SECRET)
    path.write_bytes(raw)
    path.chmod(0o644)
    with pytest.raises(BadSettings, match="others may read"):
        unlock_person_key(path, SECRET)
    with pytest.raises(BadSettings, match="too short"):
        make_person_key(tmp_path / "x.json", "Kim Lead", "short")
    with pytest.raises(BadSettings, match="there already"):
        lead_key(tmp_path)
