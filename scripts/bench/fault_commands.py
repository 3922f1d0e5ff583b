"""Whole `guide` commands with typed words, in child processes whose disk fails or which are killed at one operation."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import signal
import sys
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from assistant.cli import guide, main  # noqa: F401 - loaded before the children are made
from assistant.journal.disk import Disk
from assistant.journal.keyring import read_basis
from assistant.journal.reading import read_session
from assistant.journal.verify import verify
from assistant.replay.rebuild import rebuild_state
from assistant.replay.transcript import transcript
from assistant.report.transcript_text import text_line

ROOT = Path(__file__).resolve().parents[2]
JOINT = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"
SAID = ["Robin Marsh", "yes"]
SAID += [line for line in (ROOT / "tests/golden/plain.said").read_text("utf-8").splitlines() if line[:1] != "#"][:36]
OPERATIONS = ("make_folder", "open", "write", "sync", "truncate", "rename")
TRANSCRIPT = re.compile(r"[0-9]{2}:[0-9]{2}:[0-9]{2}  ")


@dataclass
class Guided:
    """What came of one command and of going on after it."""

    ended: str
    printed: int = 0
    missing: int = 0
    wrong: list[str] = field(default_factory=list)


@contextlib.contextmanager
def struck(at: int, how: str, count: list[int]) -> Iterator[None]:
    """The real disk, but its operation number `at` fails or is the last; 0 only counts."""

    def strike(name: str, original: Callable[..., object]) -> Callable[..., object]:
        def act(self: Disk, *arguments: object, **named: object) -> object:
            count[0] += 1
            if at and (count[0] == at or (how.endswith(" on") and count[0] > at)):
                if how == "kill":
                    os.kill(os.getpid(), signal.SIGKILL)
                code = getattr(errno, how.split()[0])
                raise OSError(code, os.strerror(code))
            return original(self, *arguments, **named)

        act.__name__ = name
        return act

    before = {name: getattr(Disk, name) for name in OPERATIONS}
    for name, original in before.items():
        setattr(Disk, name, strike(name, original))
    try:
        yield
    finally:
        for name, original in before.items():
            setattr(Disk, name, original)


def command(base: Path, lines: list[str], *, at: int = 0, how: str = "kill") -> tuple[str, list[str], str, int]:
    """Run `guide` in a child: (how it ended, lines printed, stderr, operations counted)."""
    (base / "in").write_text("\n".join(lines) + "\n", "utf-8")
    child = os.fork()
    if child == 0:
        status = 97
        try:
            for number, name, flags in ((0, "in", os.O_RDONLY), (1, "out", os.O_WRONLY), (2, "err", os.O_WRONLY)):
                os.dup2(os.open(base / name, flags | os.O_CREAT | (os.O_TRUNC if number else 0), 0o600), number)
            sys.stdin = os.fdopen(0, "r", encoding="utf-8", closefd=False)
            sys.stdout = os.fdopen(1, "w", buffering=1, encoding="utf-8", closefd=False)
            sys.stderr = os.fdopen(2, "w", buffering=1, encoding="utf-8", closefd=False)
            os.environ |= {"ASSISTANT_KEYS": str(base / "keys"), "XDG_CONFIG_HOME": str(base / "none")}
            count = [0]
            given = ["guide", str(JOINT), "--listen", "typed", "--speak", "silent", "--date", "2026-11-25"]
            with struck(at, how, count):
                status = main.main([*given, "--sessions", str(base / "sessions")])
            (base / "count").write_text(str(count[0]))
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(status)
    _, status = os.waitpid(child, 0)
    ended = f"signal {os.WTERMSIG(status)}" if os.WIFSIGNALED(status) else f"exit {os.WEXITSTATUS(status)}"
    count_file = base / "count"
    count = int(count_file.read_text()) if count_file.exists() else 0
    printed = [line for line in (base / "out").read_text("utf-8").splitlines() if TRANSCRIPT.match(line)]
    return ended, printed, (base / "err").read_text("utf-8"), count


def prepared(base: Path) -> Path:
    """An empty place for one command."""
    shutil.rmtree(base, ignore_errors=True)
    base.mkdir(parents=True)
    return base


def operations_of_guide(base: Path) -> int:
    """How many operations on the disk the command makes; loads what it needs on the way, so that children are quick."""
    ended, printed, err, count = command(prepared(base), SAID)
    assert ended == "exit 1" and len(printed) > 60, (ended, err)
    return count


def guide_once(base: Path, how: str, number: int) -> Guided:
    """One command that is struck, then the same joint gone on with."""
    ended, printed, err, _ = command(prepared(base), SAID, at=number, how=how)
    found = Guided(ended=ended, printed=len(printed))
    if "Traceback" in err:
        found.wrong.append(f"traceback: {err.strip().splitlines()[-1][:200]}")
    if how != "kill" and ended not in ("exit 1", "exit 2", "exit 4"):
        found.wrong.append(ended)
    folder = _journal(base)
    found.missing = _missing(folder, printed)
    if found.missing:
        found.wrong.append(f"{found.missing} printed lines are not in the journal")
    again, _, err, _ = command(base, ["status"])
    if again != "exit 1" or "Traceback" in err:
        found.wrong.append(f"not gone on with: {again} {err.strip()[-300:]}")
    folder = _journal(base)
    if folder is not None:
        report = verify(folder, rebuild=rebuild_state, basis=read_basis(base / "keys"))
        if not report.trust.trusted:
            found.wrong.append(f"cannot be trusted: {report.trust.reasons[:2]}")
    return found


def _journal(base: Path) -> Path | None:
    folders = sorted((base / "sessions").glob("*/journal.jsonl"))
    return folders[-1].parent if folders else None


def _missing(folder: Path | None, printed: list[str]) -> int:
    """Printed lines that the journal does not hold, in order."""
    if folder is None:
        return len(printed)
    have = [text_line(line).split("\n")[0] for line in transcript(read_session(folder).entries)]
    at, missing = 0, 0
    for line in printed:
        try:
            at = have.index(line, at) + 1
        except ValueError:
            missing += 1
    return missing
