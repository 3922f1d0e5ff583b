"""Verification of the journal's lines: each against itself, against the one before, and as an event. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Generic, overload

from assistant.errors import BadSession
from assistant.events import SAMPLE_RATE_HZ, Event, EventBase, SessionClosed, SessionOpened, SessionResumed
from assistant.journal.chain import START, DamagedLine, Link, Record, broken_link, line_sha256, read_line, split_lines
from assistant.journal.encoding import EVENT_FORMAT, E, EventFormat
from assistant.journal.findings import Finding, error, note, warning
from assistant.journal.reading import Line, entry_of, load_journal
from assistant.journal.tape import JOURNAL_NAME

SMALL_STEP_S = 2.0
"""A computer's clock is corrected by less than this while it runs; our own choice."""
_LONG_SLEEP_S = 600.0  # the wall clock may run this much ahead of the counted sound between two lines; our own choice


@dataclass(slots=True)
class Lines(Generic[E]):
    """A journal looked through.

    Args:
        hashes: SHA-256 of each whole line as it stands.
        events: (line number, event) of each line that could be read.
        entries: the same lines with what the journal adds to their events.
        torn: bytes after the last line end.
        damaged: numbers of the lines that contradict themselves.
        gapless: every line was read, so `events` can be folded.
        last_utc: of the last line that could be read.
        batch_open: the batch of that line is not there to its end.
    """

    hashes: list[str] = field(default_factory=list)
    events: list[tuple[int, E]] = field(default_factory=list)
    entries: list[Line[E]] = field(default_factory=list)
    torn: bytes = b""
    damaged: list[int] = field(default_factory=list)
    gapless: bool = True
    last_utc: datetime | None = None
    batch_open: bool = False
    findings: list[Finding] = field(default_factory=list)

    @property
    def believed(self) -> bool:
        """Whether every line hangs on the one before it, so that the whole is what `load_journal` reads."""
        broken = {"sequence-broken", "chain-broken"}
        return bool(self.entries) and self.gapless and not any(each.code in broken for each in self.findings)

    @property
    def closed(self) -> bool:
        """Whether the last line closes the session."""
        return bool(self.events) and self.events[-1][0] == len(self.hashes) and _closes(self.events[-1][1])


@overload
def examine_lines(raw: bytes) -> Lines[Event]: ...


@overload
def examine_lines(raw: bytes, *, event_format: EventFormat[E]) -> Lines[E]: ...


def examine_lines(raw: bytes, *, event_format: Any = EVENT_FORMAT) -> Lines[Any]:
    """Look at every line, by default of a session; what is wrong with one hides nothing that is wrong with another.

    What a stop left of the last batch counts as torn, as it does where the session is opened again.
    """
    found = _examine(raw, event_format)
    if not (found.damaged or found.batch_open):
        return found
    try:
        whole = len(raw) - load_journal(raw, name=JOURNAL_NAME, event_format=event_format).torn_bytes
    except BadSession:
        return found
    return replace(_examine(raw[:whole], event_format), torn=raw[whole:])


def _examine(raw: bytes, event_format: EventFormat[E]) -> Lines[E]:
    lines, torn = split_lines(raw)
    found: Lines[E] = Lines(torn=torn)
    before: Link | None = START  # None: the line before is damaged, so what it was bound as is not known
    earlier: Record | None = None
    spoken = True
    for number, line in enumerate(lines, start=1):
        found.hashes.append(line_sha256(line))
        where = f"{JOURNAL_NAME} line {number}"
        try:
            record = read_line(line)
        except DamagedLine as damage:
            found.findings.append(
                error("line-damaged", where, f"The line contradicts itself: {damage}. Some of it changed.", "damage")
            )
            found.damaged.append(number)
            found.gapless, before = False, None
            continue
        found.findings += _links(before, record, number=number, where=where)
        found.findings += _clock(earlier, record, where=where)
        try:
            event = event_format.decode(record.kind, record.version, record.payload, where=where)
            found.events.append((number, event))
            found.entries.append(entry_of(record, event))
            if isinstance(event, SessionOpened | SessionResumed):
                spoken = event.listeners != ("typed",)
            elif spoken:  # typed words are not counted in sound, and while a session rests nothing is
                found.findings += _sleep(earlier, record, where=where)
        except BadSession as bad:
            message = f"The event is not one that this version knows: {bad.message}."
            found.findings.append(error("event-unreadable", where, message, "none"))
            found.gapless = False
        before, earlier, found.last_utc = record.link, record, record.utc
        found.batch_open = sum(record.part_of) - 1 > record.seq
    found.findings += _order(found)
    return found


def _links(before: Link | None, record: Record, *, number: int, where: str) -> Iterator[Finding]:
    if before is None:
        if record.seq != number:
            message = f"It is numbered {record.seq} but stands at place {number}: the lines before it run together."
            yield error("sequence-broken", where, message, "damage")
        return
    wrong = broken_link(before, record)
    if wrong is None:
        return
    if record.seq != before.seq + 1:
        message = f"It is numbered {record.seq} after number {before.seq}: lines are missing, added or moved."
        yield error("sequence-broken", where, message, "tampering")
    else:
        message = (
            "The line is whole, but it was written after another line than the one that stands before it now. "
            "One of the two was exchanged."
        )
        yield error("chain-broken", where, message, "tampering")


def _clock(earlier: Record | None, record: Record, *, where: str) -> Iterator[Finding]:
    """The wall clock against the running time: a clock that was set. Times are then doubtful, the record is not."""
    if earlier is None:
        return
    wall_s = (record.utc - earlier.utc).total_seconds()
    if record.uptime is not None and earlier.uptime is not None and record.uptime.boot == earlier.uptime.boot:
        ran_s = (record.uptime.ms - earlier.uptime.ms) / 1000
        if ran_s < 0:
            message = "The time since the machine was switched on runs backwards here, which no machine does."
            yield error("uptime-backwards", where, message, "tampering")
        elif abs(wall_s - ran_s) > SMALL_STEP_S:
            message = f"The clock of the machine was set {_by(wall_s - ran_s)} before this line, while it ran: times "
            yield note("clock-set", where, message + "of day are doubtful, lengths of time and the order of lines not.")
    elif wall_s < -SMALL_STEP_S:
        message = f"The clock of the machine went {_by(wall_s)} before this line: times of day are doubtful, the order "
        yield note("clock-set", where, message + "of lines is not.")


def _by(seconds: float) -> str:
    size = abs(seconds)
    length = f"{size:.0f} s" if size < 7200 else f"{size / 3600:.0f} h"
    return f"{'back' if seconds < 0 else 'on'} by {length}"


def _sleep(earlier: Record | None, record: Record, *, where: str) -> Iterator[Finding]:
    """The time running ahead of the sound: the machine slept."""
    if earlier is None:
        return
    sound_s = (record.sample - earlier.sample) / SAMPLE_RATE_HZ
    ahead_s = (record.utc - earlier.utc).total_seconds() - sound_s
    if ahead_s > _LONG_SLEEP_S:
        message = f"The wall clock ran {ahead_s / 60:.0f} min further than the sound before this line: "
        yield note("clock-forwards", where, message + "the machine slept, or its clock was set.")


def _order(found: Lines[E]) -> Iterator[Finding]:
    if found.events and found.events[0][0] == 1 and not isinstance(found.events[0][1], SessionOpened):
        yield error("not-opened", f"{JOURNAL_NAME} line 1", "The first event is not session-opened.", "tampering")
    closings = [number for number, event in found.events if _closes(event)]
    if closings and closings[0] < len(found.hashes):
        where = f"{JOURNAL_NAME} line {closings[0] + 1}"
        message = f"The session was closed in line {closings[0]}, but lines follow. The assistant writes none there."
        yield error("content-after-close", where, message, "tampering")


def _closes(event: EventBase) -> bool:
    return isinstance(event, SessionClosed)


def torn_findings(found: Lines[E], *, set_aside_bytes: int, sealed: bool, in_use: bool) -> Iterator[Finding]:
    """What the torn end, and torn pieces set aside earlier, have to say.

    Args:
        found: the lines.
        set_aside_bytes: in all `journal.torn-N` files.
        sealed: there is a seal.
        in_use: the session is being written at this moment.
    """
    if found.torn and in_use:
        yield note("line-in-the-making", JOURNAL_NAME, "A line is being written at this moment.")
    elif found.torn and not sealed:
        message = (
            f"The last {len(found.torn)} bytes are lines that were never finished: the program or the machine stopped "
            "while writing them. Nothing was acted on; going on with the session sets them aside."
        )
        yield warning("torn-tail", JOURNAL_NAME, message, "crash")
    if not found.gapless:
        return  # what the journal tells of torn pieces may be in a line that cannot be read
    told = sum(event.torn_bytes for _, event in found.events if isinstance(event, SessionResumed))
    if told == set_aside_bytes and told:
        message = f"{told} bytes of half-written lines were set aside after a stop, as the journal says itself."
        yield note("torn-set-aside", JOURNAL_NAME, message, "crash")
    elif set_aside_bytes > told:
        message = (
            f"{set_aside_bytes - told} bytes of half-written lines are set aside that the journal tells nothing of."
        )
        if sealed:
            yield warning("torn-untold", JOURNAL_NAME, message, "tampering")
        else:
            yield note("torn-untold", JOURNAL_NAME, message + " The next resume will.", "crash")
    elif told > set_aside_bytes:
        message = f"The journal tells of {told} bytes set aside, but the torn files hold {set_aside_bytes}."
        yield warning("torn-missing", JOURNAL_NAME, message, "damage")
