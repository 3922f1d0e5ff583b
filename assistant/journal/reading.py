"""Reading a journal whole: its entries in order, and how much of its end is torn. Nothing is written here."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.errors import BadSession
from assistant.events import Event
from assistant.journal.chain import START, DamagedLine, Link, broken_link, read_line, split_lines
from assistant.journal.disk import read_regular
from assistant.journal.encoding import EVENT_FORMAT, EventFormat
from assistant.journal.tape import JOURNAL_NAME

_LINE_BEGINS = b'{"check":"'
_RUN_TOGETHER = re.compile(rb'\}[^,:\[]\{"check":"')  # a line end changed into another byte: no stop does that


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One event with what the journal adds to it.

    Args:
        seq: 1, 2, 3 ...
        utc: when it was written, aware.
        sample: when it happened, in samples at 16 000 Hz from the session's start.
        sha256: of its line.
    """

    seq: int
    utc: datetime
    sample: int
    event: Event
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """A journal as it was found.

    Args:
        entries: all whole lines.
        end: the last of them, or `chain.START`.
        whole_bytes: length of the whole lines; what follows is torn.
        torn_bytes: length of what follows.
    """

    entries: tuple[Entry, ...]
    end: Link
    whole_bytes: int
    torn_bytes: int


def load_journal(raw: bytes, *, name: str, event_format: EventFormat = EVENT_FORMAT) -> Loaded:
    """The entries in the bytes of a journal.

    A last line that has no end, or contradicts itself, was being written when the machine stopped: it is left out and
    counted as torn. Anything wrong before it is an error, never skipped.

    Raises:
        BadSession: not a journal; a line before the last is damaged; a whole line is out of sequence, bound to another
            line, or holds an event that is not understood. The message names the line.
    """
    lines, rest = split_lines(raw)
    if not lines and not _may_be_torn_first(rest):
        raise BadSession(f"{name} is not a journal of the assistant", remedy="name a session folder")
    if _RUN_TOGETHER.search(rest):
        raise BadSession(f"{name} line {len(lines) + 1} is damaged: two lines run together", remedy=_SEE)
    entries: list[Entry] = []
    end, whole = START, 0
    for number, line in enumerate(lines, start=1):
        where = f"{name} line {number}"
        try:
            record = read_line(line)
        except DamagedLine as damage:
            if 1 < number == len(lines) and not rest and not _RUN_TOGETHER.search(line):
                break
            raise BadSession(f"{where} is damaged: {damage}", remedy=_SEE) from None
        wrong = broken_link(end, record)
        if wrong:
            raise BadSession(f"{where} does not belong there: {wrong}", remedy=_SEE)
        event = event_format.decode(record.kind, record.version, record.payload, where=where)
        entries.append(Entry(seq=record.seq, utc=record.utc, sample=record.sample, event=event, sha256=record.sha256))
        end, whole = record.link, whole + len(line) + 1
    return Loaded(entries=tuple(entries), end=end, whole_bytes=whole, torn_bytes=len(raw) - whole)


def read_session(folder: Path) -> Loaded:
    """The entries of a session folder, also while it is being written.

    Raises:
        BadSession: no journal in it, or as `load_journal`.
    """
    path = folder / JOURNAL_NAME
    return load_journal(read_regular(path), name=str(path))


def _may_be_torn_first(rest: bytes) -> bool:
    return rest[: len(_LINE_BEGINS)] == _LINE_BEGINS[: len(rest)] or not rest.strip(b"\0")


_SEE = (
    "nothing was changed; `assistant verify` tells damage from tampering, and a copy of the folder may still be whole"
)
