"""A person's own key, locked with a passphrase: what a lead signs with, so that lead and machine are two.

The file holds the private key encrypted (scrypt, then ChaCha20-Poly1305) and may lie on a stick that only its owner
carries. Whoever has the file and not the passphrase cannot sign. A program that runs as the account in which the
passphrase is typed could take it: a lead who does not trust the recording machine signs on another one.
"""

from __future__ import annotations

import hashlib
import os
import secrets
import stat
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import InvalidSignature, InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

from assistant.errors import BadSession, BadSettings
from assistant.journal.disk import Disk, make_folders, not_writable, read_regular, write_new_file
from assistant.journal.sessions import slug_of
from assistant.journal.strict_json import NotStrictJson, canonical, canonical_document

ENDING = ".person-key.json"
SHORTEST_PASSPHRASE = 12
_COST = {"n": 2**15, "r": 8, "p": 1}  # 32 MB and about 0.1 s each try (RFC 7914; our own choice)
_FIELDS = {"name", "public_key", "kdf", "salt", "nonce", "locked"}
REVIEW_SIGNATURE = "assistant-review-signature-1"


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonKey:
    """An unlocked key with the name it was made for."""

    name: str
    private: Ed25519PrivateKey

    @property
    def public_key(self) -> str:
        """Its public part, hex."""
        return self.private.public_key().public_bytes_raw().hex()


def key_file(keys: Path, name: str) -> Path:
    """Where the key of a person lies when no other place is named."""
    return keys / f"{slug_of(name)}{ENDING}"


def make_person_key(path: Path, name: str, passphrase: str) -> PersonKey:
    """Make a key for a person and lock it in a new file.

    Raises:
        BadSettings: there is such a file, or the passphrase is too short.
        RecordNotWritable: the folder refuses.
    """
    if len(passphrase) < SHORTEST_PASSPHRASE:
        remedy = f"at least {SHORTEST_PASSPHRASE} letters; four words that do not belong together are easy to keep"
        raise BadSettings("the passphrase is too short", remedy=remedy)
    if os.path.lexists(path):
        raise BadSettings(f"{path} is there already", remedy="name another file, or sign with that key")
    key = PersonKey(name=name, private=Ed25519PrivateKey.generate())
    salt, nonce = secrets.token_bytes(16), secrets.token_bytes(12)
    box = ChaCha20Poly1305(_stretched(passphrase, salt))
    locked = box.encrypt(nonce, key.private.private_bytes_raw(), _beside(name, key.public_key))
    content = {
        "name": name,
        "public_key": key.public_key,
        "kdf": {"name": "scrypt", **_COST},
        "salt": salt.hex(),
        "nonce": nonce.hex(),
        "locked": locked.hex(),
    }
    disk = Disk()
    try:
        make_folders(disk, path.absolute().parent)
        write_new_file(disk, path, canonical(content) + b"\n")
    except OSError as error:
        raise not_writable(path, error) from None
    return key


def unlock_person_key(path: Path, passphrase: str) -> PersonKey:
    """The key in a file.

    Raises:
        BadSettings: no such file, damaged, open to others, or another passphrase.
    """
    remedy = "a file that `assistant key new --name NAME` made"
    try:
        content = canonical_document(read_regular(path).removesuffix(b"\n"))
        if type(content) is not dict or content.keys() != _FIELDS or content["kdf"] != {"name": "scrypt", **_COST}:
            raise NotStrictJson("its fields are not those of a person's key")
        salt, nonce, locked = (bytes.fromhex(content[n]) for n in ("salt", "nonce", "locked"))
        name, public_key = str(content["name"]), str(content["public_key"])
    except BadSession as error:
        raise BadSettings(error.message, remedy=remedy) from None
    except (ValueError, TypeError) as error:
        raise BadSettings(f"{path} is no person's key: {error}", remedy=remedy) from None
    if stat.S_IMODE(path.stat().st_mode) & 0o077:
        raise BadSettings(f"{path}: others may read it", remedy=f"chmod 600 {path}")
    try:
        private = ChaCha20Poly1305(_stretched(passphrase, salt)).decrypt(nonce, locked, _beside(name, public_key))
    except (InvalidTag, ValueError):
        raise BadSettings(
            f"{path}: that is not its passphrase, or the file was changed", remedy="try again; it cannot be recovered"
        ) from None
    return PersonKey(name=name, private=Ed25519PrivateKey.from_private_bytes(private))


def sign_review(key: PersonKey, *, by: str, lines: int, last_hash: str) -> str:
    """A person's signature (hex) under all lines of a review so far."""
    return key.private.sign(_statement(by, lines, last_hash)).hex()


def review_signature_fits(public_key: str, signature: str, *, by: str, lines: int, last_hash: str) -> bool:
    """Whether it is the signature of that key's holder under these lines of a review."""
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key))
        key.verify(bytes.fromhex(signature), _statement(by, lines, last_hash))
    except (InvalidSignature, ValueError):
        return False
    return True


def _statement(by: str, lines: int, last_hash: str) -> bytes:
    return canonical({"by": by, "lines": lines, "last_hash": last_hash, "purpose": REVIEW_SIGNATURE})


def _beside(name: str, public_key: str) -> bytes:
    """What is not secret in the file, and may not be changed either."""
    return canonical({"name": name, "public_key": public_key})


def _stretched(passphrase: str, salt: bytes) -> bytes:
    cost = {"n": _COST["n"], "r": _COST["r"], "p": _COST["p"]}
    return hashlib.scrypt(passphrase.encode("utf-8"), salt=salt, maxmem=64 * 1024**2, dklen=32, **cost)
