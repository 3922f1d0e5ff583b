"""`assistant settings`: every setting, its value and where the value comes from."""

from __future__ import annotations

import argparse
import inspect
import json
import re
from pathlib import Path

from assistant.config.settings import DEFAULT, PREFIX, Found, Settings, find_settings

DESCRIPTION = "Show every setting, its value and where the value comes from."
EPILOG = f"""\
A setting is taken from the environment ({PREFIX} and its name in capitals), else from the settings file, else it has
its default. Options of a command go before all of them.

examples:
  assistant settings
  assistant settings --template > ~/.config/bolting-assistant/settings.toml
  {PREFIX}HEADSET=true assistant guide JOINT.toml
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("--json", action="store_true", help="print one JSON document: file, and one object a setting")
    parser.add_argument(
        "--template", action="store_true", help="print a settings file with every setting, commented out"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print them.

    Returns:
        0. A settings file that cannot be read is raised.
    """
    if args.template:
        print(template(), end="")
        return 0
    found = find_settings()
    rows = _rows(found)
    if args.json:
        print(json.dumps({"file": str(found.file), "there": found.there, "settings": rows}, indent=2))
        return 0
    print(f"settings file: {found.file}{'' if found.there else ' (not there; it is optional)'}\n")
    wide = max(len(_shown(row["value"])) for row in rows)
    for row in rows:
        print(f"{row['name']:14} {_shown(row['value']):{wide}}  {row['origin']}")
        print(f"{'':14} {row['meaning']}")
    return 0


def template() -> str:
    """A settings file with every setting at its default, commented out."""
    lines = ["# Settings of the bolting assistant. Take the # away from what you change.\n"]
    for row in _rows(
        Found(settings=Settings(), origins=dict.fromkeys(Settings.model_fields, DEFAULT), file=Path(), there=False)
    ):
        value = json.dumps("" if row["value"] is None else row["value"])
        lines.append(f"# {row['meaning']}\n# {row['name']} = {value}\n")
    return "\n".join(lines)


def _rows(found: Found) -> list[dict[str, object]]:
    values = found.settings.model_dump(mode="json")
    meant = meanings()
    return [
        {"name": name, "value": value, "origin": found.origins[name], "meaning": meant[name]}
        for name, value in values.items()
    ]


def meanings() -> dict[str, str]:
    """What each setting means, from the text that stands under it in the program."""
    source = inspect.getsource(Settings)
    return {
        name: " ".join(text.split())
        for name, text in re.findall(r'\n    (\w+): [^\n]+\n    """(.*?)"""', source, re.DOTALL)
    }


def _shown(value: object) -> str:
    return "-" if value is None else str(value).lower() if isinstance(value, bool) else str(value)
