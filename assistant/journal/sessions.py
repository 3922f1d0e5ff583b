"""The folder of all sessions: how a session's folder is named, and which of them is unfinished.

A name is `<UTC start>-<joint slug>`; when two sessions on one joint start in one second the later ends in `--2`
(a slug never has two hyphens in a row).
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Literal

from assistant.errors import BadSession
from assistant.journal.chain import DamagedLine, read_line, split_lines
from assistant.journal.checkpoints import CHECKPOINTS_NAME
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
MICROPHONE = "microphone"
"""Key of `SessionOpened.settings` that names the microphone, as the system calls it."""

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


def session_folders(sessions: Path, *, slug: str = "") -> list[Path]:
    """The session folders in a folder, oldest first, by name; links are left out. Empty when there is no folder.

    Args:
        slug: of the joint whose sessions are meant; "" for all.
    """
    return [path for path in named_as_sessions(sessions, slug=slug) if stat.S_ISDIR(path.lstat().st_mode)]


def named_as_sessions(sessions: Path, *, slug: str = "") -> list[Path]:
    """Everything in a folder that is named as a session, links too, oldest first. Empty when there is no folder.

    Args:
        slug: of the joint whose sessions are meant; "" for all.

    Raises:
        BadSession: the folder cannot be looked into.
    """
    try:
        if not sessions.is_dir():
            return []
        names = [name for name in os.listdir(sessions) if slug in name]  # noqa: PTH208, quick among ten thousand
        found = sorted(name for name in names if (slug_in(name) == slug if slug else _FOLDER.fullmatch(name)))
        return [sessions / name for name in found]
    except OSError as error:
        remedy = "name a folder that you may read and write with --sessions"
        raise BadSession(f"{str(sessions)[:200]} cannot be read ({error.strerror})", remedy=remedy) from None


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """The latest session on a joint, as `guide` finds it.

    Args:
        state: "unfinished" (it can be continued), or why not: "changed", "finished", "unreadable".
        told: what is to be said of it, behind its folder's name.
        remedy: what can be done about it, besides beginning anew.
    """

    folder: Path
    state: Literal["unfinished", "changed", "finished", "unreadable"]
    told: str = ""
    remedy: str = ""


def latest(sessions: Path, *, joint_sha256: str, slug: str) -> Earlier | None:
    """The latest session on a joint, whatever became of it; None where there is none.

    Rehearsals, practices, and sessions that stopped before anything was laid out are passed over.

    Args:
        sessions: folder of all sessions; may be missing.
        joint_sha256: of the joint file's bytes; compared with each session's own copy.
        slug: as `slug_of` gives it, for sessions begun with an earlier text of the same joint file.

    Raises:
        BadSession: the folder of sessions cannot be looked into.
    """
    for folder in reversed(named_as_sessions(sessions)):
        named = slug_in(folder.name) == slug
        try:
            found = _judged(folder, joint_sha256, named=named)
        except BadSession as bad:
            if named:
                told = f"is an earlier session of this joint and cannot be continued: {bad.message}"
                return Earlier(
                    folder=folder, state="unreadable", told=told, remedy="`assistant verify` says what is left of it"
                )
            continue
        if found is not None:
            return found
    return None


def _judged(folder: Path, joint_sha256: str, *, named: bool) -> Earlier | None:
    if folder.is_symlink():
        raise BadSession(f"{folder} is a link", remedy="name a session folder")
    if not _ever_recorded(folder):
        return None
    joint = read_regular(folder / JOINT_NAME)
    same = hashlib.sha256(joint).hexdigest() == joint_sha256
    if not (same or named):
        return None
    status = status_of(folder)
    if status == "empty" or played(folder) or not _begun(folder):
        return None
    if status in ("closed", "sealed"):
        told = "was closed: this joint is done"
        return Earlier(folder=folder, state="finished", told=told, remedy="`assistant record` shows what was done")
    if not same:
        told = "is unfinished, and the joint file has changed since"
        remedy = "go on with the joint file kept in that folder"
        return Earlier(folder=folder, state="changed", told=told, remedy=remedy)
    return Earlier(folder=folder, state="unfinished")


def _ever_recorded(folder: Path) -> bool:
    """Whether anything of a record is in it; nothing is where the machine stopped while the folder was being made."""
    if any(os.path.lexists(folder / name) for name in (JOURNAL_NAME, CHECKPOINTS_NAME, SEAL_NAME)):
        return True
    audio = folder / AUDIO_NAME
    return audio.is_symlink() or (audio.is_dir() and any(audio.iterdir()))


def _begun(folder: Path) -> bool:
    """Whether more was recorded than that a session was opened.

    Raises:
        BadSession: its first line is damaged.
    """
    lines, _ = split_lines(read_regular(folder / JOURNAL_NAME))
    if lines and _kind(lines[0]) is None:
        raise BadSession(f"{folder / JOURNAL_NAME} line 1 is damaged", remedy="a copy of it may still be whole")
    return len(lines) > 1


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
