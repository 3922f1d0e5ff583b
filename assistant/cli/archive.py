"""`assistant archive`: many sessions as tables; ready questions, and SQL for those who want it."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import platformdirs

from assistant.cli.keys import own_basis
from assistant.config import paths
from assistant.errors import BadSession, BadSettings
from assistant.journal.clock import utc_now
from assistant.journal.keyring import Basis
from assistant.journal.sessions import session_folders

if TYPE_CHECKING:
    from assistant.archive.tables import Gathered

BATCH = 100
"""Sessions that are taken in at once; a stop loses at most the work on one batch."""
AHEAD = timedelta(minutes=5)
"""How far a session may lie ahead of this machine's clock."""
NAMES = ("due", "decisions", "repeats", "rounds", "drift", "relaxation", "pace", "questions", "calibration")
"""The ready questions, for --help without loading them; a test holds them to `questions.QUESTIONS`."""

EPILOG = f"""\
questions: {", ".join(NAMES)}

`add` verifies each session, takes in what can be trusted and names the rest with the reason; rehearsals only with
--rehearsals, and they never count in an answer. Adding again is harmless: what is known is passed over, what went on
since takes the place of its earlier rows. Session folders are only read. No name of a person is taken in.

examples:
  assistant archive add sessions/
  assistant archive ask due
  assistant archive ask drift --html drift.html
  assistant archive sql "SELECT kind, count(*) FROM sessions GROUP BY kind"

It needs DuckDB: .venv/bin/python -m pip install 'duckdb>=1.1'

exit codes: 0 done, 1 a session was set aside, 2 bad input, 3 DuckDB is missing, 4 the archive cannot be written
"""


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to `assistant`'s own."""
    parser = subparsers.add_parser(
        "archive",
        help="many sessions as tables: add them, ask ready questions, SQL",
        description="Keep many sessions as tables, and ask them.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    acts = parser.add_subparsers(title="acts", metavar="ACT", required=True)
    add = acts.add_parser("add", help="take in all sessions of folders")
    add.add_argument("folders", metavar="FOLDER", nargs="+", type=Path, help="a folder of sessions, or one session")
    add.add_argument("--rehearsals", action="store_true", help="take in rehearsals and practices too, kept apart")
    add.add_argument("--sound", action="store_true", help="copy the recordings too; they are people's voices")
    add.set_defaults(run=_add)
    ask = acts.add_parser("ask", help="answer a ready question")
    ask.add_argument("question", metavar="QUESTION", choices=NAMES, help=", ".join(NAMES))
    form = ask.add_mutually_exclusive_group()
    form.add_argument("--csv", action="store_true", help="print a table for a spreadsheet")
    form.add_argument("--html", metavar="FILE", type=Path, help="write one page, with charts")
    ask.set_defaults(run=_ask)
    sql = acts.add_parser("sql", help="run one query on the documented views (.docs/archive.md)")
    sql.add_argument(
        "query", metavar="QUERY", help="SQL as DuckDB understands it; nothing outside the archive is reached"
    )
    sql.set_defaults(run=_sql)
    for act in (add, ask, sql):
        act.add_argument("--archive", metavar="FOLDER", type=Path, help="the archive (left out: your own)")
        act.add_argument("--json", action="store_true", help="print one JSON document and nothing else")


def run(args: argparse.Namespace) -> int:
    """Run one act. Returns its exit code."""
    return int(args.run(args))


def folder_of(args: argparse.Namespace) -> Path:
    """The archive that is meant."""
    return args.archive or Path(platformdirs.user_data_dir(paths.NAME, appauthor=False)) / "archive"


# ------------------------------------------------------------------------------------------------------------------ add
def _add(args: argparse.Namespace) -> int:
    from assistant.archive.store import Added, Archive

    archive, basis, now = Archive(folder_of(args)), own_basis(), utc_now()
    folders = list(_sessions_in(args.folders))
    aside: list[tuple[Path, str]] = []
    total = Added()
    known = archive.contents()
    passed_over = 0
    for start in range(0, len(folders), BATCH):
        batch: list[Gathered] = []
        for at, folder in enumerate(folders[start : start + BATCH], start=start + 1):
            _progress(at, len(folders))
            found = taken(folder, basis, now=now, known=known, rehearsals=args.rehearsals)
            if isinstance(found, str):
                aside.append((folder, found))
            elif found is None:
                passed_over += 1
            else:
                batch.append(found)
        done = archive.add(batch, sound=args.sound)
        total = Added(
            new=total.new + done.new,
            renewed=total.renewed + done.renewed,
            known=total.known + done.known,
            recordings=total.recordings + done.recordings,
        )
    _progress(0, 0)
    return _said(args, total, passed_over, aside)


def _said(args: argparse.Namespace, total: Any, passed_over: int, aside: Sequence[tuple[Path, str]]) -> int:
    if args.json:
        document = {
            "new": total.new,
            "renewed": total.renewed,
            "known": total.known + passed_over,
            "recordings": total.recordings,
            "set_aside": [{"session": str(folder), "reason": why} for folder, why in aside],
        }
        print(json.dumps(document, indent=2))
    else:
        known = total.known + passed_over
        print(f"{total.new} new, {total.renewed} renewed, {known} known or rehearsals, {len(aside)} set aside")
        for folder, why in aside:
            print(f"set aside: {folder.name}: {why}")
    return 1 if aside else 0


def _sessions_in(folders: Sequence[Path]) -> Iterator[Path]:
    for folder in folders:
        if not folder.is_dir():
            raise BadSettings(f"{folder} is not a folder", remedy="name a folder of sessions")
        if (folder / "journal.jsonl").exists():
            yield folder
        else:
            yield from session_folders(folder)


def taken(
    folder: Path, basis: Basis, *, now: datetime, known: dict[str, tuple[str, int]], rehearsals: bool
) -> Gathered | str | None:
    """One session for the archive.

    Args:
        folder: of the session.
        basis: the keys that count as known.
        now: aware.
        known: content hash and lines of each session that is in the archive.
        rehearsals: take those in too.

    Returns:
        Its rows; None where they are in the archive already or where it is a rehearsal that is not wanted; the reason
        where it is set aside.
    """
    from assistant.archive.tables import gathered
    from assistant.cli.session_sources import sources_of
    from assistant.replay.facts import read_facts
    from assistant.replay.overview import row_of
    from assistant.replay.overview_cache import look
    from assistant.replay.record import joint_record

    looked = look(folder)
    if not looked.first:
        return "there is no line of a journal in it"
    if known.get(looked.first, ("", 0))[0] == looked.own:
        return None
    try:
        sources = sources_of(folder, basis=basis)
        facts = read_facts(sources.beginning.entries)
        record = joint_record(sources, facts)
    except BadSession as bad:
        return bad.message
    signer = sources.report.signer if sources.report is not None else ""
    row = row_of(record, folder=str(folder.resolve()), first=looked.first, last=looked.last, signer=signer)
    if record.distrust:
        return record.distrust[0]
    ends = [step.utc for step in facts.steps[-1:]]
    if any(end > now + AHEAD for end in ends):
        return f"it is dated in the future: {max(ends):%Y-%m-%d %H:%M} UTC"
    if row.how and not rehearsals:
        return None
    return gathered(record, facts, row, content=looked.own)


def _progress(at: int, of: int) -> None:
    if sys.stderr.isatty():
        print(f"\r\033[Ksession {at} of {of} ..." if of else "\r\033[K", end="", file=sys.stderr, flush=True)


# ------------------------------------------------------------------------------------------------------------------ ask
def _ask(args: argparse.Namespace) -> int:
    from assistant.archive.answer_html import answer_csv, answer_html, answer_text
    from assistant.archive.questions import QUESTIONS
    from assistant.archive.store import Archive

    with Archive(_there(folder_of(args))).connection() as found:
        answer = QUESTIONS[args.question](found, utc_now())
    if args.html is not None:
        try:
            args.html.write_text(answer_html(answer), encoding="utf-8")
        except OSError as error:
            why = error.strerror or str(error)
            raise BadSettings(f"--html: {args.html} cannot be written: {why}", remedy="name another file") from None
        print(f"written: {args.html}", file=sys.stderr)
    if args.json:
        rows = [dict(zip(answer.heads, map(_plain, row), strict=True)) for row in answer.rows]
        print(json.dumps({"question": args.question, "rows": rows, "notes": answer.notes}, indent=2))
    elif args.csv:
        print(answer_csv(answer), end="")
    elif args.html is None:
        print(answer_text(answer), end="")
    return 0


def _sql(args: argparse.Namespace) -> int:
    from assistant.archive.answer_html import answer_text
    from assistant.archive.questions import Answer
    from assistant.archive.store import Archive

    with Archive(_there(folder_of(args))).connection(shut=True) as found:
        import duckdb

        try:
            cursor = found.execute(args.query)
            heads = tuple(column[0] for column in cursor.description or ())
            rows = cursor.fetchall()
        except duckdb.Error as error:
            raise BadSettings(f"sql: {error}", remedy="the views and their columns: .docs/archive.md") from None
    if args.json:
        print(json.dumps([dict(zip(heads, map(_plain, row), strict=True)) for row in rows], indent=2))
    else:
        print(answer_text(Answer(title="rows", heads=heads, rows=tuple(rows))), end="")
    return 0


def _there(folder: Path) -> Path:
    if not folder.is_dir():
        raise BadSettings(f"{folder}: there is no archive", remedy="make one: assistant archive add FOLDER")
    return folder


def _plain(value: Any) -> Any:
    return value if value is None or isinstance(value, str | int | float | bool) else str(value)
