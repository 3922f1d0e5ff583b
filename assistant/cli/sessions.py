"""`assistant sessions`: all sessions of a folder as one table, what is due and to be decided first."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from assistant.cli.files import write
from assistant.cli.keys import basis_text, own_basis, registered_texts
from assistant.config import paths
from assistant.config.settings import read_settings
from assistant.errors import BadSession, BadSettings
from assistant.journal.clock import utc_now
from assistant.journal.courses import parting
from assistant.journal.keyring import Basis
from assistant.journal.sessions import session_folders
from assistant.replay.overview import Overview, Row, moved, overview, unreadable
from assistant.replay.overview_cache import Looked, RowCache, keys_of, look

DESCRIPTION = "List all sessions of a folder: verdict, what is due, what is to be decided, who signed."
EPILOG = """\
Overdue comes first, then what is due, then what comes due by time, then what is to be decided. Rehearsals are counted
apart; copies are counted once and named, and it is told where a copy differs from what it is a copy of.
A second look at the same sessions takes their rows from a cache, where no recording came, went or changed its length;
what is in them is checked again by `assistant verify`.

verdicts: open, complete (nothing to decide, not reviewed yet), to-decide, accepted, to-redo, rehearsal, untrusted

examples:
  assistant sessions
  assistant sessions sessions/ --html sessions.html
  assistant sessions sessions/ --json

exit codes: 0 nothing is overdue, to be decided or untrusted, 1 something is, or copies differ, 2 no such folder
"""
MANY = 12
"""Sessions to be read anew from which on all processor cores share them."""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument(
        "folder", metavar="FOLDER", nargs="?", type=Path, help="folder of sessions (left out: your own)"
    )
    parser.add_argument("--rehearsals", action="store_true", help="list rehearsals and practices too")
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write one page that can be sorted")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print or write the table.

    Returns:
        0, or 1 where something is overdue, to be decided, to be done again, or cannot be trusted.

    Raises:
        BadSettings: no such folder, or the page cannot be written.
    """
    settings = read_settings()
    folder = args.folder or settings.sessions or paths.sessions_folder()
    if not folder.is_dir():
        raise BadSettings(f"{folder} is not a folder", remedy="name the folder that holds the session folders")
    now = utc_now()
    found = look_over(folder, basis=own_basis(), now=now)
    if args.html is not None:
        _write(args.html, found, now, str(folder), settings.language)
    if args.json:
        print(json.dumps(document(found, now), indent=2))
    elif args.html is None:
        from assistant.report.overview_text import overview_text

        print(overview_text(found, now=now, played=args.rehearsals, language=settings.language), end="")
    return 1 if any(_wanting(row, now) for row in found.work) or found.vanished or found.parted else 0


def look_over(folder: Path, *, basis: Basis, now: datetime, cache: Path | None = None) -> Overview:
    """All sessions of a folder.

    Args:
        folder: of sessions.
        basis: the keys that count as known.
        now: aware.
        cache: file of rows; None takes the user's own.
    """
    looked = [look(session) for session in session_folders(folder)]
    keys = keys_of(looked, basis=basis_text(basis), registered=registered_texts(basis))
    with RowCache(cache or paths.cache_folder() / "sessions.sqlite") as kept:
        rows = kept.rows(keys.values())
        fresh = [each for each in looked if keys[each.folder] not in rows]
        made = {keys[row_look.folder]: row for row_look, row in zip(fresh, _read_all(fresh, basis), strict=True)}
        kept.keep(folder.resolve(), made, current=keys.values())
    rows |= made
    shown = [moved(rows[keys[each.folder]], str(each.folder)) for each in looked]
    here = str(folder.absolute())
    known = [(first, entries[0]) for first, entries in basis.register.by_first.items() if entries[0].place == here]
    present = {each.first for each in looked} | {each.folder.name for each in looked}
    found = overview(
        shown,
        now=now,
        names={first: entry.session for first, entry in known},
        vanished=[entry.session for first, entry in known if not {first, entry.session} & present],
        register_trouble=basis.register.trouble,
    )
    parted = (
        (each.folder, parting(Path(original.folder), Path(each.folder)))
        for original, copies in found.copies
        for each in copies
    )
    return replace(found, parted=tuple((folder, where) for folder, where in parted if where))


def row(each: Looked, basis: Basis) -> Row:
    """The row of one session, read and verified anew."""
    from assistant.cli.session_sources import sources_of
    from assistant.replay.overview import row_of
    from assistant.replay.record import joint_record

    try:
        sources = sources_of(each.folder, basis=basis)
        signer = sources.report.signer if sources.report is not None else ""
        record = joint_record(sources)
    except BadSession as bad:
        return unreadable(str(each.folder), bad.message)
    return row_of(record, folder=str(each.folder), first=each.first, last=each.last, signer=signer)


def _read_all(fresh: Sequence[Looked], basis: Basis) -> Iterator[Row]:
    """Rows read anew, in order, on all cores where there are many; progress on a terminal."""
    cores = os.cpu_count() or 1
    if len(fresh) < MANY or cores == 1:
        for at, each in enumerate(fresh, start=1):
            _progress(at, len(fresh))
            yield row(each, basis)
    else:
        with ProcessPoolExecutor(cores, initializer=_judge_by, initargs=(basis,)) as pool:
            found = pool.map(_row, fresh, chunksize=4)
            for at, each_row in enumerate(found, start=1):
                _progress(at, len(fresh))
                yield each_row
    _progress(0, 0)


_judged_by: list[Basis] = []
"""What a process of the pool judges by; a register may be long, so it is handed over once."""


def _judge_by(basis: Basis) -> None:
    _judged_by[:] = [basis]


def _row(each: Looked) -> Row:
    return row(each, _judged_by[0])


def _progress(at: int, of: int) -> None:
    if sys.stderr.isatty() and of > MANY:
        print(f"\r\033[Kreading session {at} of {of} ...", end="", file=sys.stderr, flush=True)
    elif sys.stderr.isatty() and not of:
        print("\r\033[K", end="", file=sys.stderr, flush=True)


def _wanting(row: Row, now: datetime) -> bool:
    from assistant.replay.overview import standing

    return row.verdict in ("untrusted", "to-decide", "to-redo") or any(standing(due, now)[0] == 0 for due in row.due)


def document(found: Overview, now: datetime) -> dict[str, object]:
    """The table as one JSON document."""
    from assistant.replay.overview import due_words, standing

    words = ("overdue", "due", "later")

    def shown(row: Row) -> dict[str, object]:
        dues = [
            {"what": due.what, "from_utc": due.from_utc or None, "until_utc": due.until_utc or None}
            | {"standing": words[standing(due, now)[0]], "words": due_words(due, now)}
            for due in row.due
        ]
        return {"session": row.folder} | {k: v for k, v in row.as_json().items() if k != "folder"} | {"due": dues}

    return {
        "now_utc": now.isoformat(timespec="seconds"),
        "sessions": [shown(row) for row in found.work],
        "rehearsals": [shown(row) for row in found.played],
        "copies": [{"session": a.folder, "copies": [row.folder for row in same]} for a, same in found.copies],
        "parted": [{"session": name, "from": where} for name, where in found.parted],
        "vanished": list(found.vanished),
        "register_trouble": found.register_trouble or None,
    }


def _write(file: Path, found: Overview, now: datetime, title: str, language: str) -> None:
    from assistant.report.overview_text import overview_html

    write(file, overview_html(found, now=now, title=title, language=language).encode("utf-8"), "--html")
    print(f"written: {file}", file=sys.stderr)
