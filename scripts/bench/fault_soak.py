"""Hours of work at joints through the real loop and listeners, faster than they last: what grows, what is left.

The simulated technician answers as slowly as a person who pulls bolts, in the noise of a fan, joint after joint in one
process, until so many hours of sound have gone by.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import os
import time
from collections import deque
from dataclasses import dataclass, field
from pathlib import Path

from assistant.cli import rehearse
from assistant.devices.espeak_voices import speak
from assistant.devices.noise import make_noise
from assistant.journal.reading import read_session
from assistant.ports import Spoken
from assistant.rehearsal.technician import Technician

ROOT = Path(__file__).resolve().parents[2]
JOINT = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"
RATE_HZ = 16_000
SLOWEST_S = 240


class Slow(Technician):
    """Takes its time over each bolt, keeps nothing of what it heard, and tells what the process holds."""

    told = 0

    def hears(self, spoken: Spoken) -> None:
        super().hears(spoken)
        state = self._state()
        if state.current_pass is not None and state.dialogue == "guiding":
            self._due += round(self._chance.uniform(20, SLOWEST_S) * RATE_HZ)
        if self.hours >= (self.told + 1) / 2:
            self.told += 1
            print(f"  {self.hours:.1f} h of this joint, {figures()} MB, handles, threads", flush=True)

    @property
    def hours(self) -> float:
        """Of sound so far."""
        return self._now / RATE_HZ / 3600

    def forgets(self) -> None:
        """Lets go of its own copy of the sound."""
        self.heard = deque(maxlen=1)  # type: ignore[assignment]


@dataclass
class Soaked:
    """What came of it."""

    hours: float = 0.0
    utterances: int = 0
    entries: int = 0
    cpu_s: float = 0.0
    memory: str = ""
    rest: str = ""
    wrong: list[str] = field(default_factory=list)

    @property
    def faster(self) -> float:
        """How many times as fast as it lasts, by the processor's time."""
        return self.hours * 3600 / max(self.cpu_s, 1)


def figures() -> tuple[int, int, int]:
    """Memory in MB, file handles, threads."""
    rss = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmRSS"))
    return int(rss.split()[1]) // 1024, len(os.listdir("/proc/self/fd")), len(os.listdir("/proc/self/task"))  # noqa: PTH208


def soak(base: Path, hours: float) -> Soaked:
    """Joint after joint until so many hours have gone by."""
    found, seen, seed, begun = Soaked(), [], 0, time.process_time()
    os.environ |= {"ASSISTANT_KEYS": str(base / "keys"), "XDG_CACHE_HOME": str(base / "cache")}
    people: list[Slow] = []

    def technician(args: argparse.Namespace) -> Slow:
        noise = make_noise("fan", 60 * RATE_HZ, args.seed)
        voice = "gmw/en-us-nyc+m4"
        made = Slow(voice=lambda text: speak(text, voice, 160), noise=noise, snr_db=15, slips=(), seed=args.seed)
        made.forgets()
        people.append(made)
        return made

    kept = rehearse._technician, rehearse._keep_sound
    rehearse._technician, rehearse._keep_sound = technician, lambda *_: None
    try:
        while found.hours < hours:
            seed += 1
            args = argparse.Namespace(
                joint=JOINT, sessions=base / f"sessions-{seed}", language=None, date=None, fast=True, seed=seed
            )
            with contextlib.redirect_stderr(None):
                _, folder = rehearse.rehearse(args, show=False)
            entries = read_session(folder).entries
            found.hours += people.pop().hours  # whoever keeps a technician keeps its session, and all its listeners
            found.entries += len(entries)
            found.utterances += sum(entry.event.kind == "utterance-heard" for entry in entries)
            if entries[-1].event.kind != "session-closed":
                found.wrong.append(f"joint {seed} was not closed")
            gc.collect()
            seen.append(figures())
            print(f"{found.hours:.1f} h, {seed} joints, {seen[-1]} MB, handles, threads", flush=True)
    finally:
        rehearse._technician, rehearse._keep_sound = kept
    found.cpu_s = time.process_time() - begun
    (first, handles, threads), (last, handles_now, threads_now) = seen[0], seen[-1]
    found.memory = f"{first} MB after the first joint, {last} MB at the end"
    found.rest = f"handles {handles} and {handles_now}, threads {threads} and {threads_now}"
    if handles_now > handles or threads_now > threads or last > first * 1.25 + 20:
        found.wrong.append(f"{found.memory}; {found.rest}")
    return found
