"""A stock Vosk recogniser on a model folder: words heard, and the score of a forced word."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scripts.model.vosk.graph import UNKNOWN

RATE_HZ = 16_000


class Ear:
    """One model with one run-time grammar."""

    def __init__(self, model: Any, phrases: Sequence[str], *, alternatives: int = 0) -> None:
        """Model: from `open_model`; phrases with a word that it lacks are left out; alternatives: 0 for word times."""
        import vosk

        known = [p for p in phrases if all(model.vosk_model_find_word(w) >= 0 for w in p.split())]
        self.recogniser = vosk.KaldiRecognizer(model, RATE_HZ, json.dumps(known))
        self.recogniser.SetWords(not alternatives)
        if alternatives:
            self.recogniser.SetMaxAlternatives(alternatives)

    def results(self, sound: np.ndarray) -> list[dict[str, Any]]:
        """Every result of the engine for int16 samples, shape (n,), given in one block."""
        early = self.recogniser.AcceptWaveform(np.ascontiguousarray(sound, np.int16).tobytes())
        found = [json.loads(self.recogniser.Result())] if early else []
        found.append(json.loads(self.recogniser.FinalResult()))
        self.recogniser.Reset()
        return found

    def words(self, sound: np.ndarray) -> list[str]:
        """Words heard, [unk] included."""
        return " ".join(r.get("text", "") for r in self.results(sound)).split()


def open_model(folder: Path) -> Any:
    """The model, opened by the stock wheel. Raises Exception where the wheel refuses the folder."""
    import vosk

    vosk.SetLogLevel(-1)
    return vosk.Model(str(folder))


def with_unknown(words: Sequence[str]) -> list[str]:
    """The words as phrases of a grammar, with [unk]."""
    return [*words, UNKNOWN]
