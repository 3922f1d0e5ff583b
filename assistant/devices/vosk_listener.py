"""The second listener: any Vosk model folder with a run-time grammar (`Recogniser`)."""

from __future__ import annotations

import json
import math
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from assistant.devices.model_files import check_sums
from assistant.errors import ModelMissing
from assistant.ports import Recogniser, Samples
from assistant.speech.covering import TWINS, covering_sentences
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Candidate, Reading
from assistant.speech.meaning import Meaning, Note
from assistant.speech.quality import measure
from assistant.speech.vocabulary import everything

RATE_HZ = 16_000
UNKNOWN = "[unk]"
LONGEST_S = 16.0
ALTERNATIVES = 150
KEPT_GRAMMARS = 24
DECOYS = (
    "note",
    "nut",
    "on",
    "in",
    "and",
    "the",
    "a",
    "to",
    "of",
    "it",
    "is",
    "was",
    "or",
    "then",
    "that",
    "okay",
    "well",
)
"""Small words of any talk: they catch what is no part of the job before a figure does."""

FILES = ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/Gr.fst", "graph/HCLr.fst", "graph/words.txt")
"""What a model folder with a dynamic graph must hold."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One word sequence that Vosk found.

    Args:
        words: as Vosk writes them, `[unk]` included.
        score: log-likelihood, not normalised; 0 where Vosk gave none.
        confidences: one for each word, 0..1; empty where Vosk gave none.
    """

    words: tuple[str, ...]
    score: float
    confidences: tuple[float, ...] = ()


class VoskListener(Recogniser):
    """Recogniser over a Vosk model. One recogniser object a grammar, kept; never a grammar changed within one."""

    name = "vosk"

    def __init__(self, model_folder: Path, *, grammars: Iterable[Grammar] | None = None) -> None:
        """Open the model and check it.

        Args:
            model_folder: in Vosk's layout, with a dynamic graph and `[unk]`.
            grammars: whose words must all be known to the model; None for `vocabulary.everything()`. In any other
                grammar words that the model lacks are left out: a phrase of a joint file that holds one is then heard
                by the other listener alone.

        Raises:
            ModelMissing: a file is missing or damaged, the graph is static, `[unk]` or a word is unknown, or vosk
                itself does not load.
        """
        self.model_folder = model_folder
        _check_folder(model_folder)
        self._vosk, self._model = _open(model_folder)
        self._recognisers: dict[Grammar, Any] = {}
        if not self._knows(UNKNOWN):
            raise ModelMissing(
                f"{model_folder.name}: the model does not know {UNKNOWN}, so it could reject nothing",
                remedy="Use a model whose graph/words.txt holds [unk].",
            )
        for grammar in (everything(),) if grammars is None else grammars:
            missing = self.unknown_words(grammar)
            if missing:
                raise ModelMissing(
                    f"{model_folder.name}: the model lacks these words of the grammar: {', '.join(missing)}",
                    remedy="Add them to the model's dictionary and graph, or use the model in models/vosk.",
                )

    def prepare(self, grammar: Grammar) -> None:
        """Build what `hear` will need for this grammar."""
        self._recogniser(grammar)

    def unknown_words(self, grammar: Grammar) -> tuple[str, ...]:
        """Words of the grammar that the model lacks, sorted; second spellings of one sound left out."""
        return tuple(sorted(w for w in grammar.vocabulary() if w not in TWINS and not self._knows(w)))

    def hear(self, samples: Samples, grammar: Grammar) -> Reading:
        """See `ports.Recogniser.hear`.

        `extra` holds: readable (share of the alternatives, by probability, that have a meaning), first_readable (0 or
        1), words, confidence (of the least sure word of the first alternative), alternatives (their number).
        """
        start = time.process_time()
        quality = measure(samples)
        if quality.silent or quality.seconds > LONGEST_S:
            return Reading(self.name, (), seconds=time.process_time() - start)
        recogniser = self._recogniser(grammar)
        found = self._alternatives(recogniser, samples)
        reading = _reading(found, grammar)
        return Reading(
            self.name, *reading[:1], free_text=reading[1], seconds=time.process_time() - start, extra=reading[2]
        )

    def _alternatives(self, recogniser: Any, samples: Samples) -> list[Hypothesis]:
        """The whole utterance in one block, so that the engine's own rules for pauses cannot cut it."""
        data = np.ascontiguousarray(samples, np.int16).tobytes()
        try:
            early = recogniser.AcceptWaveform(data)
            parts = [read_answer(recogniser.Result())] if early else []
            parts.append(read_answer(recogniser.FinalResult()))
        finally:
            recogniser.Reset()
        heard = [part for part in parts if part and part[0].words]
        if not heard:
            return []
        joined = heard[0]
        for part in heard[1:]:
            joined = [Hypothesis(a.words + b.words, a.score + b.score) for a in joined for b in part]
        return sorted(joined, key=lambda h: -h.score)[:ALTERNATIVES]

    def _recogniser(self, grammar: Grammar) -> Any:
        found = self._recognisers.pop(grammar, None)
        if found is None:
            known = frozenset(w for w in grammar.vocabulary() if self._knows(w))
            phrases = [*covering_sentences(grammar, known), *(d for d in DECOYS if self._knows(d)), UNKNOWN]
            found = self._vosk.KaldiRecognizer(self._model, RATE_HZ, json.dumps(phrases))
            found.SetMaxAlternatives(ALTERNATIVES)
            while len(self._recognisers) >= KEPT_GRAMMARS:
                del self._recognisers[next(iter(self._recognisers))]
        self._recognisers[grammar] = found
        return found

    def _knows(self, word: str) -> bool:
        return bool(self._model.vosk_model_find_word(word) >= 0)


def read_answer(text: str) -> list[Hypothesis]:
    """Read a result of Vosk in either of its shapes, strictly: one text with word confidences, or scored alternatives.

    Raises:
        ModelMissing: any other shape, as another version of the library might give.
    """
    try:
        answer = json.loads(text)
        if set(answer) == {"alternatives"}:
            return [Hypothesis(tuple(str(a["text"]).split()), float(a["confidence"])) for a in answer["alternatives"]]
        if set(answer) <= {"text", "result"} and "text" in answer:
            sure = tuple(float(w["conf"]) for w in answer.get("result", ()))
            words = tuple(str(answer["text"]).split())
            if len(sure) not in (0, len(words)):
                raise ValueError("words and confidences differ in number")
            return [Hypothesis(words, 0.0, sure)]
        raise ValueError(f"keys {sorted(answer)}")
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise ModelMissing(
            f"the Vosk library answered in an unknown shape ({error})",
            remedy="Install vosk==0.3.45: run scripts/setup.",
        ) from error


def word_confidences(found: list[Hypothesis]) -> tuple[float, ...]:
    """For each word of the first alternative: the probability of all alternatives that have this word at this place,
    counted from the front or from the back.
    """
    weights = _weights(found)
    first = found[0].words
    sure = []
    for i, word in enumerate(first):
        back = i - len(first)
        sure.append(
            sum(
                p
                for p, h in zip(weights, found, strict=True)
                if h.words[i : i + 1] == (word,) or (-back <= len(h.words) and h.words[back] == word)
            )
        )
    return tuple(sure)


def _weights(found: list[Hypothesis]) -> list[float]:
    top = max(h.score for h in found)
    parts = [math.exp(h.score - top) for h in found]
    return [p / sum(parts) for p in parts]


def _reading(found: list[Hypothesis], grammar: Grammar) -> tuple[tuple[Candidate, ...], str, dict[str, float]]:
    if not found:
        return (), "", {}
    shares: dict[Meaning, float] = {}
    texts: dict[Meaning, str] = {}
    first_readable = 0.0
    for place, (weight, hypothesis) in enumerate(zip(_weights(found), found, strict=True)):
        meaning = _meaning(hypothesis.words, grammar)
        if meaning is None:
            continue
        first_readable = first_readable or float(place == 0)
        shares[meaning] = shares.get(meaning, 0.0) + weight
        texts.setdefault(meaning, " ".join(hypothesis.words))
    best = sorted(shares, key=lambda m: -shares[m])
    extra = {
        "readable": sum(shares.values()),
        "first_readable": first_readable,
        "words": float(len(found[0].words)),
        "confidence": min(word_confidences(found)),
        "alternatives": float(len(found)),
    }
    return tuple(Candidate(m, texts[m], math.log(shares[m])) for m in best), " ".join(found[0].words), extra


def _meaning(words: tuple[str, ...], grammar: Grammar) -> Meaning | None:
    """What the words mean: a whole sentence of the grammar, or the opening of free speech with anything behind it."""
    meaning = grammar.meaning(words)
    if meaning is not None and not (isinstance(meaning, Note) and not words):
        return meaning
    for cut in range(1, len(words)):
        note = grammar.note(words[:cut], "")
        if note is not None:
            return note
    return None


def _check_folder(folder: Path) -> None:
    if not folder.is_dir():
        raise ModelMissing(
            f"there is no Vosk model folder {folder}", remedy="Name a folder in Vosk's layout, such as models/vosk."
        )
    if (folder / "graph" / "HCLG.fst").exists():
        raise ModelMissing(
            f"{folder.name}: the model has a static graph (graph/HCLG.fst), which takes no grammar",
            remedy="Use a model with a dynamic graph (graph/Gr.fst and graph/HCLr.fst), such as models/vosk.",
        )
    missing = [name for name in FILES if not (folder / name).is_file()]
    if missing:
        raise ModelMissing(
            f"{folder.name}: the Vosk model folder lacks {', '.join(missing)}",
            remedy="Restore the folder from its source, or name another model with a dynamic graph.",
        )
    check_sums(folder)


def _open(folder: Path) -> tuple[Any, Any]:
    try:
        import vosk
    except (ImportError, OSError) as error:
        raise ModelMissing(
            f"the package vosk does not load: {error}", remedy="Install vosk==0.3.45: run scripts/setup."
        ) from error
    vosk.SetLogLevel(-1)
    try:
        return vosk, vosk.Model(model_path=str(folder))
    except Exception as error:  # a bare Exception is all that the binding raises
        raise ModelMissing(
            f"{folder.name}: Vosk cannot open the model ({error}); a file in it is damaged or of another version",
            remedy="Restore the folder from its source.",
        ) from error
