"""Writing that survives a power cut: the few system calls of the record, and what is built from them.

Every call that changes the disk goes through a `Disk`, so that a test can make the Nth of them fail.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
from pathlib import Path

from assistant.errors import BadSession, RecordNotWritable

NEED_BYTES = 200 * 1024**2  # a shift: speech for a fifth of eight hours, as FLAC about 20 kB/s; our own estimate
_NO_FOLDER_SYNC = (errno.EINVAL, errno.ENOTSUP)  # some network file systems cannot sync a folder; nothing more to do


class Disk:
    """The real disk. Each method raises OSError as the system does."""

    def make_folder(self, path: Path) -> None:
        """Make one new folder that only its owner may enter; an existing one is an error."""
        path.mkdir(mode=0o700)

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        """A file descriptor, of a new file for its owner alone; links are not followed, children do not inherit it."""
        return os.open(path, flags | os.O_CLOEXEC | os.O_NOFOLLOW | os.O_NONBLOCK, mode)

    def write(self, descriptor: int, data: bytes, at: int) -> int:
        """Write at this offset; answers how many bytes went."""
        return os.pwrite(descriptor, data, at)

    def sync(self, descriptor: int) -> None:
        """Return when the file (or folder) is on the medium."""
        os.fsync(descriptor)

    def close(self, descriptor: int) -> None:
        """Let go of a descriptor. What was synced before lasts, whatever this answers."""
        os.close(descriptor)

    def truncate(self, descriptor: int, length: int) -> None:
        """Cut the file to this length."""
        os.ftruncate(descriptor, length)

    def rename(self, old: Path, new: Path) -> None:
        """Give a file its final name, at once."""
        old.rename(new)

    def free_bytes(self, folder: Path) -> int:
        """Bytes that this user may still write there."""
        return shutil.disk_usage(folder).free


def write_all(disk: Disk, descriptor: int, data: bytes, at: int) -> None:
    """Write all of `data` at this offset and sync it."""
    done = 0
    while done < len(data):
        done += disk.write(descriptor, data[done:], at + done)
    disk.sync(descriptor)


def sync_folder(disk: Disk, folder: Path) -> None:
    """Make new and renamed files of a folder last."""
    descriptor = disk.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        disk.sync(descriptor)
    except OSError as error:
        if error.errno not in _NO_FOLDER_SYNC:
            raise
    finally:
        os.close(descriptor)


def write_new_file(disk: Disk, path: Path, data: bytes) -> None:
    """Write a whole new file: as `.part`, synced, read back and compared, renamed, folder synced. Replaces none.

    Raises:
        OSError: any step failed, or the medium gave back other bytes; no file has the final name then.
    """
    part = _written_beside(disk, path, data)
    if os.path.lexists(path):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    disk.rename(part, path)
    sync_folder(disk, path.parent)


def replace_file(disk: Disk, path: Path, data: bytes) -> None:
    """Write a whole file under a passing name, sync, compare, then give it its name in one step.

    Raises:
        OSError: any step failed; the file is as it was before.
    """
    part = _written_beside(disk, path, data)
    disk.rename(part, path)
    sync_folder(disk, path.parent)


def _written_beside(disk: Disk, path: Path, data: bytes) -> Path:
    """The file `.part` beside a path, with all of the data in it: synced, read back and compared."""
    part = path.with_name(path.name + ".part")
    descriptor = disk.open(part, os.O_RDWR | os.O_CREAT | os.O_TRUNC)
    try:
        write_all(disk, descriptor, data, 0)
        if os.pread(descriptor, len(data) + 1, 0) != data:
            raise OSError(errno.EIO, "the disk gave back other bytes than were written", str(part))
    finally:
        disk.close(descriptor)
    return part


def make_folders(disk: Disk, folder: Path) -> None:
    """Make a folder and those above it that are missing, and make them last."""
    if "\0" in str(folder):
        raise OSError(errno.EINVAL, "the name holds a zero byte", str(folder))
    if not folder.is_dir():
        make_folders(disk, folder.parent)
        with contextlib.suppress(FileExistsError):  # another session made it meanwhile
            disk.make_folder(folder)
        if not folder.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))
        sync_folder(disk, folder.parent)


def read_regular(path: Path) -> bytes:
    """All bytes of a plain file inside a session folder.

    Raises:
        BadSession: missing, a link, a folder, a pipe, or not readable.
    """
    remedy = "name a session folder as `assistant guide` made it"
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW | os.O_NONBLOCK)
        with os.fdopen(descriptor, "rb") as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise BadSession(f"{path} is not a plain file", remedy=remedy)
            return file.read()
    except OSError as error:
        reason = "is a link, not a plain file" if error.errno == errno.ELOOP else f"cannot be read ({error.strerror})"
        raise BadSession(f"{path} {reason}", remedy=remedy) from None


def check_free_space(disk: Disk, folder: Path, need_bytes: int = NEED_BYTES) -> None:
    """See that a shift's record fits.

    Raises:
        RecordNotWritable: less is free than `need_bytes`, or the folder cannot be asked.
    """
    try:
        free = disk.free_bytes(folder)
    except OSError as error:
        raise not_writable(folder, error) from None
    if free < need_bytes:
        raise RecordNotWritable(
            f"only {free // 1024**2} MB are free at {folder}; a session needs {-(-need_bytes // 1024**2)} MB",
            remedy="free some space on that disk, or choose a folder on another one with --sessions",
        )


def not_writable(path: Path, error: OSError) -> RecordNotWritable:
    """The system's refusal in our words, with what to do about it."""
    remedies = {
        errno.ENOSPC: "free some space on that disk; the session resumes at the same item",
        errno.EDQUOT: "free some of your own space on that disk; the session resumes at the same item",
        errno.EROFS: "the disk is read-only: choose a folder on another one with --sessions",
        errno.EACCES: "choose a folder that you may write to with --sessions",
        errno.EPERM: "choose a folder that you may write to with --sessions",
    }
    remedy = remedies.get(error.errno or 0, "check the disk, or choose a folder on another one with --sessions")
    return RecordNotWritable(f"{path}: the record cannot be written ({error.strerror or error})", remedy=remedy)
