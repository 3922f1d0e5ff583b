"""The seal: an Ed25519 signature over how many lines a closed journal has and the hash of its last one.

With the chain this binds every byte of the journal, and through the hashes in it the joint file, the plan and all
audio. The private key belongs to the installation, never to a session folder. A seal shows that the record has not
changed since this installation sealed it; it does not show that what was said is true.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.errors import BadSession, BadSettings
from assistant.journal.clock import utc_read, utc_text
from assistant.journal.disk import Disk, make_folders, sync_folder, write_all
from assistant.journal.strict_json import MAX_INT, NotStrictJson, canonical, canonical_document

ALGORITHM = "Ed25519"
KEY_NAME = "seal-key.pem"
SESSION_PURPOSE, REVIEW_PURPOSE = "assistant-session-seal-1", "assistant-review-seal-1"
CHECKPOINTED_PURPOSE = "assistant-session-seal-2"
"""Signed along, so that the key's signature over anything else can never pass for this seal."""
_HEX = {"last_hash": 64, "checkpoints_sha256": 64, "public_key": 64, "signature": 128}


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """The content of `seal.json`.

    Args:
        count: lines of the journal.
        last_hash: SHA-256 of the last, hex.
        algorithm: "Ed25519".
        public_key, signature: hex.
        product: name and version that sealed.
        utc: when, as the journal writes time.
        checkpoints_sha256: of `checkpoints.jsonl` as it was sealed along; "" for a session without (before they were
            made, or a review), which is written and signed as it was then.
        unprotected: stretches of lines (first, last) that no checkpoint had covered when the session was opened again.
    """

    count: int
    last_hash: str
    algorithm: str
    public_key: str
    signature: str
    product: str
    utc: str
    checkpoints_sha256: str = ""
    unprotected: tuple[tuple[int, ...], ...] = ()

    @property
    def fingerprint(self) -> str:
        """The first 16 figures of the public key, in fours, for comparing by eye."""
        return fingerprint_of(self.public_key)


def fingerprint_of(public_key: str) -> str:
    """The first 16 figures of a public key (hex), in fours."""
    return " ".join(public_key[n : n + 4] for n in range(0, 16, 4))


def installation_key(folder: Path, disk: Disk | None = None) -> Ed25519PrivateKey:
    """The installation's key from `folder`/seal-key.pem, made there (mode 0600) on first use.

    Raises:
        BadSettings: it is damaged, a link, of another kind, open to others, or the folder does not take it.
    """
    disk = disk or Disk()
    path = folder / KEY_NAME
    try:
        if not os.path.lexists(path):
            make_folders(disk, folder)
            _new_key_file(path, disk)
        descriptor = disk.open(path, os.O_RDONLY)
        with os.fdopen(descriptor, "rb") as file:
            mode = os.fstat(descriptor).st_mode
            raw = file.read()
    except OSError as error:
        message = f"{path}: this machine's key cannot be made or read there ({error.strerror or error})"
        remedy = (
            "choose a folder for it that you may write to: ASSISTANT_KEYS=FOLDER, or 'keys = FOLDER' in the settings"
        )
        raise BadSettings(message, remedy=remedy) from None
    if mode & 0o077:
        raise BadSettings(f"{path}: others may read the seal key (mode {mode & 0o777:o})", remedy=f"chmod 600 {path}")
    try:
        key = serialization.load_pem_private_key(raw, password=None)
    except (ValueError, TypeError):
        key = None
    if not isinstance(key, Ed25519PrivateKey):
        raise BadSettings(
            f"{path} is not an Ed25519 key",
            remedy="restore it from a copy, or move it away: a new key is made, and sessions sealed with the old one "
            "still verify",
        )
    return key


def _new_key_file(path: Path, disk: Disk) -> None:
    private = Ed25519PrivateKey.generate().private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    part = path.with_name(f"{path.name}.{secrets.token_hex(4)}.part")
    descriptor = disk.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        write_all(disk, descriptor, private, 0)
        with contextlib.suppress(FileExistsError):  # another session was quicker: its key counts
            os.link(part, path)
        sync_folder(disk, path.parent)
    finally:
        os.close(descriptor)
        part.unlink()


def make_seal(
    key: Ed25519PrivateKey,
    *,
    count: int,
    last_hash: str,
    product: str,
    utc: datetime,
    purpose: str = SESSION_PURPOSE,
    checkpoints_sha256: str = "",
    unprotected: tuple[tuple[int, ...], ...] = (),
) -> Seal:
    """Sign the end of a journal (and its checkpoints, where it has some), or with its own purpose that of a review."""
    public = key.public_key().public_bytes_raw().hex()
    unsigned = Seal(
        count=count,
        last_hash=last_hash,
        algorithm=ALGORITHM,
        public_key=public,
        signature="0" * 128,
        product=product,
        utc=utc_text(utc),
        checkpoints_sha256=checkpoints_sha256,
        unprotected=unprotected,
    )
    return replace(unsigned, signature=key.sign(_statement(unsigned, purpose)).hex())


def seal_bytes(seal: Seal) -> bytes:
    """What `seal.json` holds."""
    return canonical(_content(seal)) + b"\n"


def _content(seal: Seal) -> dict[str, Any]:
    content = asdict(seal)
    if not seal.checkpoints_sha256:
        del content["checkpoints_sha256"], content["unprotected"]
    return content


def read_seal(raw: bytes, *, name: str) -> Seal:
    """The seal in the bytes of `seal.json`; its form is checked, its signature is not.

    Raises:
        BadSession: damaged, or not a seal.
    """
    try:
        found = canonical_document(raw.removesuffix(b"\n"))
        fields = set(Seal.__dataclass_fields__)
        allowed = (fields, fields - {"checkpoints_sha256", "unprotected"})
        if type(found) is not dict or not raw.endswith(b"\n") or found.keys() not in allowed:
            raise NotStrictJson("its fields are not those of a seal")
        if type(found["count"]) is not int or not 0 <= found["count"] <= MAX_INT:
            raise NotStrictJson("count is not a number of lines")
        if found["algorithm"] != ALGORITHM or type(found["product"]) is not str:
            raise NotStrictJson("algorithm or product is not as the assistant writes it")
        if "unprotected" in found:
            found["unprotected"] = _stretches(found["unprotected"])
        for field, length in _HEX.items():
            text = found.get(field, "0" * length)
            if type(text) is not str or not re.fullmatch(f"[0-9a-f]{{{length}}}", text):
                raise NotStrictJson(f"{field} is not {length} hexadecimal figures")
        utc_read(found["utc"])
    except ValueError as error:
        raise BadSession(f"{name} is damaged: {error}", remedy="compare it with a copy of the session folder") from None
    return Seal(**found)


def _stretches(found: object) -> tuple[tuple[int, ...], ...]:
    if type(found) is not list or any(type(each) is not list or len(each) != 2 for each in found):
        raise NotStrictJson("unprotected is not a list of first and last lines")
    if any(type(number) is not int or number < 1 for each in found for number in each):
        raise NotStrictJson("unprotected does not hold numbers of lines")
    return tuple(tuple(each) for each in found)


def signature_fits(seal: Seal, *, purpose: str = SESSION_PURPOSE) -> bool:
    """Whether the seal was made for this purpose, as it stands, by the holder of its public key."""
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(seal.public_key))
        key.verify(bytes.fromhex(seal.signature), _statement(seal, purpose))
    except (InvalidSignature, ValueError):
        return False
    return True


def public_key_of(key: Ed25519PrivateKey) -> str:
    """Its public part as `Seal.public_key` holds it."""
    return key.public_key().public_bytes_raw().hex()


def _statement(seal: Seal, purpose: str) -> bytes:
    signed = _content(seal)
    del signed["signature"]
    if seal.checkpoints_sha256 and purpose == SESSION_PURPOSE:
        purpose = CHECKPOINTED_PURPOSE
    return canonical({**signed, "purpose": purpose})
