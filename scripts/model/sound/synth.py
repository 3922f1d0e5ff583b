"""Speak random sentences with synthetic voices into a folder of clips.

usage: python -m scripts.model.sound.synth OUT --clips 400 [--families espeak,flite] [--dev] [--seed 1] [--texts FILE]

Writes Ogg Opus at 16 kHz, peak at half scale, and `list.tsv` (file, text, voice; the text as in sentences.py). Voices
take turns, every voice says its own sentences. `--dev` uses the voices kept for judging instead. `--texts` is a file of
further plain sentences, one a line; a fifth of the clips says one of those. Numbered from the first free number on, so
that a stopped run can go on; the same seed gives the same sentences.
"""

from __future__ import annotations

import argparse
import random
import re
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soundfile as sf
import soxr

from scripts.model.sound import sentences, voices

RATE_HZ = 16_000


def plain_texts(lines: Sequence[str]) -> list[str]:
    """Lower-case words only, sentences of up to twelve words."""
    words = (re.sub(r"[^a-z' ]+", " ", t.lower()).split() for t in lines)
    return [" ".join(w) for w in words if 1 <= len(w) <= 12]


def speak(out: Path, clips: int, *, families: Sequence[str], seed: int, dev: bool, texts: Sequence[str] = ()) -> str:
    """Write that many clips; returns what was written, in words.

    Raises:
        RuntimeError: this machine can speak none of the families.
    """
    names = [v for v in (voices.DEV if dev else voices.available()) if v.split(":")[0] in families]
    if not names:
        raise RuntimeError(f"no voice of {', '.join(families)} on this machine; sound/voices.py says what each needs")
    out.mkdir(parents=True, exist_ok=True)
    table = out / "list.tsv"
    first = len(table.read_text(encoding="utf-8").splitlines()) if table.exists() else 0
    plain, start, seconds = plain_texts(texts), time.monotonic(), 0.0
    with table.open("a", encoding="utf-8") as listed:
        for i in range(first, first + clips):
            r = random.Random(f"{seed}-{i}")
            voice = names[i % len(names)]
            text = r.choice(plain) if plain and r.random() < 0.2 else sentences.sentence(r)
            x, rate = voices.say(voice, text, r)
            x = soxr.resample(x, rate, RATE_HZ)
            name, loud = f"{i:05d}.ogg", x / (np.abs(x).max() + 1e-9) * 0.5
            sf.write(out / name, loud, RATE_HZ, format="OGG", subtype="OPUS", compression_level=0.985)
            listed.write(f"{name}\t{text}\t{voice}\n")
            listed.flush()
            seconds += len(x) / RATE_HZ
    took = (time.monotonic() - start) / 60
    return f"{clips} clips, {seconds / 60:.1f} min of speech, {len(names)} voices, {took:.1f} min"


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("out", type=Path)
    p.add_argument("--clips", type=int, default=400)
    p.add_argument("--families", default="espeak,flite,festival,joe,hibari,kokoro")
    p.add_argument("--dev", action="store_true")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--texts", type=Path)
    a = p.parse_args()
    texts = a.texts.read_text(encoding="utf-8").splitlines() if a.texts else ()
    print(speak(a.out, a.clips, families=a.families.split(","), seed=a.seed, dev=a.dev, texts=texts))


if __name__ == "__main__":
    main()
