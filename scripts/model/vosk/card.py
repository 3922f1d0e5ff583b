"""The model card of a build: what was made, from what, and what it reached."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from scripts.model.sound.bank import RATE, Bank


def data_table(bank: Bank, used: np.ndarray) -> str:
    """Clips, minutes and speakers of each source, as Markdown; used: bool, shape (clips,)."""
    clips: dict[str, list[int]] = defaultdict(list)
    for i in np.flatnonzero(used):
        clips[bank.source[i]].append(int(i))
    lines = ["| source | clips | minutes | speakers |", "|---|---|---|---|"]
    for source, part in sorted(clips.items()):
        minutes = bank.speech.length[part].sum() / RATE / 60
        lines.append(f"| {source} | {len(part)} | {minutes:.1f} | {len({bank.speaker[i] for i in part})} |")
    return "\n".join([*lines, f"| noise | {len(bank.noise.start)} | - | - |"])


def write_card(
    folder: Path,
    *,
    size: str,
    minutes: float,
    parameters: int,
    words: int,
    data: str,
    checks: Sequence[str],
    figures: str,
) -> None:
    """Write MODEL_CARD.md into a model folder."""
    files = sorted(p for p in folder.rglob("*") if p.is_file() and p.name != "MODEL_CARD.md")
    megabytes = sum(p.stat().st_size for p in files) / 1e6
    sha = hashlib.sha256((folder / "am" / "final.mdl").read_bytes()).hexdigest()
    found = "\n".join(f"* {line}" for line in checks)
    (folder / "MODEL_CARD.md").write_text(
        f"""# Spoken torque talk, English, in Vosk layout ({size} build)

* **What**: time-delay network of {parameters / 1e6:.2f} million parameters (40 cepstra, three-fold frame
  reduction, 39 phones and silence, one state each), trained with a sequence loss; a decoding graph of {words} words
  that takes run-time grammars. {megabytes:.1f} MB. Always give it a grammar with `[unk]`; without one it
  is only a toy.
* **SHA-256 of am/final.mdl** {sha}
* **Made by** `scripts/model/vosk/build.py {size}` in {minutes:.0f} minutes.
* **Words** can be added without training: `scripts/model/vosk_words.py FOLDER WORDS_FILE`.
* **Licence**: the recordings' own licences, some of them share-alike; pronunciations: a BSD-licensed dictionary of
  North American English and `scripts/model/vosk_words.dict`.

## Trained on
{data}

## Checked at the end of the build
{found}

## Figures
Development people and voices, never trained on, in noise of the development split; grammar of single words and `[unk]`.

{figures}
""",
        encoding="utf-8",
    )
