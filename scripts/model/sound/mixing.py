"""Plans -> (clean, noisy) audio on the device: what the teacher hears and what the pupil hears.

Clean: the clips at a random level with a trace of noise. Noisy: another manner of speaking (raised, whispered, dull and
fading), room, microphone, hand radio, backgrounds at a signal-to-noise ratio, level, overload. The ratio is that of
`ratio.py`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch

from scripts.model.sound import noises
from scripts.model.sound.bank import RATE, UNIT, Bank, Plan
from scripts.model.sound.noises import chance, filtered, frequencies, humps, normal, uniform
from scripts.model.sound.ratio import at_ratio, evened

TAPS = 8  # of the interpolation that changes speed and pitch
WINDOW, HOP = 512, 128  # of the short spectra of whispering, samples
ENVELOPE = 30  # cepstral numbers that make the shape of the vocal tract


@dataclass(frozen=True)
class Recipe:
    """How hard the mixes are. `low`..`high`: SNR in dB of most mixes; `deep`: share drawn from `deepest`..`high`
    instead; `clean`: share without any change.
    """

    low: float = -5.0
    high: float = 22.0
    deepest: float = -10.0
    deep: float = 0.2
    clean: float = 0.13
    two: float = 0.45  # share with two backgrounds at once
    # recorded, coloured, machine, knocks, talk
    kinds: tuple[float, ...] = (0.33, 0.13, 0.17, 0.08, 0.29)
    talkers: int = 3  # fewest people in talk


class Mixer:
    """Sounds of one bank on one device. `seed` makes a run repeatable on the same device."""

    def __init__(self, bank: Bank, device: str, seed: int, recipe: Recipe | None = None):
        self.g, self.recipe = torch.Generator(device).manual_seed(seed), recipe or Recipe()
        self.speech = torch.from_numpy(bank.speech.sound).to(device)
        self.noise = torch.from_numpy(bank.noise.sound).to(device)
        self.start = torch.from_numpy(bank.noise.start).to(device)
        self.length = torch.from_numpy(bank.noise.length).to(device)

    def voices(self, plan: Plan) -> torch.Tensor:
        """The clips of a plan at their places, speaking level about 1; rows x samples."""
        if not len(plan.pieces):
            return torch.zeros(plan.rows, plan.samples, device=self.g.device)
        p = torch.from_numpy(plan.pieces).to(self.g.device)
        row, start, size, at, speed, gain = p.unbind(1)
        longest = int((size / speed).max()) + 1
        k = torch.arange(longest, device=p.device)
        pos = start[:, None] + speed[:, None] * k
        inside = k < (size / speed)[:, None]
        base = pos.long()
        frac = (pos - base).float()
        y = torch.zeros(len(p), longest, device=p.device)
        last = len(self.speech) - 1
        for j in range(-TAPS // 2 + 1, TAPS // 2 + 1):  # windowed sinc
            d = frac - j
            y += (
                self.speech[(base + j).clamp(0, last)].float()
                * torch.sinc(d)
                * torch.cos(math.pi * d / (TAPS + 1)).pow(2)
            )
        edge = torch.minimum(k + 1, (size / speed)[:, None] - k).clamp(0, 80).float() / 80
        y = y * inside * edge * (gain[:, None].float() / UNIT)
        x = torch.zeros(plan.rows, plan.samples + longest, device=p.device)
        x.view(-1).scatter_add_(0, (row[:, None] * x.shape[1] + at[:, None] + k).long().view(-1), y.view(-1))
        return x[:, : plan.samples]

    def room(self, x: torch.Tensor) -> torch.Tensor:
        """Direct sound plus a few reflections and a decaying tail, all rows another room."""
        g, (b, n) = self.g, x.shape
        m = int(0.6 * RATE)
        t = torch.arange(m, device=g.device)
        decay = uniform(g, 0.07, 0.55, b, 1) * RATE
        tail = normal(g, b, m) * torch.exp(-6.9 * t / decay) * (t > uniform(g, 0.001, 0.012, b, 1) * RATE)
        h = tail / (tail.pow(2).sum(1, keepdim=True).sqrt() + 1e-6) * 10 ** (uniform(g, -16, 1, b, 1) / 20)
        h[:, 0] = 1
        return torch.fft.irfft(torch.fft.rfft(x, n + m) * torch.fft.rfft(h, n + m), n + m)[:, :n]

    def microphone(self, x: torch.Tensor) -> torch.Tensor:
        """Slope, humps, low and high cut; now and then a narrow radio band."""
        g, b = self.g, len(x)
        f = frequencies(x.shape[1], g.device).clamp(min=20)
        db = uniform(g, -3.5, 3.5, b, 1) * (f / 1000).log2() + humps(g, b, f, count=3, low_db=-9, high_db=9)
        db = db - chance(g, 0.4, b, 1) * 6 * torch.log2(1 + (uniform(g, 60, 350, b, 1) / f) ** 4)
        return filtered(x, db - chance(g, 0.35, b, 1) * 6 * torch.log2(1 + (f / uniform(g, 3000, 7500, b, 1)) ** 8))

    def telephone(self, x: torch.Tensor) -> torch.Tensor:
        """The narrow band of a telephone or of an old radio: nothing above 4 kHz, little below 300 Hz."""
        g, b = self.g, len(x)
        f = frequencies(x.shape[1], g.device).clamp(min=20)
        low, high = uniform(g, 80, 350, b, 1), uniform(g, 3000, 3950, b, 1)
        db = -6 * torch.log2(1 + (low / f) ** 6) - 6 * torch.log2(1 + (f / high) ** 40)
        return filtered(x, db.clamp(min=-80))

    def raised(self, x: torch.Tensor) -> torch.Tensor:
        """The spectrum of a raised voice: up to 10 dB more between 1 and 4 kHz (common experience, no source)."""
        f = frequencies(x.shape[1], self.g.device).clamp(min=20)
        return filtered(x, uniform(self.g, 2, 10, len(x), 1) * torch.sigmoid((f / 900).log2() * 2.5))

    def whispered(self, x: torch.Tensor) -> torch.Tensor:
        """Noise in place of the voice behind the same vocal tract, low notes weak; as loud as before."""
        window = torch.hann_window(WINDOW, device=x.device)
        s = torch.stft(x, WINDOW, HOP, window=window, return_complex=True).transpose(1, 2)
        cepstra = torch.fft.irfft((s.abs() + 1e-5).log(), WINDOW)
        cepstra[..., ENVELOPE : WINDOW - ENVELOPE] = 0
        shape = torch.fft.rfft(cepstra, WINDOW).real.exp()
        f = frequencies(WINDOW, x.device).clamp(min=30)
        noise = torch.complex(normal(self.g, *s.shape), normal(self.g, *s.shape))
        s = noise * shape / (1 + (uniform(self.g, 200, 700, len(x), 1, 1) / f) ** 2)
        y = torch.istft(s.transpose(1, 2), WINDOW, HOP, window=window, length=x.shape[1])
        return y * (x.pow(2).mean(1, keepdim=True) / (y.pow(2).mean(1, keepdim=True) + 1e-9)).sqrt()

    def mumbled(self, x: torch.Tensor) -> torch.Tensor:
        """Dull from somewhere between 1 and 3 kHz on, and fading to a third at the most."""
        g, (b, n) = self.g, x.shape
        f = frequencies(n, g.device).clamp(min=20)
        y = filtered(x, -6 * torch.log2(1 + (f / uniform(g, 1000, 3000, b, 1)) ** 2))
        return y * (1 - uniform(g, 0, 0.7, b, 1) * torch.linspace(0, 1, n, device=g.device))

    def clipped(self, x: torch.Tensor) -> torch.Tensor:
        """Cut off near the speaking level, as a hand radio with its automatic gain does."""
        top = uniform(self.g, 0.8, 2.5, len(x), 1)
        return torch.minimum(torch.maximum(x, -top), top)

    def some(self, x: torch.Tensor, share: float, change) -> torch.Tensor:
        """`change` for a share of the rows."""
        at = chance(self.g, share, len(x)).nonzero()[:, 0]
        return x if not len(at) else x.index_copy(0, at, change(x[at]))

    def backgrounds(self, b: int, n: int) -> torch.Tensor:
        """B rows of background, root mean square 1."""
        g, out = self.g, torch.zeros(b, n, device=self.g.device)
        second = chance(g, self.recipe.two, b) * uniform(g, 0.2, 1, b)
        for share in (torch.ones(b, device=g.device), second):
            kind = torch.multinomial(torch.tensor(self.recipe.kinds, device=g.device), b, replacement=True, generator=g)
            for i, make in enumerate((self._recorded, noises.coloured, noises.machine, noises.knocks, self._talk)):
                at = ((kind == i) & (share > 0)).nonzero()[:, 0]
                if len(at):
                    out[at] += evened(make(g, len(at), n)) * share[at, None]
        return evened(out)

    def _recorded(self, g, b, n):
        return noises.recorded(g, b, n, self.noise, self.start, self.length)

    def _talk(self, g, b, n):
        return noises.talk(g, b, n, self.speech, fewest=self.recipe.talkers)

    def ratios(self, b: int) -> torch.Tensor:
        """SNR of each row in dB; 99 means without any change."""
        g, r = self.g, self.recipe
        snr = torch.where(chance(g, r.deep, b), uniform(g, r.deepest, r.high + 8, b), uniform(g, r.low, r.high, b))
        return torch.where(chance(g, r.clean, b), torch.full_like(snr, 99.0), snr)

    @torch.no_grad()
    def mix(self, plan: Plan, snr: torch.Tensor | None = None) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
        """(clean, noisy, SNR in dB): rows x samples twice, and rows."""
        g, x = self.g, self.voices(plan)
        b, n = x.shape
        snr = self.ratios(b) if snr is None else snr
        gain = 10 ** (uniform(g, -32, -17, b, 1) / 20)
        clean = x * gain + normal(g, b, n) * 1e-4
        clean = clean / (clean.abs().amax(1, keepdim=True) / 0.99).clamp(min=1)
        y = self.some(self.some(self.some(x, 0.15, self.raised), 0.06, self.whispered), 0.1, self.mumbled)
        y = self.some(self.some(self.some(y, 0.35, self.room), 0.4, self.microphone), 0.06, self.clipped)
        y = self.some(y, 0.2, self.telephone)
        y = at_ratio(y, self.backgrounds(b, n), snr[:, None], torch)
        y = y * gain * 10 ** (uniform(g, -10, 8, b, 1) * chance(g, 0.5, b, 1) / 20)
        y = y + normal(g, b, n) * 1e-5  # never digital silence
        top = y.abs().amax(1, keepdim=True)
        limit = top * uniform(g, 0.25, 0.8, b, 1)
        y = torch.where(chance(g, 0.04, b, 1), torch.minimum(torch.maximum(y, -limit), limit), y)
        y = torch.where(chance(g, 0.04, b, 1), limit * torch.tanh(y / limit), y)
        y = y / (y.abs().amax(1, keepdim=True) / 0.99).clamp(min=1)
        return clean, torch.where(snr[:, None] >= 90, clean, y), snr
