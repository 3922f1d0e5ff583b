"""One line of the journal and the chain that binds the lines. Pure.

A line is canonical JSON, ASCII, ended by "\\n", with these keys:

| key | what |
|---|---|
| seq | 1, 2, 3 ... without a gap |
| utc | when it was written, by the wall clock |
| sample | when it happened, in samples at 16 000 Hz from the session's start, >= 0 |
| kind, version, payload | the event |
| uptime | how long the machine had been running: `boot` (which start of it) and `ms`; left out where it is not told |
| part_of | first line and number of lines of the batch that it was written in; left out where it stood alone |
| previous | SHA-256 of the line before, without its line end, in hex; of the first: 64 zeros |
| check | the first 16 hex figures of the SHA-256 of this line's canonical JSON without `check` |

Lines of one batch are synced together and acted on together. A power cut can leave the end of a batch on disk without
its beginning; `part_of` shows that, and the whole batch is set aside.

`previous` binds a line to all before it. `check` finds a damaged byte also in the last line, which no other line binds
yet, and tells damage (a line that contradicts itself) from an exchanged line (whole, but not the one that was bound).
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from assistant.journal.clock import BOOT, Uptime, utc_read, utc_text
from assistant.journal.strict_json import MAX_INT, NotStrictJson, canonical, strict_document

FIRST_PREVIOUS = "0" * 64
_KEYS = {"seq", "utc", "sample", "kind", "version", "payload", "previous", "check"}
_OPTIONAL = {"uptime", "part_of"}
_SHA256 = re.compile("[0-9a-f]{64}")


class DamagedLine(ValueError):
    """A line that does not hold what it says of itself; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class Link:
    """The end of a chain, to which the next line is bound: its sequence number and hash."""

    seq: int
    sha256: str


START = Link(0, FIRST_PREVIOUS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One line, read. `sha256` is its own hash, to which the next line is bound.

    Args:
        part_of: (first line, number of lines) of its batch; of a line that stood alone itself and 1.
    """

    seq: int
    utc: datetime
    sample: int
    kind: str
    version: int
    payload: dict[str, Any]
    previous: str
    sha256: str
    uptime: Uptime | None = None
    part_of: tuple[int, int]

    @property
    def link(self) -> Link:
        """The record as the end of its chain."""
        return Link(self.seq, self.sha256)


def make_line(
    after: Link,
    utc: datetime,
    *,
    sample: int,
    kind: str,
    version: int,
    payload: dict[str, Any],
    uptime: Uptime | None = None,
    part_of: tuple[int, int] | None = None,
) -> tuple[bytes, Record]:
    """The line that follows `after`, without its line end, and the record that reading it will give.

    Args:
        uptime: beside the wall clock, where it is known.
        part_of: first line and number of lines of its batch; None for a line that stands alone.

    Raises:
        ValueError: the sample is below zero, or the time has no zone (our bug).
    """
    if not 0 <= sample <= MAX_INT:
        raise ValueError(f"at_sample is {sample}, not a count from the session's start")
    body = {
        "seq": after.seq + 1,
        "utc": utc_text(utc),
        "sample": sample,
        "kind": kind,
        "version": version,
        "payload": payload,
        "previous": after.sha256,
    }
    if uptime is not None:
        body["uptime"] = {"boot": uptime.boot, "ms": uptime.ms}
    if part_of is not None and part_of[1] > 1:
        body["part_of"] = list(part_of)
    raw = _with_check(body)
    return raw, read_line(raw)


def read_line(raw: bytes) -> Record:
    """The record in a line (without its line end), after checking it against itself; not against its neighbours.

    Raises:
        DamagedLine: not strict canonical JSON, a key missing or unknown or of the wrong type, or the check is wrong.
    """
    try:
        line = strict_document(raw)
        if type(line) is not dict or line.keys() - _OPTIONAL != _KEYS:
            raise NotStrictJson("not a journal line: the keys are not those of one")
        del line["check"]
        if raw != _with_check(line):
            raise NotStrictJson("its check figure does not fit its content")
    except NotStrictJson as error:
        raise DamagedLine(str(error)) from None
    except RecursionError:
        raise DamagedLine("nested too deep") from None
    try:
        utc = utc_read(line["utc"])
    except ValueError as error:
        raise DamagedLine(str(error)) from None
    for key, least in (("seq", 1), ("sample", 0), ("version", 1)):
        if type(line[key]) is not int or line[key] < least:
            raise DamagedLine(f"{key} is {str(line[key])[:40]}, not a whole number from {least}")
    if type(line["kind"]) is not str or type(line["payload"]) is not dict:
        raise DamagedLine("kind is not text, or payload is not an object")
    if type(line["previous"]) is not str or not _SHA256.fullmatch(line["previous"]):
        raise DamagedLine("previous is not a SHA-256")
    uptime, part_of = _uptime(line.pop("uptime", None)), _part_of(line.pop("part_of", [line["seq"], 1]), line["seq"])
    return Record(**line | {"utc": utc, "sha256": line_sha256(raw), "uptime": uptime, "part_of": part_of})


def _uptime(found: object) -> Uptime | None:
    if found is None:
        return None
    if not isinstance(found, dict) or found.keys() != {"boot", "ms"} or type(found["ms"]) is not int:
        raise DamagedLine("uptime is not a boot and milliseconds")
    if type(found["boot"]) is not str or not BOOT.fullmatch(found["boot"]) or found["ms"] < 0:
        raise DamagedLine("uptime is not as the assistant writes it")
    return Uptime(boot=found["boot"], ms=found["ms"])


def _part_of(found: object, seq: int) -> tuple[int, int]:
    if not isinstance(found, list) or len(found) != 2 or any(type(number) is not int for number in found):
        raise DamagedLine("part_of is not a first line and a number of lines")
    if not 0 < found[0] <= seq < found[0] + found[1]:
        raise DamagedLine("part_of is a batch that the line does not belong to")
    return found[0], found[1]


def broken_link(after: Link, record: Record) -> str | None:
    """Why `record` cannot follow `after`, in plain words; None when it can."""
    if record.seq != after.seq + 1:
        return f"it is number {record.seq}, expected was {after.seq + 1}"
    if record.previous != after.sha256:
        return "it was written after another line than the one that stands before it"
    return None


def split_lines(raw: bytes) -> tuple[list[bytes], bytes]:
    """Whole lines (without line ends) and the rest after the last line end, which is torn when not empty.

    Only "\\n" ends a line: `bytes.splitlines` would also break at "\\r".
    """
    *lines, rest = raw.split(b"\n")
    return lines, rest


def synced_lines(raw: bytes) -> tuple[list[bytes], int]:
    """Whole lines of a file that is written and synced one flat object a line, and how many bytes they are.

    A stop leaves at most the last line torn: cut short, or, after a power cut, with its end on disk and zeros in place
    of its beginning. Such a line is left out here, for nobody has acted on it. Our lines never hold a zero byte.
    """
    lines, rest = split_lines(raw)
    if not rest and lines and b"\0" in lines[-1] and lines[-1].count(b"{") <= 1:  # more: two lines run together
        rest = lines.pop() + b"\n"
    return lines, len(raw) - len(rest)


def line_sha256(raw: bytes) -> str:
    """SHA-256 of a line without its line end, in hex."""
    return hashlib.sha256(raw).hexdigest()


def _with_check(body: dict[str, Any]) -> bytes:
    plain = canonical(body)
    check = hashlib.sha256(plain).hexdigest()[:16].encode("ascii")
    return b'{"check":"' + check + b'",' + plain[1:]  # canonical as well: no key of a line sorts before it
