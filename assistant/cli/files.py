"""Files that a person asked for."""

from __future__ import annotations

from pathlib import Path

from assistant.errors import BadSettings


def not_inside(session: Path, path: Path, option: str) -> None:
    """See that nothing is written among the files of a session.

    Raises:
        BadSettings: the file would lie in the session folder.
    """
    if session.resolve() in path.resolve().parents:
        raise BadSettings(f"{option}: {path} is inside the session folder", remedy="Name a file somewhere else.")


def write(path: Path, data: bytes, option: str) -> Path:
    """Write a file that a person asked for.

    Raises:
        BadSettings: the folder does not take it; names the option.
    """
    try:
        path.write_bytes(data)
    except OSError as error:
        why = error.strerror or str(error)
        raise BadSettings(
            f"{option}: {path} cannot be written: {why}", remedy="Name a file in a folder that you may write to."
        ) from error
    return path
