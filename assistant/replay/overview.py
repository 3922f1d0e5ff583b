"""Many sessions side by side: a row each, what is due and to be decided first. Pure; made from joint records alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # a table from the cache needs none of the record's models
    from assistant.replay.record_fields import JointRecord

FORMAT = 2
"""Of a row as it is kept in the cache; a change makes old ones useless, and they are read anew."""
ORDER = ("untrusted", "to-redo", "open", "to-decide", "complete", "accepted", "rehearsal")
"""Verdicts where nothing has a time, gravest first."""
UNREADABLE = "untrusted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """What is to be done next at a joint, and from when until when.

    Args:
        what: in a few words.
        from_utc: earliest moment, ISO 8601; "" for at once.
        until_utc: latest moment; "" where the instruction names none.
    """

    what: str
    from_utc: str = ""
    until_utc: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One session.

    Args:
        folder: its path as it was found.
        first, last: SHA-256 of the journal's first and last line; "" for none. `first` says which session it is.
        joint, tag, place, kind: of the joint file.
        verdict: token of the one verdict (`replay.verdict`).
        words: heading and reason in a sentence or two.
        due: what is to be done next, soonest first.
        decisions: what waits for a lead's ruling, in words.
        opened_utc, closed_utc: ISO 8601; "" for none.
        signer: whose key signed, by the name that this machine knows; "" when nobody has signed.
        trouble: why the record cannot be trusted; empty when it can.
        how: "rehearsal" or "practice"; "" for work.
        language: of what is said in it, "en" or "de"; "" where nothing can be read.
    """

    folder: str
    first: str = ""
    last: str = ""
    joint: str = ""
    tag: str = ""
    place: str = ""
    kind: str = ""
    verdict: str
    words: str
    due: tuple[Due, ...] = ()
    decisions: tuple[str, ...] = ()
    opened_utc: str = ""
    closed_utc: str = ""
    signer: str = ""
    trouble: tuple[str, ...] = ()
    how: str = ""
    language: str = ""

    def as_json(self) -> dict[str, Any]:
        """For JSON and for the cache."""
        return asdict(self)


def row_from_json(document: dict[str, Any]) -> Row:
    """A row as `Row.as_json` wrote it.

    Raises:
        KeyError, TypeError, ValueError: it is none.
    """
    known = {field.name for field in fields(Row)}
    if set(document) != known:
        raise ValueError("not the fields of a row")
    lists = {"decisions": tuple(document["decisions"]), "trouble": tuple(document["trouble"])}
    return Row(**(document | lists | {"due": tuple(Due(**each) for each in document["due"])}))


def row_of(record: JointRecord, *, folder: str, first: str, last: str, signer: str) -> Row:
    """The row of a session by its joint record.

    Args:
        record: as `replay.record.joint_record` makes it.
        folder: path of the session.
        first, last: hashes of the journal's first and last line.
        signer: as `Row` has it.
    """
    session = record.session
    return Row(
        folder=folder,
        first=first,
        last=last,
        joint=record.joint.name,
        tag=record.joint.tag,
        place=record.joint.place,
        kind=record.joint.kind,
        verdict=record.verdict,
        words=record.verdict_words,
        due=tuple(_due(record)),
        decisions=tuple(each.text for each in record.decisions) if record.verdict in ("to-decide", "open") else (),
        opened_utc=_iso(session.opened_utc),
        closed_utc=_iso(session.closed_utc),
        signer=signer,
        trouble=record.distrust,
        how=session.how,
        language=session.language,
    )


def unreadable(folder: str, why: str) -> Row:
    """The row of a folder of which nothing can be read."""
    return Row(folder=folder, verdict=UNREADABLE, words=why, trouble=(why,))


def _due(record: JointRecord) -> Iterator[Due]:
    """Waits that run, re-checks that nobody has done, and else what the guide would go on with."""
    if record.verdict in ("rehearsal", "untrusted"):
        return
    running = False
    for wait in record.waited:
        if wait.state == "running" and wait.begun_utc is not None:
            running = True
            yield Due(what=f"after {wait.name}", from_utc=_iso(wait.begun_utc + timedelta(seconds=wait.planned_s)))
    for recheck in record.rechecks:
        if recheck.results or record.recheck_results or recheck.earliest_utc is None:
            continue
        if not running:
            yield Due(
                what=f"{recheck.kind} re-check", from_utc=_iso(recheck.earliest_utc), until_utc=_iso(recheck.latest_utc)
            )
    if record.verdict == "to-redo":
        yield Due(what="bolts to be done again")
    elif record.verdict == "open" and not running and record.due:
        yield Due(what=record.due)


def _iso(when: datetime | None) -> str:
    return "" if when is None else when.isoformat(timespec="seconds")


# ------------------------------------------------------------------------------------------------------------- the ta
@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """Rows in the order in which a lead needs them.

    Args:
        work: sessions of real joints: overdue first, then due, then to come by time, then to be decided, then the rest.
        played: rehearsals and practices, newest first.
        copies: (original, copies) of sessions that lie here more than once.
        parted: (folder, where) of copies that differ from their original: "journal.jsonl line 41".
        vanished: sessions that this machine recorded in this folder and that are not here any more.
        register_trouble: why this machine's register of sessions says nothing; "" where it does.
    """

    work: tuple[Row, ...]
    played: tuple[Row, ...]
    copies: tuple[tuple[Row, tuple[Row, ...]], ...] = ()
    parted: tuple[tuple[str, str], ...] = ()
    vanished: tuple[str, ...] = ()
    register_trouble: str = ""


def overview(
    rows: Iterable[Row],
    *,
    now: datetime,
    names: Mapping[str, str],
    vanished: Sequence[str] = (),
    register_trouble: str = "",
) -> Overview:
    """Put rows in order and take copies aside.

    Args:
        rows: of all sessions of a folder.
        now: aware.
        names: by a session's first hash the folder name that the register knows it by; that one is the original.
        vanished, register_trouble: as `Overview` has them.
    """
    by_first: dict[str, list[Row]] = defaultdict(list)
    alone: list[Row] = []
    for row in rows:
        (by_first[row.first] if row.first else alone).append(row)
    copies = []
    for first, same in by_first.items():
        same.sort(key=lambda row: (not row.folder.endswith("/" + names.get(first, "\0")), row.folder))
        alone.append(same[0])
        if len(same) > 1:
            copies.append((same[0], tuple(same[1:])))
    work = sorted((row for row in alone if not row.how), key=lambda row: _urgency(row, now))
    played = sorted((row for row in alone if row.how), key=lambda row: row.opened_utc, reverse=True)
    return Overview(
        work=tuple(work),
        played=tuple(played),
        copies=tuple(copies),
        vanished=tuple(vanished),
        register_trouble=register_trouble,
    )


def _urgency(row: Row, now: datetime) -> tuple[int, float, int, str]:
    """Overdue (0), due (1), to come (2), untrusted or to be decided (3), the rest (4); in each, by time."""
    stage, seconds = 4, 0.0
    if row.verdict in ("untrusted", "to-decide"):
        stage = 3
    for due in row.due:
        kind, left = standing(due, now)
        if kind < stage or (kind == stage and left < seconds):
            stage, seconds = kind, left
    return stage, seconds, ORDER.index(row.verdict) if row.verdict in ORDER else 0, row.opened_utc


def standing(due: Due, now: datetime) -> tuple[int, float]:
    """How a due item stands: 0 overdue, 1 due, 2 to come; and the seconds to the moment that decides it.

    Returns:
        The seconds are below zero where the moment has passed; for "due" they count to the latest moment, where there
        is one, else from the earliest.
    """
    start = datetime.fromisoformat(due.from_utc) if due.from_utc else None
    end = datetime.fromisoformat(due.until_utc) if due.until_utc else None
    if end is not None and end < now:
        return 0, (end - now).total_seconds()
    if start is not None and start > now:
        return 2, (start - now).total_seconds()
    if end is not None:
        return 1, (end - now).total_seconds()
    return 1, (start - now).total_seconds() if start is not None else 0.0


def due_words(due: Due, now: datetime) -> str:
    """'cold re-check, overdue by 3 h'; 'after settling time, in 1 h 20 min'."""
    kind, seconds = standing(due, now)
    length = span_words(abs(seconds))
    if kind == 0:
        return f"{due.what}, overdue by {length}"
    if kind == 2:
        return f"{due.what}, in {length}"
    if due.until_utc:
        return f"{due.what}, now; {length} left"
    return f"{due.what}, now" + (f" (since {length})" if due.from_utc and seconds < -60 else "")


def span_words(seconds: float) -> str:
    """'40 min', '5 h 10 min', '3 days'."""
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h" + (f" {minutes % 60:02d} min" if minutes % 60 and minutes < 600 else "")
    return f"{round(minutes / 1440)} days"


def counted(found: Overview) -> str:
    """The summary in one line: '20 sessions: 2 overdue ...'."""
    by_verdict: dict[str, int] = defaultdict(int)
    for row in found.work:
        by_verdict[row.verdict] += 1
    said = [f"{by_verdict[token]} {token}" for token in ORDER if by_verdict[token]]
    line = f"{len(found.work)} session{'s' * (len(found.work) != 1)}" + (f": {', '.join(said)}" if said else "")
    if found.played:
        line += f"; {len(found.played)} rehearsal{'s' * (len(found.played) != 1)}"
    return line


def moved(row: Row, folder: str) -> Row:
    """A row that was kept under another path."""
    return row if row.folder == folder else replace(row, folder=folder)
