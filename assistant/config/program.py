"""Which program this is: its version, and digests of its files and models. Each record names its program."""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Iterable
from pathlib import Path

import assistant
from assistant.config import paths

LETTERS = 10
"""Of a SHA-256 in hexadecimal that stand in a record: enough to tell any two builds apart."""
_SOURCES = frozenset({".py", ".toml", ".j2", ".js", ".css"})


@functools.cache
def product() -> str:
    """The program as each record names it: `assistant 0.2.0 (program 0123456789, models 0123456789)`."""
    return f"assistant {assistant.__version__} (program {program_digest()}, models {models_digest()})"


def program_digest() -> str:
    """Digest of every source file, procedure and template of this program.

    It needs no version control, so that a wheel and a checkout of the same sources give the same digest, and a changed
    line gives another one.
    """
    package = Path(assistant.__file__).resolve().parent
    shipped = package / "shipped"
    files = (path for path in package.rglob("*") if path.suffix in _SOURCES and shipped not in path.parents)
    return digest_of(package, files)


def procedures_digest() -> str:
    """Digest of the procedures of the joint kinds alone."""
    folder = Path(__file__).resolve().parent / "procedures"
    return digest_of(folder, folder.glob("*.toml"))


def models_digest() -> str:
    """Digest of the models and the calibration in use where the settings name no others; "none" without any.

    A checkpoint is kept for further training only. It takes no part in hearing and is not in the wheel.
    """
    folder = paths.models_folder()
    files = [path for path in folder.rglob("*") if path.is_file() and path.suffix not in (".md", ".pt")]
    return digest_of(folder, files) if files else "none"


def digest_of(folder: Path, files: Iterable[Path]) -> str:
    """The first letters of the SHA-256 over names and contents.

    Args:
        folder: names are taken from here, with forward slashes.
        files: in any order.
    """
    total = hashlib.sha256()
    for name, path in sorted((path.relative_to(folder).as_posix(), path) for path in files):
        total.update(f"{name}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    return total.hexdigest()[:LETTERS]
