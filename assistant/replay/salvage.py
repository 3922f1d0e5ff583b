"""What can still be read of a journal that `read_session` refuses: to look at, never to go on with."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from assistant.errors import BadSession
from assistant.journal.chain import DamagedLine, read_line, split_lines
from assistant.journal.disk import read_regular
from assistant.journal.encoding import EVENT_FORMAT
from assistant.journal.reading import Entry, load_journal
from assistant.journal.tape import JOURNAL_NAME


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that says nothing: its number in the file (0: the file itself), and why."""

    line: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Salvaged:
    """A journal as far as it can be read.

    Args:
        entries: of every line that is whole and understood, in the order of the file. Where `refused` is not "" they
            may be out of order, doubled, or from elsewhere.
        unread: the other lines.
        torn_bytes: after the last whole line.
        refused: why the journal as a whole is not believed; "" when it is.
    """

    entries: tuple[Entry, ...]
    unread: tuple[Unread, ...] = ()
    torn_bytes: int = 0
    refused: str = ""


def salvage(folder: Path) -> Salvaged:
    """Everything readable in a session folder's journal. Never raises for what is in the folder."""
    path = folder / JOURNAL_NAME
    try:
        raw = read_regular(path)
    except BadSession as missing:
        return Salvaged(entries=(), unread=(Unread(0, missing.message),), refused=missing.message)
    try:
        loaded = load_journal(raw, name=JOURNAL_NAME)
    except BadSession as refused:
        return _line_by_line(raw, refused.message)
    return Salvaged(entries=loaded.entries, torn_bytes=loaded.torn_bytes)


def _line_by_line(raw: bytes, refused: str) -> Salvaged:
    lines, rest = split_lines(raw)
    entries: list[Entry] = []
    unread: list[Unread] = []
    for number, line in enumerate(lines, start=1):
        try:
            record = read_line(line)
            event = EVENT_FORMAT.decode(record.kind, record.version, record.payload, where=f"line {number}")
        except DamagedLine as damage:
            unread.append(Unread(number, str(damage)))
        except BadSession as unknown:
            unread.append(Unread(number, unknown.message))
        else:
            entries.append(
                Entry(seq=record.seq, utc=record.utc, sample=record.sample, event=event, sha256=record.sha256)
            )
    return Salvaged(entries=tuple(entries), unread=tuple(unread), torn_bytes=len(rest), refused=refused)
