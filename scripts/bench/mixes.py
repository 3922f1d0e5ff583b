"""Utterances as an endpointer hands them on: something said, or nothing, in noise at a chosen SNR. All from seeds."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from scripts.bench.corpus import RATE_HZ, Clip, Sound, active_level
from scripts.bench.imitated import MANNERS
from scripts.bench.noises import KINDS, coloured, noise
from scripts.bench.spoken import Spoken

CLEAN = 99.0
SHARES = (0.42, 0.24, 0.24, 0.10)  # of the kinds of noise


@dataclass(frozen=True)
class Mix:
    """One utterance to hear. It sounds only when somebody asks for its samples.

    Args:
        key: names it and everything that made it.
        spoken: what is said, or None for noise alone.
        snr_db: speech while speaking against noise; CLEAN for quiet.
        make: gives the kind of noise, "quiet" for none, and the samples, int16 (n,), 16 kHz.
        told: kind of noise and seconds where somebody knows them already; filled by `scripts.bench.hearing`.
    """

    key: str
    spoken: Spoken | None
    snr_db: float
    make: Callable[[], tuple[str, npt.NDArray[np.int16]]] = field(compare=False, repr=False)
    told: dict[str, float | str] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def _made(self) -> tuple[str, npt.NDArray[np.int16]]:
        return self.make()

    @property
    def samples(self) -> npt.NDArray[np.int16]:
        """int16 (n,), 16 kHz; made anew at each call once forgotten."""
        return self._made[1]

    @property
    def noise(self) -> str:
        """Kind of noise, "quiet" for none."""
        return str(self.told["noise"]) if "noise" in self.told else self._made[0]

    @property
    def seconds(self) -> float:
        """Its length."""
        return float(self.told["seconds"]) if "seconds" in self.told else len(self.samples) / RATE_HZ

    def forget(self) -> None:
        """Let the samples go."""
        self.__dict__.pop("_made", None)


class Mixer:
    """Makes mixes from noise recordings and talkers of one split."""

    def __init__(self, recorded: Sequence[Clip], talkers: Sequence[Clip], *, plain: bool = False) -> None:
        """`plain` leaves out other manners of speaking, rooms, other microphones and clipping."""
        self.recorded, self.talkers, self.plain = recorded, talkers, plain

    def mix(
        self, spoken: Spoken | None, snr_db: float, *, seed: str, seconds: float = 3.0, kind: str | None = None
    ) -> Mix:
        """One utterance with 0.2 to 0.5 s before and behind what is said; `seconds` is the length of noise alone."""
        key = f"{seed}-{'noise' if spoken is None else spoken.key}-{snr_db:.1f}-{'plain' if self.plain else 'manifold'}"
        return Mix(key, spoken, snr_db, lambda: self._sounded(key, spoken, snr_db, seconds, kind))

    def _sounded(
        self, key: str, spoken: Spoken | None, snr_db: float, seconds: float, kind: str | None
    ) -> tuple[str, npt.NDArray[np.int16]]:
        r = np.random.default_rng(int.from_bytes(hashlib.sha256(key.encode()).digest()[:8], "little"))
        speech = np.zeros(int(seconds * RATE_HZ), np.float32)
        if spoken is not None:
            before, behind = (int(r.uniform(0.2, 0.5) * RATE_HZ) for _ in range(2))
            speech = np.pad(self._voiced(spoken.sound, r), (before, behind))
        kind = str(r.choice(KINDS, p=SHARES)) if kind is None else kind
        if snr_db >= CLEAN:
            kind = "quiet"
            total = speech + coloured(len(speech), r) * np.float32(10 ** (-r.uniform(38, 60) / 20))
        else:
            gain = np.float32(10 ** (-snr_db / 20)) if spoken is not None else np.float32(1)
            total = speech + gain * noise(kind, len(speech), r, recorded=self.recorded, talkers=self.talkers)
        total = total * np.float32(10 ** (r.uniform(-34, -18) / 20))
        if not self.plain and r.random() < 0.04:
            top = float(np.abs(total).max()) * 0.4
            total = np.clip(total, -top, top)
        total = total / max(1.0, float(np.abs(total).max()) / 0.98)
        return kind, np.rint(total * 32767).astype(np.int16)

    def _voiced(self, x: Sound, r: np.random.Generator) -> Sound:
        """Now and then in another manner, through a room or another microphone."""
        if self.plain:
            return x
        if r.random() < 0.15:
            x = MANNERS[sorted(MANNERS)[int(r.integers(len(MANNERS)))]](x, r)
            x = (x / max(active_level(x), 1e-4)).astype(np.float32)
        if r.random() < 0.25:
            x = _room(x, r)
        if r.random() < 0.3:
            x = _microphone(x, r)
        return x


def _room(x: Sound, r: np.random.Generator) -> Sound:
    n = int(r.uniform(0.08, 0.4) * RATE_HZ)
    tail = r.standard_normal(n) * np.exp(-6.9 * np.arange(n) / n)
    tail[: int(r.uniform(0.001, 0.012) * RATE_HZ)] = 0
    answer = tail / np.sqrt((tail**2).sum() + 1e-9) * 10 ** (r.uniform(-14, -1) / 20)
    answer[0] = 1
    size = len(x) + n
    return np.fft.irfft(np.fft.rfft(x, size) * np.fft.rfft(answer, size), size)[: len(x)].astype(np.float32)


def _microphone(x: Sound, r: np.random.Generator) -> Sound:
    f = np.maximum(np.fft.rfftfreq(len(x), 1 / RATE_HZ), 20)
    db = r.uniform(-3, 3) * np.log2(f / 1000)
    db = db + r.uniform(-6, 6) * np.exp(-((np.log2(f / 2 ** r.uniform(7, 12.8)) / r.uniform(0.2, 1)) ** 2))
    if r.random() < 0.4:
        db = db - 6 * np.log2(1 + (r.uniform(60, 300) / f) ** 4)
    if r.random() < 0.3:
        db = db - 6 * np.log2(1 + (f / r.uniform(3300, 7500)) ** 8)
    y = np.fft.irfft(np.fft.rfft(x) * 10 ** (db / 20), len(x))
    return (y * np.sqrt((x**2).mean() / ((y**2).mean() + 1e-12))).astype(np.float32)
