"""`assistant archive`: many sessions as tables; ready questions, and SQL for those who want it."""

from __future__ import annotations

import argparse
import contextlib
import json
import multiprocessing
import os
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import platformdirs

from assistant.cli import hand_in, hear_many
from assistant.cli.files import write
from assistant.cli.keys import basis_text, own_basis, registered_texts
from assistant.config import paths
from assistant.errors import BadSession, BadSettings
from assistant.journal.clock import utc_now
from assistant.journal.courses import course_of, parting
from assistant.journal.keyring import Basis
from assistant.journal.sessions import SEAL_NAME, session_folders, slug_in
from assistant.replay.overview_cache import Looked, keys_of, look
from assistant.report.printable import printable

if TYPE_CHECKING:
    from assistant.archive.store import Added, Held, Store
    from assistant.archive.tables import Gathered

BATCH = 100
"""Sessions that are taken in at once; a stop loses at most the work on one batch."""
POOL_FROM = 60
"""Sessions from which on all processor cores share them; fewer are done before further processes have begun."""
AHEAD = timedelta(minutes=5)
"""How far a session may lie ahead of this machine's clock."""
NAMES = (
    *("due", "decisions", "repeats", "rounds", "drift", "relaxation", "pace", "questions", "calibration"),
    *("people", "relisten"),
)
"""The ready questions, for --help without loading them; a test holds them to `questions.QUESTIONS`."""

DESCRIPTION = "Keep many sessions as tables, and ask them."
EPILOG = f"""\
questions: {", ".join(NAMES)}

`add` verifies each session, takes in what can be trusted and names the rest with the reason; rehearsals only with
--rehearsals, and they never count in an answer. Adding again is harmless: what is known is passed over, what went on
since takes the place of its earlier rows. Session folders are only read. No name of a person is taken in but those
given with --person, each of somebody who agreed.

--archive names a folder, or a site's shared PostgreSQL database: postgresql://HOST/NAME

examples:
  assistant archive add sessions/
  assistant archive ask due
  assistant archive ask drift --html drift.html
  assistant archive sql "SELECT kind, count(*) FROM sessions GROUP BY kind"

It needs more than the assistant itself: .venv/bin/python -m pip install 'bolting-assistant[archive]'

exit codes: 0 done, 1 a session was set aside, 2 bad input, 3 a package is missing, 4 the archive cannot be written
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    acts = parser.add_subparsers(title="acts", metavar="ACT", required=True)
    add = acts.add_parser("add", help="take in all sessions of folders")
    add.add_argument("folders", metavar="FOLDER", nargs="+", type=Path, help="a folder of sessions, or one session")
    add.add_argument("--rehearsals", action="store_true", help="take in rehearsals and practices too, kept apart")
    add.add_argument("--sound", action="store_true", help="copy the recordings too; they are people's voices")
    add.add_argument("--person", action="append", default=[], metavar="NAME", help="somebody who agreed to own figures")
    add.set_defaults(run=_add)
    ask = acts.add_parser("ask", help="answer a ready question")
    ask.add_argument("question", metavar="QUESTION", choices=NAMES, help=", ".join(NAMES))
    ask.add_argument("--csv", action="store_true", help="print a table for a spreadsheet")
    ask.add_argument("--html", metavar="FILE", type=Path, help="write one page, with pictures")
    ask.add_argument("--plot", metavar="FILE", type=Path, help="write the pictures alone, as SVG")
    ask.set_defaults(run=_ask)
    sql = acts.add_parser("sql", help="run one query on the documented views (.docs/archive.md)")
    sql.add_argument(
        "query", metavar="QUERY", help="SQL as the archive understands it; nothing outside the archive is reached"
    )
    sql.set_defaults(run=_sql)
    hand_in.register(acts)
    hear_many.register(acts, _relisten)
    for act in (add, ask, sql):
        act.add_argument(
            "--archive", metavar="ARCHIVE", help="a folder or a postgresql:// address (left out: your own)"
        )
        act.add_argument("--json", action="store_true", help="print one JSON document and nothing else")


def run(args: argparse.Namespace) -> int:
    """Run one act. Returns its exit code."""
    return int(args.run(args))


def store_of(args: argparse.Namespace, *, there: bool) -> Store:
    """The archive that is meant.

    Args:
        there: it must have been made before.

    Raises:
        BadSettings: it is not there, or is none.
        ModelMissing: its engine is not installed.
    """
    from assistant.archive.postgres import SCHEMES, Database
    from assistant.archive.store import Archive

    if args.archive is not None and args.archive.startswith(SCHEMES):
        return Database(args.archive)
    named = args.archive and Path(args.archive)
    folder = named or Path(platformdirs.user_data_dir(paths.NAME, appauthor=False)) / "archive"
    if there and not folder.is_dir():
        raise BadSettings(f"{folder}: there is no archive", remedy="make one: assistant archive add FOLDER")
    return Archive(folder)


# ------------------------------------------------------------------------------------------------------------------ add
@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """By what sessions are taken in.

    Args:
        basis: the keys that count as known.
        now: aware.
        known: content hash of each session that is in the archive.
        rehearsals: take those in too.
        agreed: names of people who agreed to figures of their own.
    """

    basis: Basis
    now: datetime
    known: dict[str, str] = field(default_factory=dict)
    rehearsals: bool = False
    agreed: frozenset[str] = frozenset()


def _add(args: argparse.Namespace) -> int:
    from assistant.archive.store import Added

    store, basis = store_of(args, there=False), own_basis()
    counting = store.contents()
    terms = Terms(
        basis=basis,
        now=utc_now(),
        known={session: there.content for session, there in counting.items()},
        rehearsals=args.rehearsals,
        agreed=frozenset(args.person),
    )
    looked = furthest_first(_sessions_in(args.folders))
    agreed = f"people {sorted(terms.agreed)}" if terms.agreed else ""
    contents = contents_of(looked, basis, agreed)
    aside: list[tuple[Path, str]] = []
    total = Added()
    passed_over = 0
    batch: list[Gathered] = []
    with _many(terms, len(looked)) as all_taken:
        for at, (each, found) in enumerate(all_taken([(each, contents[each.folder]) for each in looked]), start=1):
            _progress(at, len(looked))
            if isinstance(found, str):
                aside.append((each.folder, found))
            elif found is None:
                passed_over += 1
            elif why := otherwise(found, counting):
                aside.append((each.folder, why))
            else:
                batch.append(found)
            if len(batch) == BATCH or at == len(looked):
                total += store.add(batch, sound=args.sound)
                batch = []
    _progress(0, 0)
    return _said(args, total, passed_over, aside)


def _said(args: argparse.Namespace, total: Added, passed_over: int, aside: Sequence[tuple[Path, str]]) -> int:
    known = total.known + passed_over
    if args.json:
        document = {
            "new": total.new,
            "renewed": total.renewed,
            "known": known,
            "recordings": total.recordings,
            "set_aside": [{"session": str(folder), "reason": why} for folder, why in aside],
        }
        print(json.dumps(document, indent=2))
    else:
        print(f"{total.new} new, {total.renewed} renewed, {known} known or rehearsals, {len(aside)} set aside")
        for folder, why in aside:
            print(printable(f"set aside: {folder.name}: {why}"))
    return 1 if aside else 0


def _sessions_in(folders: Sequence[Path]) -> Iterator[Looked]:
    """Each session folder once, with its hashes."""
    seen: set[Path] = set()
    for folder in folders:
        if not folder.is_dir():
            raise BadSettings(f"{folder} is not a folder", remedy="name a folder of sessions")
        alone = (folder / "journal.jsonl").exists()
        for session in [folder] if alone else session_folders(folder):
            whole = session.resolve()
            if whole not in seen:
                seen.add(whole)
                yield look(whole)


def furthest_first(looked: Iterable[Looked]) -> list[Looked]:
    """In order; copies of one session stand together, the sealed one first, then the one that came furthest."""
    by_first: dict[str, list[Looked]] = defaultdict(list)
    for each in looked:
        by_first[each.first or str(each.folder)].append(each)
    for same in by_first.values():
        same.sort(key=lambda each: ((each.folder / SEAL_NAME).exists(), each.lines), reverse=True)
    return [each for same in by_first.values() for each in same]


def otherwise(found: Gathered, counting: dict[str, Held]) -> str:
    """Why a copy of a session that counts already is set aside; "" where it tells the same course, as far as it goes.

    Args:
        counting: what counts; `found` is added where it goes on from that.
    """
    from assistant.archive.store import held

    there, here = counting.get(found.session), Path(found.path)
    if there is None:
        counting[found.session] = held(found)
        return ""
    beside = Path(there.path)
    course = course_of(beside)
    where = parting(beside, here)
    if where and course[:1] == (found.session,):
        return f"it and {beside} are copies of one session, but differ from {where} on; the archive counts that one"
    if there.last in {"", *found.course}:
        if found.lines >= there.lines:
            counting[found.session] = held(found)
        return ""
    if {there.last, held(found).last} <= set(course):
        return ""
    return (
        f"the archive counts another copy of this session, from {beside}, whose last line is not in this one; that "
        "folder is not there any more as it was, so that they could not be compared"
    )


def contents_of(looked: Sequence[Looked], basis: Basis, more: str = "") -> dict[Path, str]:
    """By session folder, the hash over all that decides its rows; the other sessions on its joint beside it, too."""
    by_parent: dict[Path, dict[Path, Looked]] = defaultdict(dict)
    for each in looked:
        by_parent[each.folder.parent][each.folder] = each
    text = basis_text(basis) + more
    contents: dict[Path, str] = {}
    for parent, named in by_parent.items():
        slugs = {slug_in(folder.name) for folder in named}
        beside = [
            look(folder) for folder in session_folders(parent) if folder not in named and slug_in(folder.name) in slugs
        ]
        contents |= keys_of([*named.values(), *beside], basis=text, registered=registered_texts(basis))
    return contents


def taken(each: Looked, content: str, terms: Terms) -> Gathered | str | None:
    """One session for the archive.

    Args:
        each: the session.
        content: hash over all that decides its rows.

    Returns:
        Its rows; None where they are in the archive already or where it is a rehearsal that is not wanted; the reason
        where it is set aside.
    """
    from assistant.archive.tables import gathered
    from assistant.cli.session_sources import sources_of
    from assistant.replay.facts import read_facts
    from assistant.replay.overview import row_of
    from assistant.replay.record import joint_record

    if not each.first:
        return "there is no line of a journal in it"
    if terms.known.get(each.first) == content:
        return None
    try:
        sources = sources_of(each.folder, basis=terms.basis)
        facts = read_facts(sources.beginning.entries)
        record = joint_record(sources, facts)
    except BadSession as bad:
        return bad.message
    signer = sources.report.signer if sources.report is not None else ""
    row = row_of(record, folder=str(each.folder), first=each.first, last=each.last, signer=signer)
    if record.distrust:
        return record.distrust[0]
    ends = [step.utc for step in facts.steps[-1:]]
    if any(end > terms.now + AHEAD for end in ends):
        return f"it is dated in the future: {max(ends):%Y-%m-%d %H:%M} UTC"
    if row.how and not terms.rehearsals:
        return None
    return gathered(record, facts, row, content=content, agreed=terms.agreed)


_terms: list[Terms] = []
"""What a process of the pool goes by; a register may be long, so it is handed over once."""
_Taken = Iterator[tuple["Looked", "Gathered | str | None"]]


@contextlib.contextmanager
def _many(terms: Terms, number: int) -> Iterator[Callable[[Sequence[tuple[Looked, str]]], _Taken]]:
    """Takes sessions in order; on all processor cores where there are many."""
    cores = os.cpu_count() or 1
    if number < POOL_FROM or cores == 1:
        yield lambda wanted: ((each, taken(each, content, terms)) for each, content in wanted)
        return
    fresh = multiprocessing.get_context("spawn")  # the database's engine has threads, which no fork may copy
    with ProcessPoolExecutor(cores, mp_context=fresh, initializer=_go_by, initargs=(terms,)) as pool:
        try:
            yield lambda wanted: pool.map(_taken, wanted, chunksize=8)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _go_by(terms: Terms) -> None:
    _terms[:] = [terms]


def _taken(wanted: tuple[Looked, str]) -> tuple[Looked, Gathered | str | None]:
    return wanted[0], taken(*wanted, _terms[0])


def _progress(at: int, of: int) -> None:
    if sys.stderr.isatty():
        print(f"\r\033[Ksession {at} of {of} ..." if of else "\r\033[K", end="", file=sys.stderr, flush=True)


# ------------------------------------------------------------------------------------------------------------------ ask
def _ask(args: argparse.Namespace) -> int:
    from assistant.archive.answer_pages import answer_csv, answer_html, answer_svg, answer_text
    from assistant.archive.questions import QUESTIONS

    with store_of(args, there=True).connection() as found:
        answer = QUESTIONS[args.question](found, utc_now())
    for option, file, make in (("--html", args.html, answer_html), ("--plot", args.plot, answer_svg)):
        if file is not None:
            write(file, make(answer).encode("utf-8"), option)
            print(f"written: {file}", file=sys.stderr)
    if args.json:
        rows = [dict(zip(answer.heads, map(_plain, row), strict=True)) for row in answer.rows]
        print(json.dumps({"question": args.question, "rows": rows, "notes": answer.notes}, indent=2))
    elif args.csv:
        print(answer_csv(answer), end="")
    elif args.html is None and args.plot is None:
        print(answer_text(answer), end="")
    return 0


def _relisten(args: argparse.Namespace) -> int:
    return hear_many.hear_archive(args, store_of(args, there=True))


def _sql(args: argparse.Namespace) -> int:
    from assistant.archive.answer_pages import answer_text
    from assistant.archive.questions import Answer

    store = store_of(args, there=True)
    with store.connection(shut=True) as found:
        try:
            cursor = found.execute(args.query, [])
            heads = tuple(column[0] for column in cursor.description or ())
            rows = cursor.fetchall()
        except store.errors as error:
            raise BadSettings(f"sql: {error}", remedy="the views and their columns: .docs/archive.md") from None
    if args.json:
        print(json.dumps([dict(zip(heads, map(_plain, row), strict=True)) for row in rows], indent=2))
    else:
        print(answer_text(Answer(title="rows", heads=heads, rows=tuple(rows))), end="")
    return 0


def _plain(value: Any) -> Any:
    return value if value is None or isinstance(value, str | int | float | bool) else str(value)
