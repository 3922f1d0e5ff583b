"""All clips and noises in memory, and random plans of which clip sounds where. Needs numpy alone.

The speech folder has a manifest, further folders hold lists of synthetic clips (`manifest.py`). Real speakers are
drawn more often than synthetic voices (`SHARE`). What the text of a clip is good for (`use`): 0 nothing (doubtful or
unspellable), 1 to ask the decoder's opinion along it, 2 also to tell it from near misses.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import soundfile as sf

from scripts.model.sound.manifest import ManifestError, Row, read_list, read_manifest
from scripts.model.sound.ratio import speaking_level

RATE = 16000
UNIT = 1500.0  # all clips are stored so that their speaking level is this many steps of 16 bits
# Share of each source in the clips drawn (not in minutes), chosen beforehand: people first, best synthetic voices next.
# They sum to one; whoever adds a source takes its share from the others.
SHARE = {
    "FSDD": 0.0714,
    "AN4": 0.1194,
    "speechocean762": 0.0658,
    "speech-to-intent orders": 0.0357,
    "telephone prompts": 0.0301,
    "wake-word recordings": 0.0056,
    "community words": 0.0056,
    "LJ Speech sample": 0.0028,
    "pocketsphinx test data": 0.0122,
    "Speech Commands": 0.1015,
    "Speech Commands figures": 0.0893,  # the figures of the same source: see `FIGURES`
    "alphanumeric phone numbers": 0.0517,
    "telephone figures": 0.0470,  # single figures cut out of the same numbers (`groups.py`)
    "LibriSpeech": 0.0235,
    "VCTK": 0.0056,
    "read English": 0.0179,
    "kokoro": 0.1250,
    "joe": 0.0479,
    "hibari": 0.0592,
    "espeak": 0.0592,
    "flite": 0.0179,
    "festival": 0.0056,
}
FIGURES = {"Speech Commands": "Speech Commands figures"}  # source of single words -> name under which its figures go
FIGURE_WORDS = frozenset("zero oh one two three four five six seven eight nine".split())
STRUNG_SOURCES = frozenset({*FIGURES.values(), "telephone figures"})
STRUNG = 0.65  # rows with one of those figures that get several of one speaker, 30 to 150 ms apart, or at times 600
EVEN = frozenset({"Speech Commands", "Speech Commands figures", "telephone figures"})
"""Sources whose words are drawn evenly, not as often as they were recorded: half of Speech Commands is yes and no."""
WEIGHTY = {"yes": 3.0, "no": 3.0, "stop": 3.0}
"""Words that carry safety come thrice as often as another. A word with fewer than `FULL` clips comes the less often."""
FULL = 20
LONG = 0.12  # batches with rows of 6 s up to `LONGEST`, so that ten figures fit
LONGEST = 9.5  # s
# how much a recogniser of ours misheard them, not how far their texts are to be doubted
UNDOUBTED = {"Speech Commands", "Speech Commands figures"}
TRIMMED = 0.2  # pieces cut to the very beginning and end of their voice, as a hasty microphone does
EMPTY = 0.03  # rows with nobody speaking: noise shall sound to the pupil as quiet does to the teacher
EXACT = {
    "FSDD",
    "AN4",
    "kokoro",
    "joe",
    "hibari",
    "espeak",
    "flite",
    "festival",
    "telephone prompts",
    "Speech Commands",
    "Speech Commands figures",
    "alphanumeric phone numbers",
    "telephone figures",
}  # texts to be trusted word for word


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
    speaker: list[str]
    doubt: np.ndarray  # of the text, 0..1; 0 where nothing is said about it
    share: dict[str, float] = field(default_factory=lambda: dict(SHARE))  # how often each source is drawn
    quiet: np.ndarray | None = None  # samples before and behind the voice of each clip, int64 (clips, 2)
    friends: dict[str, np.ndarray] = field(default_factory=dict)  # speaker -> all clips of the same one
    by_source: dict[str, np.ndarray] = field(default_factory=dict)  # source -> clips to be drawn, by length
    by_word: dict[str, dict[str, np.ndarray]] = field(default_factory=dict)  # the same of `EVEN`, word by word

    def sort_sources(self, allowed: np.ndarray | None = None) -> None:
        """Which clips may be drawn; `allowed`: bool, shape (clips,), None for all."""
        by_length = np.argsort(self.speech.length, kind="stable")
        wanted = [i for i in by_length if allowed is None or allowed[i]]
        for name in sorted(set(self.source)):
            self.by_source[name] = np.array([i for i in wanted if self.source[i] == name], np.int64)
        self.by_source = {k: v for k, v in self.by_source.items() if len(v)}
        for name in EVEN & self.by_source.keys():
            words: dict[str, list[int]] = defaultdict(list)
            for i in self.by_source[name]:
                words[self.text[i]].append(int(i))
            self.by_word[name] = {w: np.array(clips, np.int64) for w, clips in words.items()}
        if allowed is not None:
            kept = {who: np.array([i for i in clips if allowed[i]], np.int64) for who, clips in self.friends.items()}
            self.friends = {who: clips for who, clips in kept.items() if len(clips)}

    def __str__(self) -> str:
        minutes = self.speech.length.sum() / RATE / 60
        speech = f"{len(self.text)} clips, {minutes:.0f} min of speech, {len(self.friends)} speakers"
        return f"{speech}, {len(self.noise.start)} noises"


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


def quiet_ends(x: np.ndarray, *, frame: int = 160, below_db: float = 28.0) -> tuple[int, int]:
    """Samples before and behind the frames that are within `below_db` of the loud ones; (0, 0) for too short sound."""
    n = len(x) // frame
    if n < 8:
        return 0, 0
    level = 10 * np.log10((x[: n * frame].astype(np.float32).reshape(n, frame) ** 2).mean(1) + 1e-9)
    loud = np.flatnonzero(level > np.percentile(level, 95) - below_db)
    return int(loud[0]) * frame, len(x) - (int(loud[-1]) + 1) * frame


def usefulness(row: Row) -> int:
    """What the text of a clip is good for: see the module's text."""
    words = row.text.split()
    if not words or len(words) > 14 or row.source in ("wake-word recordings", "community words"):
        return 0
    doubt = 0.0 if row.source in UNDOUBTED else row.doubt or 0.0
    if doubt > 0.35:
        return 0
    if row.source == "alphanumeric phone numbers" and doubt:
        return 1  # may lack an 'oh' or a 'double'
    if row.source == "AN4" and any(len(w) == 1 for w in words):
        return 0  # spelled letters
    return 2 if row.source in EXACT and len(words) <= 10 else 1


def read_sound(path: Path) -> np.ndarray:
    """float32 samples, shape (n,). Raises ManifestError for sound that is not mono at 16 kHz."""
    x, rate = sf.read(path, dtype="float32")
    if rate != RATE or x.ndim != 1:
        raise ManifestError(f"{path}: {rate} Hz, {1 if x.ndim == 1 else x.shape[1]} channels; need mono, {RATE} Hz")
    return x


def load(speech: Path, split: str, more: Sequence[Path] = (), *, threads: int = 8, longest: float = 14.5) -> Bank:
    """Read one split of the speech folder and all of the further folders. Clips are set to one speaking level.

    Args:
        speech: folder with a manifest; `more`: folders that `synth.py` wrote.
        longest: seconds of the longest background to be drawn; noises are looped to that.

    Raises:
        ManifestError: see `manifest.py`; also for sound that is not mono at 16 kHz, a source without a share, or a
            split without speech or without noise.
    """
    rows = [r for r in read_manifest(speech) if r.split == split] + [r for folder in more for r in read_list(folder)]
    strange = sorted({r.source for r in rows if not r.noise} - set(SHARE))
    if strange:
        raise ManifestError(f"{speech}: source {strange[0]!r} has no share; name it in SHARE of sound/bank.py")
    with ThreadPoolExecutor(threads) as pool:
        sounds = list(pool.map(read_sound, [r.path for r in rows]))
    rows = [replace(r, source=FIGURES[r.source]) if r.source in FIGURES and r.text in FIGURE_WORDS else r for r in rows]
    kept, voices, noises = [], [], []
    for row, x in zip(rows, sounds, strict=True):
        if np.abs(x).max(initial=0) < 1e-3 or len(x) < 2000:
            continue
        if row.noise:
            y = looped(x, int(longest * RATE))
            noises.append(np.clip(y / (np.sqrt((y**2).mean()) + 1e-9) * UNIT, -32767, 32767).astype(np.int16))
        else:
            kept.append(row)
            level = max(float(speaking_level(x[None], np)[0, 0]), 1e-5)
            voices.append(np.clip(x / level * UNIT, -32767, 32767).astype(np.int16))
    if not voices or not noises:
        raise ManifestError(f"{speech}: the {split} split has {len(voices)} speech and {len(noises)} noise recordings")
    bank = Bank(
        joined(voices),
        joined(noises),
        [r.text for r in kept],
        np.array([usefulness(r) for r in kept]),
        [r.source for r in kept],
        [f"{r.source} {r.speaker}" for r in kept],
        np.array([0.0 if r.source in UNDOUBTED else r.doubt or 0.0 for r in kept]),
        quiet=np.array([quiet_ends(x) for x in voices], np.int64),
    )
    friends: dict[str, list[int]] = defaultdict(list)
    for i, who in enumerate(bank.speaker):
        friends[who].append(i)
    bank.friends = {who: np.array(friends[who]) for who in sorted(friends)}
    bank.sort_sources()
    return bank


@dataclass
class Plan:
    """A batch to be sounded.

    `pieces`: row, start in the bank, samples in the bank, place in the row, speed, gain; all in samples of 16 kHz.
    """

    samples: int
    rows: int
    pieces: np.ndarray  # float64, shape (n, 6)
    clips: np.ndarray  # int64, shape (n,): which clip of the bank each piece is
    texts: list[list[str]]  # the clips' texts of each row; [] where they cannot be used or nobody speaks
    use: list[int]


def draw(bank: Bank, r: random.Random, room: float) -> int:
    """A clip, its source by the shares; one of at most `room` samples where the source has any and nine times out of
    ten.
    """
    names = list(bank.by_source)
    source = r.choices(names, [bank.share[n] for n in names])[0]
    clips = bank.by_source[source]
    if source in bank.by_word:
        words = bank.by_word[source]
        counts = [WEIGHTY.get(w, 1.0) * min(1.0, len(own) / FULL) for w, own in words.items()]
        clips = words[r.choices(list(words), counts)[0]]
    k = int(np.searchsorted(bank.speech.length[clips], room)) if r.random() < 0.9 else 0
    return int(clips[r.randrange(k or len(clips))])


def plan(
    bank: Bank, r: random.Random, seconds: float, longest: float = 6.0, lengths: Sequence[float] | None = None
) -> Plan:
    """A batch of about `seconds` of audio: rows of one random length; in each, one or several clips of one speaker
    with quiet at both ends.

    Args:
        lengths: the only lengths of a row that may come, in seconds and ascending; None for any eighth of a second.
    """
    t = min(max(r.gammavariate(4, 0.68), 1.2), longest)
    if r.random() < LONG:
        t = r.uniform(longest, LONGEST)
    many = t > longest
    if lengths is not None:
        t = next((x for x in lengths if x >= t), lengths[-1])
    n = int(t * 8) * RATE // 8
    rows = max(2, int(seconds * RATE / n))
    pieces, clips, texts, use = [], [], [], []
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
        strung = len(friends) > 1 and bank.source[i] in STRUNG_SOURCES and r.random() < (0.9 if many else STRUNG)
        count = (r.randint(4, 10) if many else r.randint(2, 4)) if strung else 6
        several = strung or many or bank.speech.length[i] < 0.9 * RATE or r.random() < 0.2
        apart = 0.6 if strung and r.random() < 0.15 else 0.15
        for k in range(count):
            left = n - at - int(r.uniform(0.15, 0.45) * RATE)
            trimmed = bank.quiet is not None and (strung or r.random() < TRIMMED)
            lead, tail = bank.quiet[i] if trimmed else (0, 0)
            size = (bank.speech.length[i] - lead - tail) / speed
            if left < 0.2 * RATE or (k and size > left):
                break
            first = float(lead)
            if size > left:
                first += r.uniform(0, size - left) * speed if r.random() < 0.5 else 0.0
                size, cut = left, True
            gain = 10 ** (r.uniform(-2, 2) / 20)
            pieces.append((row, bank.speech.start[i] + first, size * speed, at, speed, gain))
            clips.append(i)
            said.append(bank.text[i])
            good = min(good, int(bank.use[i]))
            at += int(size) + int((r.uniform(0.03, apart) if strung else r.uniform(0.02, 0.35)) * RATE)
            if not several or (k >= 2 and not strung and r.random() < 0.45):
                break
            i = int(friends[r.randrange(len(friends))])
        texts.append([] if cut or good == 0 else said)
        use.append(0 if cut else good)
    return Plan(n, rows, np.array(pieces).reshape(-1, 6), np.array(clips, np.int64), texts, use)
