"""Rows of sessions by what they were made from, in one SQLite file: a folder of hundreds is read once, then looked up.

The key of a row is the hash of everything that decides it: journal, seal, review, checkpoints, joint file and plan of
the session and of the others on the same joint, the register's lines on it, the keys that this machine trusts, and
the program. Of the sound the key has names and sizes: that one is gone or cut is seen, what is in it `assistant verify`
checks. The file may be deleted at any time.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from assistant.errors import BadSession
from assistant.journal.chain import split_lines
from assistant.journal.disk import read_regular
from assistant.journal.sessions import AUDIO_NAME, slug_in
from assistant.replay.overview import FORMAT, Row, row_from_json

FILES = (
    "journal.jsonl",
    "seal.json",
    "review.jsonl",
    "review-seal.json",
    "checkpoints.jsonl",
    "joint.toml",
    "plan.json",
)
"""What decides a row, beside the sound."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """A session folder by its hashes.

    Args:
        folder: the session.
        own: hash over its files, and over the names and sizes of its recordings.
        first, last: hash of the journal's first and last whole line; "" for none.
        lines: whole lines of the journal.
    """

    folder: Path
    own: str
    first: str
    last: str
    lines: int


def look(folder: Path) -> Looked:
    """Hash what decides a session's row; files that are not there or refuse count as such."""
    total = hashlib.sha256()
    first = last = ""
    number = 0
    for name in FILES:
        try:
            raw = read_regular(folder / name)
        except BadSession as bad:
            total.update(f"{name}\0-{'' if not (folder / name).exists() else bad.message}\n".encode(errors="replace"))
            continue
        total.update(f"{name}\0{hashlib.sha256(raw).hexdigest()}\n".encode())
        if name == FILES[0]:
            lines, _ = split_lines(raw)
            number = len(lines)
            if lines:
                first, last = (hashlib.sha256(line).hexdigest() for line in (lines[0], lines[-1]))
    total.update("\n".join(sorted(_sounds(folder / AUDIO_NAME))).encode(errors="replace"))
    return Looked(folder=folder, own=total.hexdigest(), first=first, last=last, lines=number)


def _sounds(folder: Path) -> Iterator[str]:
    try:
        for each in os.scandir(folder):
            yield f"{each.name}\0{each.stat(follow_symlinks=False).st_size}"
    except OSError as error:
        yield f"-{error.errno}"


def keys_of(looked: Sequence[Looked], *, basis: str, registered: Mapping[str, str]) -> dict[Path, str]:
    """The key of each session's row.

    Args:
        looked: all sessions of one folder.
        basis: a text that changes with the program and with the keys that are trusted.
        registered: by first hash, a text that changes with the register's lines on that session.
    """
    together: dict[str, list[str]] = defaultdict(list)
    for each in looked:
        together[slug_in(each.folder.name) or each.folder.name].append(each.own)
    keys = {}
    for each in looked:
        beside = sorted(together[slug_in(each.folder.name) or each.folder.name])
        parts = [str(FORMAT), basis, each.folder.name, each.own, *beside, registered.get(each.first, "")]
        keys[each.folder] = hashlib.sha256("\n".join(parts).encode()).hexdigest()
    return keys


class RowCache:
    """The file of rows. Every failure of it costs time only: without the file each row is made anew.

    Args:
        file: made where it is missing; thrown away where it is damaged.
    """

    def __init__(self, file: Path) -> None:
        self._connection: sqlite3.Connection | None = None
        for _ in range(2):
            try:
                file.parent.mkdir(parents=True, exist_ok=True)
                self._connection = sqlite3.connect(file, timeout=5)
                self._connection.execute("CREATE TABLE IF NOT EXISTS row (key TEXT PRIMARY KEY, place TEXT, row TEXT)")
                return
            except (sqlite3.DatabaseError, OSError) as error:
                self.close()
                if not isinstance(error, sqlite3.DatabaseError) or isinstance(error, sqlite3.OperationalError):
                    return  # no place to write, or held by another: go on without
                with contextlib.suppress(OSError):
                    file.unlink()

    def __enter__(self) -> RowCache:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def rows(self, keys: Iterable[str]) -> dict[str, Row]:
        """The rows that are kept, by key."""
        found: dict[str, Row] = {}
        wanted = list(keys)
        if self._connection is None:
            return found
        for start in range(0, len(wanted), 500):
            part = wanted[start : start + 500]
            marks = ",".join("?" * len(part))
            with contextlib.suppress(sqlite3.Error):
                for key, text in self._connection.execute(f"SELECT key, row FROM row WHERE key IN ({marks})", part):
                    with contextlib.suppress(KeyError, TypeError, ValueError):
                        found[key] = row_from_json(json.loads(text))
        return found

    def keep(self, place: Path, rows: Mapping[str, Row], *, current: Iterable[str] = ()) -> None:
        """Keep rows of one folder of sessions.

        Args:
            place: the folder of sessions.
            rows: by key.
            current: keys of this place that still hold; its others are thrown away. Empty: none are.
        """
        if self._connection is None:
            return
        with contextlib.suppress(sqlite3.Error), self._connection:
            self._connection.executemany(
                "INSERT OR REPLACE INTO row VALUES (?, ?, ?)",
                [(key, str(place), json.dumps(row.as_json())) for key, row in rows.items()],
            )
            held = set(current)
            if held:
                kept = [
                    key for (key,) in self._connection.execute("SELECT key FROM row WHERE place = ?", (str(place),))
                ]
                self._connection.executemany(
                    "DELETE FROM row WHERE key = ?", [(key,) for key in kept if key not in held]
                )
