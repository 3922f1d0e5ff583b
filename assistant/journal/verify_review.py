"""Verification of the lead's review: its own lines, its seal, and that it was made of this very journal. Reads only."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from assistant.errors import BadSession
from assistant.events import Event
from assistant.events.review import ReviewBegun, ReviewEvent, ReviewSigned, SoundErased
from assistant.journal.disk import read_regular
from assistant.journal.findings import Finding, error, note, warning
from assistant.journal.keyring import Basis
from assistant.journal.person_key import review_signature_fits
from assistant.journal.review import REVIEW_FORMAT, REVIEW_NAME, REVIEW_SEAL_NAME
from assistant.journal.seal import REVIEW_PURPOSE, Seal, read_seal, signature_fits
from assistant.journal.tape import JOURNAL_NAME
from assistant.journal.verify_lines import Lines, examine_lines
from assistant.journal.verify_seal import about_key


def examine_review(folder: Path, session: Lines[Event], *, basis: Basis, sealed_with: str = "") -> Iterator[Finding]:
    """What there is to say about the review; nothing where there is none.

    Args:
        session: the lines of the session's journal.
        basis: the keys that this machine knows.
        sealed_with: public key (hex) of the session's seal; "" for none.
    """
    there = {name for name in (REVIEW_NAME, REVIEW_SEAL_NAME) if os.path.lexists(folder / name)}
    if REVIEW_NAME not in there:
        if there:
            yield error("review-missing", REVIEW_NAME, "The review is gone, its seal is still there.", "tampering")
        return
    try:
        found = examine_lines(read_regular(folder / REVIEW_NAME), event_format=REVIEW_FORMAT)
    except BadSession as bad:
        yield error("review-unreadable", REVIEW_NAME, f"{bad.message}.", "damage")
        return
    yield from _lines(found)
    yield from _made_of_this(found, session)
    yield from _signed(found, basis, sealed_with)
    yield from _erased(found)
    yield from _seal(folder, found, there=REVIEW_SEAL_NAME in there, basis=basis)


def _lines(found: Lines[ReviewEvent]) -> Iterator[Finding]:
    for each in found.findings:
        if each.code != "not-opened":  # a review opens with its own kind of line
            yield replace(each, code=f"review-{each.code}", where=each.where.replace(JOURNAL_NAME, REVIEW_NAME))
    if found.torn or not found.hashes:
        yield error("review-cut", REVIEW_NAME, "It ends in the middle of a line: a bad copy or a bad disk.", "damage")
    if found.events and found.events[0][0] == 1 and not isinstance(found.events[0][1], ReviewBegun):
        yield error("review-not-begun", f"{REVIEW_NAME} line 1", "The first line does not begin a review.", "tampering")


def _made_of_this(found: Lines[ReviewEvent], session: Lines[Event]) -> Iterator[Finding]:
    for number, event in found.events:
        if isinstance(event, ReviewBegun):
            at = event.session_lines
            there = session.hashes[at - 1] if 0 < at <= len(session.hashes) else None
            if there != event.session_last_hash:
                sign = "damage" if session.damaged or session.torn else "tampering"
                message = f"It was made when line {at} of the journal was another than now, or of another session."
                yield error("review-of-another", f"{REVIEW_NAME} line {number}", message, sign)  # type: ignore[arg-type]


def _signed(found: Lines[ReviewEvent], basis: Basis, sealed_with: str) -> Iterator[Finding]:
    """Who signed with a key of his own, and that the key is known by that name."""
    for number, event in found.events:
        if not isinstance(event, ReviewSigned):
            continue
        where, known = f"{REVIEW_NAME} line {number}", basis.key(event.public_key)
        who = printable_name(event.by)
        if not event.public_key or event.public_key == sealed_with:
            message = f"Signed by name only, as {who}, on a machine whose account anybody there can use: it shows no "
            yield note("review-same-key", where, message + "second person. `assistant key new` makes a key for one.")
            continue
        before = found.hashes[number - 2] if number > 1 else ""
        fits = review_signature_fits(event.public_key, event.signature, by=event.by, lines=number - 1, last_hash=before)
        if not fits:
            message = f"The signature of {who} does not fit what the review says before it."
            yield error("review-signature", where, message, "tampering")
        elif known is not None and not known.revoked and known.name != event.by:
            message = f"Signed as {who}, with the key that is known here as that of {known.name}."
            yield error("review-name", where, message, "tampering")
        else:
            made = f"Review signed by {who}"
            yield from about_key(event.public_key, basis, made=made, where=where, code="review-signer-")


def _erased(found: Lines[ReviewEvent]) -> Iterator[Finding]:
    for number, event in found.events:
        if isinstance(event, SoundErased):
            message = f"The sound of {len(event.utterances)} utterances was erased by {printable_name(event.by)}"
            message += (f": {printable_name(event.reason)}." if event.reason else ".") + " Their words are kept."
            yield note("sound-erased", f"{REVIEW_NAME} line {number}", message)


def printable_name(text: str) -> str:
    """The text as it may stand in a sentence."""
    return "".join(letter if letter.isprintable() else "?" for letter in text[:200])


def _seal(folder: Path, found: Lines[ReviewEvent], *, there: bool, basis: Basis) -> Iterator[Finding]:
    unsigned = "Nobody has signed these lines: the machine stopped before that, or the seal was removed. "
    unsigned += "The next `assistant review` signs them."
    if not there:
        yield warning("review-not-sealed", REVIEW_SEAL_NAME, unsigned, "crash")
        return
    try:
        seal = read_seal(read_regular(folder / REVIEW_SEAL_NAME), name=REVIEW_SEAL_NAME)
    except BadSession as bad:
        yield error("review-seal-damaged", REVIEW_SEAL_NAME, f"The seal cannot be read: {bad.message}.", "damage")
        return
    if not signature_fits(seal, purpose=REVIEW_PURPOSE):
        message = "The signature does not fit: the seal was changed, or was not made with the key that it names."
        yield error("review-seal-signature", REVIEW_SEAL_NAME, message, "tampering")
        return
    yield from _against(seal, found, unsigned)
    made = f"Review signed {seal.utc} by {seal.product}"
    yield from about_key(seal.public_key, basis, made=made, where=REVIEW_SEAL_NAME, code="review-")


def _against(seal: Seal, found: Lines[ReviewEvent], unsigned: str) -> Iterator[Finding]:
    lines = len(found.hashes)
    if lines < seal.count:
        message = f"{seal.count} lines were signed, {lines} are there."
        yield error("review-lines-missing", REVIEW_NAME, message, "damage" if found.torn else "tampering")
    elif seal.count < 1 or found.hashes[seal.count - 1] != seal.last_hash:
        message = f"Line {seal.count} is not the one that was signed. It, or something before it, was changed."
        where = f"{REVIEW_NAME} line {seal.count}"
        yield error("review-seal-broken", where, message, "damage" if found.damaged else "tampering")
    elif lines > seal.count:
        yield warning("review-not-sealed", f"{REVIEW_NAME} line {seal.count + 1}", unsigned, "crash")
