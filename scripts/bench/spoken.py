"""What is said in the bench: real digits, numbers, commands and talk, synthetic phrases; each with its true words."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scripts.bench import phrases
from scripts.bench.corpus import RATE_HZ, Clip, Corpus, Sound, active_level, load
from scripts.bench.cutting import DIGITS, NUMBER_WORDS, cuts, single_digits
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
        group: "digits", "numbers", "strangers", "words", "commands", "talk" (real people); "synthetic" (eSpeak);
            "natural" (other voices).
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


def strangers(corpus: Corpus, split: str, strings: int) -> list[Spoken]:
    """Single figures by many people, and strings of two to four of those by each who said several, 30 to 400 ms apart.

    Args:
        strings: how many strings, the people in turn.
    """
    r = random.Random(f"strangers-{split}")
    by_speaker: dict[str, list[tuple[str, Path]]] = {}
    made = []
    for clip in corpus.speech(split, "Speech Commands"):
        if clip.text in FIGURES:
            x = trimmed(load(clip.path))
            made.append(
                said(f"strangers-{split}-{clip.path.stem}-{clip.text}", clip.text, clip.speaker, "strangers", x)
            )
            by_speaker.setdefault(clip.speaker, []).append((clip.text, clip.path))
    several = sorted(who for who, own in by_speaker.items() if len({text for text, _ in own}) > 1)
    for i in range(strings if several else 0):
        who = several[i % len(several)]
        first = [c for c in by_speaker[who] if c[0] != "zero"]
        pieces = [r.choice(first)] + [r.choice(by_speaker[who]) for _ in range(r.choice([1, 2, 2, 3]))]
        parts: list[Sound] = []
        for _, path in pieces:
            x = trimmed(load(path))
            parts += [x / max(active_level(x), 1e-4), np.zeros(int(r.uniform(0.03, 0.4) * RATE_HZ), np.float32)]
        text = " ".join(text for text, _ in pieces)
        made.append(said(f"strangers-{split}-{i}-{text}", text, who, "strangers", np.concatenate(parts[:-1])))
    return made


def regrouped(corpus: Corpus, split: str, *, each: int, model: Path, memory: Path) -> list[Spoken]:
    """Figures cut out of what people read, and strings of two to four of those by the same person, 30 to 250 ms apart.

    Args:
        each: how many of either kind of every person who said three figures or more.
        model, memory: see `cutting.cuts`.
    """
    r = random.Random(f"regrouped-{split}")
    clips = [c for c in corpus.speech(split, "AN4", "alphanumeric phone numbers") if not corpus.mislabelled(c.path)]
    by_speaker: dict[str, list[tuple[str, str, Sound]]] = {}
    for cut in single_digits(clips, model=model, memory=memory):
        name = f"{cut.clip.path.stem}-{cut.start_s:.2f}"
        by_speaker.setdefault(cut.clip.speaker, []).append((cut.text, name, cut.sound()))
    made = []
    for who, own in sorted(by_speaker.items()):
        first = [d for d in own if d[0] not in ("zero", "oh")]
        if len(own) < 3 or not first:
            continue
        for i in range(2 * each):
            pieces = [r.choice(first)] + [r.choice(own) for _ in range(r.choice([1, 2, 2, 3]) if i % 2 else 0)]
            parts: list[Sound] = []
            for _, _, x in pieces:
                gap = np.zeros(int(r.uniform(0.03, 0.25) * RATE_HZ), np.float32)
                parts += [(x / max(active_level(x), 1e-4)).astype(np.float32), gap]
            key = f"regrouped-{split}-{who}-{i}-{'+'.join(name for _, name, _ in pieces)}"
            made.append(said(key, " ".join(text for text, _, _ in pieces), who, "numbers", np.concatenate(parts[:-1])))
    return made


def words(corpus: Corpus, split: str, most: int | None = None) -> list[Spoken]:
    """Single words by many people that are no figures: 'yes', 'no', 'stop', and some that are no command at all.

    Args:
        most: as evenly of all words as there are, and of each word by as many people as there are; None for all.
    """
    found = [c for c in corpus.speech(split, "Speech Commands") if c.text not in FIGURES]
    found = [c for c in found if not _sounds_alike([c.text])]
    if most is not None:
        r, chosen = random.Random("by turns"), []
        left: dict[str, dict[str, Clip]] = {}
        for c in r.sample(found, len(found)):
            left.setdefault(c.text, {}).setdefault(c.speaker, c)
        while left and len(chosen) < most:
            for text in sorted(left):
                own = left[text]
                chosen.append(own.pop(next(iter(own))))
                if not own:
                    del left[text]
        found = chosen[:most]
    return [
        said(f"words-{split}-{c.path.parent.name}-{c.path.stem}", c.text, c.speaker, "words", load(c.path))
        for c in found
    ]


def trimmed(x: Sound, *, keep_s: float = 0.06) -> Sound:
    """The sound without the quiet before and behind: from where it first is within 28 dB of its loud parts."""
    n = len(x) // 160
    level = 10 * np.log10((x[: n * 160].reshape(n, 160) ** 2).mean(axis=1) + 1e-9)
    loud = np.flatnonzero(level > np.percentile(level, 95) - 28)
    keep = int(keep_s * RATE_HZ)
    return x[max(0, int(loud[0]) * 160 - keep) : (int(loud[-1]) + 1) * 160 + keep]


def numbers(corpus: Corpus, split: str, *, model: Path, memory: Path) -> list[Spoken]:
    """Numbers cut out of the recordings of real people, and whole recordings that are nothing but numbers.

    The children's strings of speechocean762 are left out: their text is what they were asked to read, and a third of
    them said something else.
    """
    sources = ("AN4", "telephone prompts", "alphanumeric phone numbers")
    clips = [c for c in corpus.speech(split, *sources) if not corpus.mislabelled(c.path)]
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
        if (
            clip.source not in ("FSDD", "Speech Commands", "alphanumeric phone numbers")
            and not _sounds_alike(words)
            and (short if group == "commands" else not short)
        ):
            x = load(clip.path)
            if 0.3 * RATE_HZ < len(x) < 12 * RATE_HZ:
                made.append(said(f"{group}-{split}-{clip.path.stem}", clip.text, clip.speaker, group, x))
    return made


def trusted(s: Spoken) -> bool:
    """Whether the text is what was said. The strings of figures that children read for speechocean762 are not (see
    `numbers`).
    """
    return not (s.group == "talk" and s.speaker.startswith("so762") and set(s.text.split()) <= DIGITS)


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
