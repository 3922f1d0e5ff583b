"""Model files against the sums beside them, before an engine in C++ opens one: a cut graph ends the process."""

from __future__ import annotations

import hashlib
from pathlib import Path

from assistant.errors import ModelMissing

SUMS = "SHA256SUMS"
"""In the format of `sha256sum`: a sum, two spaces, a path below the folder. `scripts/model/sums` writes it."""


def check_sums(folder: Path, *, only: str | None = None) -> None:
    """Compare a model's files with its sums. A folder without any (a model of one's own) passes.

    Args:
        folder: of the model.
        only: one file of it; None for all.

    Raises:
        ModelMissing: a file is missing or is not what it was; the message names the first.
    """
    try:
        lines = (folder / SUMS).read_text("utf-8").splitlines()
    except FileNotFoundError:
        return
    except (OSError, UnicodeDecodeError) as error:
        raise _wrong(folder, f"{SUMS} cannot be read: {error}") from error
    for line in lines:
        wanted, _, name = line.partition("  ")
        if only is not None and name != only:
            continue
        try:
            found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        except OSError as error:
            raise _wrong(folder, f"{name} cannot be read ({error.strerror})") from error
        if found != wanted:
            raise _wrong(folder, f"{name} is damaged, or another one than {SUMS} tells")


def sums(folder: Path) -> str:
    """What SHA256SUMS of a model folder should hold: all its files but texts about it, by path."""
    files = sorted(p for p in folder.rglob("*") if p.is_file() and p.name != SUMS and p.suffix not in (".md", ".txt"))
    files += [folder / "graph/words.txt"] if (folder / "graph/words.txt").is_file() else []
    return "".join(f"{hashlib.sha256(p.read_bytes()).hexdigest()}  {p.relative_to(folder).as_posix()}\n" for p in files)


def _wrong(folder: Path, what: str) -> ModelMissing:
    return ModelMissing(
        f"{folder.name}: {what}", remedy=f"Restore {folder}; for a model of your own run scripts/model/sums {folder}."
    )
