"""A folder of recorded speech and noise with a manifest: what is in it, and its sound.

The folder holds `manifest.tsv` with the columns path, text, speaker, source, split (train or dev); noise clips have an
empty text and lie under noise/. Sound is mono, 16 kHz.
"""

from __future__ import annotations

import csv
import functools
import hashlib
import re
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile as sf

RATE_HZ = 16_000
Sound = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Clip:
    """One recording. `text` is lower case without punctuation, "" for noise."""

    path: Path
    text: str
    speaker: str
    source: str
    split: str


@dataclass(frozen=True)
class Corpus:
    """All clips of a folder."""

    folder: Path
    clips: tuple[Clip, ...]
    sha256: str  # of the manifest

    def speech(self, split: str, *sources: str) -> list[Clip]:
        """Clips with a text, of one split, in the manifest's order; of all sources when none is named."""
        return [c for c in self.clips if c.text and c.split == split and (not sources or c.source in sources)]

    def mislabelled(self, path: Path) -> bool:
        """Whether the recording is known to say something else than its text (`mislabelled.tsv`)."""
        return path.relative_to(self.folder).as_posix() in _mislabelled()

    def noise(self, split: str) -> list[Clip]:
        """Noise recordings of one split."""
        return [c for c in self.clips if not c.text and c.split == split]


@functools.cache
def _mislabelled() -> frozenset[str]:
    """Paths within a corpus; see the head of the file for how they were found."""
    text = Path(__file__).with_name("mislabelled.tsv").read_text(encoding="utf-8")
    return frozenset(line.split("\t")[0] for line in text.splitlines() if not line.startswith("#"))


def read_corpus(folder: Path) -> Corpus:
    """Read the manifest; when there is none, say so and leave with status 2."""
    manifest = folder / "manifest.tsv"
    if not manifest.is_file():
        print(
            f"There is no corpus at {folder}: manifest.tsv is missing.\n"
            "Name a folder of recordings with manifest.tsv (columns path, text, speaker, source, split).",
            file=sys.stderr,
        )
        raise SystemExit(2)
    clips = []
    with manifest.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE):
            text = " ".join(re.sub(r"[^a-z0-9' ]+", " ", row["text"].lower()).split())
            clips.append(Clip(folder / row["path"], text, row["speaker"], row["source"], row["split"]))
    return Corpus(folder, tuple(clips), hashlib.sha256(manifest.read_bytes()).hexdigest())


@functools.lru_cache(maxsize=4096)
def load(path: Path) -> Sound:
    """Sound of one file, float32 (n,), -1..1."""
    x, rate = sf.read(path, dtype="float32")
    if rate != RATE_HZ or x.ndim != 1:
        raise SystemExit(f"{path}: {rate} Hz, {x.ndim} dimensions; mono sound at {RATE_HZ} Hz is needed")
    return np.asarray(x, np.float32)


def active_level(x: Sound) -> float:
    """Root mean square of the 20 ms frames in which somebody speaks (those above a tenth of the loud ones)."""
    whole = x[: len(x) // 320 * 320].reshape(-1, 320)
    if not len(whole):
        return float(np.sqrt((x**2).mean() + 1e-12))
    rms = np.sqrt((whole**2).mean(axis=1) + 1e-12)
    return float(np.sqrt((rms[rms > 0.1 * np.percentile(rms, 95)] ** 2).mean()))
