"""Verification of the files beside the journal: audio, joint file, plan, and what should not be there. Reads only."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Collection, Iterator
from pathlib import Path

from assistant.errors import BadAudio, BadSession
from assistant.events import (
    Event,
    SessionOpened,
    SessionResumed,
    UtteranceHeard,
)
from assistant.journal.audio import NAME, decode_flac
from assistant.journal.checkpoints import CHECKPOINTS_NAME
from assistant.journal.disk import read_regular
from assistant.journal.findings import Finding, error, note, warning
from assistant.journal.lock import LOCK_NAME
from assistant.journal.review import REVIEW_NAME, REVIEW_SEAL_NAME
from assistant.journal.sessions import AUDIO_NAME, JOINT_NAME, PLAN_NAME, SEAL_NAME
from assistant.journal.tape import JOURNAL_NAME, TORN_NAME
from assistant.journal.verify_lines import Lines

FILES = {JOURNAL_NAME, JOINT_NAME, PLAN_NAME, SEAL_NAME, LOCK_NAME, CHECKPOINTS_NAME, REVIEW_NAME, REVIEW_SEAL_NAME}


def named_audio(found: Lines[Event]) -> dict[str, tuple[int, str]]:
    """Name -> (line number, SHA-256) of the audio that events name; the first naming counts."""
    named: dict[str, tuple[int, str]] = {}
    for number, event in found.events:
        digest, name = _names(event)
        if digest is not None:
            named.setdefault(name, (number, digest))
    return named


def examine_audio(
    folder: Path, found: Lines[Event], *, sealed: bool, erased: Collection[str] = ()
) -> Iterator[Finding]:
    """Every recording that the journal names: there, unchanged, decodable; and no others than a crash explains.

    Args:
        erased: names of recordings whose sound the review says was erased.
    """
    named = named_audio(found)
    for number, event in found.events:
        digest, name = _names(event)
        if digest is not None and named[name] != (number, digest):
            message = f"Line {named[name][0]} already named the recording {name[:40]!r}."
            yield error("audio-named-twice", f"{JOURNAL_NAME} line {number}", message, "tampering")
    for name, (number, digest) in named.items():
        if name in erased and not os.path.lexists(folder / AUDIO_NAME / f"{name}.flac"):
            continue
        yield from _one_recording(folder, name[:60], digest, number=number)
    yield from _unnamed(folder / AUDIO_NAME, set(named), found, sealed=sealed)


def _names(event: Event) -> tuple[str | None, str]:
    return (event.audio_sha256, event.utterance) if isinstance(event, UtteranceHeard) else (None, "")


def _one_recording(folder: Path, name: str, digest: str, *, number: int) -> Iterator[Finding]:
    where = f"{AUDIO_NAME}/{name}.flac"
    if not NAME.fullmatch(name):
        message = f"The line names a recording {name!r}; names are figures."
        yield error("audio-name", f"{JOURNAL_NAME} line {number}", message, "tampering")
        return
    if not (folder / where).exists():
        message = (
            f"Line {number} names this recording, but it is not there. The assistant stores audio first, then names it."
        )
        yield error("audio-missing", where, message, "damage")
        return
    try:
        raw = read_regular(folder / where)
    except BadSession as bad:
        yield error("audio-unreadable", where, f"{bad.message}.", "damage")
        return
    if hashlib.sha256(raw).hexdigest() == digest:
        try:
            decode_flac(raw, name=where)
        except BadAudio as bad:  # kept as it is, and never was audio: somebody wrote the line for it
            yield error("audio-undecodable", where, f"It is as line {number} says, but: {bad.message}.", "tampering")
        return
    try:
        decode_flac(raw, name=where)
    except BadAudio:
        message = f"It is not the recording that line {number} names, and cannot be decoded: it was damaged or cut."
        yield error("audio-changed", where, message, "damage")
    else:
        message = f"It is whole, but not the recording that line {number} names: it was exchanged."
        yield error("audio-changed", where, message, "tampering")


def _unnamed(audio: Path, named: set[str], found: Lines[Event], *, sealed: bool) -> Iterator[Finding]:
    if not audio.is_dir() or audio.is_symlink():
        yield error("audio-folder", AUDIO_NAME, "The folder of recordings is missing, or is not a folder.", "damage")
        return
    unnamed = []
    for path in sorted(audio.iterdir()):
        where = f"{AUDIO_NAME}/{path.name}"
        stem, _, ending = path.name.partition(".")
        if not NAME.fullmatch(stem) or ending not in ("flac", "flac.part") or not _plain(path):
            yield warning("file-unknown", where, "The assistant makes no such file here.", "none")
        elif ending == "flac.part":
            yield note(
                "audio-half-written", where, "A recording that was being stored when the machine stopped.", "crash"
            )
        elif stem not in named:
            unnamed.append(where)
    # audio is stored before the line that names it, so each interruption leaves one at most
    stops = sum(isinstance(event, SessionResumed) for _, event in found.events) + (0 if sealed else 1)
    explained = found.gapless and len(unnamed) <= stops
    for where in unnamed:
        if explained:
            message = "No line names this recording: the machine stopped between storing it and writing its line."
            yield note("audio-unnamed", where, message, "crash")
        else:
            message = "No line names this recording, and a stop does not explain it: its line was removed or damaged."
            yield warning("audio-unnamed", where, message, "tampering" if found.gapless else "damage")


def examine_files(folder: Path, found: Lines[Event]) -> Iterator[Finding]:
    """The joint file and the plan against what `session-opened` says of them; files that should not be there."""
    opened = next((event for _, event in found.events if isinstance(event, SessionOpened)), None)
    wanted = {
        JOINT_NAME: opened.joint_sha256 if opened else None,
        PLAN_NAME: opened.plan_sha256 if opened else None,
    }
    for name, digest in wanted.items():
        yield from _kept_file(folder / name, name, digest)
    for path in sorted(folder.iterdir()):
        name = path.name
        if name == AUDIO_NAME:
            continue
        if not _ours(name.removesuffix(".part")):
            yield warning("file-unknown", name[:80], "The assistant makes no such file here.", "none")
        elif not _plain(path):
            yield error("file-kind", name, "It is a link, a folder or a device, not a plain file.", "tampering")
        elif name.endswith(".part"):
            yield note("file-half-written", name, "A file that was being written when the machine stopped.", "crash")


def _ours(name: str) -> bool:
    return name in FILES or TORN_NAME.fullmatch(name) is not None


def _kept_file(path: Path, name: str, digest: str | None) -> Iterator[Finding]:
    try:
        raw = read_regular(path)
    except BadSession as bad:
        yield error("file-missing", name, f"{bad.message}.", "damage")
        return
    if digest is not None and hashlib.sha256(raw).hexdigest() != digest:
        message = "It is not the file that the session began with: it was changed afterwards."
        yield error("file-changed", name, message, "damage")


def _plain(path: Path) -> bool:
    return stat.S_ISREG(path.lstat().st_mode)
