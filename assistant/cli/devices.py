"""`assistant devices`: what is there to hear, speak and record with, and what to do about what is missing."""

from __future__ import annotations

import argparse
import json
import sys

from assistant.cli import house
from assistant.config.settings import Settings, read_settings
from assistant.devices.checks import Check, record_check, sound_checks, tried, voice_checks
from assistant.devices.voice_activity import SileroActivity
from assistant.session.sound_test import ADVICE, sound_test
from assistant.speech.wording import catalogue

DESCRIPTION = "Try every part that a session needs."
EPILOG = """\
Each part is tried, not only looked for: the microphone and loudspeaker are opened, a sentence is rendered, the models
are loaded, the sessions folder is written.

With --test it also says a sentence and asks for two spoken numbers: level, noise, whether the microphone hears the
loudspeaker, what was understood, and in one sentence what to change.

examples:
  assistant devices
  assistant devices --test

exit codes: 0 the hands-free session can run, 1 the sound test found something to change, 3 something is missing
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("--json", action="store_true", help="print one JSON document: a list, one object a part")
    parser.add_argument("--test", action="store_true", help="a spoken test of level, noise, echo and understanding")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Try everything.

    Returns:
        0; 1 when the sound test found something to change; 3 when something that a session needs is missing.
    """
    settings = read_settings()
    checks = list(everything_tried(settings))
    if args.test and all(check.good for check in checks if check.needed):
        checks.append(spoken(settings))
    if args.json:
        print(json.dumps([check.document() for check in checks], indent=2))
    else:
        for check in checks:
            word = "there" if check.good else "MISSING" if check.needed else "missing"
            print(f"{word:8} {check.part:21} {check.message}")
            if check.remedy:
                print(f"{'':31}{check.remedy}")
    if any(check.needed and not check.good for check in checks):
        return 3
    return 1 if any(check.part == SOUND_TEST and not check.good for check in checks) else 0


SOUND_TEST = "sound test"


def spoken(settings: Settings) -> Check:
    """The spoken test, as one more check."""
    parts = house.Parts(settings)
    try:
        sentence = catalogue("en").equipment["sound-test"]
        print(f"Listen, then say what is asked for: {sentence!r}", file=sys.stderr)
        edges = parts.edges(("mic", None), ("voice", None))
        told = sound_test(
            edges.microphone,
            edges.speaker,
            edges.hearing,
            SileroActivity(),
            sentence=sentence,
            headset=settings.headset,
        )
    finally:
        parts.close()
    return Check(
        part=SOUND_TEST,
        good=told.found == "good",
        needed=False,
        message="; ".join(f"{name} {figure}" for name, figure in told.lines),
        code="" if told.found == "good" else told.found,
        remedy="" if told.found == "good" else ADVICE[told.found],
    )


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
