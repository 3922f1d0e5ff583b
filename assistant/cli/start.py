"""`assistant start`: the main job. By voice where microphone and loudspeaker are there, else as a rehearsal."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from types import ModuleType

from assistant.cli import guide, rehearse
from assistant.config.paths import shipped
from assistant.config.settings import read_settings
from assistant.devices.checks import sound_checks

DEMO = "north-sluice-dn150-flange.toml"
DESCRIPTION = "Guide a joint hands-free; without a microphone or loudspeaker, rehearse it."
EPILOG = """\
examples:
  assistant start
  assistant start demo_joints/north-sluice-dn150-flange.toml
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument(
        "joint",
        metavar="JOINT",
        nargs="?",
        type=Path,
        default=shipped("demo_joints") / DEMO,
        help="a joint file (TOML); left out: the demo flange",
    )
    parser.add_argument("--sessions", type=Path, metavar="FOLDER", help="folder of all sessions")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Start whichever is possible, and say which and why."""
    options = ["--sessions", str(args.sessions)] if args.sessions is not None else []
    reason = missing_hardware()
    if reason is None:
        print("Microphone and loudspeaker are there: the hands-free session. Say 'help' at any time.", file=sys.stderr)
        return _run(guide, [str(args.joint), *options])
    print(f"No hands-free session here: {reason}", file=sys.stderr)
    print("Rehearsal instead: a simulated technician speaks through the real loop, 10 dB over a fan.", file=sys.stderr)
    return _run(rehearse, [str(args.joint), "--fast", "--snr", "10", *options])


def missing_hardware() -> str | None:
    """Why there is no hands-free session on this machine; None when there can be one."""
    settings = read_settings()
    for check in sound_checks(microphone=settings.microphone, loudspeaker=settings.loudspeaker):
        if not check.good:  # opened, not only looked for: a device in use, or a server that is gone, is listed too
            return f"{check.message} ({check.remedy})"
    return None


def _run(command: ModuleType, arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="assistant")
    command.register(parser)
    args = parser.parse_args(arguments)
    return int(args.run(args))
