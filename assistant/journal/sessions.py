"""The folder of all sessions: how a session's folder is named, and which of them is unfinished.

A name is `<UTC start>-<joint slug>`; when two sessions on one joint start in one second the later ends in `--2`
(a slug never has two hyphens in a row).
"""

from __future__ import annotations

import hashlib
import re
import stat
import unicodedata
from collections.abc import Iterator
from datetime import datetime, timezone
from pathlib import Path
from typing import Literal

from assistant.errors import BadSession
from assistant.journal.chain import DamagedLine, read_line, split_lines
from assistant.journal.disk import read_regular
from assistant.journal.tape import JOURNAL_NAME

JOINT_NAME = "joint.toml"
PLAN_NAME = "plan.json"
SEAL_NAME = "seal.json"
AUDIO_NAME = "audio"
_FOLDER = re.compile(r"[0-9]{8}T[0-9]{6}Z-(?P<slug>[a-z0-9]+(?:-[a-z0-9]+)*)(?:--[0-9]+)?")
_LONGEST_SLUG = 60
PLAYED = "played"
"""Key of `SessionOpened.settings` that says that a session is a rehearsal or a practice."""

Status = Literal["empty", "unfinished", "closed", "sealed"]


def slug_of(joint: str) -> str:
    """A joint's name as part of a folder name: small ASCII letters, digits and single hyphens, never empty."""
    plain = unicodedata.normalize("NFKD", joint).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub("[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST_SLUG].rstrip("-") or "joint"


def folder_names(joint: str, started: datetime) -> Iterator[str]:
    """Names for a session begun at this (aware) time, best first, without end."""
    name = f"{started.astimezone(timezone.utc):%Y%m%dT%H%M%SZ}-{slug_of(joint)}"
    yield name
    number = 2
    while True:
        yield f"{name}--{number}"
        number += 1


def session_folders(sessions: Path) -> list[Path]:
    """The session folders in a folder, oldest first, by name; links are left out. Empty when there is no folder."""
    if not sessions.is_dir():
        return []
    return sorted(
        path for path in sessions.iterdir() if _FOLDER.fullmatch(path.name) and stat.S_ISDIR(path.lstat().st_mode)
    )


def status_of(folder: Path) -> Status:
    """How far a session came, judged by its seal and its last whole line; nothing is verified.

    Returns:
        "empty" (stopped before the first event was recorded), "unfinished", "closed" (but the seal is missing: the
        machine stopped in between), or "sealed".

    Raises:
        BadSession: no readable journal in it.
    """
    lines, _ = split_lines(read_regular(folder / JOURNAL_NAME))
    if (folder / SEAL_NAME).exists():
        return "sealed"
    if not lines:
        return "empty"
    kinds = [_kind(line) for line in lines[-2:]]  # the very last may be damaged by the same stop
    return "closed" if (kinds[-1] or kinds[0]) == "session-closed" else "unfinished"


def find_unfinished(sessions: Path, *, joint_sha256: str | None = None, slug: str | None = None) -> Path | None:
    """The latest session on a joint that can be resumed.

    Args:
        sessions: folder of all sessions; may be missing.
        joint_sha256: of the joint file's bytes, as `SessionOpened` holds it; compared with each session's own copy.
        slug: as `slug_of` gives it, for finding sessions begun with an earlier text of the same joint file.

    Returns:
        A folder whose last event is neither `SessionClosed` nor sealed; damaged ones too (opening them says what is
        wrong). Folders that are no sessions are passed over, and so are rehearsals and practices.

    Raises:
        ValueError: neither or both of `joint_sha256` and `slug` were given (our bug).
    """
    if (joint_sha256 is None) == (slug is None):
        raise ValueError("give joint_sha256 or slug")
    for folder in reversed(session_folders(sessions)):
        if slug is not None and slug_in(folder.name) != slug:
            continue
        try:
            joint = read_regular(folder / JOINT_NAME)
            same = joint_sha256 in (None, hashlib.sha256(joint).hexdigest())
            if same and status_of(folder) == "unfinished" and not played(folder):
                return folder
        except BadSession:
            continue
    return None


def played(folder: Path) -> str:
    """'rehearsal' or 'practice' where nobody worked on a real joint, else ''; by the session's first line.

    Raises:
        BadSession: no readable journal in it.
    """
    lines, _ = split_lines(read_regular(folder / JOURNAL_NAME))
    try:
        first = read_line(lines[0]) if lines else None
    except DamagedLine:
        return ""
    settings = first.payload.get("settings") if first is not None else None
    return str(settings.get(PLAYED, "")) if isinstance(settings, dict) else ""


def _kind(line: bytes) -> str | None:
    try:
        return read_line(line).kind
    except DamagedLine:
        return None


def slug_in(name: str) -> str | None:
    """The joint's part of a session folder's name; None where it is no such name."""
    match = _FOLDER.fullmatch(name)
    return match["slug"] if match else None
