"""How well models understand the development people: words and meanings by set, SNR and speaker.

usage: python -m scripts.model.vosk.evaluate SPEECH OUT NAME=MODEL_FOLDER ... [--dev-more FOLDER] [--jobs 2]

SPEECH is the folder of recordings. All models hear the sound of `sound/material.py` with a grammar of single words and
[unk]. What is heard is right or wrong by its meaning, refused when it has none or holds [unk]. Writes OUT/NAME.jsonl,
one utterance a line, and prints the tables.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import time
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from scripts.model.sound.material import CLEAN, GRAMMARS, LEVELS, Said, limit_threads, mixes
from scripts.model.vosk.graph import UNKNOWN
from scripts.model.vosk.listen import Ear, open_model, with_unknown

SAME_SOUND = {"o", "meters"}  # 'oh', 'metres' and 'meter' stand for them: one spelling a sound
NAMES = {
    "figures": "digit speaker, three figures",
    "people": "number speakers",
    "phrases": "synthetic voices kept back",
}


def edits(said: Sequence[str], heard: Sequence[str]) -> int:
    """Fewest words put in, left out or replaced."""
    row = list(range(len(heard) + 1))
    for i, a in enumerate(said, 1):
        before, row[0] = row[0], i
        for j, b in enumerate(heard, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (a != b))
    return row[-1]


def judged(said: Said, heard: Sequence[str]) -> dict[str, Any]:
    """One line of the result."""
    words = [w for w in heard if w != UNKNOWN]
    make, meaning_of = GRAMMARS[said.grammar]
    meaning = meaning_of(tuple(words)) if UNKNOWN not in heard and make().follows(words) else None
    verdict = "refused" if meaning is None else "right" if meaning == said.meaning else "wrong"
    true = ["metres" if w == "meters" else w for w in said.text.split()]
    return {
        "set": said.set,
        "who": said.who,
        "snr": said.snr,
        "text": said.text,
        "heard": " ".join(heard),
        "verdict": verdict,
        "words": len(true),
        "edits": edits(true, words),
    }


def start(folder: str) -> None:
    """Open one model in a worker process."""
    global EARS
    model = open_model(Path(folder))
    words = {name: [w for w in make().words() if w not in SAME_SOUND] for name, (make, _) in GRAMMARS.items()}
    EARS = {name: Ear(model, with_unknown(listed)) for name, listed in words.items()}


def hear(said: Said) -> dict[str, Any]:
    """Let the worker's model hear one utterance."""
    return judged(said, EARS[said.grammar].words(said.sound))


def table(rows: Sequence[dict[str, Any]]) -> str:
    """Right / wrong / refused in % and word errors in %, by set and SNR, and by speaker, as Markdown."""
    levels = sorted({r["snr"] for r in rows if r["set"] in NAMES}, reverse=True)
    lines = ["| right / wrong / refused %, (word errors %) | n | " + " | ".join(_level(s) for s in levels) + " |"]
    lines.append("|" + "---|" * (len(levels) + 2))
    groups: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for r in rows:
        if r["set"] in NAMES:
            groups[NAMES[r["set"]]].append(r)
            groups["all"].append(r)
    for r in rows:
        if r["set"] == "people":
            groups[f"speaker {r['who']}"].append(r)
    for name, part in groups.items():
        cells = [_cell([r for r in part if r["snr"] == s]) for s in levels]
        lines.append(f"| {name} | {len(part) // len(levels)} | " + " | ".join(cells) + " |")
    for name in ("talk", "noise"):
        part = [r for r in rows if r["set"] == name]
        if part:
            false = sum(r["verdict"] != "refused" for r in part)
            lines += ["", f"Not to be accepted, {name}: {false} of {len(part)} were."]
    return "\n".join(lines)


def _level(snr: int) -> str:
    return "clean" if snr == CLEAN else f"{snr} dB"


def _cell(part: Sequence[dict[str, Any]]) -> str:
    shares = [100 * sum(r["verdict"] == v for r in part) / len(part) for v in ("right", "wrong", "refused")]
    errors = 100 * sum(r["edits"] for r in part) / sum(r["words"] for r in part)
    return " / ".join(f"{s:.0f}" for s in shares) + f" ({errors:.0f})"


def compare(todo: Sequence[Said], out: Path, models: dict[str, Path], jobs: int) -> dict[str, str]:
    """Let each model hear all of it; the table of each, which is also printed."""
    out.mkdir(parents=True, exist_ok=True)
    tables = {}
    for name, folder in models.items():
        begin = time.monotonic()
        with multiprocessing.get_context("fork").Pool(jobs, start, (str(folder),)) as pool:
            rows = list(pool.imap(hear, todo, chunksize=4))
        (out / f"{name}.jsonl").write_text("".join(json.dumps(r) + "\n" for r in rows), encoding="utf-8")
        tables[name] = table(rows)
        print(f"== {name}: {len(todo)} utterances, {time.monotonic() - begin:.0f} s\n{tables[name]}", flush=True)
    return tables


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("speech", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("models", nargs="+")
    p.add_argument("--dev-more", nargs="*", type=Path, default=[])
    p.add_argument("--jobs", type=int, default=1)
    p.add_argument("--figures", type=int, default=60)
    p.add_argument("--talk", type=int, default=50)
    p.add_argument("--noise", type=int, default=50)
    p.add_argument("--levels", type=int, nargs="*", default=LEVELS, help="SNRs in dB; 99 is clean")
    a = p.parse_args()
    limit_threads()
    todo = mixes(a.speech, a.dev_more, figures=a.figures, talk=a.talk, noise=a.noise, levels=a.levels)
    named = (m.split("=", 1) for m in a.models)
    compare(todo, a.out, {name: Path(folder) for name, folder in named}, a.jobs)


if __name__ == "__main__":
    main()
