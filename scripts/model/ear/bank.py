"""All clips and noises in memory, and random plans of which clip sounds where: the part of the data that needs no tensors.

The speech folder has a `manifest.tsv` (path, text, speaker, source, split, asr_wer ...); further folders hold `list.tsv` (file, text,
voice). Real speakers are drawn more often than synthetic voices (`SHARE`). What the text of a clip is good for (`use`):
0 nothing (doubtful or unspellable), 1 to ask the decoder's opinion along it, 2 also to tell it from near misses.
"""

from __future__ import annotations

import csv
import random
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import soundfile as sf
from spelling import clean_text

RATE = 16000
UNIT = 1500.0  # all clips are stored so that their speaking level is this many steps of 16 bits
# Share of each source in the clips drawn (not in minutes), chosen beforehand: people first, best synthetic voices next.
SHARE = {"FSDD": 0.20, "AN4": 0.23, "speechocean762": 0.12, "speech-to-intent orders": 0.06, "telephone prompts": 0.06, "wake-word recordings": 0.01,
         "community words": 0.01, "LJ Speech sample": 0.005, "pocketsphinx test data": 0.02, "kokoro": 0.15, "joe": 0.04, "hibari": 0.04,
         "espeak": 0.04, "flite": 0.02, "festival": 0.01}
EMPTY = 0.03  # rows with nobody speaking: noise shall sound to the pupil as quiet does to the teacher
EXACT = {"FSDD", "AN4", "kokoro", "joe", "hibari", "espeak", "flite", "festival", "telephone prompts"}  # texts to be trusted word for word


def level(x: np.ndarray) -> float:
    """Root mean square of the 20 ms frames in which somebody speaks."""
    f = x[: len(x) // 320 * 320].reshape(-1, 320).astype(np.float32)
    e = np.sqrt((f**2).mean(1) + 1e-9)
    return float(np.sqrt((e[e > 0.1 * np.percentile(e, 95)] ** 2).mean()))


@dataclass
class Clips:
    """Sounds one behind the other: int16 `sound`, start and length of each in samples."""

    sound: np.ndarray
    start: np.ndarray
    length: np.ndarray


@dataclass
class Bank:
    """Speech and noise of one split, ready to be drawn from."""

    speech: Clips
    noise: Clips
    text: list[str]
    use: np.ndarray
    source: list[str]
    friends: dict[str, np.ndarray]  # speaker -> his clips
    speaker: list[str]
    by_source: dict[str, np.ndarray] = field(default_factory=dict)  # source -> its clips by length

    def __str__(self) -> str:
        minutes = self.speech.length.sum() / RATE / 60
        return f"{len(self.text)} clips, {minutes:.0f} min of speech, {len(self.friends)} speakers, {len(self.noise.start)} noises"


def joined(sounds: list[np.ndarray]) -> Clips:
    """One array from many."""
    length = np.array([len(x) for x in sounds], np.int64)
    return Clips(np.concatenate(sounds), np.concatenate([[0], length[:-1]]).cumsum(), length)


def looped(x: np.ndarray, n: int) -> np.ndarray:
    """At least n samples of a noise clip, repeated with cross-fades."""
    fade = min(1600, len(x) // 4)
    if len(x) >= n:
        return x
    w = np.linspace(0, 1, fade, dtype=np.float32)
    body = x.copy()
    body[:fade] = body[:fade] * w + x[-fade:] * (1 - w)
    return np.tile(body[:-fade], n // (len(x) - fade) + 2)[: n + fade]


def usefulness(source: str, text: str, asr_wer: str) -> int:
    """What the text is good for: see the module's text."""
    words = text.split()
    if not words or len(words) > 14 or source in ("wake-word recordings", "community words"):
        return 0
    if asr_wer and float(asr_wer) > 0.35:
        return 0
    if source == "AN4" and sum(len(w) == 1 for w in words) > 0:
        return 0  # spelled letters
    return 2 if source in EXACT and len(words) <= 10 else 1


def load(speech: Path, split: str, more: list[Path] = (), threads: int = 8, longest: float = 9.0) -> Bank:
    """Read the split of the speech folder and all of the further folders. Clips are set to one speaking level."""
    rows = []
    with (speech / "manifest.tsv").open(encoding="utf8") as f:
        for r in csv.DictReader(f, delimiter="\t", quoting=csv.QUOTE_NONE):
            if r["split"] == split:
                text = clean_text(r["text"])
                rows.append((speech / r["path"], text, r["speaker"], r["source"], usefulness(r["source"], text, r["asr_wer"]), r["path"].startswith("noise")))
    for folder in more:
        for line in (folder / "list.tsv").read_text(encoding="utf8").splitlines():
            name, text, voice = line.split("\t")
            family = voice.split(":")[0]
            rows.append((folder / name, clean_text(text), voice, family, usefulness(family, clean_text(text), ""), False))

    def read(row):
        x, rate = sf.read(row[0], dtype="float32")
        if rate != RATE or x.ndim != 1:
            raise ValueError(f"{row[0]}: {rate} Hz, {x.ndim} axes; need mono 16 kHz")
        return x

    with ThreadPoolExecutor(threads) as pool:
        sounds = list(pool.map(read, rows))
    kept, voices, noises = [], [], []
    for row, x in zip(rows, sounds):
        if np.abs(x).max(initial=0) < 1e-3 or len(x) < 2000:
            continue
        if row[5]:
            y = looped(x, int(longest * RATE))
            noises.append(np.clip(y / (np.sqrt((y**2).mean()) + 1e-9) * UNIT, -32767, 32767).astype(np.int16))
        else:
            kept.append(row)
            voices.append(np.clip(x / max(level(x), 1e-5) * UNIT, -32767, 32767).astype(np.int16))
    bank = Bank(joined(voices), joined(noises), [r[1] for r in kept], np.array([r[4] for r in kept]), [r[3] for r in kept], {},
                [f"{r[3]} {r[2]}" for r in kept])
    for who in sorted(set(bank.speaker)):
        bank.friends[who] = np.array([i for i, w in enumerate(bank.speaker) if w == who])
    by_length = np.argsort(bank.speech.length, kind="stable")
    for name in sorted(set(bank.source)):
        bank.by_source[name] = np.array([i for i in by_length if bank.source[i] == name])
    return bank


@dataclass
class Plan:
    """A batch to be sounded: `pieces` (row, start in the bank, samples in the bank, place in the row, speed, gain); texts of the rows."""

    samples: int
    rows: int
    pieces: np.ndarray  # float64, shape (n, 6)
    texts: list[list[str]]  # the clips' texts of each row; [] where they cannot be used or nobody speaks
    use: list[int]


def draw(bank: Bank, r: random.Random, room: float) -> int:
    """A clip, its source by the shares; one of at most `room` samples where the source has any and nine times out of ten."""
    names = list(bank.by_source)
    clips = bank.by_source[r.choices(names, [SHARE[n] for n in names])[0]]
    k = int(np.searchsorted(bank.speech.length[clips], room)) if r.random() < 0.9 else 0
    return int(clips[r.randrange(k or len(clips))])


def plan(bank: Bank, r: random.Random, seconds: float, longest: float = 6.0) -> Plan:
    """A batch of about `seconds` of audio: rows of one random length; in each, one or several clips of one speaker with quiet at both ends."""
    t = min(max(r.gammavariate(4, 0.68), 1.2), longest)
    n = int(t * 8) * RATE // 8
    rows = max(2, int(seconds * RATE / n))
    pieces, texts, use = [], [], []
    for row in range(rows):
        if r.random() < EMPTY:
            texts.append([])
            use.append(0)
            continue
        speed = r.uniform(0.84, 1.2) if r.random() < 0.55 else 1.0
        at, said, good, cut = int(r.uniform(0.15, 0.55) * RATE), [], 2, False
        free = n - at - 0.15 * RATE
        i = draw(bank, r, free * speed)
        friends = bank.friends[bank.speaker[i]]
        several = bank.speech.length[i] < 0.9 * RATE or r.random() < 0.2
        for k in range(6):
            left = n - at - int(r.uniform(0.15, 0.45) * RATE)
            size = bank.speech.length[i] / speed
            if left < 0.2 * RATE or (k and size > left):
                break
            first = 0.0
            if size > left:
                first = r.uniform(0, size - left) * speed if r.random() < 0.5 else 0.0
                size, cut = left, True
            gain = 10 ** (r.uniform(-2, 2) / 20)
            pieces.append((row, bank.speech.start[i] + first, size * speed, at, speed, gain))
            said.append(bank.text[i])
            good = min(good, int(bank.use[i]))
            at += int(size) + int(r.uniform(0.02, 0.35) * RATE)
            if not several or (k >= 2 and r.random() < 0.45):
                break
            i = int(friends[r.randrange(len(friends))])
        texts.append([] if cut or good == 0 else said)
        use.append(0 if cut else good)
    return Plan(n, rows, np.array(pieces).reshape(-1, 6), texts, use)
