"""Erasing the sound of a session. The only place that ever removes something of one."""

from __future__ import annotations

import stat
from collections.abc import Iterable
from pathlib import Path

from assistant.errors import BadSession
from assistant.journal.disk import Disk, not_writable, sync_folder
from assistant.journal.lock import FolderLock
from assistant.journal.sessions import AUDIO_NAME


def sound_files(folder: Path) -> tuple[Path, ...]:
    """Every plain file in a session's folder of recordings, named by the journal or not.

    Raises:
        BadSession: there is no such folder, or it is a link.
    """
    audio = folder / AUDIO_NAME
    if not audio.is_dir() or audio.is_symlink():
        raise BadSession(f"{audio} is not a folder of recordings", remedy="name a session folder")
    return tuple(sorted(path for path in audio.iterdir() if stat.S_ISREG(path.lstat().st_mode)))


def erase_sound(folder: Path, files: Iterable[Path]) -> None:
    """Remove these recordings; what a disk keeps of a removed file is beyond this program.

    Raises:
        BadSession: the session is being written.
        RecordNotWritable: the folder refuses.
    """
    disk = Disk()
    lock = FolderLock(folder, disk)
    try:
        for path in files:
            path.unlink(missing_ok=True)
        sync_folder(disk, folder / AUDIO_NAME)
    except OSError as error:
        raise not_writable(folder / AUDIO_NAME, error) from None
    finally:
        lock.release()
