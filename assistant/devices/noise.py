"""Seeded plant noise for rehearsals and benches, and mixing speech into it at a chosen signal-to-noise ratio."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.audio_file import read_audio
from assistant.devices.espeak_voices import VOICES, speak
from assistant.errors import BadSettings

RATE_HZ = 16_000
Sound = npt.NDArray[np.float64]  # shape (n,), mono, 16 000 Hz, 1.0 is full scale
ACTIVE_DB = 30.0  # frames of speech within this of the loudest count for its level

_TALK = (
    "the crane comes down on the left side in a minute",
    "did you bring the other gasket from the store",
    "we had rain all week and the road was closed",
    "tell them the pump stays off until after lunch",
    "put the ladder back where you found it please",
    "nobody told me about the meeting this morning",
)


def make_noise(kind: str, samples: int, seed: int) -> Sound:
    """Noise of a kind, at a root mean square of 1.

    Args:
        kind: one of KINDS, or the path of a sound file, which is looped with cross-fades from a place chosen by the
            seed.
        samples: how many, at 16 000 Hz.
        seed: the same seed gives the same noise.

    Raises:
        BadSettings: neither a kind nor a file.
        BadAudio: the file cannot be read, or is silent.
    """
    chance = np.random.default_rng(seed)
    if kind in KINDS:
        sound = KINDS[kind](samples, chance) if samples else np.zeros(0)
    elif Path(kind).is_file():
        sound = _from_file(Path(kind), samples, chance)
    else:
        raise BadSettings(f"noise is {kind!r}", remedy=f"Choose one of {', '.join(KINDS)}, or name a sound file.")
    rms = float(np.sqrt(np.mean(sound**2))) if samples else 0.0
    return sound / rms if rms > 0 else sound


def mix(speech: npt.NDArray[np.int16], noise: Sound, snr_db: float) -> npt.NDArray[np.int16]:
    """Speech in noise.

    Args:
        speech: int16, shape (n,); its level is taken over its active frames, pauses left out.
        noise: root mean square 1 over its whole length, at least n long; the first n samples are used.
        snr_db: speech level less noise level, dB.

    Returns:
        int16, shape (n,); turned down as a whole where it would clip.
    """
    level = active_rms(speech)
    mixed = speech / 32768.0 + noise[: len(speech)] * (level * 10 ** (-snr_db / 20))
    peak = float(np.abs(mixed).max()) if len(mixed) else 0.0
    if peak > 0.99:
        mixed *= 0.99 / peak
    return np.rint(mixed * 32767).astype(np.int16)


def active_rms(speech: npt.NDArray[np.int16]) -> float:
    """Root mean square of the 20 ms frames within ACTIVE_DB of the loudest, 1.0 is full scale; 0 for silence."""
    size = RATE_HZ // 50
    frames = (speech[: len(speech) // size * size] / 32768.0).reshape(-1, size)
    power = (frames**2).mean(axis=1)
    if not power.any():
        return 0.0
    return float(np.sqrt(power[power >= power.max() * 10 ** (-ACTIVE_DB / 10)].mean()))


def _coloured(samples: int, chance: np.random.Generator, slope: float) -> Sound:
    """Noise whose power falls with frequency to the power of `slope`, from 30 Hz up."""
    spectrum = np.fft.rfft(chance.standard_normal(samples))
    frequency = np.fft.rfftfreq(samples, 1 / RATE_HZ)
    shape = np.maximum(frequency, 30.0) ** (-slope / 2)
    shape[frequency < 30.0] = 0.0
    return np.fft.irfft(spectrum * shape, samples)


def _pink(samples: int, chance: np.random.Generator) -> Sound:
    return _coloured(samples, chance, 1.0)


def _brown(samples: int, chance: np.random.Generator) -> Sound:
    return _coloured(samples, chance, 2.0)


def _fan(samples: int, chance: np.random.Generator) -> Sound:
    """Broad rush, a blade tone with harmonics, and a slow beat."""
    time = np.arange(samples) / RATE_HZ
    blade_hz = chance.uniform(80, 220)
    tones = sum(np.sin(2 * np.pi * blade_hz * k * time + chance.uniform(0, 6.3)) / k for k in range(1, 7))
    beat = 1 + 0.3 * np.sin(2 * np.pi * chance.uniform(0.5, 3) * time)
    rush = _pink(samples, chance)
    return beat * (rush / max(1e-12, float(rush.std())) + 0.5 * tones)


def _hammering(samples: int, chance: np.random.Generator) -> Sound:
    """Blows on steel every half second or so: a click and a few ringing modes, over faint rush."""
    out = 0.02 * chance.standard_normal(samples)
    modes = chance.uniform(600, 5000, size=5)
    at = float(chance.uniform(0, 0.5))
    while at * RATE_HZ < samples:
        start = round(at * RATE_HZ)
        time = np.arange(min(samples - start, RATE_HZ)) / RATE_HZ
        ring = sum(np.sin(2 * np.pi * mode * time) * np.exp(-time * chance.uniform(8, 40)) for mode in modes)
        out[start : start + len(time)] += chance.uniform(0.5, 1.5) * ring
        at += max(0.25, float(chance.normal(0.6, 0.08)))
    return out


def _grinder(samples: int, chance: np.random.Generator) -> Sound:
    """Bursts of a second or more of whining harmonics with rough noise, and pauses with the motor idling."""
    time = np.arange(samples) / RATE_HZ
    load = np.zeros(samples)
    at = 0
    while at < samples:
        burst = round(chance.uniform(0.8, 3.0) * RATE_HZ)
        load[at : at + burst] = chance.uniform(0.6, 1.0)
        at += burst + round(chance.uniform(0.4, 2.0) * RATE_HZ)
    load = np.convolve(load, np.ones(800) / 800, mode="same")
    turning = 2 * np.pi * np.cumsum(150 + 60 * load + 2 * np.sin(time)) / RATE_HZ
    whine = sum(np.sin(turning * k) / k**0.5 for k in (1, 2, 4, 8, 16))
    rough = np.convolve(chance.standard_normal(samples), [1, -0.9], mode="same")
    return (0.15 + load) * (whine + 0.8 * rough)


def _babble(samples: int, chance: np.random.Generator) -> Sound:
    """Six people talking at once, none of them to us."""
    out = np.zeros(samples)
    for _talker in range(6):
        voice = str(chance.choice(VOICES))
        rate, pitch = int(chance.integers(14, 22)) * 10, int(chance.integers(3, 8)) * 10
        level = chance.uniform(0.5, 1.0)
        at = -int(chance.integers(0, RATE_HZ))
        while at < samples:
            said = speak(str(chance.choice(_TALK)), voice, rate, pitch)[0] / 32768.0 * level
            start = max(0, at)
            piece = said[start - at : start - at + samples - start]
            out[start : start + len(piece)] += piece
            at += len(said) + int(chance.integers(0, RATE_HZ // 4))
    return out


def _from_file(path: Path, samples: int, chance: np.random.Generator) -> Sound:
    sound = read_audio(path).samples / 32768.0
    fade = min(RATE_HZ // 10, len(sound) // 4)
    ramp = np.sqrt(np.linspace(0, 1, fade))  # equal power
    loop = sound.copy()
    if fade:
        loop[:fade] = sound[:fade] * ramp + sound[len(sound) - fade :] * ramp[::-1]
        loop = loop[: len(sound) - fade]
    start = int(chance.integers(0, len(loop)))
    return np.resize(np.roll(loop, -start), samples)


KINDS: dict[str, Callable[[int, np.random.Generator], Sound]] = {
    "fan": _fan,
    "pink": _pink,
    "brown": _brown,
    "hammering": _hammering,
    "grinder": _grinder,
    "babble": _babble,
}
