"""A short session to record, damage and cut; a clock that ticks; a disk that fails when told."""

from __future__ import annotations

import errno
import os
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path

import numpy as np

from assistant.events import (
    Alternative,
    Event,
    Measured,
    ReadingAccepted,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    UtteranceHeard,
)
from assistant.journal.disk import Disk
from assistant.journal.findings import Report
from assistant.journal.keyring import Basis, basis_of, own_public_key
from assistant.journal.recording import Recording
from assistant.journal.seal import installation_key
from assistant.journal.signing import Signer
from assistant.journal.store import JournalStore
from assistant.journal.verify import verify

START = datetime(2026, 11, 25, 10, 15, tzinfo=timezone.utc)
JOINT = b'name = "North Sluice DN150 flange"\n'
PLAN = b'{"joint":"North Sluice DN150 flange"}\n'


class Ticking:
    """A clock that is one second later each time it is asked."""

    def __init__(self, start: datetime = START, step_s: float = 1.0) -> None:
        self.next, self.step = start, timedelta(seconds=step_s)

    def __call__(self) -> datetime:
        now, self.next = self.next, self.next + self.step
        return now


class FailingDisk(Disk):
    """Lets some operations pass, then raises; with `dead`, from then on always (as after pulling the disk)."""

    def __init__(
        self, passes: int, error: BaseException | None = None, *, dead: bool = False, half: bool = False
    ) -> None:
        self.passes, self.dead, self.half = passes, dead, half
        self.error = error or OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        self.done = 0
        self.raised = ""
        """The operation that raised last."""

    def _step(self, operation: str) -> None:
        self.done += 1
        if self.done == self.passes + 1 or (self.dead and self.done > self.passes):
            self.raised = operation
            raise self.error

    def make_folder(self, path: Path) -> None:
        self._step("make_folder")
        super().make_folder(path)

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        self._step("open")
        return super().open(path, flags, mode)

    def write(self, descriptor: int, data: bytes, at: int) -> int:
        if self.half and self.done == self.passes:
            super().write(descriptor, data[: len(data) // 2], at)
        self._step("write")
        return super().write(descriptor, data, at)

    def sync(self, descriptor: int) -> None:
        self._step("sync")
        super().sync(descriptor)

    def close(self, descriptor: int) -> None:
        super().close(descriptor)
        self._step("close")

    def truncate(self, descriptor: int, length: int) -> None:
        self._step("truncate")
        super().truncate(descriptor, length)

    def rename(self, old: Path, new: Path) -> None:
        self._step("rename")
        super().rename(old, new)


def opened(store: JournalStore | None = None) -> SessionOpened:
    return SessionOpened(
        joint="North Sluice DN150 flange",
        joint_sha256=store.joint_sha256 if store else "0" * 64,
        plan_sha256=store.plan_sha256 if store else "0" * 64,
        product="assistant 0.1.0",
        listeners=("constrained", "vosk"),
        speaker="silent",
        settings={"rate": 1.0, "words": ["one", None, True]},
    )


def resumed(torn_bytes: int) -> SessionResumed:
    return SessionResumed(product="assistant 0.1.0", listeners=("typed",), speaker="silent", torn_bytes=torn_bytes)


def heard(name: str, sha256: str | None, value: str = "310") -> UtteranceHeard:
    reading = Alternative(kind="value", text="three ten", probability=0.98, value=Decimal(value), unit=None)
    return UtteranceHeard(
        utterance=name,
        start_sample=100,
        end_sample=900,
        audio_sha256=sha256,
        alternatives=(reading,),
        fit=-0.5,
        free_text="three ten",
        listeners={"constrained": "three ten", "vosk": "three ten"},
        agreed=True,
        decision="accept",
        accept_at=0.9,
    )


def accepted(entry: int, value: str, name: str) -> ReadingAccepted:
    return ReadingAccepted(
        entry=entry,
        stage=2,
        round=1,
        pass_number=1,
        bolt=5,
        achieved=Measured(Decimal(value), "N*m"),
        utterance=name,
    )


def sound(seed: int, samples: int = 600) -> np.ndarray:
    """Quiet noise, int16, shape (samples,)."""
    return np.random.default_rng(seed).integers(-2000, 2000, samples, dtype=np.int16)


def new_store(sessions: Path, disk: Disk | None = None, signer: Signer | None = None) -> JournalStore:
    return JournalStore.create(
        sessions,
        joint="North Sluice DN150 flange",
        joint_toml=JOINT,
        plan_json=PLAN,
        clock=Ticking(),
        disk=disk,
        need_bytes=0,
        signer=signer,
    )


def say(store: Recording, value: str, seed: int) -> list[Event]:
    """One reading, from sound to record; answers what was appended."""
    name, digest = store.audio.keep(sound(seed))
    events: list[Event] = [heard(name, digest, value), accepted(seed, value, name)]
    store.append(events, 1000 * seed)
    return events


def unsealed_session(sessions: Path) -> Path:
    """Opened and two readings: five lines, two recordings."""
    with new_store(sessions) as store:
        store.append([opened(store)], 0)
        say(store, "310", 1)
        say(store, "312.5", 2)
        return store.folder


def sealed_session(sessions: Path, keys: Path) -> Path:
    """The same, closed and sealed: six lines."""
    folder = unsealed_session(sessions)
    with JournalStore.open(folder, clock=Ticking(START + timedelta(minutes=1))) as store:
        store.append([SessionClosed(utterance="0002")], 5000)
        store.seal(installation_key(keys), "assistant 0.1.0")
    return folder


def basis_beside(folder: Path, *also: str) -> Basis:
    """The keys of `keys` beside the sessions (or beside their folder), and these, as a machine's own."""
    keys = [own_public_key(place / "keys") for place in (folder.parent, folder.parent.parent)]
    return basis_of([key for key in (*keys, *also) if key])


def verify_here(folder: Path, **arguments) -> Report:
    """Verify where the key that these tests seal with is the machine's own, unless something else is said."""
    return verify(folder, **{"basis": basis_beside(folder)} | arguments)
