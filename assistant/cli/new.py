"""`assistant new`: a few questions, or options, make a commented joint file that plans at once."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from assistant.config.joint_template import EXAMPLE, FACTS, FLANGED, KINDS, Template, joint_template, likely
from assistant.errors import BadBolting, BadJointFile, BadSettings, UnsafeJoint

EPILOG = f"""\
On a terminal it asks for what no option gives; Enter takes the example in brackets. Elsewhere it asks nothing. Every
value that nobody gave is an example, marked {EXAMPLE} in the file: put the joint's own before it is used.

examples:
  assistant new
  assistant new --kind "gasketed flange" --standard "EN 1092-1" --size "DN 80" --rating "PN 40" --torque "95 N*m"
  assistant new --kind "plain pattern" --bolts 36 --thread M16 --grade 10.9 --torque "280 N*m" --to slewing-ring.toml

exit codes: 0 written, and it plans; 1 written, but the plan refuses a value; 2 bad input
"""


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to `assistant`'s own."""
    parser = subparsers.add_parser(
        "new",
        help="write a joint file to start from",
        description="Write a commented joint file to start from.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--kind", choices=KINDS, help="kind of joint")
    parser.add_argument("--to", metavar="FILE", type=Path, help="the file to write (left out: named after the joint)")
    parser.add_argument("--us", action="store_true", help="US customary units in the examples")
    for fact, meaning in FACTS.items():
        parser.add_argument(f"--{fact.replace('_', '-')}", metavar="TEXT", help=meaning)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Ask, write, and plan what was written.

    Returns:
        0 written and it plans, 1 written but a value is refused.

    Raises:
        BadSettings: the file is there already, or the folder refuses.
    """
    known = {fact: getattr(args, fact) for fact in FACTS if getattr(args, fact) is not None}
    kind = args.kind
    if sys.stdin.isatty() and sys.stdout.isatty():
        kind = kind or _kind()
        known = asked(kind, known, us=args.us)
    kind = kind or KINDS[0]
    made = joint_template(kind, drilled(known), us=args.us or _us(known))
    path = args.to or Path(f"{_slug(known.get('name') or kind)}.toml")
    _write(path, made)
    print(f"written: {path}")
    if made.examples:
        print(f"examples to replace, marked {EXAMPLE}: {', '.join(made.examples)}")
    return _planned(path)


def drilled(known: dict[str, str]) -> dict[str, str]:
    """What is known, with bolt count and thread of a standard flange where its size is given.

    Raises:
        BadBolting: the standard has no such flange.
    """
    if not all(known.get(key) for key in ("standard", "size", "rating")):
        return known
    from assistant.bolting.flanges import flange_bolting

    found = flange_bolting(known["standard"], known["rating"], size=known["size"])
    return {"bolts": str(found.bolts), "thread": found.thread} | known


def asked(kind: str, known: dict[str, str], *, us: bool) -> dict[str, str]:
    """What is known after the questions; an empty answer leaves the example.

    Args:
        kind: of the joint.
        known: is not asked again.
        us: US customary units in the examples.
    """
    answers = dict(known)
    for fact, meaning in FACTS.items():
        if fact in known or (fact in ("standard", "size", "rating") and kind not in FLANGED):
            continue
        if fact in ("size", "rating") and not answers.get("standard"):
            continue
        example = likely(kind, drilled(answers), us=us or _us(answers)).get(fact, "")
        said = input(f"{meaning}{f' [{example}]' if example else ''}: ").strip()
        if said:
            answers[fact] = said
    return answers


def _kind() -> str:
    for at, kind in enumerate(KINDS, start=1):
        print(f"  {at} {kind}")
    said = input("kind of joint [1]: ").strip() or "1"
    chosen = KINDS[int(said) - 1] if said.isdigit() and 0 < int(said) <= len(KINDS) else said
    if chosen not in KINDS:
        raise BadSettings(f"kind of joint is {said!r}", remedy=f"a number from 1 to {len(KINDS)}, or its name")
    return chosen


def _us(known: dict[str, str]) -> bool:
    return known.get("standard", "").startswith("ASME") or "lbf" in known.get("torque", "")


def _slug(text: str) -> str:
    words = "".join(letter if letter.isalnum() and letter.isascii() else " " for letter in text.lower()).split()
    return "-".join(words) or "joint"


def _write(path: Path, made: Template) -> None:
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(made.text)
    except FileExistsError:
        raise BadSettings(f"{path} is there already", remedy="name another file with --to FILE") from None
    except OSError as error:
        why = error.strerror or str(error)
        raise BadSettings(
            f"{path} cannot be written: {why}", remedy="name a file in a folder of yours: --to FILE"
        ) from None


def _planned(path: Path) -> int:
    from assistant.bolting.plan import plan
    from assistant.cli import house
    from assistant.config.joint_file import read_joint

    try:
        today = house.today()
        made = plan(read_joint(path, today=today), today=today)
        house.work(made, near=path.parent)
    except (BadBolting, BadJointFile, UnsafeJoint) as error:
        print(f"it does not plan yet: {error.message}\n  {error.remedy}")
        return 1
    print(f"it plans. Next: assistant plan {path}")
    return 0
