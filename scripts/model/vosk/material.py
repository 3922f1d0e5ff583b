"""All that training needs, in memory or in one folder that can be carried to a machine with a GPU.

The folder holds the clips and noises (`../sound/packed.py`) and `facts.json`. Reading it needs numpy and soundfile
alone; no dictionary, no manifest, no recordings.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scripts.model.sound.bank import Bank
from scripts.model.sound.packed import read_bank, write_bank
from scripts.model.vosk.labels import Alignment
from scripts.model.vosk.lexicon import Lexicon

FACTS = "facts.json"


@dataclass(frozen=True)
class Material:
    """Clips that may be drawn, with their alignments (None: not aligned yet), the words, sentences for the trigram of
    phones and the bigram, and the card's table of the data.
    """

    bank: Bank
    used: np.ndarray  # bool, shape (clips,)
    alignments: list[Alignment | None]
    lexicon: Lexicon
    sentences: Sequence[str]
    data: str


def write_material(folder: Path, m: Material) -> str:
    """Write the folder, clips that are not used left out; returns what was written, in words."""
    told = write_bank(folder, m.bank, [int(i) for i in np.flatnonzero(m.used)])
    facts = {
        "alignments": {str(i): a for i, a in enumerate(m.alignments) if a and m.used[i]},
        "lexicon": m.lexicon,
        "sentences": list(m.sentences),
        "data": m.data,
    }
    (folder / FACTS).write_text(json.dumps(facts), encoding="utf-8")
    return told


def read_material(folder: Path) -> Material:
    """Read the folder. Raises OSError, KeyError or ValueError where it is no such folder."""
    facts = json.loads((folder / FACTS).read_text(encoding="utf-8"))
    bank, order = read_bank(folder)
    found = {int(i): [tuple(x) for x in a] for i, a in facts["alignments"].items()}
    alignments: list[Alignment | None] = [found.get(i) for i in order]
    return Material(bank, np.ones(len(order), bool), alignments, facts["lexicon"], facts["sentences"], facts["data"])
