"""Whether a model folder is what the stock wheel and this product need: `verify` opens it and tries it.

The wheel's own score of a word forced by a one-word grammar is compared with ours, computed from the same arrays with
numpy: cepstra, edges, order of layers, sub-sampling, stored weights and costs of the graph must all agree, or the
scores drift apart.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scripts.model.vosk import phones
from scripts.model.vosk.export import Manner, Trained
from scripts.model.vosk.features import mfcc
from scripts.model.vosk.graph import UNKNOWN
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.listen import RATE_HZ, Ear, open_model, with_unknown

GRAPH_SHARE = 0.9  # of the graph's cost in the score that the wheel gives to alternatives (measured)
DRIFT = {
    32: 0.05,
    16: 0.1,
    8: 2.0,
}  # largest allowed difference of scores that are some hundreds, by bits of the weights
PAUSES = 2 * math.log(2)  # cost of pausing or not pausing before and after, each 1 in 2


class ModelFault(RuntimeError):
    """The model folder does not do what it must; the message says what was tried and what came."""


@dataclass(frozen=True)
class Sound:
    """A recording to try: words said, int16 samples."""

    text: str
    samples: np.ndarray


def forced(scores: np.ndarray, word: list[int], stay: list[float]) -> tuple[float, float]:
    """(cost, the graph's part of it) of the cheapest way through the word, with or without silence at either end.

    Args:
        scores: log-likelihoods times the acoustic scale, shape (outputs, PDFS).
        word: phone ids.
        stay: see `phones.transition_units`.
    """
    best = (math.inf, 0.0)
    for before, after in itertools.product((0, 1), repeat=2):
        line = [phones.SILENCE] * before + word + [phones.SILENCE] * after
        enter, hold = (np.array(p) for p in zip(*(phones.pdfs_of(p) for p in line), strict=True))
        staying = np.array([stay[e // 2] for e in enter])
        go, keep = -np.log(1 - staying), -np.log(staying)
        cost, graph = np.full(len(line), math.inf), np.zeros(len(line))
        for t, row in enumerate(scores):
            first = (0.0, 0.0) if t == 0 else (math.inf, 0.0)
            come = np.concatenate([[first[0]], cost[:-1]]) + go - row[enter]
            come_graph = np.concatenate([[first[1]], graph[:-1]]) + go
            held, held_graph = cost + keep - row[hold], graph + keep
            better = held <= come
            cost, graph = np.where(better, held, come), np.where(better, held_graph, come_graph)
        best = min(best, (float(cost[-1]) + PAUSES, float(graph[-1]) + PAUSES))
    return best


def drift(model: object, trained: Trained, lexicon: Lexicon, manner: Manner, sounds: Sequence[Sound]) -> float:
    """Largest difference between the wheel's score and ours over sounds of one word each, less what all have in common.

    The grammar's own cost is the same for every word, so the differences must be one constant; sounds in which the
    wheel heard nothing are left out.

    Raises:
        ModelFault: fewer than three sounds could be compared.
    """
    found = []
    for sound in sounds:
        result = Ear(model, [sound.text], alternatives=1).results(sound.samples)[-1]["alternatives"][0]
        if result["text"] != sound.text:
            continue
        scores = trained.network.scores(mfcc(sound.samples)) * manner.scale
        ways = [forced(scores, phones.placed(way), trained.stay) for way in lexicon[sound.text]]
        cost, graph = min(ways)
        found.append(result["confidence"] + (cost - graph) + GRAPH_SHARE * graph)
    if len(found) < 3:
        raise ModelFault(
            f"only {len(found)} of {len(sounds)} one-word recordings were heard in a grammar of that word alone"
        )
    return float(np.abs(np.array(found) - np.median(found)).max())


def verify(
    folder: Path,
    trained: Trained,
    lexicon: Lexicon,
    manner: Manner,
    *,
    needed: Sequence[str],
    digits: Sequence[Sound],
    talk: Sequence[Sound],
) -> list[str]:
    """Open the folder with the stock wheel and try it; returns what was found, one sentence each.

    Args:
        needed: words that the product may listen for.
        digits: recordings of one digit each, three at least.
        talk: recordings without any digit.

    Raises:
        ModelFault: a needed word or [unk] is unknown, a grammar is not kept to, [unk] is never heard, a word's time
            lies outside its recording, or the wheel does not compute what we compute.
    """
    model, told = open_model(folder), []
    missing = [w for w in [*needed, UNKNOWN] if model.vosk_model_find_word(w) < 0]
    if missing:
        raise ModelFault(
            f"{folder}: the graph lacks {', '.join(missing)}; give their pronunciations in vosk_words.dict"
        )
    told.append(f"opened by the stock wheel; all {len(needed)} words of the product and {UNKNOWN} are known")
    allowed = sorted({s.text for s in digits})
    for sound, listed in itertools.product(digits, (allowed, allowed[:1])):
        fresh = Ear(model, with_unknown(listed))  # the engine counts its times from a recogniser's first sample
        for word in (w for result in fresh.results(sound.samples) for w in result.get("result", [])):
            if word["word"] not in (*listed, UNKNOWN):
                raise ModelFault(f"{folder}: heard {word['word']!r}, which its grammar does not hold")
            if not 0 <= word["start"] <= word["end"] <= len(sound.samples) / RATE_HZ + 0.1:
                raise ModelFault(f"{folder}: {word} lies outside a recording of {len(sound.samples) / RATE_HZ:.2f} s")
    ear = Ear(model, with_unknown(allowed))
    right = sum(ear.words(s.samples) == [s.text] for s in digits)
    told.append(f"run-time grammars are kept to; {right} of {len(digits)} single digits right in a grammar of digits")
    rejected = sum(UNKNOWN in ear.words(s.samples) for s in talk)
    if talk and not rejected:
        raise ModelFault(
            f"{folder}: {UNKNOWN} was heard in none of {len(talk)} recordings without a digit; lower its price"
        )
    told.append(f"{UNKNOWN} heard in {rejected} of {len(talk)} recordings of other talk in the grammar of digits")
    apart = drift(model, trained, lexicon, manner, digits)
    if apart > DRIFT[manner.bits]:
        raise ModelFault(
            f"{folder}: the wheel's scores and ours differ by up to {apart:.3f}, allowed {DRIFT[manner.bits]}"
        )
    told.append(f"the wheel's scores are ours to within {apart:.3f} ({manner.bits} bits)")
    return told
