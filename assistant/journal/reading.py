"""Reading a journal whole: its entries in order, and how much of its end is torn. Nothing is written here."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Generic, overload

from assistant.errors import BadSession
from assistant.events import Event
from assistant.events.review import ReviewEvent
from assistant.journal.chain import START, DamagedLine, Link, Record, broken_link, read_line, split_lines
from assistant.journal.clock import Uptime
from assistant.journal.disk import read_regular
from assistant.journal.encoding import EVENT_FORMAT, E, E_co, EventFormat
from assistant.journal.tape import JOURNAL_NAME

_LINE_BEGINS = b'{"check":"'
_RUN_TOGETHER = re.compile(rb'\}[^,:\[]\{"check":"')  # a line end changed into another byte: no stop does that


@dataclass(frozen=True, kw_only=True)  # no slots: with them `Entry(...)` fails in Python 3.11
class Line(Generic[E_co]):
    """One event with what the journal adds to it.

    Args:
        seq: 1, 2, 3 ...
        utc: when it was written, aware.
        sample: when it happened, in samples at 16 000 Hz from the session's start.
        sha256: of its line.
        uptime: how long the machine had been running when it was written; None where it did not tell.
    """

    seq: int
    utc: datetime
    sample: int
    event: E_co
    sha256: str
    uptime: Uptime | None = None


Entry = Line[Event]
"""A line of a session."""
ReviewLine = Line[ReviewEvent]


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded(Generic[E]):
    """A journal as it was found.

    Args:
        entries: all whole lines.
        end: the last of them, or `chain.START`.
        whole_bytes: length of the whole lines; what follows is torn.
        torn_bytes: length of what follows.
    """

    entries: tuple[Line[E], ...]
    end: Link
    whole_bytes: int
    torn_bytes: int


@overload
def load_journal(raw: bytes, *, name: str) -> Loaded[Event]: ...


@overload
def load_journal(raw: bytes, *, name: str, event_format: EventFormat[E]) -> Loaded[E]: ...


def load_journal(raw: bytes, *, name: str, event_format: Any = EVENT_FORMAT) -> Loaded[Any]:
    """The entries in the bytes of a journal: by default the events of a session.

    Its last batch may be torn: cut anywhere, or with parts that never reached the disk (zeros) before parts that did.
    Then all of the batch is left out and counted as torn, for nobody has acted on any of it. Anything else that is
    wrong is an error, never skipped.

    Raises:
        BadSession: not a journal; a line before the last batch is damaged; a whole line is out of sequence, bound to
            another line, or holds an event that is not understood. The message names the line.
    """
    lines, rest = split_lines(raw)
    if not lines and not _may_be_torn_first(rest):
        raise BadSession(f"{name} is not a journal of the assistant", remedy="name a session folder")
    if _RUN_TOGETHER.search(rest):
        raise BadSession(f"{name} line {len(lines) + 1} is damaged: two lines run together", remedy=_SEE)
    entries: list[Line[Any]] = []
    starts: list[int] = []
    end, whole, part_of = START, 0, (0, 0)
    for number, line in enumerate(lines, start=1):
        where = f"{name} line {number}"
        try:
            record = read_line(line)
        except DamagedLine as damage:
            if _torn_batch(lines[number - 1 :], rest, after=end.seq, part_of=part_of):
                break
            raise BadSession(f"{where} is damaged: {damage}", remedy=_SEE) from None
        wrong = broken_link(end, record)
        if wrong:
            raise BadSession(f"{where} does not belong there: {wrong}", remedy=_SEE)
        event = event_format.decode(record.kind, record.version, record.payload, where=where)
        entries.append(entry_of(record, event))
        starts.append(whole)
        end, whole, part_of = record.link, whole + len(line) + 1, record.part_of
    if part_of[0] + part_of[1] - 1 > len(entries):  # the last batch is not there to its end
        kept = part_of[0] - 1
        whole, entries = starts[kept], entries[:kept]
        end = Link(kept, entries[-1].sha256) if entries else START
    return Loaded(entries=tuple(entries), end=end, whole_bytes=whole, torn_bytes=len(raw) - whole)


def entry_of(record: Record, event: E) -> Line[E]:
    """An event with what its line adds to it."""
    return Line(
        seq=record.seq,
        utc=record.utc,
        sample=record.sample,
        event=event,
        sha256=record.sha256,
        uptime=record.uptime,
    )


def _torn_batch(lines: list[bytes], rest: bytes, *, after: int, part_of: tuple[int, int]) -> bool:
    """Whether these lines, the first of them damaged, can be what a stop left of the one batch being written.

    Args:
        lines, rest: everything from the damaged line on.
        after: number of the whole line before.
        part_of: batch of that line.
    """
    first = part_of[0] if part_of[0] + part_of[1] - 1 > after else after + 1  # line that the batch begins with
    for place, line in enumerate(lines):
        try:
            batch = read_line(line).part_of
        except DamagedLine:
            last = place == len(lines) - 1 and not rest
            if b"\0" in line or (last and after > 0 and not _RUN_TOGETHER.search(line)):
                continue  # zeros where a block never came, or the end of what was being written
            return False
        if batch[0] != first:
            return False
    return True


def read_session(folder: Path) -> Loaded[Event]:
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
