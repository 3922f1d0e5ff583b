"""Development check inside the torque grammar: encoders against each other on the sound of `sound/material.py`.

usage: python -m scripts.model.ear.evaluate SPEECH OUT NAME=ENCODER.onnx|NAME=packaged ... [--dev-more FOLDER]

SPEECH is the folder of recordings, OUT a folder to write to. Every encoder hears exactly the same sound. Writes
OUT/NAME.jsonl (one utterance a line) and prints the table; `report.py` prints it again from the files.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scripts.model.ear import report, search
from scripts.model.sound.material import GRAMMARS, LEVELS, Said, limit_threads, mixes


def hear(said: Said) -> dict[str, Any]:
    """One line of the result: the best meanings with scores, the truth's score, and the fit."""
    hidden = MODEL.encode(said.sound.astype(np.float32) / 32768)
    found = search.search(MODEL, hidden, GRAPHS[said.grammar], GRAMMARS[said.grammar][1])
    free, score = MODEL.free(hidden)
    found = [(s, k) for s, k in found if k is not None]
    true = next((round(s, 3) for s, k in found if k == said.meaning), None)
    return {
        "set": said.set,
        "who": said.who,
        "text": said.text,
        "snr": said.snr,
        "right": bool(found) and found[0][1] == said.meaning,
        "best": [[list(k), round(s, 3)] for s, k in found[:4]],
        "true": true,
        "total": float(np.logaddexp.reduce([s for s, _ in found])) if found else None,
        "fit": round(found[0][0] - score, 3) if found else None,
        "free": free,
        "seconds": round(len(said.sound) / 16000, 2),
        "value": said.meaning is not None and (said.grammar == "figures" or said.meaning[0] == "value"),
    }


def start(path: str) -> None:
    """Load one encoder into a worker process."""
    global MODEL, GRAPHS
    MODEL = search.Model(None if path == "packaged" else Path(path))
    GRAPHS = {k: search.TokenGraph(g(), MODEL) for k, (g, _) in GRAMMARS.items()}


def compare(todo: Sequence[Said], out: Path, encoders: dict[str, str], jobs: int) -> None:
    """Let each encoder (name -> file or 'packaged') hear all of it, and print the tables."""
    out.mkdir(parents=True, exist_ok=True)
    for name, path in encoders.items():
        begin = time.monotonic()
        with (
            multiprocessing.get_context("fork").Pool(jobs, start, (path,)) as pool,
            (out / f"{name}.jsonl").open("w") as f,
        ):
            f.writelines(json.dumps(line) + "\n" for line in pool.imap(hear, todo, chunksize=4))
        print(f"{name}: {len(todo)} utterances, {time.monotonic() - begin:.0f} s", flush=True)
        report.show(out / f"{name}.jsonl")


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("speech", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("encoders", nargs="+")
    p.add_argument("--dev-more", nargs="*", type=Path, default=[])
    p.add_argument("--jobs", type=int, default=1)
    p.add_argument("--figures", type=int, default=60)
    p.add_argument("--talk", type=int, default=50)
    p.add_argument("--noise", type=int, default=100)
    p.add_argument("--every", type=int, default=1, help="hear only every n-th utterance")
    p.add_argument("--levels", type=int, nargs="*", default=LEVELS, help="SNRs in dB; 99 is clean")
    a = p.parse_args()
    limit_threads()
    todo = mixes(a.speech, a.dev_more, figures=a.figures, talk=a.talk, noise=a.noise, levels=a.levels)[:: a.every]
    compare(todo, a.out, dict(e.split("=", 1) for e in a.encoders), a.jobs)


if __name__ == "__main__":
    main()
