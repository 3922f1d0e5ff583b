"""Promise 6: the seal binds the end of the journal; the key belongs to the installation."""

import dataclasses
import errno
import json
import stat

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import BadSession, BadSettings
from assistant.journal.seal import (
    installation_key,
    make_seal,
    public_key_of,
    read_seal,
    seal_bytes,
    signature_fits,
)
from assistant.journal.strict_json import canonical
from tests.journal.short_record import START, FailingDisk, sealed_session

KEY = Ed25519PrivateKey.generate()


def a_seal(key=KEY, **changes):
    return make_seal(key, **{"count": 6, "last_hash": "a" * 64, "product": "assistant 0.1.0", "utc": START, **changes})


def test_a_seal_fits_as_it_was_made_and_comes_back_from_its_bytes():
    seal = a_seal()
    assert signature_fits(seal)
    assert read_seal(seal_bytes(seal), name="seal.json") == seal
    assert json.loads(seal_bytes(seal)).keys() == {
        "count", "last_hash", "algorithm", "public_key", "signature", "product", "utc",
    }  # fmt: skip


@pytest.mark.parametrize(
    "change",
    [
        {"count": 5},
        {"last_hash": "b" * 64},
        {"product": "assistant 0.1.1"},
        {"utc": "2026-11-25T10:15:00.000001Z"},
        {"public_key": public_key_of(Ed25519PrivateKey.generate())},
        {"public_key": "0" * 64},
        {"public_key": "f" * 64},
        {"signature": "0" * 128},
    ],
)
def test_no_field_can_be_changed(change):
    assert not signature_fits(dataclasses.replace(a_seal(), **change))


def test_a_signature_over_something_else_with_the_same_key_is_no_seal():
    fields = dataclasses.asdict(a_seal())
    del fields["signature"]
    forged = dataclasses.replace(a_seal(), signature=KEY.sign(canonical(fields)).hex())
    assert not signature_fits(forged)


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"{}\n",
        b"[]\n",
        b"null\n",
        seal_bytes(a_seal())[:-1],
        seal_bytes(a_seal()) + b"\n",
        seal_bytes(a_seal()).replace(b'"count":6', b'"count": 6'),
        seal_bytes(a_seal()).replace(b'"count":6', b'"count":"6"'),
        seal_bytes(a_seal()).replace(b'"count":6', b'"count":-6'),
        seal_bytes(a_seal()).replace(b'"count":6', b'"count":true'),
        seal_bytes(a_seal()).replace(b'"count":6', b'"count":6,"count":6'),
        seal_bytes(a_seal()).replace(b"Ed25519", b"Ed448"),
        seal_bytes(a_seal()).replace(b"a" * 64, b"A" * 64),
        seal_bytes(a_seal()).replace(b"a" * 64, b"a" * 63),
        seal_bytes(a_seal()).replace(b"2026-11", b"2026-17"),
        b"[" * 100_000,
    ],
)
def test_what_is_not_a_seal_is_refused_with_the_file_named(raw):
    with pytest.raises(BadSession, match=r"^seal\.json is damaged"):
        read_seal(raw, name="seal.json")


def test_the_key_is_made_once_private_and_outside_the_session(tmp_path):
    folder = sealed_session(tmp_path / "sessions", tmp_path / "deep" / "keys")
    path = tmp_path / "deep" / "keys" / "seal-key.pem"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [each.name for each in path.parent.iterdir()] == ["seal-key.pem"]
    assert public_key_of(installation_key(path.parent)) == public_key_of(installation_key(path.parent))
    secret = path.read_bytes().splitlines()[1]
    for each in folder.rglob("*"):
        assert each.is_dir() or secret not in each.read_bytes()


def test_a_key_that_others_may_read_is_refused(tmp_path):
    installation_key(tmp_path)
    (tmp_path / "seal-key.pem").chmod(0o640)
    with pytest.raises(BadSettings, match="others may read") as caught:
        installation_key(tmp_path)
    assert "chmod 600" in caught.value.remedy


def test_a_damaged_or_foreign_key_is_refused_and_left_alone(tmp_path):
    path = tmp_path / "seal-key.pem"
    other = generate_private_key(SECP256R1()).private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    locked = KEY.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.BestAvailableEncryption(b"x")
    )
    for raw in (b"", b"hello", other, locked):
        path.write_bytes(raw)
        path.chmod(0o600)
        with pytest.raises(BadSettings, match="not an Ed25519 key"):
            installation_key(tmp_path)
        assert path.read_bytes() == raw


def test_a_key_that_is_a_link_is_refused(tmp_path):
    installation_key(tmp_path / "a")
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "seal-key.pem").symlink_to(tmp_path / "a" / "seal-key.pem")
    with pytest.raises(BadSettings):
        installation_key(tmp_path / "b")


def test_a_key_folder_that_takes_no_write_is_a_clear_refusal_and_leaves_no_half_key(tmp_path):
    for passes in range(8):
        folder = tmp_path / str(passes)
        disk = FailingDisk(passes, OSError(errno.EROFS, "Read-only file system"))
        try:
            installation_key(folder, disk)
        except BadSettings as refused:
            assert "seal-key.pem" in refused.message
        else:
            assert not disk.raised
        installation_key(folder)
        assert [path.name for path in folder.iterdir()] == ["seal-key.pem"]
