"""A lead's review beside the session: `review.jsonl`, chained like the journal, and `review-seal.json` over all of it.

The session's own files are never touched. Both files are replaced whole, the lines first: what a crash leaves between
the two is a review whose last lines are not signed yet: `verify` reports it, and the next run signs them.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import BadSession
from assistant.events.review import REVIEW_CLASSES, ReviewEvent, ReviewSigned, SoundErased
from assistant.journal.chain import START, line_sha256, make_line, split_lines
from assistant.journal.clock import Clock, utc_now
from assistant.journal.disk import Disk, not_writable, read_regular, replace_file
from assistant.journal.encoding import EventFormat
from assistant.journal.lock import FolderLock
from assistant.journal.person_key import PersonKey, sign_review
from assistant.journal.reading import Loaded, ReviewLine, load_journal
from assistant.journal.register import add_to_register
from assistant.journal.seal import REVIEW_PURPOSE, Seal, make_seal, read_seal, seal_bytes, signature_fits
from assistant.journal.tape import JOURNAL_NAME

REVIEW_NAME, REVIEW_SEAL_NAME = "review.jsonl", "review-seal.json"
REVIEW_FORMAT: EventFormat[ReviewEvent] = EventFormat(REVIEW_CLASSES)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reviewed:
    """A review as it was found.

    Args:
        entries: its lines.
        seal: when it is there and fits the lines up to its count.
    """

    entries: tuple[ReviewLine, ...]
    seal: Seal | None


def read_review(folder: Path) -> Reviewed | None:
    """The review in a session folder; None where there is none.

    Raises:
        BadSession: a line or the seal is damaged, exchanged, or not what was signed.
    """
    if not os.path.lexists(folder / REVIEW_NAME):
        if os.path.lexists(folder / REVIEW_SEAL_NAME):
            raise BadSession(f"{folder / REVIEW_NAME} is gone, its seal is there", remedy=_SEE)
        return None
    _, loaded = _load(folder)
    return Reviewed(entries=loaded.entries, seal=_seal(folder, loaded))


def erased_sound(folder: Path) -> frozenset[str]:
    """Names of the utterances whose sound was erased, by the review; none where it cannot be read."""
    try:
        review = read_review(folder)
    except BadSession:
        return frozenset()
    events = [entry.event for entry in review.entries] if review is not None else []
    return frozenset(name for event in events if isinstance(event, SoundErased) for name in event.utterances)


def append_review(
    folder: Path,
    events: Sequence[ReviewEvent],
    *,
    key: Ed25519PrivateKey,
    product: str,
    clock: Clock = utc_now,
    disk: Disk | None = None,
    register: Path | None = None,
    person: PersonKey | None = None,
) -> tuple[ReviewLine, ...]:
    """Add to the review of a session and sign it whole; when this returns it lasts.

    Args:
        folder: a session folder.
        events: of `events.review`, in order.
        key: of `seal.installation_key`: the one where the lead reviews.
        product: name and version that signs.
        register: folder of keys with the machine's register, which then remembers that there is a review.
        person: whose own key signs a `ReviewSigned`.

    Returns:
        The lines added.

    Raises:
        BadSession: the session is being written, or the review there is damaged; nothing is written.
        RecordNotWritable: the folder refuses.
        ValueError, TypeError: an event that cannot be kept as it is (our bug).
    """
    disk = disk or Disk()
    lock = FolderLock(folder, disk)
    try:
        raw, loaded = _load(folder) if os.path.lexists(folder / REVIEW_NAME) else (b"", None)
        if loaded is not None:
            _seal(folder, loaded)  # nothing is added to what is not as it was signed
        link = loaded.end if loaded is not None else START
        added = []
        for event in events:
            if isinstance(event, ReviewSigned) and person is not None:
                signature = sign_review(person, by=event.by, lines=link.seq, last_hash=link.sha256)
                event = replace(event, public_key=person.public_key, signature=signature)
            kind, version, payload = REVIEW_FORMAT.encode(event)
            line, record = make_line(link, clock(), sample=0, kind=kind, version=version, payload=payload)
            link, raw = record.link, raw + line + b"\n"
            added.append(ReviewLine(seq=record.seq, utc=record.utc, sample=0, event=event, sha256=record.sha256))
        seal = make_seal(
            key, count=link.seq, last_hash=link.sha256, product=product, utc=clock(), purpose=REVIEW_PURPOSE
        )
        try:
            replace_file(disk, folder / REVIEW_NAME, raw)
            replace_file(disk, folder / REVIEW_SEAL_NAME, seal_bytes(seal))
        except OSError as error:
            raise not_writable(folder / REVIEW_NAME, error) from None
        if register is not None:
            add_to_register(
                register,
                key,
                act="reviewed",
                session=folder,
                first=line_sha256(split_lines(read_regular(folder / JOURNAL_NAME))[0][0]),
                count=link.seq,
                last_hash=link.sha256,
                utc=clock(),
                disk=disk,
            )
    finally:
        lock.release()
    return tuple(added)


def _load(folder: Path) -> tuple[bytes, Loaded[ReviewEvent]]:
    path = folder / REVIEW_NAME
    raw = read_regular(path)
    loaded = load_journal(raw, name=str(path), event_format=REVIEW_FORMAT)
    if loaded.torn_bytes:
        raise BadSession(f"{path} is cut short or damaged in its last line", remedy=_SEE)
    return raw, loaded


def _seal(folder: Path, loaded: Loaded[ReviewEvent]) -> Seal | None:
    """The seal, or None where there is none yet.

    Raises:
        BadSession: it is not the seal of these lines.
    """
    path = folder / REVIEW_SEAL_NAME
    if not os.path.lexists(path):
        return None
    seal = read_seal(read_regular(path), name=str(path))
    fits = signature_fits(seal, purpose=REVIEW_PURPOSE) and 0 < seal.count <= len(loaded.entries)
    if not fits or loaded.entries[seal.count - 1].sha256 != seal.last_hash:
        raise BadSession(f"{path} is not the seal of the review beside it", remedy=_SEE)
    return seal


_SEE = "nothing was changed; `assistant verify` says what is wrong, and a copy of the folder may still be whole"
