"""`assistant joints`: the joint files of a folder as a table, and whether each can be used today."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from assistant.cli.house import today
from assistant.config.joint_file import read_joint
from assistant.config.paths import shipped
from assistant.errors import AssistantError, BadSettings

DESCRIPTION = "List the joint files of a folder and whether each can be used today."
EPILOG = """\
Without a folder it lists the demo joints that come with the program.

examples:
  assistant joints
  assistant joints joints/ --json

exit codes: 0 every file can be used, 1 one of them cannot, 2 no such folder
"""
HEADS = ("file", "joint", "kind", "bolts", "place")


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("folder", metavar="FOLDER", nargs="?", type=Path, help="left out: the demo joints")
    parser.add_argument("--json", action="store_true", help="print one JSON document: a list, one object a file")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the table.

    Returns:
        0 each can be used, 1 one of them is refused.

    Raises:
        BadSettings: the folder is not there.
    """
    folder = args.folder or shipped("demo_joints")
    if not folder.is_dir():
        raise BadSettings(f"{folder} is not a folder", remedy="name a folder with joint files")
    rows = list(listed(folder))
    if args.json:
        print(json.dumps(rows, indent=2))
    else:
        _show(folder, rows)
    return 0 if all(row["good"] for row in rows) else 1


def listed(folder: Path) -> Iterator[dict[str, Any]]:
    """One row a joint file, by name; procedure files (they have steps, no bolt groups) are passed over."""
    day = today()
    for path in sorted(folder.glob("*.toml")):
        try:
            joint = read_joint(path, today=day)
        except AssistantError as error:
            if _is_procedure(path):
                continue
            yield {"file": str(path), "good": False, "error": error.message, "remedy": error.remedy}
            continue
        bolts = ", ".join(f"{group.count} {group.thread}" for group in joint.groups)
        yield {
            "file": str(path),
            "good": True,
            "joint": joint.name,
            "kind": joint.kind,
            "bolts": bolts,
            "place": joint.place,
            "tag": joint.tag,
        }


def _is_procedure(path: Path) -> bool:
    return "[[steps]]" in path.read_text(encoding="utf-8", errors="replace")


def _show(folder: Path, rows: list[dict[str, Any]]) -> None:
    if not rows:
        print(f"{folder}: no joint file (*.toml). `assistant new` writes one.")
        return
    good = [(Path(row["file"]).name, *(str(row[head]) for head in HEADS[1:])) for row in rows if row["good"]]
    wide = [max(len(line[at]) for line in (HEADS, *good)) for at in range(len(HEADS))]
    print(folder)
    for line in (HEADS, *good) if good else ():
        print("  ".join(f"{text:{width}}" for text, width in zip(line, wide, strict=True)).rstrip())
    for row in rows:
        if not row["good"]:
            print(f"cannot be used: {row['error']}\n  {row['remedy']}")
