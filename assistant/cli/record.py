"""`assistant record`: the joint record of a session, for the file and the auditor."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from rich.console import Console

from assistant.cli.files import not_inside, write
from assistant.cli.session_sources import record_of
from assistant.errors import BadSettings
from assistant.replay.record_fields import JointRecord, record_schema
from assistant.replay.verdict import verdict
from assistant.report.printable import printable
from assistant.report.record_csv import record_csv
from assistant.report.record_pdf import record_pdf
from assistant.report.record_text import print_record, record_text
from assistant.report.wording import words_in

DESCRIPTION = "Make the joint record of a session."
EPILOG = """\
Identification, governing instruction, bolts, gasket, tools with calibration, hold points, each bolt's passes with
target, window and what was recorded and how, deviations with reasons, corrections, waits and re-checks, open points,
verification, seals and the lead's review. Made from the session folder alone; what cannot be read is said.
The PDF is archival (PDF/A-3) and carries the JSON and the CSV inside. Times are UTC.

examples:
  assistant record sessions/20261125T101500Z-pump-2-discharge-flange
  assistant record sessions/20261125T101500Z-pump-2-discharge-flange --pdf record.pdf --csv record.csv
  assistant record --schema > record.schema.json

exit codes: 0 the joint is complete or accepted, or a rehearsal was gone through to its end; 1 written, but the
verdict is another one (open, to-decide, to-redo, untrusted); 2 not a session
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("session", metavar="SESSION", nargs="?", type=Path, help="a session folder")
    parser.add_argument("--pdf", metavar="FILE", type=Path, help="write the record as PDF")
    parser.add_argument("--csv", metavar="FILE", type=Path, help="write the record as a table for a spreadsheet")
    parser.add_argument("--json", action="store_true", help="print the record as one JSON document")
    parser.add_argument("--schema", action="store_true", help="print the JSON schema of the record")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print or write the record.

    Returns:
        0 where the verdict is good, 1 where it is not. Raises BadSession where there is no session.
    """
    if args.schema:
        print(json.dumps(record_schema(), indent=2))
        return 0
    if args.session is None:
        raise BadSettings("record: no session named", remedy="Name one: assistant record SESSION, or use --schema.")
    record = record_of(args.session)
    written = _written(record, args)
    if args.json:
        print(record.model_dump_json(indent=2))
    elif written:
        for path in written:
            print(f"written: {path}")
        print(printable(words_in(record.session.language).say(record.verdict_words)))
    elif sys.stdout.isatty():
        print_record(record, Console(highlight=False))
    else:
        print(record_text(record), end="")
    return 0 if verdict(record).good else 1


def _written(record: JointRecord, args: argparse.Namespace) -> list[Path]:
    made = []
    for path, option, content in (
        (args.pdf, "--pdf", record_pdf),
        (args.csv, "--csv", lambda each: record_csv(each).encode("utf-8-sig")),
    ):
        if path is not None:
            not_inside(args.session, path, option)
            made.append(write(path, content(record), option))
    return made
