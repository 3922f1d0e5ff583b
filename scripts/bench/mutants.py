"""How many small faults (mutants) put into the code the nearest tests find, by mutmut; outside CI, for it takes long.

    scripts/bench/mutants                           all rooms
    scripts/bench/mutants numbers --keep FOLDER     one room; `mutmut show NAME` there shows what survived

Needs `pip install 'bolting-assistant[mutation]'`. The code is copied first; nothing in the checkout changes.
"""

from __future__ import annotations

import argparse
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BESIDE = ("scripts", "demo_joints", ".docs", "DEVELOPERS.md", "README.md", "pyproject.toml", "LICENSE")
FINE = ("killed", "timeout", "caught by type check")


@dataclass(frozen=True)
class Room:
    """Files that are mutated, and the tests nearest to them."""

    files: tuple[str, ...]
    tests: tuple[str, ...]


ROOMS = {
    "acceptance": Room(
        ("assistant/procedure/acceptance.py",),
        ("tests/procedure/test_acceptance.py", "tests/procedure/test_acceptance_edges.py"),
    ),
    "numbers": Room(
        ("assistant/speech/number_words.py", "assistant/speech/number_language.py", "assistant/speech/numbers.py"),
        ("tests/speech/test_numbers.py", "tests/speech/test_typed.py"),
    ),
    "chain": Room(
        ("assistant/journal/chain.py", "assistant/journal/strict_json.py", "assistant/journal/clock.py"),
        ("tests/journal/test_chain.py", "tests/journal/test_strict_json.py", "tests/journal/test_clock.py"),
    ),
    "trust": Room(
        (
            "assistant/journal/checkpoints.py",
            "assistant/journal/signing.py",
            "assistant/journal/verify_signed.py",
            "assistant/journal/witness.py",
        ),
        ("tests/journal/test_trust.py", "tests/cli/test_witness.py"),
    ),
    "waits": Room(("assistant/session/waits.py",), ("tests/session/test_waits.py",)),
    "entries": Room(("assistant/journal/verify_entries.py",), ("tests/journal/test_entries.py",)),
    "values": Room(
        ("assistant/journal/values.py",),
        ("tests/journal/test_values.py", "tests/journal/test_encoding.py"),
    ),
    "writer": Room(("assistant/journal/writer.py",), ("tests/journal/test_store.py", "tests/journal/test_power.py")),
    **{
        name: Room(
            (f"assistant/procedure/{name}.py",),
            ("tests/procedure/test_dialogue.py", "tests/procedure/test_course.py", "tests/session/test_waits.py"),
        )
        for name in ("decide", "answers", "commands")
    },
    "evolve": Room(
        ("assistant/procedure/evolve.py",),
        ("tests/procedure/test_dialogue.py", "tests/procedure/test_course.py", "tests/procedure/test_parts.py"),
    ),
}


def prepared(room: Room, place: Path) -> None:
    """A copy of what is needed, with mutmut's settings for this room."""
    for name in ("assistant", "tests", *BESIDE):
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, place / name, ignore=shutil.ignore_patterns("__pycache__"), symlinks=True)
        elif source.exists():
            shutil.copy2(source, place / name)
    (place / "models").symlink_to(ROOT / "models")
    lists = {
        "source_paths": ["assistant"],
        "only_mutate": list(room.files),
        "pytest_add_cli_args_test_selection": list(room.tests),
        "also_copy": [*BESIDE, "models"],
    }
    lines = [f"{key}=\n" + "\n".join(f"    {value}" for value in values) for key, values in lists.items()]
    (place / "setup.cfg").write_text("[mutmut]\n" + "\n".join(lines) + "\n", "utf-8")


def tried(place: Path, children: int) -> tuple[Counter[str], list[str]]:
    """Mutants by what became of them, and the names of those that no test found.

    Raises:
        SystemExit: mutmut is not installed, or does not get as far as a result.
    """
    tool = [sys.executable, "-m", "mutmut"]
    run = subprocess.run(
        [*tool, "run", "--max-children", str(children)], cwd=place, capture_output=True, text=True, check=False
    )
    if "No module named mutmut" in run.stderr:
        raise SystemExit("mutmut is not installed: pip install 'bolting-assistant[mutation]'")
    listed = subprocess.run(
        [*tool, "results", "--all", "true"], cwd=place, capture_output=True, text=True, check=False
    ).stdout
    found = re.findall(r"^\s+(\S+): (.+?)\s*$", listed, re.MULTILINE)
    if not found:
        raise SystemExit(f"mutmut gave no result:\n{run.stdout[-2000:]}\n{run.stderr[-1000:]}")
    return Counter(state for _, state in found), [name for name, state in found if state not in FINE]


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    raw = argparse.RawDescriptionHelpFormatter
    p = argparse.ArgumentParser(prog="mutants", description=__doc__, formatter_class=raw)
    p.add_argument("rooms", nargs="*", metavar="ROOM", help=", ".join(ROOMS))
    p.add_argument("--keep", type=Path, metavar="FOLDER", help="of one room: work there and leave it")
    p.add_argument("--children", type=int, default=2, help="processes at a time")
    asked = p.parse_args(arguments)
    unknown = [name for name in asked.rooms if name not in ROOMS]
    if unknown or (asked.keep and len(asked.rooms) != 1):
        p.error(f"rooms are {', '.join(ROOMS)}; --keep goes with one of them")
    for name in asked.rooms or ROOMS:
        with tempfile.TemporaryDirectory(prefix="mutants-") as passing:
            place = asked.keep or Path(passing)
            place.mkdir(parents=True, exist_ok=True)
            prepared(ROOMS[name], place)
            states, survived = tried(place, asked.children)
        whole = sum(states.values())
        found = sum(states[state] for state in FINE)
        rest = ", ".join(f"{count} {state}" for state, count in states.most_common())
        print(f"{name:<12}{whole:>6} mutants, {100 * found / whole:5.1f} % found ({rest})", flush=True)
        for each in survived:
            print(f"    {each}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
