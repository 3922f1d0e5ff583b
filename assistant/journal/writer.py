"""The one writer of a journal: makes lines, puts them on a tape, answers when they last.

Not for several threads. What was interrupted (Ctrl-C in the middle of a write) is finished by the next append, so that
the line saying so is bound to what is really on the tape.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.errors import BadSession, RecordNotWritable
from assistant.events import Event, SessionClosed, SessionResumed
from assistant.journal.chain import Link, make_line
from assistant.journal.clock import Clock, running_beside
from assistant.journal.disk import not_writable
from assistant.journal.encoding import EVENT_FORMAT, EventFormat
from assistant.journal.reading import Entry, entry_of, load_journal
from assistant.journal.tape import Tape


@dataclass(frozen=True, slots=True)
class _End:
    link: Link
    offset: int
    count: int


@dataclass(frozen=True, slots=True)
class _Pending:
    before: _End
    data: bytes
    entries: tuple[Entry, ...]


class JournalWriter:
    """Opens the journal on a tape: reads it, moves a torn last line aside, then appends.

    Args:
        tape: empty, or as an earlier writer left it.
        clock: stamps each line.
        check: given the SHA-256 of each whole line, before a torn one is set aside; raises where they are not believed.

    Raises:
        BadSession: as `load_journal`.
        RecordNotWritable: a torn line could not be set aside.
    """

    def __init__(
        self,
        tape: Tape,
        clock: Clock,
        *,
        event_format: EventFormat[Event] = EVENT_FORMAT,
        check: Callable[[Sequence[str]], None] | None = None,
    ) -> None:
        self._tape, self._clock, self._format = tape, clock, event_format
        self._running = running_beside(clock)
        self._refusal: RecordNotWritable | None = None
        self._pending: _Pending | None = None
        loaded = load_journal(tape.read(), name=tape.name, event_format=event_format)
        if check is not None:
            check([entry.sha256 for entry in loaded.entries])
        self._entries = list(loaded.entries)
        self._end = _End(loaded.end, loaded.whole_bytes, len(loaded.entries))
        try:
            if loaded.torn_bytes:
                tape.set_aside(loaded.whole_bytes, maybe_done=self.torn_bytes > 0)
        except OSError as error:
            raise not_writable(Path(tape.name), error) from None

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Everything recorded so far."""
        return tuple(self._entries)

    @property
    def count(self) -> int:
        """How many lines there are."""
        return self._end.count

    @property
    def last_hash(self) -> str:
        """SHA-256 of the last line; 64 zeros when there is none."""
        return self._end.link.sha256

    @property
    def closed(self) -> bool:
        """Whether the last event is `SessionClosed`; then only the seal may follow."""
        return bool(self._entries) and isinstance(self._entries[-1].event, SessionClosed)

    @property
    def torn_bytes(self) -> int:
        """Bytes set aside that no `SessionResumed` has told of yet; the next one must."""
        told = (each.event.torn_bytes for each in self._entries if isinstance(each.event, SessionResumed))
        return max(0, self._tape.torn_bytes() - sum(told))

    def append(self, events: Sequence[Event], at_sample: int) -> list[Entry]:
        """Record events in order; when this returns they are on the medium and may be acted on.

        A crash in the middle leaves all of them or none: they are bound together, and nobody has acted on a part.

        Args:
            events: of `assistant.events`.
            at_sample: >= 0, for all of them.

        Raises:
            RecordNotWritable: the medium refused, now or before; nothing more is taken.
            BadSession: the session is closed.
            ValueError, TypeError: an event that cannot be kept as it is (our bug); nothing is written.
        """
        if self._refusal:
            raise RecordNotWritable(self._refusal.message, remedy=self._refusal.remedy)
        self.finish_interrupted()
        if self.closed:
            raise BadSession(f"{self._tape.name}: the session is closed", remedy="start a new session for more work")
        data, entries, link = bytearray(), [], self._end.link
        part_of = (link.seq + 1, len(events))
        for event in events:
            kind, version, payload = self._format.encode(event)
            line, record = make_line(
                link,
                self._clock(),
                sample=at_sample,
                kind=kind,
                version=version,
                payload=payload,
                uptime=self._running(),
                part_of=part_of,
            )
            link = record.link
            data += line + b"\n"
            entries.append(entry_of(record, event))
        if any(isinstance(event, SessionClosed) for event in events[:-1]):
            raise ValueError("nothing may follow session-closed")
        if entries:
            self._pending = _Pending(self._end, bytes(data), tuple(entries))
            self.finish_interrupted()
        return entries

    def finish_interrupted(self) -> None:
        """Write what is pending. Safe to call again after it was interrupted at any point; does nothing otherwise."""
        pending = self._pending
        if pending is None:
            return
        try:
            self._tape.write(pending.data, pending.before.offset)
        except OSError as error:
            self._refusal = not_writable(Path(self._tape.name), error)
        except RecordNotWritable as refusal:
            self._refusal = refusal
        if self._refusal:
            self._pending = None
            raise self._refusal
        last = pending.entries[-1]
        self._entries[pending.before.count :] = pending.entries
        self._end = _End(
            Link(last.seq, last.sha256),
            pending.before.offset + len(pending.data),
            pending.before.count + len(pending.entries),
        )
        self._pending = None

    def close(self) -> None:
        """Let go of the tape. May be called twice."""
        self._tape.close()
