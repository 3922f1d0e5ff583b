"""A session folder being written: the joint file, the plan, the journal, the audio, at last the seal."""

from __future__ import annotations

import contextlib
import functools
import hashlib
import os
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path

from assistant.errors import BadSession, RecordNotWritable
from assistant.events import (
    Event,
    SessionClosed,
    SessionLeft,
    UtteranceHeard,
)
from assistant.journal.audio import AudioStore
from assistant.journal.clock import Clock, utc_now
from assistant.journal.disk import (
    NEED_BYTES,
    Disk,
    check_free_space,
    make_folders,
    not_writable,
    read_regular,
    sync_folder,
    write_new_file,
)
from assistant.journal.lock import FolderLock
from assistant.journal.reading import Entry
from assistant.journal.recording import Recording, already_sealed, used_names
from assistant.journal.review import erased_sound
from assistant.journal.seal import Seal, seal_bytes
from assistant.journal.sessions import AUDIO_NAME, JOINT_NAME, PLAN_NAME, SEAL_NAME, folder_names
from assistant.journal.signing import Signer, Signing
from assistant.journal.tape import JOURNAL_NAME, FileTape
from assistant.journal.writer import JournalWriter

_RESUME_BYTES = 20 * 1024**2  # a session begun is let go on with less free space than a new one needs


class JournalStore(Recording):
    """A recording in a folder, locked while open. Make one with `create` or `open`."""

    def __init__(self, folder: Path, *, clock: Clock, disk: Disk, signer: Signer | None = None) -> None:
        self.folder, self._disk = folder, disk
        self._signing: Signing | None = None
        with contextlib.ExitStack() as undo:
            self._lock = FolderLock(folder, disk)
            undo.callback(self._lock.release)
            if os.path.lexists(folder / SEAL_NAME):
                raise already_sealed(str(folder))
            try:
                tape = FileTape(folder, disk)
            except OSError as error:
                raise not_writable(folder / JOURNAL_NAME, error) from None
            undo.callback(tape.close)
            joint, plan = read_regular(folder / JOINT_NAME), read_regular(folder / PLAN_NAME)
            check = None if signer is None else functools.partial(self._check, signer, clock=clock)
            writer = JournalWriter(tape, clock, check=check)
            audio = AudioStore(folder / AUDIO_NAME, disk, used=used_names(writer.entries))
            super().__init__(writer, audio, clock=clock, joint_toml=joint, plan_json=plan)
            undo.pop_all()

    def _check(self, signer: Signer, hashes: Sequence[str], *, clock: Clock) -> None:
        """Before anything in the folder is changed: are these the lines that were signed?"""
        self._signing = Signing(self.folder, signer, hashes=hashes, clock=clock, disk=self._disk)

    def append(self, events: Sequence[Event], at_sample: int) -> list[Entry]:
        """As `Recording.append`; a checkpoint follows where one is due."""
        entries = super().append(events, at_sample)
        if self._signing is not None and entries:
            end = isinstance(entries[-1].event, SessionLeft | SessionClosed)
            self._signing.recorded(
                count=self._writer.count, last_hash=self._writer.last_hash, first=self.entries[0].sha256, end=end
            )
        return entries

    @classmethod
    def create(
        cls,
        sessions: Path,
        *,
        joint: str,
        joint_toml: bytes,
        plan_json: bytes,
        clock: Clock = utc_now,
        disk: Disk | None = None,
        need_bytes: int = NEED_BYTES,
        signer: Signer | None = None,
    ) -> JournalStore:
        """Begin a session in a new folder of `sessions` (made when missing).

        Args:
            sessions: folder of all sessions.
            joint: the joint's name, for the folder's name.
            joint_toml: kept as given, byte for byte.
            plan_json: kept as given, byte for byte.
            clock: stamps the folder and each line.
            disk: all writing goes through it.
            need_bytes: free space without which no session is begun.
            signer: signs checkpoints while it is recorded; None for a session without.

        Raises:
            RecordNotWritable: the disk refuses or is nearly full.
        """
        disk = disk or Disk()
        try:
            make_folders(disk, sessions)
            check_free_space(disk, sessions, need_bytes)
            folder = _new_folder(disk, sessions, folder_names(joint, clock()))
            disk.make_folder(folder / AUDIO_NAME)
            write_new_file(disk, folder / JOINT_NAME, joint_toml)
            write_new_file(disk, folder / PLAN_NAME, plan_json)
            write_new_file(disk, folder / JOURNAL_NAME, b"")  # last: a folder that has it is a session
        except OSError as error:
            raise not_writable(sessions, error) from None
        return cls(folder, clock=clock, disk=disk, signer=signer)

    @classmethod
    def open(
        cls, folder: Path, *, clock: Clock = utc_now, disk: Disk | None = None, signer: Signer | None = None
    ) -> JournalStore:
        """Open an unfinished (or closed and not yet sealed) session to go on with it.

        A torn last line is set aside; `torn_bytes` says how much, for the `SessionResumed` that must come next.

        With a signer, lines that were signed must be there as they were; what a stop left unsigned is told by the next
        checkpoint.

        Raises:
            BadSession: no session, sealed, damaged before its last line, being written by another process, or it cannot
                be trusted.
            RecordNotWritable: the disk refuses or is full.
        """
        disk = disk or Disk()
        for path in (folder, folder / AUDIO_NAME):
            if not path.is_dir() or (path is not folder and path.is_symlink()):
                raise BadSession(f"{path} is not a folder of a session", remedy="name a folder that `guide` made")
        if not stat.S_ISREG(_mode(folder / JOURNAL_NAME)):
            raise BadSession(f"{folder} holds no {JOURNAL_NAME}", remedy="name a folder that `guide` made")
        check_free_space(disk, folder, _RESUME_BYTES)
        return cls(folder, clock=clock, disk=disk, signer=signer)

    @property
    def unprotected(self) -> tuple[int, ...]:
        """First and last line that no checkpoint covers yet, as a stop leaves them; () for none."""
        return () if self._signing is None else self._signing.gap

    @property
    def joint_sha256(self) -> str:
        """Of `joint.toml`, as `SessionOpened` must hold it."""
        return hashlib.sha256(self.joint_toml).hexdigest()

    @property
    def plan_sha256(self) -> str:
        """Of `plan.json`, as `SessionOpened` must hold it."""
        return hashlib.sha256(self.plan_json).hexdigest()

    def close(self) -> None:
        """Close the files and let the next one open the session. May be called twice."""
        if self._signing is not None and not self._sealed:
            self._signing.end(count=self._writer.count, last_hash=self._writer.last_hash)
            self._signing = None
        super().close()
        self._lock.release()

    def _checkpoints(self) -> tuple[str, tuple[tuple[int, ...], ...]]:
        if self._signing is None:
            return "", ()
        self._signing.complete(count=self._writer.count, last_hash=self._writer.last_hash)
        return self._signing.checkpoints_sha256, self._signing.unprotected

    def _keep_seal(self, seal: Seal) -> None:
        path = self.folder / SEAL_NAME
        self._all_there()
        try:
            write_new_file(self._disk, path, seal_bytes(seal))
        except OSError as error:
            raise not_writable(path, error) from None
        if self._signing is not None:
            self._signing.sealed(count=seal.count, last_hash=seal.last_hash)

    def _all_there(self) -> None:
        """Look once more before the seal goes on, while the people are still there.

        Raises:
            RecordNotWritable: something of the session was removed or changed meanwhile.
        """
        wanted = {JOINT_NAME: self.joint_toml, PLAN_NAME: self.plan_json}
        gone = [name for name, raw in wanted.items() if not _holds(self.folder / name, raw)]
        heard = (e.event for e in self.entries if isinstance(e.event, UtteranceHeard))
        names = {event.utterance for event in heard if event.audio_sha256}
        names -= erased_sound(self.folder)
        sounds = [name for name in names if not (self.folder / AUDIO_NAME / f"{name}.flac").is_file()]
        gone += [f"{len(sounds)} recordings"] if sounds else []
        if gone:
            raise RecordNotWritable(
                f"{self.folder}: not sealed, for parts of it are gone or changed: {', '.join(gone)}",
                remedy="put them back from a copy; the next `assistant guide` seals it then",
            )


def _holds(path: Path, raw: bytes) -> bool:
    try:
        return read_regular(path) == raw
    except BadSession:
        return False


def _new_folder(disk: Disk, sessions: Path, names: Iterator[str]) -> Path:
    while True:
        folder = sessions / next(names)
        try:
            disk.make_folder(folder)
        except FileExistsError:
            continue
        sync_folder(disk, sessions)
        return folder


def _mode(path: Path) -> int:
    try:
        return path.lstat().st_mode
    except OSError:
        return 0
