"""One writer a session: an exclusive lock on the file `lock` in the session folder.

The kernel lets go of it when the process ends, however it ends, so a killed session leaves no stale lock.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import time
from pathlib import Path

from assistant.errors import BadSession
from assistant.journal.disk import Disk, not_writable

LOCK_NAME = "lock"
_TRIES, _WAIT_S = 4, 0.05  # a reader that asks `in_use` holds the lock for a moment


class FolderLock:
    """Held from making until `release`.

    Raises:
        BadSession: another process (or another store of this one) writes this session.
        RecordNotWritable: the folder takes no lock file.
    """

    def __init__(self, folder: Path, disk: Disk) -> None:
        path, self._disk = folder / LOCK_NAME, disk
        try:
            self._descriptor = disk.open(path, os.O_RDWR | os.O_CREAT)
        except OSError as error:
            raise not_writable(path, error) from None
        try:
            self._take(folder)
        except BaseException as error:
            os.close(self._descriptor)
            if isinstance(error, OSError):
                raise not_writable(path, error) from None
            raise

    def _take(self, folder: Path) -> None:
        for attempt in range(_TRIES):
            if attempt:
                time.sleep(_WAIT_S)
            if _taken(self._descriptor, fcntl.LOCK_EX):
                return
        raise BadSession(
            f"{folder} is being written by another running assistant",
            remedy="go on there, or end that one first; nothing was changed",
        )

    def release(self) -> None:
        """Let the next one write. May be called twice."""
        if self._descriptor >= 0:
            with contextlib.suppress(OSError):  # the kernel lets go of the lock all the same
                self._disk.close(self._descriptor)
            self._descriptor = -1


def in_use(folder: Path) -> bool:
    """Whether somebody is writing this session now; False where it cannot be told."""
    try:
        descriptor = os.open(folder / LOCK_NAME, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW | os.O_NONBLOCK)
    except OSError:
        return False
    try:
        return not _taken(descriptor, fcntl.LOCK_SH)
    except OSError:
        return False
    finally:
        os.close(descriptor)


def _taken(descriptor: int, how: int) -> bool:
    try:
        fcntl.flock(descriptor, how | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
