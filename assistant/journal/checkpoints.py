"""Signed checkpoints of a session that is not sealed yet: `checkpoints.jsonl`, one line each, in the session folder.

The chain alone shows that lines fit each other, and whoever knows how can make a new chain in a minute. A checkpoint
says, signed with the machine's key: now the journal has so many lines, and this is the hash of the last. One is written
with the first lines, then after every few, and when a sitting ends. Going on with a session checks them all, so an open
session cannot be rewritten and then sealed in good faith. Lines behind the last checkpoint are what a stop leaves; the
next checkpoint tells of them, and there are never many.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.errors import BadSession
from assistant.journal.chain import synced_lines
from assistant.journal.clock import utc_read, utc_text
from assistant.journal.disk import Disk, read_regular, sync_folder, write_all
from assistant.journal.strict_json import MAX_INT, NotStrictJson, canonical, canonical_document

CHECKPOINTS_NAME = "checkpoints.jsonl"
PURPOSE = "assistant-checkpoint-1"
EVERY = 10
"""Lines after which a checkpoint is due: about two spoken entries. Signing takes 0.1 ms, writing one sync."""
LONGEST_UNPROTECTED = 3 * EVERY
"""Lines that a stop can leave behind the last checkpoint: fewer than EVERY and the batch being written, with room."""
FIRST_PREVIOUS = "0" * 64
_HEX = {"last_hash": 64, "previous": 64, "public_key": 64, "signature": 128}


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkpoint:
    """One line of `checkpoints.jsonl`.

    Args:
        count: lines of the journal.
        last_hash: SHA-256 of the last of them, hex.
        unprotected: first and last line that no checkpoint had covered when the session was opened again; () for none.
        why: "begun", "lines", "sitting" (its end), "resumed" or "closed".
        previous: SHA-256 of the checkpoint before, without its line end; of the first: 64 zeros.
        product: name and version that signed.
        utc: when, by the machine's clock.
        public_key, signature: Ed25519, hex.
    """

    count: int
    last_hash: str
    unprotected: tuple[int, ...]
    why: str
    previous: str
    product: str
    utc: str
    public_key: str
    signature: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The checkpoints of a folder as they were found.

    Args:
        checkpoints: of all whole lines.
        whole_bytes: length of these lines; what follows was being written when the machine stopped.
        sha256: of these lines.
    """

    checkpoints: tuple[Checkpoint, ...] = ()
    whole_bytes: int = 0
    sha256: str = hashlib.sha256(b"").hexdigest()
    last_line: str = FIRST_PREVIOUS


def read_checkpoints(folder: Path) -> Found | None:
    """The checkpoints in a session folder; None where there is no such file. Signatures are not checked here.

    Raises:
        BadSession: the file cannot be read, or a whole line is no checkpoint or does not follow the one before.
    """
    path = folder / CHECKPOINTS_NAME
    if not os.path.lexists(path):
        return None
    return parse_checkpoints(read_regular(path), name=str(path))


def parse_checkpoints(raw: bytes, *, name: str) -> Found:
    """The checkpoints in the bytes of the file. Raises BadSession as `read_checkpoints`."""
    lines, whole_bytes = synced_lines(raw)
    found: list[Checkpoint] = []
    before = FIRST_PREVIOUS
    for number, line in enumerate(lines, start=1):
        try:
            each = _checkpoint(canonical_document(line))
            if each.previous != before:
                raise NotStrictJson("it does not follow the one before")
        except ValueError as error:
            raise BadSession(
                f"{name} line {number} is damaged: {error}", remedy="`assistant verify` says what can still be believed"
            ) from None
        found.append(each)
        before = hashlib.sha256(line).hexdigest()
    digest = hashlib.sha256(raw[:whole_bytes]).hexdigest()
    return Found(checkpoints=tuple(found), whole_bytes=whole_bytes, sha256=digest, last_line=before)


def _checkpoint(found: Any) -> Checkpoint:
    if type(found) is not dict or found.keys() != set(Checkpoint.__dataclass_fields__):
        raise NotStrictJson("its fields are not those of a checkpoint")
    gap = found["unprotected"]
    if type(found["count"]) is not int or not 0 < found["count"] <= MAX_INT:
        raise NotStrictJson("count is not a number of lines")
    if type(gap) is not list or len(gap) not in (0, 2) or any(type(n) is not int or n < 1 for n in gap):
        raise NotStrictJson("unprotected is not a first and a last line")
    for name in ("why", "product", "utc"):
        if type(found[name]) is not str:
            raise NotStrictJson(f"{name} is not text")
    for name, length in _HEX.items():
        if type(found[name]) is not str or not re.fullmatch(f"[0-9a-f]{{{length}}}", found[name]):
            raise NotStrictJson(f"{name} is not {length} hexadecimal figures")
    utc_read(found["utc"])
    return Checkpoint(**{**found, "unprotected": tuple(gap)})


def make_checkpoint(
    key: Ed25519PrivateKey,
    after: Found,
    *,
    count: int,
    last_hash: str,
    why: str,
    product: str,
    utc: datetime,
    unprotected: Sequence[int] = (),
) -> tuple[bytes, Found]:
    """The line that follows, with its end, and what is found once it is written."""
    body: dict[str, Any] = {
        "count": count,
        "last_hash": last_hash,
        "unprotected": list(unprotected),
        "why": why,
        "previous": after.last_line,
        "product": product,
        "utc": utc_text(utc),
        "public_key": key.public_key().public_bytes_raw().hex(),
    }
    body["signature"] = key.sign(_statement(body)).hex()
    line = canonical(body)
    made = Found(
        checkpoints=(*after.checkpoints, _checkpoint(body)),
        whole_bytes=after.whole_bytes + len(line) + 1,
        sha256="",  # known only once it is read again
        last_line=hashlib.sha256(line).hexdigest(),
    )
    return line + b"\n", made


def write_checkpoint(disk: Disk, folder: Path, line: bytes, after: Found) -> None:
    """Put a checkpoint behind the whole ones and sync it. A torn one there is written over.

    Raises:
        OSError: the medium refuses.
    """
    path = folder / CHECKPOINTS_NAME
    new = not os.path.lexists(path)
    descriptor = disk.open(path, os.O_RDWR | os.O_CREAT)
    try:
        if os.fstat(descriptor).st_size > after.whole_bytes:
            disk.truncate(descriptor, after.whole_bytes)
        write_all(disk, descriptor, line, after.whole_bytes)
    finally:
        os.close(descriptor)
    if new:
        sync_folder(disk, folder)


def checkpoint_fits(checkpoint: Checkpoint) -> bool:
    """Whether it was signed, as it stands, by the holder of its public key."""
    body = asdict(checkpoint) | {"unprotected": list(checkpoint.unprotected)}
    del body["signature"]
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(checkpoint.public_key))
        key.verify(bytes.fromhex(checkpoint.signature), _statement(body))
    except (InvalidSignature, ValueError):
        return False
    return True


def contradiction(checkpoint: Checkpoint, hashes: Sequence[str]) -> str:
    """Why these lines are not those that the checkpoint was made of, in words; "" when they are.

    Args:
        hashes: SHA-256 of each line of the journal, in order.
    """
    if checkpoint.count > len(hashes):
        return f"{checkpoint.count} lines were signed on {checkpoint.utc}, {len(hashes)} are there"
    if hashes[checkpoint.count - 1] != checkpoint.last_hash:
        return f"line {checkpoint.count}, or one before it, is not as it was signed on {checkpoint.utc}"
    return ""


def _statement(body: dict[str, Any]) -> bytes:
    return canonical({**body, "purpose": PURPOSE})
