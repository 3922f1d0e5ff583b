"""Recordings of which nobody wrote down what is said, as a folder of further clips: for frames and for talk behind.

usage: python -m scripts.model.sound.untold TALK OUT

TALK has a `manifest.tsv` with path, speaker and split; its train split is listed, with an empty text, in OUT/list.tsv.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

SOURCE = "read English"


def main(talk: Path, out: Path) -> int:
    """Write the list; returns how many clips it holds."""
    out.mkdir(parents=True, exist_ok=True)
    with (talk / "manifest.tsv").open(encoding="utf-8") as f:
        rows = [r for r in csv.DictReader(f, delimiter="\t", quoting=csv.QUOTE_NONE) if r["split"] == "train"]
    lines = [f"{(talk / r['path']).resolve()}\t\t{SOURCE}:{r['speaker']}\n" for r in rows]
    (out / "list.tsv").write_text("".join(lines), encoding="utf-8")
    return len(lines)


if __name__ == "__main__":
    print(f"{main(Path(sys.argv[1]), Path(sys.argv[2]))} clips")
