"""What training gave, in one file without pickled code: a model folder can be written again without training."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scripts.model.vosk.export import Trained
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.network import Affine, Network


@dataclass(frozen=True)
class Kept:
    """The network, the words that it was made for, sentences for the bigram, and the card's table of the data."""

    trained: Trained
    lexicon: Lexicon
    sentences: Sequence[str]
    data: str


def keep(path: Path, kept: Kept) -> None:
    """Write the file; weights as float32."""
    n = kept.trained.network
    layers = [n.first, n.second, n.third, *n.blocks, n.last]
    arrays = {f"weight{i}": layer.weight.astype(np.float32) for i, layer in enumerate(layers)}
    arrays |= {f"bias{i}": layer.bias.astype(np.float32) for i, layer in enumerate(layers)}
    facts = {"stay": kept.trained.stay, "lexicon": kept.lexicon, "sentences": list(kept.sentences), "data": kept.data}
    np.savez_compressed(path, facts=np.array(json.dumps(facts)), **arrays)


def read_kept(path: Path) -> Kept:
    """Read the file. Raises KeyError or ValueError where it is another one."""
    with np.load(path) as z:
        facts = json.loads(str(z["facts"]))
        count = sum(name.startswith("weight") for name in z.files)
        layers = [Affine(z[f"weight{i}"].astype(float), z[f"bias{i}"].astype(float)) for i in range(count)]
    network = Network(*layers[:3], tuple(layers[3:-1]), layers[-1])
    return Kept(Trained(network, facts["stay"]), facts["lexicon"], facts["sentences"], facts["data"])
