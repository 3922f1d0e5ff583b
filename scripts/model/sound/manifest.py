"""The folder of recordings: `manifest.tsv` read and checked, and the `list.tsv` of synthetic clips.

The manifest is tab-separated, without quoting, with a head line that names at least the columns of `COLUMNS`; further
columns are ignored. `path` is relative to the folder; sound is mono, 16 kHz; noise has an empty text and a path that
begins with `noise`; `split` is train or dev; `asr_wer` (may be empty) is a word error rate that tells how far a text is
to be doubted.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

NAME = "manifest.tsv"
COLUMNS = ("path", "text", "speaker", "source", "split", "asr_wer")
SPLITS = ("train", "dev")


class ManifestError(ValueError):
    """A manifest or clip list that cannot be used; the message names file, line and value, and what is allowed."""


@dataclass(frozen=True)
class Row:
    """One recording. `text`: lower-case words, "" for noise or where it cannot be spelled; `doubt`: 0..1 or None."""

    path: Path
    text: str
    speaker: str
    source: str
    split: str
    doubt: float | None
    noise: bool


def clean_text(text: str) -> str:
    """Lower-case words of a text; "" where it holds figures, which could be said in several ways."""
    return "" if re.search(r"\d", text) else " ".join(re.sub(r"[^a-z' ]+", " ", text.lower()).split())


def read_manifest(folder: Path) -> list[Row]:
    """All recordings of a folder, in the manifest's order.

    Raises:
        ManifestError: no manifest, a column or field is missing, a value is not allowed, or a recording is not there.
    """
    table = folder / NAME
    if not table.is_file():
        raise ManifestError(
            f"{folder}: no {NAME} there; give the folder of recordings that scripts/model/README.md describes"
        )
    lines = table.read_text(encoding="utf-8").splitlines()
    head = lines[0].split("\t") if lines else []
    lacking = [c for c in COLUMNS if c not in head]
    if lacking:
        raise ManifestError(f"{table}:1: no column {', '.join(lacking)}; the head line must name {', '.join(COLUMNS)}")
    rows = [_row(table, n, head, line) for n, line in enumerate(lines[1:], 2)]
    if not rows:
        raise ManifestError(f"{table}: no recordings; it has a head line only")
    return rows


def _row(table: Path, number: int, head: list[str], line: str) -> Row:
    where, fields = f"{table}:{number}", line.split("\t")
    if len(fields) != len(head):
        raise ManifestError(f"{where}: {len(fields)} fields; the head line names {len(head)}")
    field = dict(zip(head, fields, strict=True))
    if field["split"] not in SPLITS:
        raise ManifestError(f"{where}: split is {field['split']!r}; allowed are {' and '.join(SPLITS)}")
    noise = field["path"].startswith("noise")
    if not noise and not field["text"].strip():
        raise ManifestError(f"{where}: no text; only noise, whose path begins with 'noise', has none")
    try:
        doubt = float(field["asr_wer"]) if field["asr_wer"] else None
    except ValueError:
        raise ManifestError(f"{where}: asr_wer is {field['asr_wer']!r}; it must be a number or empty") from None
    path = table.parent / field["path"]
    if not path.is_file():
        raise ManifestError(f"{where}: {field['path']} is not in the folder")
    return Row(path, clean_text(field["text"]), field["speaker"], field["source"], field["split"], doubt, noise)


def read_list(folder: Path) -> list[Row]:
    """Clips of `synth.py`: lines of file, text and voice (FAMILY:NAME); the family is the source.

    Raises:
        ManifestError: no list, a line that has not three fields, or a clip that is not there.
    """
    table, rows = folder / "list.tsv", []
    if not table.is_file():
        raise ManifestError(f"{folder}: no list.tsv there; give a folder that synth.py wrote")
    for number, line in enumerate(table.read_text(encoding="utf-8").splitlines(), 1):
        fields = line.split("\t")
        if len(fields) != 3:
            raise ManifestError(f"{table}:{number}: {len(fields)} fields; need file, text and voice")
        if not (folder / fields[0]).is_file():
            raise ManifestError(f"{table}:{number}: {fields[0]} is not in the folder")
        rows.append(
            Row(folder / fields[0], clean_text(fields[1]), fields[2], fields[2].split(":")[0], "train", None, False)
        )
    return rows
