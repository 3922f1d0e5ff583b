"""`assistant new`: a few questions, options or a bolting list make commented joint files that plan at once."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from assistant.config.bolting_list import OF_EACH_ROW, BoltingList, Row, lacking, read_list
from assistant.config.joint_template import (
    EXAMPLE,
    FACTS,
    FLANGE_FACTS,
    FLANGED,
    GASKET_FACTS,
    KINDS,
    SEALED,
    Template,
    joint_template,
    likely,
)
from assistant.errors import BadBolting, BadJointFile, BadSettings, UnsafeJoint

DESCRIPTION = "Write a commented joint file to start from."
EPILOG = f"""\
On a terminal it asks for what no option gives; Enter takes the example in brackets. Elsewhere it asks nothing. Every
value that nobody gave is an example, marked {EXAMPLE} in the file: put the joint's own before it is used.

With --from it takes a bolting list instead, CSV or XLSX, one joint a row, and writes a file for each. The columns are
named like the options: name, kind, torque (N*m), published for, ... Other options hold for every row that leaves them
empty. A row is not taken, and the report says why, when what the joint needs is missing, has no unit or is unclear.

examples:
  assistant new
  assistant new --kind "gasketed flange" --standard "EN 1092-1" --size "DN 80" --rating "PN 40" --torque "95 N*m"
  assistant new --kind "plain pattern" --bolts 36 --thread M16 --grade 10.9 --torque "280 N*m" --to slewing-ring.toml
  assistant new --from bolting-list.csv --to joints/ --wrench "wrench nine" --serial NS-TW-0009
  assistant new --from list.xlsx --sheet Flanges --column "torque=Md [N*m]" --decimal-comma --to joints/

exit codes: 0 written, and it plans; 1 written, but the plan refuses a value, or a row was not taken; 2 bad input
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("--kind", choices=KINDS, help="kind of joint")
    parser.add_argument("--to", metavar="FILE", type=Path, help="the file to write (left out: named after the joint)")
    parser.add_argument("--us", action="store_true", help="US customary units in the examples")
    parser.add_argument(
        "--from", dest="source", metavar="LIST", type=Path, help="a bolting list, CSV or XLSX; --to FOLDER"
    )
    parser.add_argument("--sheet", metavar="NAME", help="of the workbook (left out: its first)")
    parser.add_argument(
        "--column", metavar="FACT=HEADING", action="append", default=[], help="which column says what, where unclear"
    )
    parser.add_argument("--decimal-comma", action="store_true", help="in the list 95,5 is ninety-five and a half")
    parser.add_argument("--json", action="store_true", help="print one JSON document; asks nothing")
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
    if args.source is not None:
        return _from_list(args, known)
    kind = args.kind
    if sys.stdin.isatty() and sys.stdout.isatty() and not args.json:
        kind = kind or _kind()
        known = asked(kind, known, us=args.us)
    kind = kind or KINDS[0]
    path = args.to or Path(f"{_slug(known.get('name') or kind)}.toml")
    made = _made(path, joint_template(kind, drilled(known), us=args.us or _us(known)))
    if args.json:
        print(json.dumps(asdict(made), indent=2))
    else:
        print(f"written: {made.file}")
        if made.examples:
            print(f"examples to replace, marked {EXAMPLE}: {', '.join(made.examples)}")
        print(f"it plans. Next: assistant plan {path}" if made.plans else f"it does not plan yet: {made.told}")
    return 0 if made.plans else 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A joint file that was written.

    Args:
        file: its path.
        examples: facts that nobody gave.
        plans: it can be used as it stands, examples included.
        told: why it does not plan.
    """

    file: str
    examples: tuple[str, ...]
    plans: bool
    told: str


def _made(path: Path, template: Template) -> Made:
    _write(path, template)
    told = _refused(path)
    return Made(file=str(path), examples=template.examples, plans=not told, told=told)


# --------------------------------------------------------------------------------------------------- a bolting list
def _from_list(args: argparse.Namespace, known: dict[str, str]) -> int:
    """Files from a list, and a report of what was not taken. 0 when every row was taken and plans, else 1."""
    for fact in OF_EACH_ROW:
        if fact in known:
            raise BadSettings(f"--{fact.replace('_', '-')} beside --from", remedy="each row says its own; leave it out")
    folder = args.to or Path()
    if folder.exists() and not folder.is_dir():
        raise BadSettings(f"--to is {folder}, a file", remedy="with --from name a folder")
    named = dict(_column(text) for text in args.column)
    found = read_list(args.source, sheet=args.sheet, named=named, decimal_comma=args.decimal_comma)
    kind = {"kind": args.kind} if args.kind else {}
    rows = [_taken(row, known | kind, folder) for row in found.rows]
    if args.json:
        print(json.dumps({"rows": rows, "columns": found.passed_over, "sheets": found.other_sheets}, indent=2))
    else:
        _report(args.source, found, rows)
    return 0 if rows and all(row["plans"] for row in rows) else 1


def _column(text: str) -> tuple[str, str]:
    fact, equals, heading = text.partition("=")
    if not equals:
        raise BadSettings(f"--column is {text!r}", remedy='FACT=HEADING, like --column "torque=Md [N*m]"')
    return fact.strip().replace("-", "_"), heading.strip()


def _taken(row: Row, for_all: Mapping[str, str], folder: Path) -> dict[str, Any]:
    """Write one row's file. What became of it: row, name, file, examples, plans, told."""
    facts = {**for_all, **row.facts}
    name = facts.get("name", "")
    told = list(row.troubles)
    missing = lacking(facts)
    if missing and not told:
        told.append(f"missing: {', '.join(missing)}")
    if not told:
        try:
            kind = facts.pop("kind")
            path = folder / f"{_slug(name)}.toml"
            folder.mkdir(parents=True, exist_ok=True)
            made = _made(path, joint_template(kind, drilled(facts), us=_us(facts)))
        except (BadBolting, BadSettings) as error:
            told.append(error.message)
        except OSError as error:
            raise BadSettings(
                f"{folder} cannot be made: {error.strerror}", remedy="name another folder: --to"
            ) from None
        else:
            return {"row": row.number, "name": name, **asdict(made)}
    return {"row": row.number, "name": name, "file": None, "examples": (), "plans": False, "told": "; ".join(told)}


def _report(source: Path, found: BoltingList, rows: list[dict[str, Any]]) -> None:
    for row in rows:
        print(f"row {row['row']}, {row['name'] or 'no name'}: {row['file'] or 'NOT TAKEN'}")
        if row["told"]:
            print(f"  {'does not plan yet: ' if row['file'] else ''}{row['told']}")
        if row["examples"]:
            print(f"  still examples, marked {EXAMPLE}: {', '.join(row['examples'])}")
    taken = sum(row["file"] is not None for row in rows)
    print(f"{taken} of {len(rows)} rows of {source} became joint files.")
    if found.passed_over:
        print(f"columns not taken: {', '.join(found.passed_over)}")
    if found.other_sheets:
        print(f"sheets not read: {', '.join(found.other_sheets)}")


# --------------------------------------------------------------------------------------------------------- questions
def drilled(known: dict[str, str]) -> dict[str, str]:
    """What is known, with bolt count and thread of a standard flange where its size is given.

    Raises:
        BadBolting: the standard has no such flange.
    """
    if not all(known.get(key) for key in FLANGE_FACTS):
        return known
    from assistant.bolting.joint.flanges import flange_bolting

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
        if fact in known or (fact in FLANGE_FACTS and kind not in FLANGED):
            continue
        if fact in GASKET_FACTS and kind not in SEALED:
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


def _refused(path: Path) -> str:
    """Why the file does not plan; "" where it does."""
    from assistant.cli import house
    from assistant.cli.joint_work import work_at
    from assistant.config.joint_file import read_plan

    try:
        today = house.today()
        work_at(read_plan(path, today=today), near=path.parent)
    except (BadBolting, BadJointFile, UnsafeJoint) as error:
        return f"{error.message}\n  {error.remedy}"
    return ""
