"""Reads everything of a session folder that its record is made of, and says what is not there."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from typing import Any

from assistant.bolting.joint_file.joint import Joint
from assistant.cli.keys import own_basis
from assistant.config.joint_file import parse_joint
from assistant.config.program import product
from assistant.errors import BadJointFile, BadSession
from assistant.events import UtteranceHeard
from assistant.journal.audio import NAME
from assistant.journal.beginning import Beginning, honest_beginning
from assistant.journal.disk import read_regular
from assistant.journal.findings import Report
from assistant.journal.keyring import Basis
from assistant.journal.review import REVIEW_NAME, REVIEW_SEAL_NAME, Reviewed, erased_sound, read_review
from assistant.journal.seal import REVIEW_PURPOSE, read_seal, signature_fits
from assistant.journal.seal import Seal as KeptSeal
from assistant.journal.sessions import AUDIO_NAME, JOINT_NAME, PLAN_NAME, SEAL_NAME
from assistant.journal.strict_json import NotStrictJson, strict_document
from assistant.journal.tape import JOURNAL_NAME
from assistant.journal.verify import verify_and_read
from assistant.replay.rebuild import rebuild_state
from assistant.replay.record import Sources, joint_record
from assistant.replay.record_fields import JointRecord, Seal
from assistant.replay.related import others_beside

PRODUCT = product()
Checked = tuple[Report, Beginning | None]
"""What `verify_and_read` gives."""


def record_of(folder: Path, *, basis: Basis | None = None) -> JointRecord:
    """The joint record of a session folder, with what could not be read.

    Args:
        basis: the keys that count as known; None looks up this machine's.

    Raises:
        BadSession: it is no session.
    """
    return joint_record(sources_of(folder, basis=basis))


def sources_of(folder: Path, *, basis: Basis | None = None, checked: Checked | None = None) -> Sources:
    """Everything that the record is made of.

    Args:
        basis: the keys that count as known; None looks up this machine's.
        checked: what verification found and read, where it was run already.

    Returns:
        Whatever can be read, however damaged the session is: a journal of which not even the first line can be read is
        one without lines, and the verdict says why it cannot be trusted.

    Raises:
        BadSession: no file of a session lies there.
    """
    if not folder.is_dir():
        raise BadSession(f"{folder} is not a folder", remedy="name a session folder that `assistant guide` made")
    basis = own_basis() if basis is None else basis
    if checked is None:
        checked = verify_and_read(folder, rebuild=rebuild_state, basis=basis)
    report, read = checked
    beginning = read or _beginning(folder)
    missing: list[str] = []
    joint_raw, plan_raw = (_kept(folder / name, missing) for name in (JOINT_NAME, PLAN_NAME))
    review = _review(folder, missing)
    missing += _audio(folder, beginning)
    return Sources(
        folder=folder.resolve().name,
        beginning=beginning,
        product=PRODUCT,
        joint=_joint(joint_raw, missing),
        plan=_plan(plan_raw, missing),
        joint_sha256=hashlib.sha256(joint_raw).hexdigest() if joint_raw is not None else "",
        plan_sha256=hashlib.sha256(plan_raw).hexdigest() if plan_raw is not None else "",
        seal=_seal(folder / SEAL_NAME, missing, [e.sha256 for e in beginning.entries]),
        review=review,
        review_seal=_seal(
            folder / REVIEW_SEAL_NAME, missing, [e.sha256 for e in review.entries] if review else [], REVIEW_PURPOSE
        ),
        report=report,
        others=others_beside(folder, basis),
        missing=tuple(missing),
    )


def _beginning(folder: Path) -> Beginning:
    try:
        return honest_beginning(folder)
    except BadSession as bad:
        if not any(os.path.lexists(folder / name) for name in (JOURNAL_NAME, SEAL_NAME, JOINT_NAME, PLAN_NAME)):
            raise
        return Beginning(entries=(), lines=0, trouble=bad.message)


def _kept(path: Path, missing: list[str]) -> bytes | None:
    try:
        return read_regular(path)
    except BadSession as bad:
        missing.append(f"{path.name} is not there or cannot be read ({bad.message})")
        return None


def _joint(raw: bytes | None, missing: list[str]) -> Joint | None:
    if raw is None:
        return None
    try:
        return parse_joint(raw, source=JOINT_NAME)
    except BadJointFile as bad:
        missing.append(
            f"The kept joint file cannot be read, so identification, tools and basis are left out: {bad.message}"
        )
        return None


def _plan(raw: bytes | None, missing: list[str]) -> dict[str, Any]:
    if raw is None:
        return {}
    try:
        found = strict_document(raw)
    except NotStrictJson as bad:
        missing.append(f"{PLAN_NAME} cannot be read, so the calculation is left out: {bad}")
        return {}
    return found if isinstance(found, dict) else {}


def _review(folder: Path, missing: list[str]) -> Reviewed | None:
    try:
        return read_review(folder)
    except BadSession as bad:
        missing.append(f"The review ({REVIEW_NAME}) is not believed: {bad.message}")
        return None


def _seal(path: Path, missing: list[str], hashes: list[str], purpose: str | None = None) -> Seal | None:
    if not path.exists():
        return None
    try:
        seal = read_seal(read_regular(path), name=path.name)
    except BadSession as bad:
        missing.append(f"{path.name} cannot be read: {bad.message}")
        return None
    return Seal(
        utc=seal.utc,
        product=seal.product,
        lines=seal.count,
        last_hash=seal.last_hash,
        key=seal.fingerprint,
        fits=_fits(seal, hashes, purpose),
    )


def _fits(seal: KeptSeal, hashes: list[str], purpose: str | None) -> bool:
    signed = signature_fits(seal) if purpose is None else signature_fits(seal, purpose=purpose)
    return signed and seal.count == len(hashes) > 0 and hashes[-1] == seal.last_hash


def _audio(folder: Path, beginning: Beginning) -> list[str]:
    """Recordings that the journal names and that are not there."""
    named = [e.event for e in beginning.entries if isinstance(e.event, UtteranceHeard) and e.event.audio_sha256]
    erased = erased_sound(folder)
    gone = [
        event.utterance
        for event in named
        if event.utterance not in erased
        and not (NAME.fullmatch(event.utterance) and (folder / AUDIO_NAME / f"{event.utterance}.flac").is_file())
    ]
    if not gone:
        return []
    few = ", ".join(name[:12] for name in gone[:5]) + (" ..." if len(gone) > 5 else "")
    return [f"{len(gone)} of {len(named)} recordings are not there ({few}): these words cannot be heard again"]
