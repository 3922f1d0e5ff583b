"""A simulated year of sites: whole session folders by the rehearsal core without sound, with faults that are known.

Joints, people, wrenches and all that goes wrong are invented. Each session is guided by the real procedure and written
by the real journal; only nobody speaks, but for samples (`--sound-every`), in which a synthetic voice speaks each line
in the noise of a fan. What was planted is told in `truth.json` beside the sessions:

* wrenches that drift from a day on; all others scatter by chance alone
* bolts of one kind whose nuts move at the re-check, others that rarely do
* readings outside the window that are tightened again, skipped bolts, sessions that stopped half-way

    .venv/bin/python -m scripts.bench.site_year FOLDER --sessions N [--part 1/2] [--seed N] [--sound-every N]
"""

from __future__ import annotations

import argparse
import json
import random
import re
import time
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from assistant.devices.espeak_voices import speak
from assistant.devices.noise import make_noise
from assistant.events import SessionLeft
from assistant.procedure.state import State
from tests.replay.worked import Technician, Worked

BEGIN = datetime(2026, 1, 2, 6, 0, tzinfo=timezone.utc)
DAYS, SITES = 330, 12
SPREAD_PERCENT = 0.8
"""Standard deviation of a reading; a reading is rounded to the wrench's graduation besides."""
DRIFT_PERCENT_A_SESSION, BEGINS = 0.1, 0.5
"""What a drifting wrench gains in each session, from this share of its sessions on."""
RESTLESS, RARELY = 0.25, 0.02
"""Shares of nuts that move at the re-check: at bolts of RESTLESS_BOLTS, and at all others."""
RESTLESS_BOLTS = (3,)
OUTSIDE, SKIPPED, STOPPED = 0.02, 0.01, 0.01
"""Shares of readings that are too low and tightened again, of bolts that are skipped, of sessions that stop."""
SNR_DB = 12.0
"""Of the samples' speech over the noise."""
VOICES = ("gmw/en-us", "gmw/en", "gmw/en-us-nyc+m4")
PEOPLE = ("Robin Marsh", "Toni Vale")
JOINT = """
name = "{name}"
place = "{site}, bay {bay}"
tag = "{tag}"
kind = "{kind}"
torque_unit = "N*m"

[instruction]
title = "North Sluice instruction NS-PP-01"
revision = "A"

[[groups]]
name = "bolts"
count = 4
thread = "M16"
grade = "8.8"
length = "70 mm"
grip = "45 mm"
condition = "lubricated"
wrench = "wrench"

[groups.target]
percent_of_proof = "60 %"

[tightening]
order = "cross"
passes = ["50 %", "100 %"]
circular = true
max_circular_rounds = 3
window_low = "-8 %"
window_high = "8 %"

[[rechecks]]
kind = "cold"
earliest = "24 h"
latest = "72 h"

[[hold_points]]
name = "lock-out"
phase = "prepare"
ask = "Isolated and locked out?"
phrase = "locked out and tried"
released_by = "lead"

[[wrenches]]
name = "wrench"
kind = "digital"
serial = "{serial}"
unit = "N*m"
lowest = "20 N*m"
highest = "300 N*m"
graduation = "0.5 N*m"
deviation = "2 %"
calibration_due = {due}

[[people]]
role = "technician"
name = "{person}"

[[people]]
role = "lead"
"""
GASKET = """
[gasket]
type = "spiral wound"
inner_diameter = "70 mm"
outer_diameter = "86 mm"
m = 3.0
y = "10000 psi"
highest_stress = "210 MPa"
pressure = "16 bar"
elastomer = false
"""
KINDS = ("plain pattern", "machine base", "gasketed flange")
"""The last one waits until it is in service, and goes round its nuts again: the re-check."""


@dataclass(frozen=True)
class Site:
    """What is known of the year.

    Args:
        sessions: in all.
        wrenches: of all sites.
        drifting: numbers of those that drift.
        seed: the same seed makes the same year.
        sound_every: one session of so many has sound; 0: none.
    """

    sessions: int
    wrenches: int
    drifting: tuple[int, ...]
    seed: int
    sound_every: int = 0

    @property
    def joints(self) -> int:
        """Each is opened about twice in the year."""
        return max(1, self.sessions // 2)

    def gained(self, at: int) -> float:
        """Percent that the wrench of session `at` reads too high by then."""
        wrench, use = at % self.wrenches, at // self.wrenches
        begins = BEGINS * self.sessions / self.wrenches
        return max(0.0, use - begins) * DRIFT_PERCENT_A_SESSION if wrench in self.drifting else 0.0


def site(sessions: int, seed: int, sound_every: int = 0) -> Site:
    """A year: a wrench for every 100 sessions, a tenth of them drifting."""
    wrenches = max(10, sessions // 100)
    drifting = random.Random(seed).sample(range(wrenches), max(1, wrenches // 10))
    return Site(
        sessions=sessions, wrenches=wrenches, drifting=tuple(sorted(drifting)), seed=seed, sound_every=sound_every
    )


class Guided(Worked):
    """Utterances with two listeners and a noise level. Where there is no sound the record calls the answers typed."""

    def say(self, *lines: str, **more: object) -> Worked:
        for line in lines:
            super().say(line, **({"listeners": {"constrained": line, "vosk": line}, "snr_db": SNR_DB} | more))
        return self

    def sounds(self, line: str) -> np.ndarray:
        speech, first, last = speak(line, VOICES[self.clock.now.day % len(VOICES)], 160)
        padded = np.pad(speech[first:last].astype(float), 4800)
        loudness = np.sqrt(np.mean(padded[4800:-4800] ** 2)) * 10 ** (-SNR_DB / 20)
        noisy = padded + loudness * make_noise("fan", len(padded), self.sample)
        return np.clip(noisy.round(), -32768, 32767).astype(np.int16)


class Worker(Technician):
    """Reads what the wrench shows, with its drift; sometimes too low, sometimes skips; nuts move at the re-check."""

    def __init__(self, draw: random.Random, gained: float, stops: bool) -> None:
        super().__init__(names=PEOPLE)
        self.draw, self.gained = draw, gained
        self.left = draw.randrange(3, 20) if stops else None
        self._skipped: set[tuple[int, int | None]] = set()

    def __call__(self, state: State) -> str | None:
        if state.dialogue == "off-window":
            return "tighten again"
        return super().__call__(state)

    def _at_bolt(self, state: State) -> str | None:
        due = state.current_pass
        if due is None or state.bolt is None:
            return None
        if self.left is not None:
            self.left -= 1
            if self.left < 0:
                return None
        place = (state.stage, state.bolt)
        if due.kind == "pattern" and place not in self._skipped and self.draw.random() < SKIPPED:
            self._skipped.add(place)
            return "skip"
        if due.goes_round:
            share = RESTLESS if state.bolt in RESTLESS_BOLTS else RARELY
            again = due.phase == "re-check"
            return "moved" if again and state.round == 1 and self.draw.random() < share else "held"
        if due.kind == "snug":
            return "snug"
        assert due.setting is not None and due.low is not None and due.high is not None
        setting, low, high = float(due.setting.value), float(due.low.value), float(due.high.value)
        if self.draw.random() < OUTSIDE:
            return f"{low * 0.97:.0f}"
        value = setting * (1 + (self.gained + self.draw.gauss(0, SPREAD_PERCENT)) / 100)
        return f"{min(max(round(2 * value) / 2, low), high):g}"


def make(year: Site, at: int, sessions: Path, keys: Path) -> Path:
    """Session number `at` as a folder."""
    draw = random.Random(f"{year.seed} {at}")
    joint = at % year.joints
    opened = BEGIN + timedelta(days=DAYS * at / year.sessions, seconds=draw.randrange(600))
    text = JOINT.format(
        name=f"Joint {joint}",
        site=f"Site {joint % SITES}",
        bay=joint % 40,
        tag=f"NS-{joint:05}",
        kind=KINDS[joint % len(KINDS)],
        serial=f"NS-TW-{at % year.wrenches:04}",
        due="2027-06-30" if at % year.wrenches else "2026-12-20",
        person=PEOPLE[at % len(PEOPLE)],
    )
    text += GASKET if KINDS[joint % len(KINDS)] == "gasketed flange" else ""
    file = sessions.parent / f"joint-{at}.toml"
    file.write_text(text, encoding="utf-8")
    try:
        stops = draw.random() < STOPPED
        settings = {"played": "rehearsal"} if at % 50 == 49 else {}
        sound = year.sound_every > 0 and at % year.sound_every == 0
        worked = Guided(sessions, file, start=opened, settings=settings, sound=sound)
        worked.finish(Worker(draw, year.gained(at), stops))
        if worked.state.closed:
            return worked.seal(keys)
        if draw.random() < 0.5:  # the other half stopped without a word, as in a power cut
            worked.events(SessionLeft(reason="the shift ended"))
        return worked.close()
    finally:
        file.unlink()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sessions", type=int, default=100, metavar="N")
    parser.add_argument("--part", default="1/1", metavar="K/N", help="make only each Nth, beginning with the Kth")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sound-every", type=int, default=0, metavar="N", help="one session of N has sound")
    args = parser.parse_args()
    year = site(args.sessions, args.seed, args.sound_every)
    part, parts = map(int, re.fullmatch(r"(\d+)/(\d+)", args.part).groups())  # type: ignore[union-attr]
    sessions, keys = args.folder / "sessions", args.folder / "keys"
    for folder in (sessions, keys):
        folder.mkdir(parents=True, exist_ok=True)
    began = time.process_time()
    made = 0
    for at in range(part - 1, year.sessions, parts):
        make(year, at, sessions, keys)
        made += 1
    truth = {
        "sessions": year.sessions,
        "drifting": [f"NS-TW-{number:04}" for number in year.drifting],
        "seed": year.seed,
    }
    (args.folder / "truth.json").write_text(json.dumps(truth, indent=1), encoding="utf-8")
    print(f"{made} sessions, {(time.process_time() - began) / max(1, made):.3f} s of processor time each")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
