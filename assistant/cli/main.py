"""The command line: one parser, one catcher of errors, exit codes as README lists them."""

from __future__ import annotations

import argparse
import importlib
import json
import sys
from collections.abc import Sequence

from assistant import __version__
from assistant.errors import AssistantError

DESCRIPTION = """\
Offline, hands-free spoken assistant that guides a bolt-tightening sequence and keeps its record.

The manufacturer's instruction, site rules and local codes come first. It does not replace a competent person. Lock-out
is the people's own act: it is only asked about and recorded. It is not an alarm. Never trust a heard number that you
did not say.
"""
EPILOG = """\
exit codes: 0 done, 1 the answer is no (joint not complete, verify found something), 2 bad input,
3 a device or model is missing, 4 interrupted but safely stored

example:
  assistant plan demo_joints/north-sluice-dn150-flange.toml
"""
COMMANDS = (
    "start",
    "plan",
    "guide",
    "rehearse",
    "hear",
    "replay",
    "record",
    "review",
    "compare",
    "relisten",
    "verify",
    "key",
    "torque",
    "devices",
)
"""Each is a module of this room with `register` and `run`."""


def parser(first: str = "") -> argparse.ArgumentParser:
    """The command line; where `first` names a command, only that one is loaded (the engines of others take a while)."""
    whole = argparse.ArgumentParser(
        prog="assistant", description=DESCRIPTION, epilog=EPILOG, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    whole.add_argument("--version", action="version", version=f"assistant {__version__}")
    commands = whole.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name in [first] if first in COMMANDS else COMMANDS:
        importlib.import_module(f"assistant.cli.{name}").register(commands)
    return whole


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        arguments: without the program's name; None takes those of the process.

    Returns:
        The exit code. Only our own faults escape as exceptions.
    """
    given = sys.argv[1:] if arguments is None else list(arguments)
    args = parser(given[0] if given else "").parse_args(given)
    try:
        return int(args.run(args))
    except AssistantError as error:
        _show(error, as_json=bool(getattr(args, "json", False)))
        return error.exit_status
    except BrokenPipeError:
        return 0  # whoever read our output has seen enough


def _show(error: AssistantError, *, as_json: bool) -> None:
    if as_json:
        print(json.dumps({"error": {"code": error.code, "message": error.message, "remedy": error.remedy}}, indent=2))
    print(f"{error.message}\n  {error.remedy}", file=sys.stderr)
