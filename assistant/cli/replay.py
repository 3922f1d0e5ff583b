"""`assistant replay`: the conversation of a session, and where it stands."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant.journal.reading import read_session
from assistant.replay.rebuild import rebuild_state
from assistant.replay.transcript import transcript
from assistant.report.session_text import standing
from assistant.report.transcript_text import text_line

EPILOG = """\
Times are UTC. Behind what was heard stand the decision, its probability, and what each listener made of it.

example:
  assistant replay sessions/20261125T101500Z-pump-2-discharge-flange
"""


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to `assistant`'s own."""
    parser = subparsers.add_parser(
        "replay",
        help="print the conversation of a session and where it stands",
        description="Print who said what, what was heard, how sure, and what was recorded.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("session", metavar="SESSION", type=Path, help="a session folder")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print one session; raises BadSession when it is none."""
    loaded = read_session(args.session)
    for line in transcript(loaded.entries):
        print(text_line(line))
    print()
    for text in standing(rebuild_state(entry.event for entry in loaded.entries)):
        print(text)
    return 0
