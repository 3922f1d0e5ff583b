"""Backgrounds, all rows of a batch at once: recorded, coloured, machines, knocks, talk; each gives rows x samples.

`g` is a `torch.Generator` on the device of the result. The machines are drawn, not recorded: harmonics of a shaft or
fan, bursts of metal on metal (impact wrench, hammer, chipping), hiss, gated as work goes on and off. Their ranges are
common sense, no source.
"""

from __future__ import annotations

import math

import torch

from scripts.model.sound.ratio import evened

RATE = 16000


def uniform(g: torch.Generator, low: float, high: float, *shape: int) -> torch.Tensor:
    """Uniform random numbers."""
    return torch.rand(*shape, generator=g, device=g.device) * (high - low) + low


def normal(g: torch.Generator, *shape: int) -> torch.Tensor:
    """Standard normal random numbers."""
    return torch.randn(*shape, generator=g, device=g.device)


def chance(g: torch.Generator, p: float, *shape: int) -> torch.Tensor:
    """True with probability p."""
    return torch.rand(*shape, generator=g, device=g.device) < p


def humps(g: torch.Generator, b: int, f: torch.Tensor, *, count: int, low_db: float, high_db: float) -> torch.Tensor:
    """Broad random humps and dips in decibels over the frequencies f, rows x frequencies."""
    centre, width = uniform(g, 6.5, 12.9, b, count, 1), uniform(g, 0.2, 1.0, b, count, 1)
    height = uniform(g, low_db, high_db, b, count, 1) * chance(g, 0.5, b, count, 1)
    return (height * torch.exp(-(((f.clamp(min=30).log2() - centre) / width) ** 2))).sum(1)


def filtered(x: torch.Tensor, db: torch.Tensor) -> torch.Tensor:
    """Rows with a gain in decibels over rfft's frequencies."""
    return torch.fft.irfft(torch.fft.rfft(x) * 10 ** (db / 20), x.shape[1])


def frequencies(n: int, device) -> torch.Tensor:
    """Rfft's frequencies in Hz."""
    return torch.fft.rfftfreq(n, 1 / RATE, device=device)


def smooth_gate(g: torch.Generator, b: int, n: int) -> torch.Tensor:
    """Work going on and off: 1 and a low level by turns of 0.2 ... 2 s, soft edges; a third of the rows never stops."""
    t = torch.arange(n, device=g.device) / RATE
    period, phase, duty = uniform(g, 0.4, 4.0, b, 1), uniform(g, 0, 1, b, 1), uniform(g, 0.25, 0.8, b, 1)
    on = torch.sigmoid(((t / period + phase) % 1 - duty).neg() * period * 60)
    floor = uniform(g, 0.02, 0.5, b, 1)
    return torch.where(chance(g, 0.33, b, 1), torch.ones_like(on), floor + (1 - floor) * on)


def coloured(g: torch.Generator, b: int, n: int) -> torch.Tensor:
    """Noise with a random slope and humps, a third of the rows beating like something that turns."""
    f = frequencies(n, g.device)
    db = uniform(g, -12, 3, b, 1) * (f.clamp(min=60) / 1000).log2() + humps(g, b, f, count=4, low_db=-8, high_db=14)
    x = evened(filtered(normal(g, b, n), db))
    t = torch.arange(n, device=g.device) / RATE
    beat = 1 + uniform(g, 0.2, 0.95, b, 1) * torch.sin(
        2 * math.pi * uniform(g, 0.7, 30, b, 1) * t + uniform(g, 0, 6.3, b, 1)
    )
    return torch.where(chance(g, 0.35, b, 1), x * beat, x)


def tones(g: torch.Generator, b: int, n: int, count: int = 14) -> torch.Tensor:
    """A hum or whine: harmonics of a fundamental between 20 and 1500 Hz that wavers and may run up or down."""
    t = torch.arange(n, device=g.device) / RATE
    f0 = 2 ** uniform(g, 4.4, 10.5, b, 1)
    glide = 1 + chance(g, 0.3, b, 1) * uniform(g, -0.08, 0.08, b, 1) * t / t[-1]
    waver = 0.004 * torch.sin(2 * math.pi * uniform(g, 0.1, 6, b, 1) * t)
    phase = 2 * math.pi * torch.cumsum(f0 * (glide + waver) / RATE, 1)
    fall, x = uniform(g, 0.1, 1.3, b, 1), torch.zeros(b, n, device=g.device)
    for h in range(1, count + 1):
        audible = (f0 * h < 7600) & chance(g, 0.75, b, 1)
        x += audible * uniform(g, 0.2, 1.2, b, 1) / h**fall * torch.sin(h * phase + uniform(g, 0, 6.3, b, 1))
    return evened(x)


def strikes(g: torch.Generator, b: int, n: int, low_hz: float, high_hz: float) -> torch.Tensor:
    """Bursts of ringing metal at a rate between low and high (log-uniform), regular or not."""
    m = int(0.35 * RATE)
    t = torch.arange(m, device=g.device) / RATE
    hit = normal(g, b, m) * torch.exp(-t * uniform(g, 15, 200, b, 1))
    for _ in range(4):
        ring = torch.sin(2 * math.pi * 2 ** uniform(g, 7.5, 12.7, b, 1) * t) * torch.exp(-t * uniform(g, 8, 90, b, 1))
        hit = hit + chance(g, 0.6, b, 1) * uniform(g, 0.3, 2.5, b, 1) * ring
    count = int(n / RATE * high_hz) + 2
    rate = low_hz * (high_hz / low_hz) ** uniform(g, 0, 1, b, 1)
    jitter = uniform(g, 0, 0.5, b, 1) * chance(g, 0.6, b, 1)
    at = (
        (torch.arange(count, device=g.device) + uniform(g, 0, 1, b, 1) + jitter * normal(g, b, count) * 0.5)
        / rate
        * RATE
    ).long()
    force = uniform(g, 0.5, 1, b, count) * ((at >= 0) & (at < n))
    x = torch.zeros(b, n, device=g.device).scatter_add_(1, at.clamp(0, n - 1), force)
    size = n + m
    return evened(torch.fft.irfft(torch.fft.rfft(x, size) * torch.fft.rfft(hit, size), size)[:, :n])


def machine(g: torch.Generator, b: int, n: int) -> torch.Tensor:
    """A tool or a plant: whine, hiss and strokes in random shares, gated."""
    share = uniform(g, 0, 1, b, 3) ** 2 + 0.02
    x = (
        share[:, :1] * tones(g, b, n)
        + share[:, 1:2] * evened(coloured(g, b, n))
        + share[:, 2:] * strikes(g, b, n, 4, 45)
    )
    return x * smooth_gate(g, b, n)


def knocks(g: torch.Generator, b: int, n: int) -> torch.Tensor:
    """Hammering, ratcheting, things dropped."""
    return strikes(g, b, n, 0.8, 18) + 1e-3 * normal(g, b, n)


def windows(sound: torch.Tensor, start: torch.Tensor, n: int, speed: torch.Tensor | None = None) -> torch.Tensor:
    """float32 windows of n samples from int16 `sound` at the given starts (any shape), read at `speed` by linear
    interpolation.
    """
    k = torch.arange(n, device=sound.device)
    if speed is None:
        return sound[start.long()[..., None] + k].float()
    at = start[..., None].double() + speed[..., None].double() * k
    low = at.long()
    w = (at - low).float()
    return sound[low].float() * (1 - w) + sound[low + 1].float() * w


def talk(g: torch.Generator, b: int, n: int, speech: torch.Tensor, *, fewest: int = 3, most: int = 9) -> torch.Tensor:
    """Several other people talking at once; `speech` is the whole bank, one clip behind the other."""
    speed = uniform(g, 0.85, 1.15, b, most)
    start = uniform(g, 0, len(speech) - 1.2 * n - 2, b, most)
    voices = windows(speech, start, n, speed)
    present = torch.arange(most, device=g.device) < torch.randint(
        fewest, most + 1, (b, 1), generator=g, device=g.device
    )
    return (voices * (present * 10 ** (uniform(g, -9, 0, b, most) / 20))[..., None]).sum(1)


def recorded(
    g: torch.Generator, b: int, n: int, noise: torch.Tensor, start: torch.Tensor, length: torch.Tensor
) -> torch.Tensor:
    """Windows of noise recordings (each at least 1.5 n long), a little faster or slower, another microphone."""
    i = torch.randint(len(start), (b,), generator=g, device=g.device)
    speed = torch.where(chance(g, 0.5, b), uniform(g, 0.75, 1.33, b), torch.ones(b, device=g.device))
    first = start[i] + torch.rand(b, generator=g, device=g.device).double() * (length[i] - speed * n - 2).clamp(min=0)
    x = windows(noise, first, n, speed)
    f = frequencies(n, g.device)
    changed = filtered(
        x, uniform(g, -3, 3, b, 1) * (f.clamp(min=60) / 1000).log2() + humps(g, b, f, count=2, low_db=-8, high_db=8)
    )
    return torch.where(chance(g, 0.5, b, 1), changed, x)
