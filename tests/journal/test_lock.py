"""Promise 9: one writer, and the kernel ends its lock."""

import errno

import pytest

from assistant.errors import BadSession, RecordNotWritable
from assistant.journal.disk import Disk
from assistant.journal.lock import FolderLock, in_use
from tests.journal.short_record import FailingDisk


def test_the_second_waits_for_nobody_and_is_refused(tmp_path):
    first = FolderLock(tmp_path, Disk())
    assert in_use(tmp_path)
    with pytest.raises(BadSession, match="another running assistant"):
        FolderLock(tmp_path, Disk())
    first.release()
    first.release()
    assert not in_use(tmp_path)
    FolderLock(tmp_path, Disk()).release()


def test_a_lock_file_left_behind_locks_nothing(tmp_path):
    (tmp_path / "lock").write_text("12345")
    assert not in_use(tmp_path)
    FolderLock(tmp_path, Disk()).release()


def test_a_folder_that_takes_no_lock_file_is_a_clear_refusal(tmp_path):
    with pytest.raises(RecordNotWritable, match="Read-only"):
        FolderLock(tmp_path, FailingDisk(0, OSError(errno.EROFS, "Read-only file system")))
    (tmp_path / "lock").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(RecordNotWritable):
        FolderLock(tmp_path, Disk())
    assert not (tmp_path / "elsewhere").exists() and not in_use(tmp_path)


def test_asking_does_not_make_a_file(tmp_path):
    assert not in_use(tmp_path) and list(tmp_path.iterdir()) == []
