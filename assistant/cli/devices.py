"""`assistant devices`: what is there to hear, speak and record with, and what to do about what is missing."""

from __future__ import annotations

import argparse
import json

from assistant.cli import house
from assistant.config.settings import Settings, read_settings
from assistant.devices.checks import Check, record_check, sound_checks, tried, voice_checks

EPILOG = """\
Each part is tried, not only looked for: the microphone and loudspeaker are opened, a sentence is rendered, the models
are loaded, the sessions folder is written.

example:
  assistant devices

exit codes: 0 the hands-free session can run, 3 something that it needs is missing
"""


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to `assistant`'s own."""
    parser = subparsers.add_parser(
        "devices",
        help="say what microphone, loudspeaker, voices and listeners are there",
        description="Try every part that a session needs.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document: a list, one object a part")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Try everything.

    Returns:
        0, or 3 when something that a hands-free session needs is missing.
    """
    checks = list(everything_tried(read_settings()))
    if args.json:
        print(json.dumps([check.document() for check in checks], indent=2))
    else:
        for check in checks:
            word = "there" if check.good else "MISSING" if check.needed else "missing"
            print(f"{word:8} {check.part:21} {check.message}")
            if not check.good:
                print(f"{'':31}{check.remedy}")
    return 3 if any(check.needed and not check.good for check in checks) else 0


def everything_tried(settings: Settings) -> list[Check]:
    """All parts, in the order in which a session needs them."""
    voice = house.voice_settings(settings)
    listeners = house.listener_makers(settings)
    found = [tried(f"listener {name}", _made(make), needed=False) for name, make in listeners.items()]
    both = all(check.good for check in found)
    none = not any(check.good for check in found)
    manner = "no listener is there" if none else "both listeners" if both else "one listener: more will be asked"
    return [
        *sound_checks(microphone=settings.microphone, loudspeaker=settings.loudspeaker),
        *voice_checks(voice),
        *found,
        Check(
            part="listening",
            good=not none,
            needed=True,
            message=manner,
            code="model-missing" if none else "",
            remedy="see the listeners above" if none else "",
        ),
        tried("thresholds", lambda: house.thresholds_line(settings), needed=True),
        record_check(house.sessions_folder(settings)),
    ]


def _made(make: house.ListenerMaker) -> house.Attempt:
    def attempt() -> str:
        make()
        return "weights loaded"

    return attempt
