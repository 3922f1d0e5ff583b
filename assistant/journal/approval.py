"""A lead's approval of a joint file and its plan: `<name>.approval.json` beside it, signed with the lead's own key.

It binds the bytes of the file (stops released in it included) and every figure that is guided. A file that was changed
since, or a program that computes another plan from it, is not what was approved.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from assistant.errors import BadSession
from assistant.journal.clock import utc_text
from assistant.journal.disk import Disk, not_writable, read_regular, replace_file
from assistant.journal.keyring import Basis
from assistant.journal.person_key import PersonKey
from assistant.journal.strict_json import NotStrictJson, canonical, canonical_document

ENDING = ".approval.json"
PURPOSE = "assistant-approval-1"
_FIELDS = {"joint_sha256", "plan_sha256", "by", "revision", "product", "utc", "public_key", "signature"}
State = Literal["approved", "not approved", "changed", "not believed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Approval:
    """Whether what is guided was approved.

    Args:
        state: "approved"; "not approved": there is no approval; "changed": file or plan is another than was approved;
            "not believed": the signature does not fit, or is of a key that is not known here by that name.
        by, utc, revision: who approved, when, and the revision of the instruction that the file named then.
    """

    state: State
    by: str = ""
    utc: str = ""
    revision: str = ""

    def as_settings(self) -> dict[str, Any]:
        """As it stands in `SessionOpened.settings`."""
        return {"approval": {"state": self.state, "by": self.by, "utc": self.utc, "revision": self.revision}}


def approval_file(joint: Path) -> Path:
    """Where the approval of a joint file lies."""
    return joint.with_name(joint.name + ENDING)


def plan_sha256(document: dict[str, Any]) -> str:
    """Of what is guided by a plan: all of `plan_document` but the day that it was made on and what depends on it."""
    kept = {name: value for name, value in document.items() if name not in ("day", "remarks")}
    return hashlib.sha256(canonical(kept)).hexdigest()


def approve(
    joint: Path, data: bytes, document: dict[str, Any], *, revision: str, person: PersonKey, product: str, utc: datetime
) -> Path:
    """Sign a joint file and its plan; answers the file of the approval, which replaces an earlier one.

    Raises:
        RecordNotWritable: the folder refuses.
    """
    body = {
        "joint_sha256": hashlib.sha256(data).hexdigest(),
        "plan_sha256": plan_sha256(document),
        "by": person.name,
        "revision": revision,
        "product": product,
        "utc": utc_text(utc),
        "public_key": person.public_key,
    }
    body["signature"] = person.private.sign(_statement(body)).hex()
    path = approval_file(joint)
    try:
        replace_file(Disk(), path, canonical(body) + b"\n")
    except OSError as error:
        raise not_writable(path, error) from None
    return path


def approval_of(joint: Path, data: bytes, document: dict[str, Any], basis: Basis) -> Approval:
    """Whether this joint file, with this plan, was approved by somebody whom this machine knows."""
    path = approval_file(joint)
    if not path.is_file():
        return Approval(state="not approved")
    try:
        body = canonical_document(read_regular(path).removesuffix(b"\n"))
        if type(body) is not dict or body.keys() != _FIELDS or any(type(value) is not str for value in body.values()):
            raise NotStrictJson("its fields are not those of an approval")
    except (BadSession, NotStrictJson):
        return Approval(state="not believed")
    told = {name: body[name][:80] for name in ("by", "utc", "revision")}
    known = basis.key(body["public_key"])
    if not _signed(body) or known is None or known.revoked or known.name != body["by"]:
        return Approval(state="not believed", **told)
    same = body["joint_sha256"] == hashlib.sha256(data).hexdigest() and body["plan_sha256"] == plan_sha256(document)
    return Approval(state="approved" if same else "changed", **told)


def _signed(body: dict[str, str]) -> bool:
    unsigned = {name: value for name, value in body.items() if name != "signature"}
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(body["public_key"]))
        key.verify(bytes.fromhex(body["signature"]), _statement(unsigned))
    except (InvalidSignature, ValueError):
        return False
    return True


def _statement(body: dict[str, str]) -> bytes:
    return canonical({**body, "purpose": PURPOSE})
