"""What reviews of a joint's earlier sessions want done again, and the work of the session that does it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.cli.session_sources import record_of
from assistant.errors import BadSession
from assistant.events import WorkLaidOut
from assistant.events.review import RedoOrdered
from assistant.journal.keyring import Basis
from assistant.journal.review import read_review
from assistant.journal.sessions import session_folders, slug_of
from assistant.procedure.follow_up import follow_up
from assistant.replay.record_fields import Ruling
from assistant.replay.record_open import redos_open
from assistant.replay.related import FOLLOWS_UP


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the reviews of a joint's sessions still want.

    Args:
        redos: session folder's name and the ruling, in the order in which they were made.
        troubles: sessions whose review cannot be trusted, in words.
    """

    redos: tuple[tuple[str, Ruling], ...] = ()
    troubles: tuple[str, ...] = ()

    @property
    def bolts(self) -> dict[str, tuple[int, ...]]:
        """Group -> bolts, each once."""
        found: dict[str, set[int]] = {}
        for _, redo in self.redos:
            if redo.bolt is not None:
                found.setdefault(redo.group, set()).add(redo.bolt)
        return {group: tuple(sorted(bolts)) for group, bolts in found.items()}

    @property
    def lines(self) -> tuple[str, ...]:
        """In words, a line each; empty when the joint may be called complete."""
        return (*(_line(session, redo) for session, redo in self.redos), *self.troubles)


def wanted(sessions: Path, joint: str, *, basis: Basis | None = None) -> Wanted:
    """What reviews of sessions on a joint want done again and no later session has done, by those sessions' records.

    What a review wants that cannot be trusted is wanted all the same, since work done again does no harm; but nothing
    in it lifts what was wanted, and the doubt is told. The review of a rehearsal wants nothing of the joint.

    Args:
        sessions: folder of all sessions; may be missing.
        joint: its name.
        basis: the keys that count as known; None looks up this machine's.
    """
    redos: list[tuple[str, Ruling]] = []
    troubles: list[str] = []
    for folder in _asked_for(sessions, joint):
        try:
            record = record_of(folder, basis=basis)
        except BadSession as bad:
            troubles.append(f"{folder.name} cannot be read: {bad.message}")
            continue
        if record.session.how:
            continue
        redos += [(folder.name, ruling) for ruling in redos_open(record)]
        if record.distrust:
            troubles.append(f"The review of {folder.name} cannot be trusted: {record.distrust[0]}")
    return Wanted(redos=tuple(redos), troubles=tuple(troubles))


@dataclass(frozen=True, slots=True, kw_only=True)
class NextWork:
    """The work of a new session, and what `SessionOpened.settings` says of its reason."""

    work: WorkLaidOut
    settings: dict[str, Any] = field(default_factory=dict)


def next_work(asked: Wanted, work: WorkLaidOut) -> NextWork:
    """Where reviews want bolts done again: those bolts' last pass, all round, and what follows. Else the whole joint.

    Args:
        asked: what is wanted of the joint; nothing where it is done as a whole in any case, which answers reviews too.
        work: of the whole joint.
    """
    again = follow_up(work, asked.bolts)
    if not asked.redos or not again.passes:
        return NextWork(work=work)
    return NextWork(work=again, settings={FOLLOWS_UP: asked.redos[-1][0]})


def _asked_for(sessions: Path, joint: str) -> Iterator[Path]:
    """Sessions on the joint with a review that orders work or cannot be read; only they are worth a whole look."""
    for folder in session_folders(sessions, slug=slug_of(joint)):
        try:
            review = read_review(folder)
        except BadSession:
            yield folder
            continue
        if review is not None and any(isinstance(entry.event, RedoOrdered) for entry in review.entries):
            yield folder


def _line(session: str, redo: Ruling) -> str:
    reason = f": {redo.text}" if redo.text else ""
    return f"The review of {session} by {redo.by} wants done again: {redo.group}, bolt {redo.bolt}{reason}"
