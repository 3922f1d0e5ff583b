"""A disk that tells what a power cut would leave: what was synced, and of the rest whatever a medium does with it.

Every write of the record goes through `journal.disk.Disk`, so one session over this one gives all moments at which the
power can go. Names last once their folder was synced, bytes once their file was; until then a cut may lose them, tear
them, leave zeros in their place, or keep the end of them without the beginning.
"""

from __future__ import annotations

import os
import random
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from assistant.journal.disk import Disk

VARIANTS = ("nothing", "everything", "torn", "zeros", "sector", "page", "reordered", "mixed")
"""What becomes of what was not synced: gone; all there; cut anywhere; zeros; zeros up to a block of 512 or 4096 bytes,
the end there; zeros up to anywhere, the end there; each of it there or not."""
_BLOCK = {"sector": 512, "page": 4096}


@dataclass(frozen=True, slots=True)
class Step:
    """One operation: its name, the path, and offset, length or new path with the bytes."""

    kind: str
    path: Path
    at: int = 0
    data: bytes = b""
    other: Path | None = None


class RecordingDisk(Disk):
    """The real disk, which notes each operation; `forgets` names files whose sync is noted as not done.

    Args:
        forgets: says of a path whether its sync is dropped, as by a program that leaves it out.
    """

    def __init__(self, forgets: Callable[[Path], bool] = lambda _path: False) -> None:
        self.steps: list[Step] = []
        self._forgets = forgets
        self._open: dict[int, Path] = {}

    def acknowledge(self, count: int) -> None:
        """So many entries were answered for by now."""
        self.steps.append(Step("acknowledged", Path(), at=count))

    def make_folder(self, path: Path) -> None:
        """As the real one."""
        super().make_folder(path)
        self.steps.append(Step("folder", path))

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        """As the real one."""
        new = not os.path.lexists(path)
        descriptor = super().open(path, flags, mode)
        self._open[descriptor] = path
        if new:
            self.steps.append(Step("file", path))
        elif flags & os.O_TRUNC:
            self.steps.append(Step("cut", path))
        return descriptor

    def write(self, descriptor: int, data: bytes, at: int) -> int:
        """As the real one."""
        done = super().write(descriptor, data, at)
        self.steps.append(Step("write", self._open[descriptor], at=at, data=bytes(data[:done])))
        return done

    def sync(self, descriptor: int) -> None:
        """As the real one."""
        super().sync(descriptor)
        if not self._forgets(self._open[descriptor]):
            self.steps.append(Step("sync", self._open[descriptor]))

    def truncate(self, descriptor: int, length: int) -> None:
        """As the real one."""
        super().truncate(descriptor, length)
        self.steps.append(Step("cut", self._open[descriptor], at=length))

    def rename(self, old: Path, new: Path) -> None:
        """As the real one."""
        super().rename(old, new)
        self.steps.append(Step("name", old, other=new))


@dataclass
class _File:
    durable: bytearray = field(default_factory=bytearray)
    pending: list[Step] = field(default_factory=list)


@dataclass
class _Folder:
    durable: dict[str, _File | _Folder] = field(default_factory=dict)
    pending: list[tuple[str, str, _File | _Folder | None]] = field(default_factory=list)


class Medium:
    """What is surely on the medium, and what is under way.

    Args:
        root: the folder that is there before; all steps lie in it.
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        self._live: dict[Path, _File | _Folder] = {root: _Folder()}
        self.acknowledged = 0

    def do(self, step: Step) -> None:
        """Take one step further."""
        if step.kind == "acknowledged":
            self.acknowledged = step.at
        elif step.kind in ("folder", "file"):
            node: _File | _Folder = _Folder() if step.kind == "folder" else _File()
            self._live[step.path] = node
            self._above(step.path).pending.append(("there", step.path.name, node))
        elif step.kind in ("write", "cut"):
            file = self._live[step.path]
            assert isinstance(file, _File)
            file.pending.append(step)
        elif step.kind == "name" and step.other is not None:
            node = self._live.pop(step.path)
            self._live[step.other] = node
            folder = self._above(step.other)
            folder.pending += [("gone", step.path.name, None), ("there", step.other.name, node)]
        elif step.kind == "sync":
            self._settle(self._live[step.path])

    def _above(self, path: Path) -> _Folder:
        folder = self._live[path.parent]
        assert isinstance(folder, _Folder)
        return folder

    def _settle(self, node: _File | _Folder) -> None:
        if isinstance(node, _File):
            node.durable = _bytes_of(node, "everything", random.Random(0))
        else:
            node.durable = _names_of(node, "everything", random.Random(0))
        node.pending.clear()

    @property
    def under_way(self) -> bool:
        """Whether anything would be lost if all that was not synced were gone."""
        return any(node.pending for node in self._live.values())

    def leave(self, to: Path, variant: str, chance: random.Random) -> None:
        """Put what a cut would leave into a new folder."""
        shutil.rmtree(to, ignore_errors=True)
        root = self._live[self._root]
        assert isinstance(root, _Folder)
        _put(root, to, variant, chance)


def _put(folder: _Folder, to: Path, variant: str, chance: random.Random) -> None:
    to.mkdir(mode=0o700)
    for name, node in _names_of(folder, variant, chance).items():
        if isinstance(node, _Folder):
            _put(node, to / name, variant, chance)
        else:
            (to / name).write_bytes(bytes(_bytes_of(node, variant, chance)))
            (to / name).chmod(0o600)


def _names_of(folder: _Folder, variant: str, chance: random.Random) -> dict[str, _File | _Folder]:
    found = dict(folder.durable)
    for act, name, node in folder.pending:
        if variant == "nothing" or (variant == "mixed" and chance.random() < 0.5):
            continue
        if act == "gone":
            found.pop(name, None)
        elif node is not None:
            found[name] = node
    return found


def _bytes_of(file: _File, variant: str, chance: random.Random) -> bytearray:
    found = bytearray(file.durable)
    for step in file.pending:
        if variant == "nothing" or (variant == "mixed" and chance.random() < 0.5):
            continue
        if step.kind == "cut":
            found = found[: step.at] + bytes(max(0, step.at - len(found)))
            continue
        data = _left_of(step, variant, chance)
        found += bytes(max(0, step.at - len(found)))
        found[step.at : step.at + len(data)] = data
    return found


def _left_of(step: Step, variant: str, chance: random.Random) -> bytes:
    size = len(step.data)
    if variant in ("torn", "mixed"):
        return step.data[: chance.randrange(size + 1)]
    if variant == "zeros":
        return bytes(size)
    if variant == "reordered":
        gone = chance.randrange(size + 1)
        return bytes(gone) + step.data[gone:]
    block = _BLOCK.get(variant)
    if block is not None:
        edges = [edge - step.at for edge in range((step.at // block + 1) * block, step.at + size, block)]
        gone = chance.choice(edges) if edges else size
        return bytes(gone) + step.data[gone:] if edges else b""
    return step.data


def cuts(steps: list[Step], root: Path) -> Iterator[tuple[int, Medium]]:
    """(number of steps done, the medium) before the first step and after each."""
    medium = Medium(root)
    yield 0, medium
    for number, step in enumerate(steps, start=1):
        medium.do(step)
        yield number, medium
