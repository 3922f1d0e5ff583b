"""Verification of the seal against the lines. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.errors import BadSession
from assistant.journal.encoding import E
from assistant.journal.findings import Finding, error, note, warning
from assistant.journal.keyring import Basis
from assistant.journal.seal import Seal, fingerprint_of, read_seal, signature_fits
from assistant.journal.sessions import SEAL_NAME
from assistant.journal.tape import JOURNAL_NAME
from assistant.journal.verify_lines import Lines


def examine_seal(raw: bytes | None, found: Lines[E], *, basis: Basis) -> tuple[Seal | None, list[Finding]]:
    """The seal when its signature fits, and what is to be said about it.

    Args:
        raw: content of `seal.json`; None when there is none.
        found: the lines of the journal.
        basis: the keys that this machine knows.
    """
    if raw is None:
        return None, list(_no_seal(len(found.hashes), closed=found.closed))
    try:
        seal = read_seal(raw, name=SEAL_NAME)
    except BadSession as bad:
        return None, [error("seal-damaged", SEAL_NAME, f"The seal cannot be read: {bad.message}.", "damage")]
    if not signature_fits(seal):
        message = "The signature does not fit: the seal was changed, or was not made with the key that it names."
        return None, [error("seal-signature", SEAL_NAME, message, "tampering")]
    made = f"Sealed {seal.utc} by {seal.product}"
    return seal, [*_against_lines(seal, found), *about_key(seal.public_key, basis, made=made, where=SEAL_NAME)]


def _no_seal(lines: int, *, closed: bool) -> Iterator[Finding]:
    if closed:
        message = (
            "The session was closed but has no seal: the machine stopped in between, or the seal was removed. "
            "Opening the session again can seal it."
        )
        yield warning("closed-not-sealed", SEAL_NAME, message, "crash")
    elif lines == 0:
        yield warning("empty", JOURNAL_NAME, "Nothing was recorded: the session stopped at its very start.", "crash")
    else:
        message = (
            "The session is not finished, so it is not sealed yet: whole lines cut off its end would not be missed."
        )
        yield note("not-finished", JOURNAL_NAME, message)


def _against_lines(seal: Seal, found: Lines[E]) -> Iterator[Finding]:
    lines, damaged = len(found.hashes), bool(found.damaged)
    sealed_end = found.hashes[seal.count - 1] if 0 < seal.count <= lines else None
    where = f"{JOURNAL_NAME} line {seal.count}"
    if lines < seal.count:
        cut = damaged or bool(found.torn)  # in the middle of a line: so ends a bad copy, or a flipped line end
        message = f"{seal.count} lines were sealed, {lines} are there: " + (
            "the end is cut." if cut else "some are gone."
        )
        yield error("lines-missing", JOURNAL_NAME, message, "damage" if cut else "tampering")
        return
    if sealed_end != seal.last_hash:
        message = f"Line {seal.count} is not the one that was sealed. It, or something before it, was changed."
        yield error("seal-broken", where, message, "damage" if damaged else "tampering")
        return
    if lines > seal.count:
        message = f"{lines - seal.count} lines were added after the seal. The {seal.count} before are as sealed."
        yield error("content-after-seal", f"{JOURNAL_NAME} line {seal.count + 1}", message, "tampering")
    elif not found.closed and not damaged:
        message = "There is a seal, but the last line does not close the session. The assistant seals closed ones only."
        yield warning("sealed-not-closed", JOURNAL_NAME, message, "tampering")
    if found.torn:
        message = f"{len(found.torn)} bytes were added after the sealed lines."
        yield error("content-after-seal", JOURNAL_NAME, message, "tampering")


def about_key(public_key: str, basis: Basis, *, made: str, where: str, code: str = "") -> Iterator[Finding]:
    """Whose key it is, as far as this machine knows.

    Args:
        made: what was signed with it, as the beginning of a sentence.
        where: the file with the signature.
        code: before the finding's own code, as "review-".
    """
    known, print_ = basis.key(public_key), fingerprint_of(public_key)
    if known is None:
        message = (
            f"{made}, with a key that this machine does not know ({print_}). Anybody can make a key and sign with it. "
            "Compare these figures with those on the machine that signed (`assistant key show`), then "
            "`assistant key add`."
        )
        yield error(f"{code}key-unknown", where, message, "none")
    elif known.revoked:
        message = f"{made}, with the key {print_} of {known.name}, which was revoked on {known.revoked_utc[:10]}"
        message += f" by {known.revoked_by or 'somebody'}" + (f": {known.reason}." if known.reason else ".")
        yield error(f"{code}key-revoked", where, message, "none")
    elif known.own:
        yield note(f"{code}sealed-here", where, f"{made}, key {print_}: this machine's own key.")
    else:
        yield note(f"{code}sealed-by-known", where, f"{made}, key {print_}: {known.name}, trusted here.")


def signer_of(public_key: str, basis: Basis) -> str:
    """The name of a key's holder; its fingerprint where it is not known."""
    known = basis.key(public_key)
    return known.name if known is not None else fingerprint_of(public_key)
