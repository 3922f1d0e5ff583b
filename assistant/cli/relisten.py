"""`assistant relisten`: today's listeners over a session's stored audio."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant.cli.hear_again import hear_again

DESCRIPTION = "Run today's listeners over a session's stored audio."
EPILOG = """\
Each utterance is heard again within the grammar of the state in which it was said. What is recorded stays as it is.
A line marked ! was recorded as one thing and is surely heard as another today: listen to it yourself.

examples:
  assistant relisten sessions/20261125T101500Z-pump-2-discharge-flange
  assistant relisten SESSION --all --json

exit codes: 0 nothing recorded is surely heard as something else today, 1 something is, 2 not a session,
3 no listener is there
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("session", metavar="SESSION", type=Path, help="a session folder")
    parser.add_argument("--all", action="store_true", help="also what is heard as before")
    parser.add_argument("--json", action="store_true", help="print one JSON document, every utterance in it")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Hear a session again; as `hear_again`."""
    return hear_again(args.session, everything=args.all, as_json=args.json)
