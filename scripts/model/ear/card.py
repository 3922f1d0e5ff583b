"""The model card of a build: what was made, from what, and what it reached beside the packaged encoder."""

from __future__ import annotations

import hashlib
import json
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

SETS = {"figures": "digit speaker, three figures", "people": "number speakers", "phrases": "synthetic voices kept back"}


def shares(path: Path) -> dict[tuple[str, int], tuple[int, int]]:
    """(best reading right, n) for every set and SNR of a file of `evaluate.py`, and for 'all'."""
    found: dict[tuple[str, int], list[int]] = defaultdict(lambda: [0, 0])
    for line in path.read_text(encoding="utf-8").splitlines():
        row: dict[str, Any] = json.loads(line)
        for name in (row["set"], "all") if row["set"] in SETS else ():
            found[name, row["snr"]][0] += row["right"]
            found[name, row["snr"]][1] += 1
    return {key: (right, n) for key, (right, n) in found.items()}


def table(packaged: Path, new: Path) -> str:
    """Best reading right of n, packaged encoder and new one, by set and SNR, as a Markdown table."""
    old, own = shares(packaged), shares(new)
    levels = sorted({snr for _, snr in own}, reverse=True)
    lines = [
        "| best reading right: packaged, **new** | "
        + " | ".join("clean" if s == 99 else f"{s} dB" for s in levels)
        + " |",
        "|" + "---|" * (len(levels) + 1),
    ]
    for name, told in {**SETS, "all": "all, %"}.items():
        cells = []
        for snr in levels:
            (a, n), (b, _) = old.get((name, snr), (0, 0)), own.get((name, snr), (0, 0))
            percent = name == "all" and n
            cells.append(f"{100 * a / n:.1f}, **{100 * b / n:.1f}** (n {n})" if percent else f"{a}, **{b}** of {n}")
        lines.append(f"| {told} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def write_card(folder: Path, size: str, minutes: float) -> str:
    """Write MODEL_CARD.md into the folder of a build; returns the table of its figures."""
    encoder, figures = folder / "encoder.onnx", folder / "figures"
    sha = hashlib.sha256(encoder.read_bytes()).hexdigest()
    voices = Counter(
        line.split("\t")[2].split(":")[0]
        for f in sorted(folder.glob("synth/*/list.tsv"))
        if f.parent.name != "dev"
        for line in f.read_text(encoding="utf-8").splitlines()
    )
    made = table(figures / "packaged.jsonl", figures / "new.jsonl")
    spoken = ", ".join(f"{family} {n}" for family, n in sorted(voices.items()))
    size_mb = encoder.stat().st_size / 1e6
    (folder / "MODEL_CARD.md").write_text(
        f"""# The ear: an encoder trained in noise ({size} build)

* **What**: `encoder.onnx` turns 16 kHz mono audio (`audio`, float32, 1 x samples) into frames of 288 numbers (`hidden`,
  1 x frames x 288), one every 24 ms, for the decoder inside the wheel `moonshine-voice==0.0.73`. {size_mb:.1f} MB.
* **SHA-256** {sha}
* **Made by** `scripts/model/ear/build.py {size}` in {minutes:.0f} minutes from the train split of the recordings and
  synthetic clips ({spoken}).
* **Licence**: derived from the packaged weights (MIT, `LICENCE-packaged-weights.txt` must stay beside the file); see
  the recordings' own licences, some are share-alike.

## Figures
Development split, never trained on; prototype grammar; the same sound for both.

{made}

After changing the file in use, run `scripts/bench/calibrate`: the thresholds hold only for the weights whose SHA-256
they record.
""",
        encoding="utf-8",
    )
    return made
