"""The honest beginning of a journal: all lines up to the first that is damaged, out of chain or not understood."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from assistant.errors import BadSession
from assistant.journal.chain import START, DamagedLine, broken_link, read_line, split_lines
from assistant.journal.disk import read_regular
from assistant.journal.encoding import EVENT_FORMAT
from assistant.journal.reading import Entry, entry_of, load_journal
from assistant.journal.tape import JOURNAL_NAME


@dataclass(frozen=True, slots=True, kw_only=True)
class Beginning:
    """A journal as far as it can be believed.

    Args:
        entries: bound to each other from the first line on.
        lines: whole lines in the file, also those not believed.
        torn_bytes: after the last whole line.
        trouble: why it is not read to its end; "" when it is.
    """

    entries: tuple[Entry, ...]
    lines: int
    torn_bytes: int = 0
    trouble: str = ""


def honest_beginning(folder: Path) -> Beginning:
    """The entries of a session folder, as far as their chain holds. For reading only: no session is resumed from them.

    Raises:
        BadSession: there is no journal, or not even its first line can be read.
    """
    raw = read_regular(folder / JOURNAL_NAME)
    lines, rest = split_lines(raw)
    try:
        loaded = load_journal(raw, name=JOURNAL_NAME)
    except BadSession as refused:
        entries = _believed(lines)
        if not entries:
            raise
        return Beginning(entries=entries, lines=len(lines), torn_bytes=len(rest), trouble=refused.message)
    return Beginning(entries=loaded.entries, lines=len(lines), torn_bytes=loaded.torn_bytes)


def _believed(lines: list[bytes]) -> tuple[Entry, ...]:
    entries: list[Entry] = []
    end = START
    for number, line in enumerate(lines, start=1):
        try:
            record = read_line(line)
            if broken_link(end, record):
                break
            event = EVENT_FORMAT.decode(record.kind, record.version, record.payload, where=f"line {number}")
        except (DamagedLine, BadSession):
            break
        entries.append(entry_of(record, event))
        end = record.link
    return tuple(entries)
