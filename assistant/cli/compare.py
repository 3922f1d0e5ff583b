"""`assistant compare`: two sessions side by side."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant.cli.files import not_inside, write
from assistant.cli.session_sources import record_of
from assistant.config.settings import read_settings
from assistant.replay.comparison import compare, recheck_beside
from assistant.report.comparison_text import comparison_html, comparison_text

DESCRIPTION = "Set two sessions side by side."
EPILOG = """\
The first tightening against a re-check, or two joints of one design: facts, the last torque of each bolt with its
change, and each pass. Of one session alone, its re-check is set beside its first tightening. Bolts belong together by
group name and number. A line marked * differs.

examples:
  assistant compare sessions/20261125T101500Z-pump-2-discharge-flange
  assistant compare sessions/20261125T101500Z-pump-2-discharge-flange sessions/20261126T091000Z-pump-2-discharge-flange
  assistant compare FIRST SECOND --html comparison.html

exit codes: 0 done, 2 one of them is not a session
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("first", metavar="SESSION", type=Path, help="a session folder")
    parser.add_argument(
        "second", metavar="SESSION", type=Path, nargs="?", help="another; left out, the re-check of the first one"
    )
    parser.add_argument("--json", action="store_true", help="print the comparison as one JSON document")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write the comparison as one HTML page")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print or write the comparison; raises BadSession where one is no session."""
    language = read_settings().language
    first = record_of(args.first)
    found = recheck_beside(first) if args.second is None else compare(first, record_of(args.second))
    if args.html is not None:
        for session in (each for each in (args.first, args.second) if each is not None):
            not_inside(session, args.html, "--html")
        path = write(args.html, comparison_html(found, language=language).encode("utf-8"), "--html")
    if args.json:
        print(found.model_dump_json(indent=2))
    elif args.html is not None:
        print(f"written: {path}")
    else:
        print(comparison_text(found, language=language), end="")
    return 0
