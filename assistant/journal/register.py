"""The machine's register of its sessions: `register.jsonl` beside its key, append-only, chained, each line signed.

It lies outside the session folders, so it knows of a session that was shortened, taken away, renamed or copied, of a
seal or a review that was removed. One line when a session begins, when a sitting ends, when it is sealed or
reviewed. A torn last line is what a stop leaves; the next one is written over it.

Only the last line of each key's run needs its signature checked: it binds all lines before it by their hashes.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import json
import os
import re
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.errors import BadSession, RecordNotWritable
from assistant.journal.chain import synced_lines
from assistant.journal.clock import utc_text
from assistant.journal.disk import Disk, make_folders, read_regular, sync_folder, write_all
from assistant.journal.strict_json import NotStrictJson, canonical, strict_document

REGISTER_NAME = "register.jsonl"
PURPOSE = "assistant-register-1"
FIRST_PREVIOUS = "0" * 64
_KEYS = {"seq", "utc", "act", "place", "session", "first", "count", "last_hash", "previous", "public_key", "signature"}
_TRIES, _WAIT_S = 100, 0.02  # another session of this machine holds it for the time of one sync


@dataclass(frozen=True, slots=True, kw_only=True)
class Registered:
    """One line of the register.

    Args:
        act: "opened", "left", "sealed" or "reviewed".
        place: the folder of sessions, as an absolute path.
        session: name of the session folder.
        first: SHA-256 of the journal's first line: which session it is, whatever its folder is called.
        count, last_hash: lines at that time, and the hash of the last; of the review for "reviewed".
        utc: when, by the machine's clock, as the journal writes time.
        public_key: of the key that signed, hex.
    """

    act: str
    place: str
    session: str
    first: str
    count: int
    last_hash: str
    utc: str
    public_key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Register:
    """A register as it was read.

    Args:
        entries: in order.
        signers: public keys (hex) whose signatures bind it.
        trouble: why it cannot be believed, in words; "" when it can.
        exists: there is a file.
    """

    entries: tuple[Registered, ...] = ()
    signers: tuple[str, ...] = ()
    trouble: str = ""
    exists: bool = False
    by_first: dict[str, list[Registered]] = field(default_factory=dict)

    def of(self, first: str) -> list[Registered]:
        """The entries on one session, by the hash of its journal's first line."""
        return self.by_first.get(first, [])

    def named(self, folder: Path) -> Registered | None:
        """The last entry on the session that began in this folder; None for none."""
        whole = folder.absolute()
        here = (_plain(str(whole.parent)), _plain(whole.name))
        return next((each for each in reversed(self.entries) if (each.place, each.session) == here), None)


def read_register(folder: Path) -> Register:
    """The register in a folder of keys; an empty one where there is none yet."""
    path = folder / REGISTER_NAME
    if not os.path.lexists(path):
        return Register()
    try:
        raw = read_regular(path)
    except BadSession as bad:
        return Register(trouble=bad.message, exists=True)
    entries: list[Registered] = []
    trouble = ""
    try:
        bodies = list(_bodies(raw))
        entries = [_entry(body) for body in bodies]
        after = [body["public_key"] for body in bodies[1:]] + [""]
        ends = [body for body, key in zip(bodies, after, strict=False) if body["public_key"] != key]
        if not all(map(_signed, ends)):
            trouble = f"{path}: a line was not signed with the key that it names"
        signers = tuple(dict.fromkeys(body["public_key"] for body in ends))
    except NotStrictJson as error:
        return Register(trouble=f"{path} {error}", exists=True)
    by_first: dict[str, list[Registered]] = {}
    for entry in entries:
        by_first.setdefault(entry.first, []).append(entry)
    return Register(entries=tuple(entries), signers=signers, trouble=trouble, exists=True, by_first=by_first)


def add_to_register(
    folder: Path,
    key: Ed25519PrivateKey,
    *,
    act: str,
    session: Path,
    first: str,
    count: int,
    last_hash: str,
    utc: datetime,
    disk: Disk | None = None,
) -> None:
    """Write one line behind the others; when this returns it lasts.

    Raises:
        RecordNotWritable: the folder refuses, or the register is damaged (nothing is written behind damage).
    """
    disk, path = disk or Disk(), folder / REGISTER_NAME
    whole = session.absolute()
    body: dict[str, Any] = {
        "utc": utc_text(utc),
        "act": act,
        "place": _plain(str(whole.parent)),
        "session": _plain(whole.name),
        "first": first,
        "count": count,
        "last_hash": last_hash,
    }
    try:
        make_folders(disk, folder)
        new = not os.path.lexists(path)
        descriptor = disk.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            _lock(descriptor, path)
            raw = os.pread(descriptor, os.fstat(descriptor).st_size, 0)
            whole_bytes, seq, previous = _end(raw, path)
            if len(raw) > whole_bytes:
                disk.truncate(descriptor, whole_bytes)
            body |= {"seq": seq + 1, "previous": previous, "public_key": key.public_key().public_bytes_raw().hex()}
            body["signature"] = key.sign(_statement(body)).hex()
            write_all(disk, descriptor, canonical(body) + b"\n", whole_bytes)
        finally:
            os.close(descriptor)
        if new:
            sync_folder(disk, folder)
    except OSError as error:
        message = f"{path}: this machine's register cannot be written ({error.strerror or error})"
        remedy = "make room there, or choose another folder: ASSISTANT_KEYS=FOLDER, or 'keys = FOLDER' in the settings"
        raise RecordNotWritable(message, remedy=remedy) from None


def _lock(descriptor: int, path: Path) -> None:
    for _ in range(_TRIES):
        with contextlib.suppress(BlockingIOError):
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        time.sleep(_WAIT_S)
    raise RecordNotWritable(f"{path} is held by another program", remedy="end that one, then try again")


def _end(raw: bytes, path: Path) -> tuple[int, int, str]:
    """Length of the whole lines, number and hash of the last; only that one is looked at."""
    lines, whole_bytes = synced_lines(raw)
    if not lines:
        return 0, 0, FIRST_PREVIOUS
    try:
        last = strict_document(lines[-1])
        if type(last) is not dict or last.keys() != _KEYS or type(last["seq"]) is not int:
            raise NotStrictJson("its last line is none of a register")
    except NotStrictJson as error:
        remedy = f"move {path.name} away together with a note of it: what it told of earlier sessions is lost then"
        raise RecordNotWritable(f"{path} is damaged: {error}", remedy=remedy) from None
    return whole_bytes, last["seq"], hashlib.sha256(lines[-1]).hexdigest()


def _bodies(raw: bytes) -> Iterator[dict[str, Any]]:
    lines, _ = synced_lines(raw)
    before = FIRST_PREVIOUS
    for number, line in enumerate(lines, start=1):
        try:
            body = json.loads(line)
        except (ValueError, RecursionError):
            raise NotStrictJson(f"line {number} is damaged") from None
        if type(body) is not dict or body.keys() != _KEYS or body["seq"] != number or body["previous"] != before:
            raise NotStrictJson(f"line {number} does not follow the one before: lines were changed or taken out")
        if any(type(body[name]) is not str for name in _KEYS - {"seq", "count"}) or type(body["count"]) is not int:
            raise NotStrictJson(f"line {number} holds something else than a register does")
        before = hashlib.sha256(line).hexdigest()
        yield body


def _entry(body: dict[str, Any]) -> Registered:
    return Registered(**{name: body[name] for name in Registered.__dataclass_fields__})


def _signed(body: dict[str, Any]) -> bool:
    unsigned = {name: value for name, value in body.items() if name != "signature"}
    try:
        if not re.fullmatch("[0-9a-f]{64}", body["public_key"]):
            return False
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(body["public_key"]))
        key.verify(bytes.fromhex(body["signature"]), _statement(unsigned))
    except (InvalidSignature, ValueError):
        return False
    return True


def _statement(body: dict[str, Any]) -> bytes:
    return canonical({**body, "purpose": PURPOSE})


def _plain(text: str) -> str:
    return text.encode("utf-8", "backslashreplace").decode("utf-8")
