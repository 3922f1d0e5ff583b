"""What is said in the bench: real digits, numbers, commands and talk, synthetic phrases; each with its true words."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scripts.bench import phrases
from scripts.bench.corpus import RATE_HZ, Corpus, Sound, active_level, load
from scripts.bench.cutting import NUMBER_WORDS, cuts
from scripts.bench.espeak import Wish, speak

ESPEAK_VOICES = {
    "train": (
        "en-us en-us+m3 en-us+f2 gmw/en+m1 gmw/en+f3 en-gb-x-rp+m7 en-gb-x-rp+f5 en-gb-scotland+f1 en-gb-x-gbclan+m5"
        " en-us+klatt2 en-us+grandpa"
    ).split(),
    "dev": "en-029 en-029+f2 en-us-nyc+m4 gmw/en+linda".split(),
}
HOMOPHONES = frozenset("for to too o y won ate tree know tens hi high".split())
ORDINAL_ENDS = (
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "teenth",
    "tieth",
)
FIGURES = "zero one two three four five six seven eight nine".split()


@dataclass(frozen=True)
class Spoken:
    """One thing said.

    Args:
        key: names it, and everything that made it.
        text: the words.
        speaker: who.
        group: "digits", "numbers", "commands", "talk" (real people); "synthetic" (eSpeak); "natural" (other voices).
        sound: float32 (n,), 16 kHz, level 1 while speaking.
    """

    key: str
    text: str
    speaker: str
    group: str
    sound: Sound

    @property
    def real(self) -> bool:
        """Said by a person."""
        return self.group not in ("synthetic", "natural")


def said(key: str, text: str, speaker: str, group: str, sound: Sound) -> Spoken:
    """A `Spoken` with its level brought to 1."""
    return Spoken(key, text, speaker, group, (sound / max(active_level(sound), 1e-4)).astype(np.float32))


def digit_strings(corpus: Corpus, split: str, count: int) -> list[Spoken]:
    """Strings of two to four single figures of one speaker, with short gaps; no leading nought."""
    r = random.Random(f"digits-{split}")
    clips = corpus.speech(split, "FSDD")
    by_speaker: dict[str, dict[str, list[Path]]] = {}
    for clip in clips:
        by_speaker.setdefault(clip.speaker, {}).setdefault(clip.text, []).append(clip.path)
    made = []
    for i in range(count if by_speaker else 0):
        speaker = sorted(by_speaker)[i % len(by_speaker)]
        words = [r.choice(FIGURES[1:])] + [r.choice(FIGURES) for _ in range(r.choice([1, 2, 2, 2, 3]))]
        parts: list[Sound] = []
        key = f"digits-{split}-{i}"
        for word in words:
            path = r.choice(by_speaker[speaker][word])
            if corpus.mislabelled(path):
                path, key = by_speaker[speaker][word][0], f"{key}-mended"
            x = load(path)
            parts += [x / max(active_level(x), 1e-4), np.zeros(int(r.uniform(0.02, 0.22) * RATE_HZ), np.float32)]
        made.append(said(key, " ".join(words), speaker, "digits", np.concatenate(parts[:-1])))
    return made


def numbers(corpus: Corpus, split: str, *, model: Path, memory: Path) -> list[Spoken]:
    """Numbers cut out of the recordings of real people, and whole recordings that are nothing but numbers.

    The children's strings of speechocean762 are left out: their text is what they were asked to read, and a third of
    them said something else.
    """
    clips = [c for c in corpus.speech(split, "AN4", "telephone prompts") if not corpus.mislabelled(c.path)]
    found = cuts(clips, model=model, memory=memory)
    return [
        said(
            f"numbers-{split}-{c.clip.path.stem}-{c.start_s:.2f}-{c.end_s:.2f}",
            c.text,
            c.clip.speaker,
            "numbers",
            c.sound(),
        )
        for c in found
        if c.end_s - c.start_s > 0.25
    ]


def recordings(corpus: Corpus, split: str, group: str) -> list[Spoken]:
    """Whole recordings: "commands" (one or two words, no number) or "talk" (everything longer than that).

    Words that sound like a number word or a command ('for', 'fourth', the letter y) are neither.
    """
    made = []
    for clip in corpus.speech(split):
        words = clip.text.split()
        job = clip.source in ("AN4", "telephone prompts")
        short = len(words) <= 2 and job and not NUMBER_WORDS & set(words)
        if clip.source != "FSDD" and not _sounds_alike(words) and (short if group == "commands" else not short):
            x = load(clip.path)
            if 0.3 * RATE_HZ < len(x) < 12 * RATE_HZ:
                made.append(said(f"{group}-{split}-{clip.path.stem}", clip.text, clip.speaker, group, x))
    return made


def _sounds_alike(words: Sequence[str]) -> bool:
    alone = words[0] if len(words) == 1 else ""
    return alone in HOMOPHONES or alone.endswith(ORDINAL_ENDS)


def synthetic(split: str, count: int) -> list[Spoken]:
    """Torque talk by eSpeak voices, rates and pitches at random; the voices of dev are not those of train."""
    r = random.Random(f"espeak-{split}")
    voices = ESPEAK_VOICES[split]
    wishes = [
        Wish(phrases.utterance(r), voices[i % len(voices)], r.randint(125, 195), r.randint(30, 70))
        for i in range(count)
    ]
    return [
        said(f"espeak-{split}-{i}-{w.text}", w.text, f"espeak:{w.voice}", "synthetic", x)
        for i, (w, x) in enumerate(zip(wishes, speak(wishes), strict=True))
    ]


def further(folders: Sequence[Path]) -> list[Spoken]:
    """Clips of other voices: folders with `list.tsv` (file, text, voice)."""
    made = []
    for folder in folders:
        for line in (folder / "list.tsv").read_text(encoding="utf-8").splitlines():
            name, text, voice = line.split("\t")
            x = load(folder / name)
            if len(x) > 0.3 * RATE_HZ:
                made.append(said(f"further-{folder.name}-{name}", text, voice, "natural", x))
    return made
