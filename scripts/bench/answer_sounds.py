"""Single words of a corpus over noise, and the name of what was heard in them."""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.speech.heard import Heard
from assistant.speech.meaning import Command
from scripts.bench.corpus import Clip, Corpus, load

MARGIN = 8000  # samples of hush before and behind the word
QUIET = "quiet"


@dataclass(frozen=True)
class Presented:
    """One recording as it was played: `snr` is QUIET or dB."""

    clip: Clip
    noise: str
    snr: str
    samples: npt.NDArray[np.int16]


def clips_of(corpus: Corpus, word: str, split: str) -> list[Clip]:
    """Recordings of a word that do say it."""
    return [c for c in corpus.speech(split) if c.text == word and not corpus.mislabelled(c.path)]


def mixed(clip: Clip, noise: Clip | None, snr: str, chance: random.Random) -> npt.NDArray[np.int16]:
    """The word with some hush around it, over a noise at `snr` dB."""
    word = np.pad(load(clip.path).astype(np.float64), MARGIN)
    if noise is not None:
        around = load(noise.path).astype(np.float64)
        around = np.resize(np.roll(around, -chance.randrange(max(1, len(around)))), len(word))
        loud = np.sort(np.square(word))[-len(word) // 4 :].mean()
        word = word + around * np.sqrt(loud / max(np.square(around).mean(), 1e-9) * 10 ** (-float(snr) / 10))
    peak = max(1.0, float(np.abs(word).max()) / 0.99)
    return np.rint(word / peak * 32767).astype(np.int16)


def best(heard: Heard) -> str:
    """What the likeliest reading means, in a word."""
    if not heard.ranked:
        return "nothing"
    meaning = heard.ranked[0].meaning
    return meaning.name if isinstance(meaning, Command) else type(meaning).__name__.lower()
