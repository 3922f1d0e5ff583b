"""The command line: one parser, one catcher of errors, exit codes as .docs/using.md lists them."""

from __future__ import annotations

import argparse
import contextlib
import importlib
import json
import sys
from collections.abc import Sequence

from assistant import __version__
from assistant.cli.screen import screens
from assistant.errors import AssistantError, BadSettings

DESCRIPTION = """\
Offline, hands-free spoken assistant that guides a bolt-tightening sequence and keeps its record.

The manufacturer's instruction, site rules and local codes come first. It does not replace a competent person. Lock-out
is the people's own act: it is only asked about and recorded. It is not an alarm. Never trust a heard number that you
did not say.
"""
EPILOG = """\
exit codes: 0 done, 1 the answer is no (joint not complete, verify found something), 2 bad input,
3 a device or model is missing, 4 interrupted but safely stored

examples:
  assistant start                          guide the demo flange, or rehearse it where there is no microphone
  assistant new --kind "gasketed flange"   write a joint file of your own
  assistant guide JOINT.toml               the hands-free session
  assistant sessions                       what is finished, due and waiting, over all sessions
  assistant COMMAND --help                 each command, with examples
"""
COMMANDS = {
    "start": "the hands-free session where there is sound hardware, else the rehearsal",
    "plan": "check a joint file and print its plan",
    "new": "write a joint file to start from",
    "joints": "list joint files and whether each can be used",
    "guide": "guide a joint hands-free; resumes an unfinished session",
    "rehearse": "let a simulated technician speak a whole joint through the real loop",
    "practise": "two minutes to learn to talk to it; what is kept of a person",
    "hear": "say what is understood in recordings",
    "replay": "print the conversation of a session and where it stands",
    "record": "make the joint record of a session: PDF, CSV, JSON",
    "review": "comment on, accept, send back or sign a session",
    "compare": "set two sessions side by side",
    "relisten": "hear a session's stored audio again and say what differs",
    "sessions": "list sessions: verdict, what is due, what is to be decided",
    "archive": "many sessions as tables: add them, ask ready questions, SQL",
    "verify": "check that session folders are what was recorded",
    "key": "show, export, add and revoke the keys that this machine trusts",
    "witness": "let a second machine sign how far a session had come",
    "forget": "erase the sound of sessions; the record stays whole without it",
    "torque": "torque, preload and stress of one bolt",
    "devices": "say what microphone, loudspeaker, voices and listeners are there",
    "settings": "show every setting and where its value comes from",
    "completion": "print the completion script of a shell",
}
"""Name and help of each command. Each is a module of this room with `DESCRIPTION`, `EPILOG` and `register`, loaded when
it is named.
"""


SPOKEN = ("guide", "rehearse", "practise", "start")
"""Commands that are done by voice, so that they go on when the screen goes away."""


def parser(first: str = "") -> argparse.ArgumentParser:
    """The command line; where `first` names a command, only that one is loaded (the engines of others take a while).

    Without one, the commands are listed with their help and no options: that is all that `assistant --help` shows.
    """
    whole = argparse.ArgumentParser(
        prog="assistant", description=DESCRIPTION, epilog=EPILOG, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    whole.add_argument("--version", action=_Version, help="version and digests of program, procedures and models")
    commands = whole.add_subparsers(title="commands", metavar="COMMAND", required=True)
    if first in COMMANDS:
        add_command(commands, first)
    else:
        for name, text in COMMANDS.items():
            commands.add_parser(name, help=text)
    return whole


def add_command(commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str) -> argparse.ArgumentParser:
    """The parser of one command with its options, added to the others; loads the command's module."""
    module = importlib.import_module(f"assistant.cli.{name}")
    made = commands.add_parser(
        name,
        help=COMMANDS[name],
        description=module.DESCRIPTION,
        epilog=module.EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    module.register(made)
    return made


class _Version(argparse.Action):
    """Prints version and digests; they are reckoned only when asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str, help: str | None = None) -> None:
        super().__init__(option_strings, dest=argparse.SUPPRESS, nargs=0, help=help)
        del dest

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from assistant.config import paths, program

        lines = (
            f"assistant {__version__}",
            f"program    {program.program_digest()}",
            f"procedures {program.procedures_digest()}",
            f"models     {program.models_digest()}  ({paths.models_folder()})",
        )
        print("\n".join(lines))
        parser.exit(0)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        arguments: without the program's name; None takes those of the process.

    Returns:
        The exit code. Only our own faults escape as exceptions.
    """
    given = sys.argv[1:] if arguments is None else list(arguments)
    try:
        args = _parsed(given)
        spoken = given[0] in SPOKEN
        with screens(raw=bool(getattr(args, "board", False)), lasting=spoken):
            return _run(args)
    except BrokenPipeError:
        return 0  # whoever read our output has seen enough
    except BadSettings as error:  # the output itself refuses
        with contextlib.suppress(OSError):
            _show(error, as_json=False)
        return error.exit_status


def _parsed(given: Sequence[str]) -> argparse.Namespace:
    with screens(raw=False, lasting=False):
        try:
            return parser(given[0] if given else "").parse_args(given)
        except SystemExit:
            sys.stdout.flush()  # help and version were asked for: that they cannot be written is an error like others
            raise


def _run(args: argparse.Namespace) -> int:
    try:
        return int(args.run(args))
    except AssistantError as error:
        _show(error, as_json=bool(getattr(args, "json", False)))
        return error.exit_status


def _show(error: AssistantError, *, as_json: bool) -> None:
    if as_json:
        print(json.dumps({"error": {"code": error.code, "message": error.message, "remedy": error.remedy}}, indent=2))
    print(f"{error.message}\n  {error.remedy}", file=sys.stderr)
