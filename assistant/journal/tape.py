"""What a journal is written on: bytes that only grow. A file, or memory for tests and rehearsals."""

from __future__ import annotations

import contextlib
import os
import re
import stat
from pathlib import Path
from typing import Protocol

from assistant.errors import RecordNotWritable
from assistant.journal.disk import Disk, read_regular, write_all, write_new_file

JOURNAL_NAME = "journal.jsonl"
TORN_NAME = re.compile(r"journal\.torn-([1-9][0-9]*)")


class Tape(Protocol):
    """The promises of a tape. Every method raises OSError when the medium refuses."""

    name: str

    def read(self) -> bytes:
        """Everything that is on it."""

    def write(self, data: bytes, at: int) -> None:
        """Put `data` at offset `at`, the end so far, and return when it lasts. After an interruption the very same call
        may be made again.
        """

    def set_aside(self, length: int, *, maybe_done: bool) -> None:
        """Move everything from offset `length` to a torn piece; the piece lasts before the tape is cut.

        Args:
            length: of the whole lines before it.
            maybe_done: a crash may have come between the two steps before; an equal last piece is then this very one.
        """

    def torn_bytes(self) -> int:
        """Bytes in all torn pieces so far."""

    def close(self) -> None:
        """Let go. May be called twice."""


class MemoryTape:
    """A tape in memory; `content` and `torn` may be shared with a later tape, as a folder is."""

    name = "journal (in memory)"

    def __init__(self, content: bytearray | None = None, torn: list[bytes] | None = None) -> None:
        self.content = bytearray() if content is None else content
        self.torn: list[bytes] = [] if torn is None else torn

    def read(self) -> bytes:
        """Everything that is on it."""
        return bytes(self.content)

    def write(self, data: bytes, at: int) -> None:
        """Put `data` at offset `at`."""
        self.content[at:] = data

    def set_aside(self, length: int, *, maybe_done: bool) -> None:
        """Move everything from `length` to a torn piece."""
        piece = bytes(self.content[length:])
        if not (maybe_done and self.torn and self.torn[-1] == piece):
            self.torn.append(piece)
        del self.content[length:]

    def torn_bytes(self) -> int:
        """Bytes in all torn pieces."""
        return sum(map(len, self.torn))

    def close(self) -> None:
        """Nothing to let go of."""


class FileTape:
    """A tape in `journal.jsonl`; torn pieces are `journal.torn-1`, `-2` ... beside it. The caller holds the lock.

    Raises:
        BadSession: the file is missing, a link, or not a plain file.
        OSError: it does not open for writing.
    """

    def __init__(self, folder: Path, disk: Disk) -> None:
        self._folder, self._disk = folder, disk
        path = folder / JOURNAL_NAME
        self.name = str(path)
        self._size = len(read_regular(path))
        self._descriptor = disk.open(path, os.O_RDWR)
        self._pending = False

    def read(self) -> bytes:
        """Everything in the file."""
        return read_regular(self._folder / JOURNAL_NAME)

    def write(self, data: bytes, at: int) -> None:
        """Put `data` at offset `at` and sync it.

        Raises:
            RecordNotWritable: the file was removed or changed by somebody else while this tape was open.
        """
        self._still_ours()
        self._pending = True
        write_all(self._disk, self._descriptor, data, at)
        self._size = at + len(data)
        self._pending = False

    def _still_ours(self) -> None:
        now = os.fstat(self._descriptor)
        if now.st_nlink == 0 or (now.st_size != self._size and not self._pending):
            what = "removed" if now.st_nlink == 0 else "changed by another program"
            raise RecordNotWritable(
                f"{self.name} was {what} during the session",
                remedy="keep other programs off the record; `assistant verify` says what is left of it",
            )

    def set_aside(self, length: int, *, maybe_done: bool) -> None:
        """Copy the rest to the next torn file, then cut."""
        torn = self.read()[length:]
        numbers = torn_files(self._folder)
        last = numbers[max(numbers)] if numbers else None
        if not (maybe_done and last and read_regular(last) == torn):
            name = f"journal.torn-{max(numbers, default=0) + 1}"
            write_new_file(self._disk, self._folder / name, torn)
        self._disk.truncate(self._descriptor, length)
        self._disk.sync(self._descriptor)
        self._size = length

    def torn_bytes(self) -> int:
        """Bytes in all torn files."""
        return sum(path.lstat().st_size for path in torn_files(self._folder).values())

    def close(self) -> None:
        """Close the file."""
        if self._descriptor >= 0:
            with contextlib.suppress(OSError):  # everything that was answered for was synced before
                self._disk.close(self._descriptor)
            self._descriptor = -1


def torn_files(folder: Path) -> dict[int, Path]:
    """The torn pieces in a folder by number; links and folders with such names are left out."""
    found = {}
    for path in folder.iterdir():
        match = TORN_NAME.fullmatch(path.name)
        if match and stat.S_ISREG(path.lstat().st_mode):
            found[int(match[1])] = path
    return found
