"""Long streams of phrases in noise with the places of the speech known, and the score of an endpointer on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from assistant.devices.espeak_voices import VOICES, speak, speech_edges
from assistant.devices.noise import KINDS, active_rms, make_noise
from assistant.speech.utterance import Utterance
from scripts.bench.corpus import RATE_HZ, Corpus, load

LEVEL = 0.05  # root mean square of the speech in every stream, of full scale
LONGEST_PAUSE_S = 0.35  # inside a phrase; clips with longer ones are left out, they are two phrases
EDGE_TOLERANCE = RATE_HZ // 50  # 20 ms
PHRASES = (
    "three hundred and ten|one twenty|six|no|yes|stop|eight|three seventy foot pounds|two seventy five point five|"
    "say again|ninety five|four oh five|twelve hundred newton metres|status|bolt seven two hundred|fifty six|skip|help|"
    "one one zero"
).split("|")


@dataclass(frozen=True)
class Spot:
    """Where a phrase is in a stream: first sample with speech and the one after the last."""

    first: int
    past: int


@dataclass(frozen=True)
class Stream:
    """Sound (int16, 16 kHz) with its phrases."""

    name: str
    sound: npt.NDArray[np.int16]
    spots: tuple[Spot, ...]


@dataclass
class Score:
    """What became of the phrases of some streams."""

    phrases: int = 0
    whole: int = 0
    late: int = 0  # beginning missing
    early: int = 0  # end missing
    split: int = 0
    merged: int = 0
    missed: int = 0
    false: int = 0  # utterances without a phrase
    seconds: float = 0.0
    delays_ms: list[float] = field(default_factory=list)  # from the last sample with speech to the end event

    def add(self, other: Score) -> None:
        for name in ("phrases", "whole", "late", "early", "split", "merged", "missed", "false", "seconds"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.delays_ms += other.delays_ms


def phrases(corpus: Corpus, split: str, count: int, seed: int) -> list[tuple[npt.NDArray[np.int16], Spot]]:
    """Half real (numbers and commands), half synthetic phrases at LEVEL, with the edges of their speech."""
    chance = np.random.default_rng(seed)
    clips = corpus.speech(split, "AN4") + corpus.speech(split, "FSDD")[:: 7 if split == "train" else 3]
    order = chance.permutation(len(clips))
    found: list[tuple[npt.NDArray[np.int16], Spot]] = []
    for index in order:
        if len(found) >= count // 2:
            break
        sound = np.rint(load(clips[int(index)].path) * 32767).astype(np.int16)
        _keep(found, _faded(sound))
    while len(found) < count:
        voice = VOICES[int(chance.integers(len(VOICES)))]
        text = PHRASES[int(chance.integers(len(PHRASES)))]
        _keep(found, speak(text, voice, int(chance.integers(13, 20)) * 10, int(chance.integers(3, 8)) * 10)[0])
    return [found[int(index)] for index in chance.permutation(len(found))]


def _keep(found: list[tuple[npt.NDArray[np.int16], Spot]], sound: npt.NDArray[np.int16]) -> None:
    first, past = speech_edges(sound, below_db=25.0)
    if past - first < 0.1 * RATE_HZ or longest_pause_s(sound[first:past]) > LONGEST_PAUSE_S:
        return
    level = active_rms(sound)
    found.append((np.clip(np.rint(sound * (LEVEL / level)), -32768, 32767).astype(np.int16), Spot(first, past)))


def longest_pause_s(sound: npt.NDArray[np.int16]) -> float:
    """Longest stretch of 10 ms frames more than 30 dB below the loudest."""
    power = (sound[: len(sound) // 160 * 160].reshape(-1, 160).astype(float) ** 2).mean(axis=1)
    quiet = power < power.max() * 1e-3
    longest = run = 0
    for one in quiet:
        run = run + 1 if one else 0
        longest = max(longest, run)
    return longest / 100


def _faded(sound: npt.NDArray[np.int16]) -> npt.NDArray[np.int16]:
    ramp = np.linspace(0, 1, 320)
    out = sound.astype(float)
    out[:320] *= ramp
    out[-320:] *= ramp[::-1]
    return np.rint(out).astype(np.int16)


def build(
    name: str, said: Sequence[tuple[npt.NDArray[np.int16], Spot]], noise: str | None, snr_db: float, seed: int
) -> Stream:
    """Put phrases one after the other with gaps of 1.2 to 3 s, and noise over all of it."""
    chance = np.random.default_rng(seed)
    pieces, spots = [np.zeros(2 * RATE_HZ, np.int16)], []
    at = 2 * RATE_HZ
    for sound, spot in said:
        spots.append(Spot(at + spot.first, at + spot.past))
        gap = np.zeros(int(chance.uniform(1.2, 3.0) * RATE_HZ), np.int16)
        pieces += [sound, gap]
        at += len(sound) + len(gap)
    clean = np.concatenate(pieces) / 32768.0
    bed = (
        make_noise(noise, len(clean), seed) * LEVEL * 10 ** (-snr_db / 20)
        if noise
        else chance.standard_normal(len(clean)) * 3e-4
    )
    sound = np.clip(np.rint((clean + bed) * 32767), -32768, 32767).astype(np.int16)
    return Stream(name, sound, tuple(spots))


def noise_beds(corpus: Corpus | None, split: str) -> dict[str, list[str]]:
    """Kinds of noise -> names for `make_noise`: the generated ones, and recorded ones by their first word."""
    beds = {kind: [kind] for kind in KINDS}
    for clip in corpus.noise(split) if corpus else ():
        if not clip.path.name.startswith("room"):
            beds.setdefault("rec " + clip.path.stem.split("_")[0], []).append(str(clip.path))
    return beds


def score(stream: Stream, ended: Sequence[tuple[int, Utterance]]) -> Score:
    """Judge the utterances of a stream; `ended` are (sample at which the end was told, utterance)."""
    result = Score(phrases=len(stream.spots), seconds=len(stream.sound) / RATE_HZ)
    touching: dict[int, list[int]] = {}
    for number, (_told, one) in enumerate(ended):
        spots = [
            index
            for index, spot in enumerate(stream.spots)
            if one.speech_start < spot.past and one.speech_end > spot.first
        ]
        if not spots:
            result.false += 1
        for index in spots:
            touching.setdefault(index, []).append(number)
        if len(spots) > 1:
            result.merged += len(spots) - 1
    for index, spot in enumerate(stream.spots):
        numbers = touching.get(index, [])
        if not numbers:
            result.missed += 1
            continue
        told, one = ended[numbers[-1]]
        begins, ends = ended[numbers[0]][1].at_sample, one.at_sample + len(one.samples)
        late, early = begins > spot.first + EDGE_TOLERANCE, ends < spot.past - EDGE_TOLERANCE
        result.split += len(numbers) > 1
        result.late += late
        result.early += early
        if not late and not early and len(numbers) == 1:
            result.whole += 1
            result.delays_ms.append(1000 * (told - spot.past) / RATE_HZ)
    return result
