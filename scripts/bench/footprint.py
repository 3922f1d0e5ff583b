"""Time and memory of the listeners in a process of their own: `python -m scripts.bench.footprint MODELS NAME...`.

Prints JSON: peak_mb (resident, with Python and numpy), base_mb (before a listener was opened), and for each name open_s
and two_seconds_s (median processor seconds for an utterance of 2 s, the first one left out).
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path
from statistics import median
from typing import Any

from assistant.speech.vocabulary import everything
from scripts.bench.espeak import Wish, speak
from scripts.bench.hearing import ROOT, engine
from scripts.bench.mixes import Mixer
from scripts.bench.spoken import said

SENTENCES = (
    "three hundred and ten",
    "bolt five one eighty",
    "two seventy point five",
    "one two zero",
    "four oh five foot pounds",
)


def measured(models: Path, *names: str) -> dict[str, Any]:
    """Figures of these engines together, from a child process."""
    command = [sys.executable, "-m", "scripts.bench.footprint", str(models), *names]
    answer = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(answer.stdout.splitlines()[-1])
    return found


def _measure(models: Path, names: list[str]) -> dict[str, Any]:
    mixer = Mixer([], [], plain=True)
    things = [
        said(f"footprint-{i}", text, "espeak", "synthetic", x)
        for i, (text, x) in enumerate(zip(SENTENCES, speak([Wish(t) for t in SENTENCES]), strict=True))
    ]
    mixes = [mixer.mix(s, snr, seed="footprint", kind="coloured") for s in things for snr in (20.0, 5.0)]
    grammar = everything()
    found: dict[str, Any] = {"base_mb": _peak_mb()}
    for name in names:
        start = time.process_time()
        listener = engine(name, models)
        listener.hear(mixes[0].samples, grammar)
        opened = time.process_time() - start
        each = []
        for mix in mixes:
            begin = time.process_time()
            listener.hear(mix.samples, grammar)
            each.append((time.process_time() - begin) / mix.seconds * 2)
        found[name] = {"open_s": round(opened, 3), "two_seconds_s": round(median(each), 4)}
    found["peak_mb"] = _peak_mb()
    return found


def _peak_mb() -> int:
    """Of this program alone: Linux counts what the parent held before the child began in `ru_maxrss` too."""
    status = Path("/proc/self/status")
    lines = status.read_text(encoding="ascii").splitlines() if status.is_file() else []
    found = [int(line.split()[1]) for line in lines if line.startswith("VmHWM:")]
    return (found[0] if found else resource.getrusage(resource.RUSAGE_SELF).ru_maxrss) // 1024


if __name__ == "__main__":
    print(json.dumps(_measure(Path(sys.argv[1]), sys.argv[2:])))
