"""A witness: a second machine signs how far a session had come, and keeps a copy. Carried as a file, say on a stick.

Anybody with the account that records can use that machine's key, and so could forge a whole new session, with its
checkpoints and register. What a witness signed before, and keeps where that account cannot reach it, contradicts it.

A *slip* says which session it is, how many lines it has, and the hash of the last. Signed by another machine it is a
*statement*; statements lie in `witness` beside that machine's keys, and every verdict given there looks at them.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.errors import BadSession, BadSettings
from assistant.journal.clock import utc_read, utc_text
from assistant.journal.disk import Disk, make_folders, not_writable, read_regular, replace_file
from assistant.journal.seal import public_key_of
from assistant.journal.strict_json import MAX_INT, NotStrictJson, canonical, canonical_document

FOLDER_NAME = "witness"
ENDING = ".witness.json"
PURPOSE = "assistant-witness-1"
_HEX = {"first": 64, "last_hash": 64, "public_key": 64, "signature": 128}


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """How far a session had come.

    Args:
        session: name of its folder.
        first, last_hash: SHA-256 of the journal's first line and of line `count`, hex.
        count: lines.
    """

    session: str
    first: str
    count: int
    last_hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """A slip as a witness signed it.

    Args:
        utc: when, by the witness's clock.
        product: name and version that signed.
        public_key, signature: Ed25519 of the witness, hex.
    """

    slip: Slip
    utc: str
    product: str
    public_key: str
    signature: str

    def contradicted_by(self, session: str, hashes: list[str]) -> str:
        """Why the session that lies in a folder of this name is not the one that was seen, in words; "" where it is,
        or where the statement is about another session.
        """
        slip = self.slip
        if not hashes or hashes[0] != slip.first:
            return "another session lies in this folder now" if session == slip.session else ""
        if len(hashes) < slip.count:
            return f"it had {slip.count} lines then, and has {len(hashes)}"
        if hashes[slip.count - 1] != slip.last_hash:
            return f"line {slip.count}, or one before it, is not as it was"
        return ""


def slip_bytes(slip: Slip) -> bytes:
    """What a slip's file holds."""
    return canonical(asdict(slip)) + b"\n"


def read_slip(raw: bytes, *, name: str) -> Slip:
    """The slip in the bytes of a file.

    Raises:
        BadSettings: it is none.
    """
    return Slip(**_document(raw, name, set(Slip.__dataclass_fields__)))


def make_statement(slip: Slip, key: Ed25519PrivateKey, *, product: str, utc: datetime) -> Statement:
    """Sign a slip."""
    signed = {**asdict(slip), "utc": utc_text(utc), "product": product, "public_key": public_key_of(key)}
    signature = key.sign(_statement(signed)).hex()
    return Statement(
        slip=slip, utc=signed["utc"], product=product, public_key=signed["public_key"], signature=signature
    )


def statement_bytes(statement: Statement) -> bytes:
    """What a statement's file holds."""
    return canonical(_flat(statement)) + b"\n"


def read_statement(raw: bytes, *, name: str) -> Statement:
    """The statement in the bytes of a file; its signature fits.

    Raises:
        BadSettings: it is none, or was changed.
    """
    more = ("utc", "product", "public_key", "signature")
    found = _document(raw, name, {*Slip.__dataclass_fields__, *more})
    slip = Slip(**{field: value for field, value in found.items() if field not in more})
    statement = Statement(slip=slip, **{field: found[field] for field in more})
    unsigned = {field: value for field, value in _flat(statement).items() if field != "signature"}
    try:
        utc_read(statement.utc)
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(statement.public_key))
        key.verify(bytes.fromhex(statement.signature), _statement(unsigned))
    except (InvalidSignature, ValueError):
        raise BadSettings(f"{name} is not as it was signed", remedy=_REMEDY) from None
    return statement


def keep_statement(keys: Path, statement: Statement) -> Path:
    """Put a statement where this machine looks for them; answers the file.

    Raises:
        RecordNotWritable: the folder refuses.
    """
    raw = statement_bytes(statement)
    path = keys / FOLDER_NAME / f"{hashlib.sha256(raw).hexdigest()[:32]}{ENDING}"
    try:
        make_folders(Disk(), path.parent)
        replace_file(Disk(), path, raw)
    except OSError as error:
        raise not_writable(path, error) from None
    return path


def kept_statements(keys: Path) -> tuple[Statement, ...]:
    """All statements that this machine keeps, oldest first.

    Raises:
        BadSettings: one of them cannot be read, or was changed.
    """
    folder = keys / FOLDER_NAME
    if not folder.is_dir():
        return ()
    found = []
    for path in sorted(folder.glob(f"*{ENDING}")):
        try:
            raw = read_regular(path)
        except BadSession as bad:
            raise BadSettings(bad.message, remedy=_REMEDY) from None
        found.append(read_statement(raw, name=str(path)))
    return tuple(sorted(found, key=lambda each: each.utc))


def _document(raw: bytes, name: str, fields: set[str]) -> dict[str, Any]:
    try:
        found = canonical_document(raw.removesuffix(b"\n"))
        if type(found) is not dict or found.keys() != fields:
            raise NotStrictJson("its fields are others")
        if type(found["count"]) is not int or not 0 < found["count"] <= MAX_INT:
            raise NotStrictJson("count is not a number of lines")
        for field in fields - {"count"}:
            length = _HEX.get(field)
            if type(found[field]) is not str or (
                length is not None and not re.fullmatch(f"[0-9a-f]{{{length}}}", found[field])
            ):
                raise NotStrictJson(f"{field} is not as the assistant writes it")
    except NotStrictJson as error:
        raise BadSettings(f"{name} is not of a witness: {error}", remedy=_REMEDY) from None
    return found


def _flat(statement: Statement) -> dict[str, Any]:
    found = asdict(statement)
    return {**found.pop("slip"), **found}


def _statement(body: dict[str, Any]) -> bytes:
    return canonical({**body, "purpose": PURPOSE})


_REMEDY = "a file as `assistant witness` writes it; take it anew from the machine that made it"
