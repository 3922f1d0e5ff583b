"""Verification of what was signed while the session ran: its checkpoints, and the machine's register. Reads only."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from assistant.errors import BadSession
from assistant.journal.checkpoints import (
    CHECKPOINTS_NAME,
    LONGEST_UNPROTECTED,
    Found,
    checkpoint_fits,
    contradiction,
    read_checkpoints,
)
from assistant.journal.disk import read_regular
from assistant.journal.encoding import E
from assistant.journal.findings import Finding, Sign, error, note
from assistant.journal.keyring import Basis
from assistant.journal.register import Registered
from assistant.journal.review import REVIEW_FORMAT, REVIEW_NAME
from assistant.journal.seal import Seal, fingerprint_of
from assistant.journal.sessions import SEAL_NAME
from assistant.journal.tape import JOURNAL_NAME
from assistant.journal.verify_lines import Lines, examine_lines

REGISTER, WITNESS = "register", "witness"


def examine_checkpoints(folder: Path, found: Lines[E], *, seal: Seal | None, basis: Basis) -> tuple[str, list[Finding]]:
    """Public key of the last checkpoint that fits ("" for none), and what the checkpoints have to say.

    Args:
        seal: when its signature fits; it binds the checkpoints that it was made with, so that theirs need no look.
    """
    findings: list[Finding] = []
    bound = seal is not None and bool(seal.checkpoints_sha256)
    try:
        there = read_checkpoints(folder)
    except BadSession as bad:
        return "", [error("checkpoints-damaged", CHECKPOINTS_NAME, f"{bad.message}.", "damage")]
    if there is None:
        if bound:
            message = "The checkpoints that were sealed along are gone."
            return "", [error("checkpoints-missing", CHECKPOINTS_NAME, message, "tampering")]
        if seal is None and found.closed and len(found.hashes) > LONGEST_UNPROTECTED:
            return "", [error("closed-unsigned", CHECKPOINTS_NAME, _CLOSED_UNSIGNED, "tampering")]
        if seal is None and found.hashes:
            findings.append(note("not-checkpointed", CHECKPOINTS_NAME, _UNSIGNED))
        return "", findings
    if bound and seal is not None and there.sha256 != seal.checkpoints_sha256:
        message = "They are not the checkpoints that were sealed along."
        return "", [error("checkpoints-changed", CHECKPOINTS_NAME, message, "tampering")]
    findings += _each(there, found, bound=bound, basis=basis)
    findings += _unprotected(there, found, seal)
    good = [each for each in there.checkpoints if not contradiction(each, found.hashes)]
    return good[-1].public_key if good and not findings_bad(findings) else "", findings


def findings_bad(findings: list[Finding]) -> bool:
    """Whether one of them is worse than a note."""
    return any(each.severity != "note" for each in findings)


def _each(there: Found, found: Lines[E], *, bound: bool, basis: Basis) -> Iterator[Finding]:
    unknown: set[str] = set()
    for number, each in enumerate(there.checkpoints, start=1):
        where = f"{CHECKPOINTS_NAME} line {number}"
        if not bound and not checkpoint_fits(each):
            yield error("checkpoint-signature", where, "The signature does not fit: the line was changed.", "tampering")
            continue
        known = basis.key(each.public_key)
        if (known is None or known.revoked) and each.public_key not in unknown and not bound:
            unknown.add(each.public_key)
            print_ = fingerprint_of(each.public_key)
            message = f"It is signed with a key that is not trusted here ({print_}). `assistant key add` names a key."
            yield error("checkpoint-key", where, message, "none")
        wrong = contradiction(each, found.hashes)
        if wrong:
            sign = "damage" if found.damaged else "tampering"
            message = f"The journal contradicts what was signed: {wrong}."
            yield error("checkpoint-contradicted", f"{JOURNAL_NAME} line {each.count}", message, sign)  # type: ignore[arg-type]
            return


def _unprotected(there: Found, found: Lines[E], seal: Seal | None) -> Iterator[Finding]:
    for each in there.checkpoints:
        if each.unprotected:
            first, last = each.unprotected
            yield _stretch(first, last, "when the session was opened again")
    signed = there.checkpoints[-1].count if there.checkpoints else 0
    if seal is None and len(found.hashes) > signed:
        yield _stretch(signed + 1, len(found.hashes), "yet")


def _stretch(first: int, last: int, when: str) -> Finding:
    where = f"{JOURNAL_NAME} line {first}"
    if last - first + 1 > LONGEST_UNPROTECTED:
        message = f"Lines {first} to {last} were not signed {when}: more than a stop of the machine leaves."
        return error("unprotected-long", where, message, "tampering")
    message = (
        f"Lines {first} to {last} were not signed {when}: the machine stopped there, and somebody who can work as its "
        "account could have changed them meanwhile."
    )
    return note("unprotected", where, message, "crash")


_UNSIGNED = "No line of it is signed yet, so a change of the whole session would not be found."
_CLOSED_UNSIGNED = (
    "The session was closed, and neither a seal nor a checkpoint is there. A stop before the seal leaves the "
    "checkpoints: they were removed with the seal, or never made."
)


# ------------------------------------------------------------------------------------------------------- the register
def examine_register(folder: Path, found: Lines[E], *, seal: Seal | None, basis: Basis) -> Iterator[Finding]:
    """What this machine's register knows of the session that the folder does not show, or shows otherwise."""
    register = basis.register
    own = next((each.public_key for each in basis.keys if each.own), "")
    if register.trouble:
        yield error("register-damaged", REGISTER, f"The register of this machine: {register.trouble}.", "damage")
        return
    trusted = {each.public_key for each in basis.keys if not each.revoked}
    strangers = [key for key in register.signers if key not in trusted]
    if strangers:
        message = f"The register of this machine was signed with a key that is not trusted ({strangers[0][:16]})."
        yield error("register-key", REGISTER, message, "tampering")
        return
    first = found.hashes[0] if found.hashes else ""
    named, known = register.named(folder), register.of(first)
    if named is not None and named.first != first and not known:
        message = f"The session that began in this folder on {named.utc} is not the one that lies here now."
        yield error("register-another", REGISTER, message, "tampering")
        return
    if not known:
        yield from _not_registered(seal, own, basis)
        return
    yield from _journal(known, found)
    yield from _seal_and_review(folder, known)
    yield from _name(folder, known)


def _not_registered(seal: Seal | None, own: str, basis: Basis) -> Iterator[Finding]:
    if seal is None or not own or seal.public_key != own:
        return
    began = basis.register.entries[0].utc if basis.register.entries else ""
    if seal.checkpoints_sha256 or (began and seal.utc > began):
        gone = "which is gone" if not basis.register.exists else "which does not know this session"
        message = f"It is sealed with this machine's key, but the machine keeps a register of its sessions, {gone}."
        yield error("not-registered", REGISTER, message, "tampering")


def _journal(known: list[Registered], found: Lines[E]) -> Iterator[Finding]:
    for each in known:
        if each.act not in ("opened", "left", "sealed"):
            continue
        sign = "damage" if found.damaged or found.torn else "tampering"
        if each.count > len(found.hashes):
            message = f"It had {each.count} lines on {each.utc}, and has {len(found.hashes)}: it was shortened."
            yield error("register-shortened", JOURNAL_NAME, message, sign)  # type: ignore[arg-type]
            return
        if found.hashes[each.count - 1] != each.last_hash:
            message = f"Line {each.count} is not the one that the machine registered on {each.utc}."
            yield error("register-contradicted", f"{JOURNAL_NAME} line {each.count}", message, sign)  # type: ignore[arg-type]
            return


def _seal_and_review(folder: Path, known: list[Registered]) -> Iterator[Finding]:
    sealed = [each for each in known if each.act == "sealed"]
    if sealed and not os.path.lexists(folder / SEAL_NAME):
        message = f"It was sealed on {sealed[-1].utc}, and the seal is gone."
        yield error("register-unsealed", SEAL_NAME, message, "tampering")
    reviewed = [each for each in known if each.act == "reviewed"]
    if not reviewed:
        return
    last = reviewed[-1]
    if not os.path.lexists(folder / REVIEW_NAME):
        message = f"It was reviewed on {last.utc} ({last.count} lines), and the review is gone."
        yield error("register-review-missing", REVIEW_NAME, message, "tampering")
        return
    try:
        hashes = examine_lines(read_regular(folder / REVIEW_NAME), event_format=REVIEW_FORMAT).hashes
    except BadSession:
        return  # said by the verification of the review
    if last.count > len(hashes) or hashes[last.count - 1] != last.last_hash:
        message = f"The review of {last.utc} had {last.count} lines and is not there as it was."
        yield error("register-review-changed", REVIEW_NAME, message, "tampering")


def _name(folder: Path, known: list[Registered]) -> Iterator[Finding]:
    began = known[0]
    whole = folder.absolute()
    if whole.name == began.session:
        return
    there = Path(began.place) / began.session
    what = "This is a copy of it" if there.is_dir() else "The folder was renamed"
    message = f"The session was recorded as {began.session}. {what}: under another name it can pass for another one."
    yield error("register-renamed", REGISTER, message, "tampering")


def examine_witness(folder: Path, found: Lines[E], *, recorder: str, basis: Basis) -> Iterator[Finding]:
    """What witnesses signed of the session, and whether it is still so.

    Args:
        recorder: public key of the machine that signed the session's end so far; "" for none. It is no witness of
            its own.
    """
    name = folder.absolute().name
    for each in basis.witnessed:
        known = basis.key(each.public_key)
        if known is None or known.revoked:
            continue  # proves nothing here
        wrong = each.contradicted_by(name, found.hashes)
        if wrong:
            sign: Sign = "damage" if found.damaged or found.torn else "tampering"
            message = f"{known.name} saw it on {each.utc} and signed that as a witness: {wrong}."
            yield error("witness-contradicted", WITNESS, message, sign)
        elif found.hashes and found.hashes[0] == each.slip.first and each.public_key != recorder:
            message = f"{known.name} saw its first {each.slip.count} lines on {each.utc}: they are as they were."
            yield note("witnessed", WITNESS, message)


def missing_sessions(basis: Basis) -> list[Registered]:
    """The sessions that the register knows and that are no longer where they were recorded, oldest first."""
    gone = []
    for entries in basis.register.by_first.values():
        folder = Path(entries[0].place) / entries[0].session
        if not (folder / JOURNAL_NAME).is_file():
            gone.append(entries[-1])
    return gone
