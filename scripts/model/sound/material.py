"""Sound for the development check of both recognisers: people and voices that none was trained on, clean and in noise.

Sets (development split only): `figures` three-figure strings joined from the digit speaker's recordings; `people`
whole recordings of the number speakers, in a grammar of any string of figures; `phrases` values and commands by the
synthetic voices kept for judging, in the torque grammar; `talk` sentences that are no part of the job, notes included,
and `noise` alone: whatever is accepted there is false. Backgrounds come from the mixer with the development noises and
voices. The same arguments give the same sound.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from scripts.model.sound import bank as banks
from scripts.model.sound import sentences, torque_talk
from scripts.model.sound.manifest import read_list, read_manifest
from scripts.model.sound.ratio import at_ratio, speaking_level

LEVELS = (99, 15, 10, 5, 0, -5)  # dB; 99 is clean
CLEAN = 99
LEVEL, PAD = 0.06, 6400  # speaking level of full scale; quiet before and after, samples
DIGITS = {w: str(i) for i, w in enumerate(sentences.ONES)}
GRAMMARS = {
    "torque": (torque_talk.torque_grammar, torque_talk.torque_meaning),
    "figures": (torque_talk.figures_grammar, torque_talk.figures_meaning),
}
OTHERS = ("speechocean762", "wake-word recordings", "pocketsphinx test data", "speech-to-intent orders")


@dataclass(frozen=True)
class Said:
    """One utterance: which set, who, the words, the grammar to hear it in, what it means there (None: no part of it).

    `sound` is float32 (n,) as recorded, or int16 (n,) with background at `snr` dB.
    """

    set: str
    who: str
    text: str
    sound: np.ndarray
    grammar: str
    meaning: tuple[Any, ...] | None
    snr: int = CLEAN


def utterances(speech: Path, more: Sequence[Path], *, figures: int, talk: int) -> list[Said]:
    """Clean development utterances: that many of `figures` and `talk`, all of the others."""
    r, out = random.Random(4), []
    rows = [x for x in read_manifest(speech) if x.split == "dev" and not x.noise]
    digits = [x for x in rows if x.source == "FSDD"]
    for _ in range(figures if digits else 0):
        three = [r.choice([d for d in digits if d.text != "zero"]), r.choice(digits), r.choice(digits)]
        parts = []
        for d in three:
            y = banks.read_sound(d.path)
            parts += [y / speaking_level(y[None], np)[0, 0], np.zeros(int(r.uniform(0.03, 0.2) * 16000), np.float32)]
        meaning = ("value", float("".join(DIGITS[d.text] for d in three)), None, None, False)
        text = " ".join(d.text for d in three)
        out.append(Said("figures", digits[0].speaker, text, np.concatenate(parts), "torque", meaning))
    wide = torque_talk.figures_grammar()
    for x in rows:
        words = x.text.split()
        if x.source == "AN4" and wide.follows(words):
            meaning = torque_talk.figures_meaning(tuple(words))
            out.append(Said("people", x.speaker, x.text, banks.read_sound(x.path), "figures", meaning))
    narrow = torque_talk.torque_grammar()
    for x in (x for folder in more for x in read_list(folder)):
        words = x.text.split()
        meaning = torque_talk.torque_meaning(tuple(words)) if narrow.follows(words) else None
        if meaning is None and any(w in torque_talk.VALUE for w in words):
            continue  # a number outside this small grammar: neither a fair reading nor unrelated talk
        out.append(
            Said("phrases" if meaning else "talk", x.speaker, x.text, banks.read_sound(x.path), "torque", meaning)
        )
    job = set(torque_talk.VALUE) | {"yes", "no", "stop", "next"}
    others = [x for x in rows if x.source in OTHERS and not set(x.text.split()) & job]
    for x in r.sample(others, min(2 * talk, len(others))):
        sound = banks.read_sound(x.path)
        if len(sound) < 6 * banks.RATE and talk > 0:
            out.append(Said("talk", x.speaker, x.text, sound, "torque", None))
            talk -= 1
    return out


def mixes(
    speech: Path,
    more: Sequence[Path],
    *,
    figures: int,
    talk: int,
    noise: int,
    levels: Sequence[int] = LEVELS,
    talk_levels: Sequence[int] = (CLEAN, 5),
) -> list[Said]:
    """Every utterance at every SNR, and `noise` backgrounds alone; int16 sound."""
    from scripts.model.sound import mixing  # needs PyTorch, which the rest of this module does without

    mixer = mixing.Mixer(banks.load(speech, "dev", more, threads=4), "cpu", 11)
    out, r = [], np.random.default_rng(11)
    for said in utterances(speech, more, figures=figures, talk=talk):
        x = np.pad(said.sound, PAD)[None]
        for snr in talk_levels if said.set == "talk" else levels:
            under = mixer.backgrounds(1, x.shape[1]).numpy()
            y = at_ratio(x, under, float(snr), np)[0] * LEVEL + 1e-4 * r.standard_normal(x.shape[1])
            out.append(replace(said, sound=_pcm(y), snr=snr))
    for _ in range(noise):
        y = mixer.backgrounds(1, 40000)[0].numpy() * 10 ** (r.uniform(-32, -18) / 20)
        out.append(Said("noise", "", "", _pcm(y), "torque", None, 0))
    return out


def limit_threads() -> None:
    """One thread a process: the checks fork workers."""
    import torch

    torch.set_num_threads(1)


def _pcm(x: np.ndarray) -> np.ndarray:
    return np.round(np.clip(x, -1, 1) * 32767).astype(np.int16)
