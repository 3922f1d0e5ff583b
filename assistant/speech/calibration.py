"""The calibrated combiner as kept in `models/calibration.json`: weights, thresholds, what they were learnt from."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from assistant.errors import ModelMissing

VERSION = 3
SOURCES = ("constrained", "vosk", "constrained+vosk", "constrained+letters", "constrained+letters+vosk")
"""What may speak together: each has its own combiner. Letters come from our ear only, never without it."""
KINDS = ("value", "confusable value", "teen or ten", "short value", "command", "short command", "phrase", "note")
"""What has its own thresholds. A confusable value has a near rival that is easily heard instead of it; a teen or ten
has one whether a listener named it or not."""
REMEDY = "Restore models/calibration.json, or make it anew: scripts/bench/calibrate SPEECH_FOLDER."


@dataclass(frozen=True, slots=True)
class Threshold:
    """From which probability a meaning is accepted, and from which it is worth a question."""

    accept: float
    ask: float


@dataclass(frozen=True, slots=True)
class Combiner:
    """The combiner for one set of listeners.

    Args:
        weights: name of a figure of `speech.evidence` -> weight, for candidates.
        otherwise: the same for 'something else'.
        thresholds: kind -> threshold, for each of `KINDS`.
    """

    weights: Mapping[str, float]
    otherwise: Mapping[str, float]
    thresholds: Mapping[str, Threshold]

    def stricter(self) -> Combiner:
        """The same with a quarter of the doubt allowed: for weights that were not calibrated."""
        tight = {k: Threshold(1 - (1 - t.accept) / 4, t.ask) for k, t in self.thresholds.items()}
        return replace(self, thresholds=tight)


@dataclass(frozen=True, slots=True)
class Calibration:
    """All combiners, and where they come from.

    Args:
        combiners: one for each of `SOURCES` (`evidence.sources`).
        weights_sha256: file -> SHA-256 of the recognisers' weights that were calibrated.
        source: data, script, counts, errors, for people.
    """

    combiners: Mapping[str, Combiner]
    weights_sha256: Mapping[str, str]
    source: Mapping[str, Any]

    def stricter(self) -> Calibration:
        """See `Combiner.stricter`."""
        return replace(self, combiners={k: c.stricter() for k, c in self.combiners.items()})


def parse_calibration(text: str) -> Calibration:
    """Read the text of `calibration.json`.

    Raises:
        ModelMissing: it is no such text, of another version, or lacks a part.
    """
    try:
        told = json.loads(text)
        if told["version"] != VERSION:
            raise ValueError(f"version is {told['version']}, this program reads {VERSION}")
        combiners = {name: _combiner(part) for name, part in told["combiners"].items()}
        if set(combiners) != set(SOURCES):
            raise ValueError(f"combiners are {sorted(combiners)}")
        return Calibration(combiners, dict(told["weights_sha256"]), dict(told["source"]))
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise ModelMissing(f"calibration.json cannot be used: {error}", remedy=REMEDY) from error


def _combiner(told: dict[str, Any]) -> Combiner:
    thresholds = {k: Threshold(float(t["accept"]), float(t["ask"])) for k, t in told["thresholds"].items()}
    if set(thresholds) != set(KINDS) or any(not 0.0 <= t.ask <= t.accept for t in thresholds.values()):
        raise ValueError("thresholds must be one a kind, 0 <= ask <= accept")
    weights, otherwise = ({str(k): float(v) for k, v in told[part].items()} for part in ("weights", "otherwise"))
    if not all(abs(v) < 1e3 for v in (*weights.values(), *otherwise.values())):
        raise ValueError("a weight is not a number of usual size")
    return Combiner(weights, otherwise, thresholds)
