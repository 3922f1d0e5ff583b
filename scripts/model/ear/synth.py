"""Speak random sentences with synthetic voices into a folder of clips.

usage: synth.py OUT_FOLDER --clips 400 [--families espeak,flite] [--dev] [--seed 1] [--texts FILE]

Writes Ogg Opus at 16 kHz, peak at half scale, and `list.tsv` (file, text, voice; the text as in sentences.py). Voices take turns,
every voice says its own sentences. `--dev` uses the voices kept for judging instead. `--texts` is a file of further plain sentences, one
a line; a fifth of the clips says one of those. Numbered from the first free number on, so that a stopped run can go on.
"""

from __future__ import annotations

import argparse
import random
import re
import time
from pathlib import Path

import numpy as np
import sentences
import soundfile as sf
import soxr
import voices

RATE_HZ = 16000


def plain_texts(path: str | None) -> list[str]:
    """Sentences of a file, lower-case words only, those of up to twelve words."""
    if path is None:
        return []
    lines = (re.sub(r"[^a-z' ]+", " ", t.lower()).split() for t in Path(path).read_text(encoding="utf8").splitlines())
    return [" ".join(w) for w in lines if 1 <= len(w) <= 12]


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("out", type=Path)
    p.add_argument("--clips", type=int, default=400)
    p.add_argument("--families", default="espeak,flite,festival,joe,hibari,kokoro")
    p.add_argument("--dev", action="store_true")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--texts")
    a = p.parse_args()
    wanted = a.families.split(",")
    names = voices.DEV if a.dev else voices.available()
    names = [v for v in names if v.split(":")[0] in wanted]
    a.out.mkdir(parents=True, exist_ok=True)
    table = a.out / "list.tsv"
    first = len(table.read_text(encoding="utf8").splitlines()) if table.exists() else 0
    plain, start, seconds = plain_texts(a.texts), time.process_time(), 0.0
    with table.open("a", encoding="utf8") as out:
        for i in range(first, first + a.clips):
            r = random.Random(f"{a.seed}-{i}")
            voice = names[i % len(names)]
            text = r.choice(plain) if plain and r.random() < 0.2 else sentences.sentence(r)
            x, rate = voices.say(voice, text, r)
            x = soxr.resample(x, rate, RATE_HZ)
            name = f"{i:05d}.ogg"
            sf.write(a.out / name, x / (np.abs(x).max() + 1e-9) * 0.5, RATE_HZ, format="OGG", subtype="OPUS", compression_level=0.985)
            out.write(f"{name}\t{text}\t{voice}\n")
            out.flush()
            seconds += len(x) / RATE_HZ
    print(f"{a.clips} clips, {seconds / 60:.1f} min of speech, {len(names)} voices, {(time.process_time() - start) / 60:.1f} min of CPU here")


if __name__ == "__main__":
    main()
