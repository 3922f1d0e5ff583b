"""Where handed-in sessions arrive: a folder that takes in each session whole, by content, or not at all.

The same code takes sessions from a network share or a USB disk (the sender works on the folder itself) and from the
receiving service. What has arrived is never lost or changed. Journals, reviews and checkpoints can only grow.
Recordings that the sender no longer has stay, unless a review says that they were erased.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.errors import BadSession, RecordNotWritable
from assistant.journal.disk import Disk, read_regular, replace_file, sync_folder
from assistant.journal.keyring import basis_of
from assistant.journal.lock import LOCK_NAME
from assistant.journal.review import erased_sound
from assistant.journal.seal import read_seal
from assistant.journal.sessions import AUDIO_NAME, SEAL_NAME, slug_in
from assistant.journal.verify import verify

INCOMING = "incoming"
MOST_BYTES = 64 * 1024**2
"""Of one file: an hour of speech as FLAC."""
MOST_FILES = 20_000
GROWING = ("journal.jsonl", "review.jsonl", "checkpoints.jsonl")
_FILE = re.compile(rf"(?:{AUDIO_NAME}/)?[A-Za-z0-9][A-Za-z0-9._-]{{0,120}}")
_DIGEST = re.compile("[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a session folder holds.

    Args:
        name: of the session folder.
        files: SHA-256 of each file by its path below the folder, with forward slashes.
    """

    name: str
    files: Mapping[str, str]

    @property
    def digest(self) -> str:
        """Digest of the whole manifest; the receiver acknowledges it."""
        return hashlib.sha256(json.dumps([self.name, sorted(self.files.items())]).encode()).hexdigest()


def manifest_of(folder: Path) -> Manifest:
    """A session folder as it is now; locks and half-written files are left out.

    Raises:
        BadSession: a file cannot be read, or does not belong to a session.
    """
    files = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_dir() and not path.is_symlink():
            continue
        if name != LOCK_NAME and not name.endswith(".part"):
            files[name] = hashlib.sha256(read_regular(path)).hexdigest()
    return manifest_from({"name": folder.resolve().name, "files": files})


def manifest_from(document: Any) -> Manifest:
    """A manifest as it came over the wire.

    Raises:
        BadSession: it is not a manifest; the message says what is wrong.
    """
    remedy = "send session folders as `assistant guide` made them"
    if not isinstance(document, dict) or not isinstance(document.get("files"), dict):
        raise BadSession("the list of files is none", remedy=remedy)
    name, files = document.get("name"), document["files"]
    if not isinstance(name, str) or slug_in(name) is None:
        raise BadSession(f"{str(name)[:100]!r} is no name of a session folder", remedy=remedy)
    if len(files) > MOST_FILES:
        raise BadSession(f"{name}: {len(files)} files; at most {MOST_FILES}", remedy=remedy)
    for file, digest in files.items():
        if not _FILE.fullmatch(file) or ".." in file or not isinstance(digest, str) or not _DIGEST.fullmatch(digest):
            raise BadSession(f"{name}: {file[:100]!r} is no file of a session", remedy=remedy)
    return Manifest(name=name, files=dict(files))


class Inbox:
    """A folder of sessions that others hand in.

    Args:
        folder: created if it is missing.

    Raises:
        RecordNotWritable: it cannot be written.
    """

    def __init__(self, folder: Path) -> None:
        self.folder, self._incoming, self._disk = folder, folder / INCOMING, Disk()
        with self._writing():
            self._incoming.mkdir(parents=True, exist_ok=True)
            with self._alone():
                self._recover()

    def missing(self, manifest: Manifest) -> tuple[str, ...] | None:
        """Digests of the files still to be sent; None where exactly this session is already here."""
        here = self._standing(manifest.name)
        if here is not None and here.files == manifest.files:
            return None
        held = set(here.files.values()) if here is not None else set()
        wanted = dict.fromkeys(manifest.files.values())
        return tuple(each for each in wanted if each not in held and not (self._incoming / each).is_file())

    def take(self, digest: str, data: bytes) -> None:
        """Take in one file, by its content.

        Raises:
            BadSession: the bytes are not those announced, or too many.
            RecordNotWritable: the disk refuses.
        """
        remedy = "send it again"
        if not _DIGEST.fullmatch(digest) or len(data) > MOST_BYTES or hashlib.sha256(data).hexdigest() != digest:
            raise BadSession(f"a file of {len(data)} bytes is not the one that was announced", remedy=remedy)
        with self._writing():
            replace_file(self._disk, self._incoming / digest, data)

    def commit(self, manifest: Manifest) -> str:
        """Assemble the session, check that it is whole, and move it to its place.

        Returns:
            The manifest's digest, as the acknowledgement. When this returns, the session is safely on disk.

        Raises:
            BadSession: files are missing, it is not sealed or not whole, or another session of this name is already
                here. What was here before is unchanged.
            RecordNotWritable: the disk refuses.
        """
        with self._writing(), self._alone():
            here = self._standing(manifest.name)
            if here is not None and here.files == manifest.files:
                return manifest.digest
            built = self._incoming / f"new-{secrets.token_hex(8)}" / manifest.name
            try:
                self._build(built, manifest, here)
                self._look_at(built, here)
                self._place(built, here)
            finally:
                shutil.rmtree(built.parent, ignore_errors=True)
            for digest in manifest.files.values():
                (self._incoming / digest).unlink(missing_ok=True)
            return manifest.digest

    def _build(self, built: Path, manifest: Manifest, here: Manifest | None) -> None:
        held = {digest: self.folder / manifest.name / name for name, digest in here.files.items()} if here else {}
        (built / AUDIO_NAME).mkdir(parents=True)
        for name, digest in manifest.files.items():
            arrived = self._incoming / digest
            source = arrived if arrived.is_file() else held.get(digest)
            if source is None:
                raise BadSession(f"{manifest.name}: {name} has not arrived", remedy="send it again")
            data = read_regular(source)
            if hashlib.sha256(data).hexdigest() != digest:
                source.unlink() if source == arrived else None
                raise BadSession(f"{manifest.name}: {name} was damaged on this disk", remedy="send it again")
            self._write(built / name, data)

    def _look_at(self, built: Path, here: Manifest | None) -> None:
        """Check that it is whole and sealed. Adding it to an archive checks whether its key is known here."""
        try:
            seal = read_seal(read_regular(built / SEAL_NAME), name=SEAL_NAME)
        except BadSession as bad:
            raise BadSession(f"{built.name} is not sealed: {bad.message}", remedy="send sealed sessions") from None
        found = verify(built, rebuild=None, basis=basis_of([seal.public_key]))
        faults = [each for each in found.findings if each.severity == "error"]
        if faults:
            raise BadSession(
                f"{built.name} is not whole: {faults[0].where}: {faults[0].message}",
                remedy="look at it with `assistant verify` where it was recorded",
            )
        if here is None:
            return
        standing = self.folder / built.name
        for name in GROWING:
            if name in here.files and not _bytes(built / name).startswith(_bytes(standing / name)):
                raise BadSession(
                    f"{built.name}: another session of this name stands here, whose {name} goes on differently",
                    remedy="compare both with `assistant compare`; nothing was replaced",
                )
        erased = erased_sound(built)
        for name in here.files:
            kept = name.startswith(f"{AUDIO_NAME}/") and Path(name).stem not in erased and not (built / name).exists()
            if kept:
                self._write(built / name, _bytes(standing / name))

    def _place(self, built: Path, here: Manifest | None) -> None:
        for folder in (built / AUDIO_NAME, built):
            sync_folder(self._disk, folder)
        target = self.folder / built.name
        old = self._incoming / f"old-{built.name}"
        if here is not None:
            target.rename(old)
        built.rename(target)
        sync_folder(self._disk, self.folder)
        if here is not None:
            shutil.rmtree(old, ignore_errors=True)

    def _recover(self) -> None:
        """Clean up after a stop: put back a session that was being replaced, remove half-built ones."""
        for path in self._incoming.iterdir():
            if path.name.startswith("old-"):
                target = self.folder / path.name.removeprefix("old-")
                if target.exists():
                    shutil.rmtree(path, ignore_errors=True)
                else:
                    path.rename(target)
            elif path.name.startswith("new-"):
                shutil.rmtree(path, ignore_errors=True)
            elif path.name.endswith(".part"):
                path.unlink(missing_ok=True)

    def _standing(self, name: str) -> Manifest | None:
        folder = self.folder / name
        return manifest_of(folder) if folder.is_dir() else None

    def _write(self, path: Path, data: bytes) -> None:
        with path.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())

    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        with (self._incoming / LOCK_NAME).open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield

    @contextlib.contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise RecordNotWritable(
                f"{self.folder}: {error.strerror or error}; nothing there was changed",
                remedy="make room, or choose another folder, then send again",
            ) from None


def _bytes(path: Path) -> bytes:
    return read_regular(path) if path.exists() else b""
