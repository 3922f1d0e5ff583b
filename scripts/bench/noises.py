"""Noise of a work place: recorded clips, coloured and beating noise with hum, babble of several talkers, knocks.

Every function returns float32 (n,) of root mean square 1.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scripts.bench.corpus import RATE_HZ, Clip, Sound, active_level, load

KINDS = ("recorded", "coloured", "babble", "knocks")


def noise(kind: str, n: int, r: np.random.Generator, *, recorded: Sequence[Clip], talkers: Sequence[Clip]) -> Sound:
    """`n` samples of one of `KINDS`."""
    if kind == "recorded":
        x = _looped(load(recorded[int(r.integers(len(recorded)))].path), n, r)
    elif kind == "coloured":
        x = coloured(n, r)
    elif kind == "babble":
        x = _babble(n, r, talkers)
    else:
        x = _knocks(n, r)
    return (x / (np.sqrt((x**2).mean()) + 1e-9)).astype(np.float32)


def coloured(n: int, r: np.random.Generator, *, slope_db: float | None = None) -> Sound:
    """Noise with a slope (dB per octave) and broad humps; now and then beating like a machine, or with a hum."""
    f = np.fft.rfftfreq(n, 1 / RATE_HZ)
    db = (r.uniform(-12, 3) if slope_db is None else slope_db) * np.log2(np.maximum(f, 60) / 1000)
    for _ in range(int(r.integers(0, 4))):
        centre, width = 2 ** r.uniform(6.5, 12.8), r.uniform(0.2, 1)
        db = db + r.uniform(-8, 12) * np.exp(-((np.log2(np.maximum(f, 30) / centre) / width) ** 2))
    x = np.fft.irfft(np.fft.rfft(r.standard_normal(n)) * 10 ** (db / 20), n)
    t = np.arange(n) / RATE_HZ
    if r.random() < 0.35:
        x = x * (1 + r.uniform(0.2, 0.95) * np.sin(2 * np.pi * r.uniform(0.7, 30) * t + r.uniform(0, 6)))
    x = x / (x.std() + 1e-9)
    if r.random() < 0.3:
        base = 2 ** r.uniform(5.3, 10.5)
        for h in range(1, int(r.integers(2, 12))):
            if h * base < 7900:
                x = x + r.uniform(0, 1.5) / h * np.sin(2 * np.pi * h * base * t + r.uniform(0, 6))
    return x.astype(np.float32)


def _looped(x: Sound, n: int, r: np.random.Generator) -> Sound:
    """From a random place of the recording, repeated with cross-fades."""
    fade = min(1600, len(x) // 4)
    if len(x) <= n:
        ramp = np.linspace(0, 1, fade, dtype=np.float32)
        body = x.copy()
        body[:fade] = body[:fade] * ramp + x[-fade:] * (1 - ramp)
        x = np.tile(body[: len(x) - fade], n // (len(x) - fade) + 2)
    at = int(r.integers(len(x) - n))
    return x[at : at + n]


def _babble(n: int, r: np.random.Generator, talkers: Sequence[Clip]) -> Sound:
    total = np.zeros(n, np.float32)
    for _ in range(int(r.integers(3, 10))):
        parts: list[Sound] = []
        while sum(map(len, parts)) <= n:
            x = load(talkers[int(r.integers(len(talkers)))].path)
            parts.append(x / max(active_level(x), 1e-4))
        x = np.concatenate(parts)
        at = int(r.integers(len(x) - n))
        total += x[at : at + n] * np.float32(10 ** (r.uniform(-8, 0) / 20))
    return total


def _knocks(n: int, r: np.random.Generator) -> Sound:
    """Hammer, ratchet: short ringing bursts, regular or not."""
    m = int(r.uniform(0.02, 0.3) * RATE_HZ)
    t = np.arange(m) / RATE_HZ
    hit = r.standard_normal(m) * np.exp(-t * r.uniform(15, 120))
    for _ in range(int(r.integers(0, 4))):
        hit = hit + r.uniform(0.3, 2) * np.sin(2 * np.pi * 2 ** r.uniform(8, 12.6) * t) * np.exp(-t * r.uniform(8, 60))
    x = np.zeros(n + m)
    gap, at = r.uniform(0.05, 0.9) * RATE_HZ, r.uniform(0, 0.5) * RATE_HZ
    while at < n:
        x[int(at) : int(at) + m] += hit * r.uniform(0.5, 1)
        at += gap * r.uniform(0.8, 1.2) + 1
    return (x[:n] + 1e-2 * r.standard_normal(n)).astype(np.float32)
