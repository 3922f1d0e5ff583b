"""Write a whole Vosk model folder from a network: am/final.mdl, conf/*.conf and graph/*."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scripts.model.vosk.features import CONF
from scripts.model.vosk.graph import Costs, write_graph
from scripts.model.vosk.kaldi_files import write_model
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.network import Network
from scripts.model.vosk.phones import transition_units

MODEL_CONF = """--min-active=200
--max-active=3000
--beam=13.0
--lattice-beam=6.0
--acoustic-scale={scale}
--frame-subsampling-factor=3
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.5
--endpoint.rule3.min-trailing-silence=0.75
--endpoint.rule4.min-trailing-silence=1.5
"""


@dataclass(frozen=True)
class Trained:
    """What training hands over: the network and the probability of staying in each unit, shape (UNITS,)."""

    network: Network
    stay: list[float]


@dataclass(frozen=True)
class Manner:
    """How the model listens.

    `scale`: weight of the network against the graph: below 1.5 a network of the sequence loss deletes words (measured);
    `bits` of the stored weights; `unknown_phone`: price of each phone of [unk], which has to grow with the scale.
    """

    scale: float = 1.8
    bits: int = 8
    unknown_phone: float = 9.0


def staying(counts: np.ndarray) -> list[float]:
    """Probability of staying in each unit, from how often its two pdfs were seen; counts: shape (PDFS,)."""
    entered, held = counts[0::2], counts[1::2]
    return [float(p) for p in np.clip(held / np.maximum(entered + held, 1), 0.1, 0.95)]


def write_folder(
    folder: Path, trained: Trained, lexicon: Lexicon, sentences: Sequence[str], manner: Manner
) -> dict[str, int]:
    """Write the model folder; returns the word ids."""
    for name in ("am", "conf"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    write_model(folder / "am" / "final.mdl", transition_units(trained.stay), trained.network.nnet3(manner.bits))
    (folder / "conf" / "mfcc.conf").write_text(CONF)
    (folder / "conf" / "model.conf").write_text(MODEL_CONF.format(scale=manner.scale))
    costs = Costs(unknown_phone=manner.unknown_phone)
    return write_graph(folder / "graph", lexicon, trained.stay, sentences=sentences, costs=costs)
