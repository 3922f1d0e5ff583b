"""The command line: one parser, one catcher of errors, exit codes as README lists them."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence

from assistant import __version__
from assistant.cli import devices, guide, hear, plan, rehearse, replay, start, torque, verify
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
COMMANDS = (start, plan, guide, rehearse, hear, replay, verify, torque, devices)


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    whole = argparse.ArgumentParser(
        prog="assistant", description=DESCRIPTION, epilog=EPILOG, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    whole.add_argument("--version", action="version", version=f"assistant {__version__}")
    commands = whole.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for module in COMMANDS:
        module.register(commands)
    return whole


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        arguments: without the program's name; None takes those of the process.

    Returns:
        The exit code. Only our own faults escape as exceptions.
    """
    args = parser().parse_args(arguments)
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
