"""What is said in the digits-in-noise test: triplets of one speaker's single digits, and noise of their spectrum."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scripts.bench.corpus import RATE_HZ, Corpus, Sound, active_level, load
from scripts.bench.cutting import single_digits
from scripts.bench.espeak import Wish, speak

DIGITS = "zero one two three four five six seven eight nine".split()
FEWEST_KINDS = 8  # a speaker of whom fewer different digits are known is left out
GAP_S = (0.10, 0.20)
AROUND_S = 0.5  # of noise before the first and behind the last digit
SPEECH_DBFS = -26.0  # level of the triplet; the noise is set against it
VOICES = ("en-029", "en-029+f2", "en-us-nyc+m4", "gmw/en+linda")  # those that taught nothing (`spoken.ESPEAK_VOICES`)
RATES_WPM = (135, 165)
BAND = 400  # points of the spectrum between 0 and 8 kHz


@dataclass(frozen=True)
class Talker:
    """One speaker.

    Args:
        name: who.
        group: "digits said alone", "digits cut out of strings" or "synthetic".
        digits: figure 0..9 -> its recordings, each float32 at level 1.
    """

    name: str
    group: str
    digits: Mapping[int, tuple[Sound, ...]]


@dataclass(frozen=True)
class Triplet:
    """Three digits as one number of three figures, and their sound (float32, 16 kHz, level 1 while speaking)."""

    number: int
    sound: Sound


def people(corpus: Corpus, split: str, *, model: Path, memory: Path) -> list[Talker]:
    """Speakers who recorded digits one by one, and speakers whose digits are cut out of strings that they read."""
    alone: dict[str, dict[int, list[Sound]]] = {}
    for clip in corpus.speech(split, "FSDD"):
        if not corpus.mislabelled(clip.path):
            alone.setdefault(clip.speaker, {}).setdefault(DIGITS.index(clip.text), []).append(load(clip.path))
    cut: dict[str, dict[int, list[Sound]]] = {}
    for piece in single_digits(corpus.speech(split, "AN4"), model=model, memory=memory):
        digit = DIGITS.index("zero" if piece.text == "oh" else piece.text)
        cut.setdefault(piece.clip.speaker, {}).setdefault(digit, []).append(piece.sound())
    return [*_talkers("digits said alone", alone), *_talkers("digits cut out of strings", cut)]


def synthetic() -> list[Talker]:
    """Voices of eSpeak NG that no listener learnt from, each at two rates."""
    wishes = [(v, n, rate) for v in VOICES for n in range(10) for rate in RATES_WPM]
    sounds = speak([Wish(DIGITS[n], v, rate) for v, n, rate in wishes])
    found: dict[str, dict[int, list[Sound]]] = {}
    for (voice, n, _), sound in zip(wishes, sounds, strict=True):
        found.setdefault(voice, {}).setdefault(n, []).append(_trimmed(sound))
    return _talkers("synthetic", found)


def triplets(talker: Talker, count: int, *, seed: str) -> list[Triplet]:
    """Different triplets in which a speaker's digits come about equally often at each place; no nought in front."""
    r = _chance(f"{seed}-{talker.name}")
    places = [_deck([n for n in sorted(talker.digits) if n or place], count, r) for place in range(3)]
    return [_joined(talker, figures, r) for figures in zip(*places, strict=True)]


def speech_noise(talker: Talker, samples: int, *, seed: str) -> Sound:
    """Steady noise with the long-term spectrum of all the speaker's digits, root mean square 1."""
    r = _chance(f"noise-{seed}-{talker.name}")
    spectrum = np.fft.rfft(r.standard_normal(samples))
    shape = np.interp(np.linspace(0, 1, len(spectrum)), np.linspace(0, 1, BAND), _long_term(talker))
    noise = np.fft.irfft(spectrum * shape, samples)
    return (noise / np.sqrt((noise**2).mean())).astype(np.float32)


def in_noise(triplet: Triplet, talker: Talker, snr_db: float, *, seed: str) -> npt.NDArray[np.int16]:
    """The triplet in noise (int16, 16 kHz); the level of the speech, pauses left out, against that of the noise."""
    speech = np.pad(triplet.sound, round(AROUND_S * RATE_HZ))
    noise = speech_noise(talker, len(speech), seed=seed)
    total = (speech + noise * np.float32(10 ** (-snr_db / 20))) * np.float32(10 ** (SPEECH_DBFS / 20))
    total /= max(1.0, float(np.abs(total).max()) / 0.98)
    return np.asarray(np.rint(total * 32767), np.int16)


def _talkers(group: str, found: Mapping[str, Mapping[int, Sequence[Sound]]]) -> list[Talker]:
    return [
        Talker(name, group, {n: tuple(x / max(active_level(x), 1e-4) for x in own[n]) for n in sorted(own)})
        for name, own in sorted(found.items())
        if len(own) >= FEWEST_KINDS
    ]


def _joined(talker: Talker, figures: Sequence[int], r: np.random.Generator) -> Triplet:
    parts: list[Sound] = []
    for n in figures:
        ways = talker.digits[n]
        parts += [ways[int(r.integers(len(ways)))], np.zeros(int(r.uniform(*GAP_S) * RATE_HZ), np.float32)]
    return Triplet(int("".join(map(str, figures))), np.concatenate(parts[:-1]).astype(np.float32))


def _deck(kinds: Sequence[int], count: int, r: np.random.Generator) -> list[int]:
    """`count` draws: whole shuffled rounds of all kinds, one after the other."""
    drawn: list[int] = []
    while len(drawn) < count:
        drawn += [kinds[i] for i in r.permutation(len(kinds))]
    return drawn[:count]


def _long_term(talker: Talker) -> npt.NDArray[np.float64]:
    """Amplitude over BAND points from 0 to 8 kHz, root mean square over all recordings."""
    power = np.zeros(BAND)
    for ways in talker.digits.values():
        for x in ways:
            found = np.abs(np.fft.rfft(x, 2 * (BAND - 1) * 40)) ** 2
            power += np.array([part.mean() for part in np.array_split(found, BAND)]) / len(ways)
    return np.sqrt(power)


def _trimmed(x: Sound, *, below: float = 0.02) -> Sound:
    loud = np.flatnonzero(np.abs(x) > below * np.abs(x).max())
    return x[loud[0] : loud[-1] + 1] if len(loud) else x


def _chance(text: str) -> np.random.Generator:
    return np.random.default_rng(int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "little"))
