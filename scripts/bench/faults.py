"""Sweeps over what can go wrong with a record, and one table of what came of it.

    scripts/bench/faults                     all but the soak
    scripts/bench/faults disk kill power     some of them
    scripts/bench/faults files --cases 1000000 --seed 1
    scripts/bench/faults soak --hours 8

| sweep | does |
|---|---|
| disk | each operation on the disk fails: once, from then on, after half of a write; with each error of a disk |
| kill | a process that records is killed before, half-way through and after each operation |
| guide | the same kills and errors in whole `guide` commands: what was printed has to be in the journal |
| power | the power goes after each operation; what was not synced is lost, torn, zeros, out of order |
| bits | each bit of journal, checkpoints, seal, joint file and plan of a sealed session; of recordings one in 20 |
| cuts | journal, checkpoints and register cut at each byte; the session goes on |
| clock | the wall clock is set by seconds, hours and years in the middle of a session, and over a restart |
| files | files of every kind, changed at random: read, or refused in a sentence |
| soak | hours of noise and speech through the whole command, faster than they last: memory, handles, threads |

A row says how many entries that had been answered for were lost afterwards (it has to be 0) and what else was wrong.
Exit status 1 where anything was. A case of `files` is made anew by `--only KIND:NUMBER` with the same seed.
"""

from __future__ import annotations

import argparse
import errno
import functools
import itertools
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from assistant.errors import AssistantError, BadSession
from assistant.events import Wait, WorkLaidOut
from assistant.journal.chain import DamagedLine, read_line
from assistant.journal.clock import Uptime
from assistant.journal.disk import Disk
from assistant.journal.keyring import read_basis
from assistant.journal.seal import installation_key
from assistant.journal.signing import machine_signer
from assistant.journal.store import JournalStore
from assistant.journal.verify import verify
from assistant.replay.rebuild import rebuild_state
from scripts.bench.fault_commands import guide_once, operations_of_guide
from scripts.bench.fault_files import Kinds, attempt
from scripts.bench.fault_soak import soak
from scripts.bench.medium import VARIANTS, RecordingDisk, Step, cuts
from tests.journal.short_record import JOINT, PLAN, START, FailingDisk, opened, resumed
from tests.journal.whole_course import ENTRIES, PRODUCT, lost, recorded, session_in
from tests.procedure.talk import CLOSE, stages
from tests.session.house import session
from tests.session.test_waits import Script

ERRORS = (errno.EIO, errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES)
SHOWN = 5


@dataclass
class Row:
    """One sweep's line in the table."""

    name: str
    cases: int = 0
    answered: int = 0
    lost: int = 0
    came: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    began: float = field(default_factory=time.monotonic)
    seconds: float = 0.0

    def judge(self, label: str, root: Path, acknowledged: int) -> None:
        """Count what was lost of a stopped course, and whether it goes on to a seal that verifies."""
        self.cases += 1
        self.answered += acknowledged
        try:
            gone = lost(root, acknowledged)
        except (AssertionError, AssistantError) as error:
            self.wrong.append(f"{label}: {type(error).__name__} {str(error)[:200]}")
            return
        self.lost += gone
        if gone:
            self.wrong.append(f"{label}: {gone} of {acknowledged} acknowledged entries are gone")

    def done(self) -> Row:
        """Stop its clock."""
        self.seconds = time.monotonic() - self.began
        return self


def fresh(base: Path, keys: Path) -> Path:
    """A new folder with this machine's key and no session."""
    shutil.rmtree(base, ignore_errors=True)
    (base / "keys").mkdir(parents=True, mode=0o700)
    (base / "sessions").mkdir(mode=0o700)
    shutil.copy2(keys / "seal-key.pem", base / "keys" / "seal-key.pem")
    return base


def operations(base: Path, keys: Path) -> int:
    """How many operations the course takes."""
    disk, told = FailingDisk(10**9), []
    recorded(fresh(base, keys), disk, told.append)
    assert told[-1] == ENTRIES, told
    return disk.done


class ShortDisk(Disk):
    """Takes a few bytes at a time, as a disk may."""

    def write(self, descriptor: int, data: bytes, at: int) -> int:
        return super().write(descriptor, data[: max(1, len(data) // 3)], at)


def disk_sweep(base: Path, keys: Path, _options: argparse.Namespace) -> Row:
    row, count = Row("disk: each operation fails"), operations(base, keys)
    for code in ERRORS:
        for how in ("once", "on", "half"):
            for passes in range(count):
                root, told = fresh(base, keys), [0]
                error = OSError(code, os.strerror(code))
                disk = FailingDisk(passes, error, dead=how == "on", half=how == "half")
                try:
                    recorded(root, disk, told.append)
                    row.came["went through"] += 1
                except AssistantError as refused:
                    row.came["told" if refused.remedy else "told without a remedy"] += 1
                except Exception as escaped:
                    row.wrong.append(f"{errno.errorcode[code]} {how} {passes}: {escaped!r}")
                row.judge(f"{errno.errorcode[code]} {how} {passes}", root, told[-1])
    root, told = fresh(base, keys), [0]
    recorded(root, ShortDisk(), told.append)
    row.judge("short writes", root, told[-1])
    return row.done()


class KillingDisk(FailingDisk):
    """Ends its own process at one operation: before it, in the middle of a write, or after it."""

    def __init__(self, number: int, when: str) -> None:
        super().__init__(10**9)
        self.number, self.when = number, when

    def _step(self) -> None:
        self.done += 1
        if self.done == self.number and self.when == "before":
            os.kill(os.getpid(), signal.SIGKILL)
        if self.done == self.number + 1 and self.when == "after":
            os.kill(os.getpid(), signal.SIGKILL)

    def write(self, descriptor: int, data: bytes, at: int) -> int:
        if self.done + 1 == self.number and self.when == "half":
            Disk.write(self, descriptor, data[: len(data) // 2], at)
            os.kill(os.getpid(), signal.SIGKILL)
        return super().write(descriptor, data, at)


def kill_sweep(base: Path, keys: Path, _options: argparse.Namespace) -> Row:
    row, count = Row("kill: at each operation"), operations(base, keys)
    for when in ("before", "half", "after"):
        for number in range(1, count + 1):
            root = fresh(base, keys)
            told = in_child(lambda tell, root=root, n=number, w=when: recorded(root, KillingDisk(n, w), tell), row)
            row.judge(f"{when} {number}", root, told)
    return row.done()


def in_child(act: Callable[[Callable[[int], None]], object], row: Row) -> int:
    """Run in a process of its own that may be killed; answers the last number it told."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        status = 97
        try:
            act(lambda number: os.write(write, f"{number}\n".encode()) and None)
            status = 0
        finally:
            os._exit(status)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        told = pipe.read().split()
    _, status = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    row.came["killed" if killed else "went through" if status == 0 else "ended otherwise"] += 1
    if not killed and status:
        row.wrong.append(f"status {status}")
    return int(told[-1]) if told else 0


def power_sweep(base: Path, keys: Path, _options: argparse.Namespace) -> Row:
    row, root, chance = Row("power: cut after each operation"), fresh(base, keys), random.Random(1)
    disk = RecordingDisk()
    recorded(root, disk, disk.acknowledge)
    steps = [Step("folder", root / "keys"), Step("folder", root / "sessions"), Step("sync", root), *disk.steps]
    for number, medium in cuts(steps, root):
        for variant in VARIANTS if medium.under_way else ("nothing",):
            for again in range(4 if variant in ("torn", "reordered", "mixed") else 1):
                if number < 3:
                    continue
                medium.leave(base / "cut", variant, chance)
                shutil.copy2(keys / "seal-key.pem", base / "cut" / "keys" / "seal-key.pem")
                row.came[variant] += 1
                row.judge(f"{variant} {number} {again}", base / "cut", medium.acknowledged)
    return row.done()


# -------------------------------------------------------------------------------------------------- whole commands
def guide_sweep(base: Path, _keys: Path, options: argparse.Namespace) -> Row:
    """Errors and kills at each operation of a `guide` command; then the joint is gone on with by the command."""
    row, count = Row("guide: errors and kills in the command"), operations_of_guide(base)
    first, last = options.part
    for how in ("kill", "EIO", "ENOSPC on"):
        for number in range(first, count + 1, last):
            found = guide_once(base, how, number)
            row.cases += 1
            row.answered += found.printed
            row.lost += found.missing
            row.came[f"{how}: {found.ended}"] += 1
            row.wrong += [f"{how} {number}: {each}" for each in found.wrong]
    return row.done()


# ------------------------------------------------------------------------------------------------------------ damage
def sealed(base: Path, keys: Path) -> Path:
    root = fresh(base, keys)
    return recorded(root, Disk(), lambda _count: None)


def bits_sweep(base: Path, keys: Path, _options: argparse.Namespace) -> Row:
    row, folder = Row("bits: each one changed"), sealed(base, keys)
    basis = read_basis(base / "keys")
    files = ["journal.jsonl", "checkpoints.jsonl", "seal.json", "joint.toml", "plan.json"]
    for name in [*files, *(f"audio/{path.name}" for path in sorted((folder / "audio").iterdir()))]:
        raw = (folder / name).read_bytes()
        step = 1 if name in files else 20
        for bit in range(0, 8 * len(raw), step):
            changed = bytearray(raw)
            changed[bit // 8] ^= 1 << bit % 8
            row.cases += 1
            if name == "journal.jsonl" and not _line_of(raw, bit // 8, changed):
                row.came["found in its line"] += 1  # the check figure of the line; much quicker than the whole
                continue
            (folder / name).write_bytes(bytes(changed))
            try:
                found = not verify(folder, basis=basis).good
            except BadSession:
                found = True
            row.came["found" if found else "missed"] += 1
            if not found:
                row.wrong.append(f"{name} bit {bit}")
        (folder / name).write_bytes(raw)
    return row.done()


def _line_of(raw: bytes, at: int, changed: bytearray) -> bool:
    """Whether the line around this byte is still one line that fits itself."""
    first, last = raw.rfind(b"\n", 0, at) + 1, raw.find(b"\n", at)
    if at == last:
        return True
    try:
        read_line(bytes(changed[first:last]))
    except DamagedLine:
        return False
    return True


def cuts_sweep(base: Path, keys: Path, _options: argparse.Namespace) -> Row:
    """An open session: each file that grows cut at each byte (one in three of the journal). Longer cuts than a stop
    leaves are refused; none is taken for another course of the work.
    """
    row, root = Row("cuts: at each byte"), fresh(base / "whole", keys)
    folder = recorded(root, Disk(), lambda _count: None, sittings=1)
    for name, step in (("journal.jsonl", 3), ("checkpoints.jsonl", 2), ("../../keys/register.jsonl", 2)):
        size = (folder / name).stat().st_size
        for at in range(0, size, step):
            shutil.rmtree(base / "cut", ignore_errors=True)
            shutil.copytree(root, base / "cut")
            there = session_in(base / "cut")
            assert there is not None
            os.truncate(there / name, at)
            row.cases += 1
            basis = read_basis(base / "cut" / "keys")
            try:
                trusted = verify(there, basis=basis).trust.trusted
                gone = lost(base / "cut", 0)
                row.came["gone on with" if trusted else "not trusted, but gone on with"] += 1
                if gone or not trusted:
                    row.wrong.append(f"{name} at {at}: gone on with, trusted {trusted}")
            except (AssistantError, AssertionError):
                row.came["not trusted"] += 1
    return row.done()


# ------------------------------------------------------------------------------------------------------------- clocks
STEPS = (-31_536_000, -86_400, -3600, -3, -1, 0, 1, 3, 3600, 14_400, 86_400, 31_536_000)
WAIT = Wait(name="settling time", phase="seat", seconds=14_400)
WAITING = WorkLaidOut(joint="North Sluice DN150 flange", stages=stages(WAIT, CLOSE))


class SetClock:
    """A wall clock that somebody sets, and the time that the machine has been running."""

    def __init__(self) -> None:
        self.passed, self.step, self.boot, self.up = timedelta(0), timedelta(0), "a" * 16, timedelta(seconds=1000)

    def __call__(self) -> datetime:
        return START + self.passed + self.step

    def uptime(self) -> Uptime:
        return Uptime(boot=self.boot, ms=round(self.up.total_seconds() * 1000))

    def on(self, minutes: int) -> Callable[[], None]:
        def act() -> None:
            self.passed += timedelta(minutes=minutes)
            self.up += timedelta(minutes=minutes)

        return act

    def set_by(self, seconds: int) -> Callable[[], None]:
        def act() -> None:
            self.step += timedelta(seconds=seconds)

        return act


def clock_sweep(base: Path, keys: Path, _options: argparse.Namespace) -> Row:
    """A wait of four hours with the clock set at a third of it, while the machine runs or is off for ten minutes."""
    row = Row("clock: set during a wait of 4 h")
    for seconds, restart in itertools.product(STEPS, (False, True)):
        label = f"{seconds} s{', over a restart' if restart else ''}"
        root, clock, over = fresh(base, keys), SetClock(), []
        signer = machine_signer(root / "keys", PRODUCT)
        place = {"joint": "North Sluice DN150 flange", "joint_toml": JOINT, "plan_json": PLAN, "need_bytes": 0}
        store = JournalStore.create(root / "sessions", clock=clock, signer=signer, **place)

        def look(store: JournalStore = store, clock: SetClock = clock, over: list[timedelta] = over) -> None:
            if not over and any(e.event.kind == "wait-over" for e in store.entries):
                over.append(clock.passed)

        first, rest = [opened(store), WAITING], [each for _ in range(40) for each in (clock.on(5), 2.0, look)]
        if restart:
            with store:
                session(Script(*[each for _ in range(16) for each in (clock.on(5), 2.0)], "leave it open"),
                        recording=store, clock=clock).run(first)  # fmt: skip
            clock.on(10)()
            clock.boot, clock.up, first = "b" * 16, timedelta(seconds=30), [resumed(0)]
            clock.set_by(seconds)()
            store = JournalStore.open(store.folder, clock=clock, signer=machine_signer(root / "keys", PRODUCT))
            rest = [each for _ in range(40) for each in (clock.on(5), 2.0, functools.partial(look, store))]
        else:
            before = [each for _ in range(16) for each in (clock.on(5), 2.0)]
            rest = [*before, clock.set_by(seconds), 2.0, *rest]
        with store:
            session(Script(*rest), recording=store, clock=clock).run(first)
            events = [e.event for e in store.entries]
        row.cases += 1
        told = [e for e in events if e.kind == "clock-set"]
        row.came["asked" if any(e.wait == "unsure" for e in told) else "told" if told else "nothing to tell"] += 1
        ended = over[0] if over else None
        hours = timedelta(hours=4)
        if not restart or abs(seconds) <= 2:  # what passed is known: not too early, not more than a look too late
            if ended is None or not hours - timedelta(seconds=5) <= ended <= hours + timedelta(minutes=6):
                row.wrong.append(f"{label}: over after {ended}")
        elif seconds < -2 and ended is not None and ended < hours:
            row.wrong.append(f"{label}: over after {ended}")
        if abs(seconds) > 2 and not restart and not told:
            row.wrong.append(f"{label}: not told")
        report = verify(store.folder, rebuild=rebuild_state, basis=read_basis(root / "keys"))
        if not report.trust.trusted:
            row.wrong.append(f"{label}: cannot be trusted: {report.trust.reasons}")
    return row.done()


# -------------------------------------------------------------------------------------------------------------- files
def files_sweep(base: Path, _keys: Path, options: argparse.Namespace) -> Row:
    row, kinds = Row(f"files: changed at random, seed {options.seed}"), Kinds(base / "files")
    first, last = options.part
    for kind in kinds.all:
        whole = round(options.cases * kind.share)
        for number in range(whole * (first - 1) // last, whole * first // last):
            came = attempt(kind, kinds.case(kind, options.seed, number))
            row.cases += 1
            row.came[came if came in ("read", "refused") else "escaped"] += 1
            if came not in ("read", "refused"):
                row.wrong.append(f"{kind.name}:{number}: {came}")
    return row.done()


# --------------------------------------------------------------------------------------------------------------- soak
def soak_sweep(base: Path, _keys: Path, options: argparse.Namespace) -> Row:
    row = Row(f"soak: {options.hours:g} h through the command")
    found = soak(base, options.hours)
    row.cases = found.utterances
    row.answered = found.entries
    row.came.update({f"{found.faster:.0f} times as fast as it lasts": 1, f"memory {found.memory}": 1, found.rest: 1})
    row.wrong += found.wrong
    return row.done()


SWEEPS = {
    "disk": disk_sweep,
    "kill": kill_sweep,
    "guide": guide_sweep,
    "power": power_sweep,
    "bits": bits_sweep,
    "cuts": cuts_sweep,
    "clock": clock_sweep,
    "files": files_sweep,
    "soak": soak_sweep,
}


def table(rows: Sequence[Row]) -> str:
    """As it is printed."""
    head = f"{'sweep':<42}{'cases':>9}{'acknowledged':>14}{'lost':>6}{'wrong':>7}{'s':>7}  what came"
    lines = [head, "-" * len(head)]
    for row in rows:
        came = ", ".join(f"{count} {what}" for what, count in row.came.most_common())
        told = f"{row.name:<42}{row.cases:>9}{row.answered:>14}{row.lost:>6}{len(row.wrong):>7}{row.seconds:>7.0f}"
        lines.append(f"{told}  {came}")
    lines.append(f"acknowledged entries lost: {sum(row.lost for row in rows)}")
    return "\n".join(lines)


def part(text: str) -> tuple[int, int]:
    """`2/5`: the second of five parts."""
    first, _, last = text.partition("/")
    if not (first.isdecimal() and last.isdecimal() and 0 < int(first) <= int(last)):
        raise argparse.ArgumentTypeError(f"{text!r} is not like 2/5")
    return int(first), int(last)


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="faults", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("sweeps", nargs="*", metavar="SWEEP", help=", ".join(SWEEPS))
    p.add_argument("--cases", type=int, default=1_000_000, help="of `files`")
    p.add_argument("--seed", type=int, default=1, help="of `files`")
    p.add_argument("--only", metavar="KIND:NUMBER", help="one case of `files`, printed as it is read")
    p.add_argument("--part", type=part, default=(1, 1), metavar="N/OF", help="of `files` and `guide`: one part of them")
    p.add_argument("--hours", type=float, default=8.0, help="of `soak`")
    options = p.parse_args(arguments)
    unknown = [name for name in options.sweeps if name not in SWEEPS]
    if unknown:
        p.error(f"no sweep is called {unknown[0]}; there are {', '.join(SWEEPS)}")
    rows = []
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None, prefix="faults-") as folder:
        base, keys = Path(folder) / "work", Path(folder) / "keys"
        installation_key(keys)
        if options.only:
            name, _, number = options.only.partition(":")
            kinds = Kinds(base / "files")
            kind = next(each for each in kinds.all if each.name == name)
            raw = kinds.case(kind, options.seed, int(number))
            print(repr(raw[:2000]), attempt(kind, raw), sep="\n")
            return 0
        for name in options.sweeps or [name for name in SWEEPS if name != "soak"]:
            rows.append(SWEEPS[name](base, keys, options))
            print(f"{rows[-1].name}: {rows[-1].seconds:.0f} s", file=sys.stderr)
            for wrong in rows[-1].wrong[:SHOWN]:
                print(f"  WRONG {wrong}", file=sys.stderr)
    print(table(rows))
    return 1 if any(row.wrong or row.lost for row in rows) else 0


if __name__ == "__main__":
    raise SystemExit(main())
