"""The assistant's own speech reception threshold, as hearing tests for people measure it: `scripts/bench/srt CORPUS`.

Triplets of digits in noise of their own spectrum, one-up one-down in steps of 2 dB, 24 triplets a run (`staircase`);
the threshold is the SNR at which half of the triplets are understood. Speakers are those of the dev split. For each
listener: plain free wording, the packaged encoder in the grammar, our ear in the grammar, Vosk, and the pair (best
reading of the combiner). All are given the same triplets in the same noise. The grammar holds every value and command;
people who take the test know that three digits come, which is a smaller choice: `--only "the pair, figures"` has it
too (it made no difference: -4.1 and -4.2 dB on seven people).
People of normal hearing have about -9 dB (from memory; Smits et al. 2013).
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.devices.calibration_file import other_weights, read_calibration
from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.vosk_listener import VoskListener
from assistant.speech.calibration import Calibration
from assistant.speech.grammar import Grammar
from assistant.speech.meaning import Meaning, Value
from assistant.speech.quality import measure
from assistant.speech.vocabulary import Expecting, everything, grammar_for
from assistant.speech.voting import combine
from scripts.bench.corpus import read_corpus
from scripts.bench.hearing import MEMORY, ROOT, weights
from scripts.bench.staircase import Rules, Track, run, together
from scripts.bench.triplets import Talker, in_noise, people, synthetic, triplets

USUAL = ("free wording, packaged", "packaged in the grammar", "our ear in the grammar", "vosk alone", "the pair")
PEOPLE_DB = -9.0
"""Normal hearing, from memory (Smits et al. 2013)."""
Heard = tuple["Meaning | None", str]
"""The best reading, and what the calibrated thresholds would do with it: accept, ask or reject ("" where there are
none)."""
Listen = Callable[[npt.NDArray[np.int16]], Heard]


@dataclass
class Result:
    """All runs of one listener on one group of speakers."""

    tracks: dict[str, list[Track]] = field(default_factory=dict)  # speaker -> runs
    presented: int = 0
    wrong_accepted: int = 0

    def all(self) -> list[Track]:
        """Runs of all speakers."""
        return [t for own in self.tracks.values() for t in own]


class Listeners:
    """The engines, each opened once, and the five ways to listen with them."""

    def __init__(self, models: Path, calibration: Calibration) -> None:
        self._ear = ConstrainedListener(models / "ear" / "encoder.onnx")
        self._packaged = ConstrainedListener(None)
        self._vosk = VoskListener(models / "vosk")
        self._calibration = calibration
        self._grammar = everything()
        self._figures = grammar_for(Expecting(values=True, yes_no=True, figures_only=True))

    def ways(self) -> dict[str, Listen]:
        """Name -> listener."""
        return {
            "free wording, packaged": self._free,
            "packaged in the grammar": lambda x: (_first(self._packaged.hear(x, self._grammar).candidates), ""),
            "our ear in the grammar": lambda x: self._voted(x, [self._ear], self._grammar),
            "vosk alone": lambda x: self._voted(x, [self._vosk], self._grammar),
            "the pair": lambda x: self._voted(x, [self._ear, self._vosk], self._grammar),
            "the pair, figures only": lambda x: self._voted(x, [self._ear, self._vosk], self._figures),
        }

    def _free(self, samples: npt.NDArray[np.int16]) -> Heard:
        return self._grammar.parse(self._packaged.transcribe(samples)), ""

    def _voted(self, samples: npt.NDArray[np.int16], engines: Sequence[Any], grammar: Grammar) -> Heard:
        readings = [engine.hear(samples, grammar) for engine in engines]
        heard = combine(readings, self._calibration, quality=measure(samples))
        return (heard.ranked[0].meaning if heard.ranked else None), heard.decision


def _first(candidates: Sequence[Any]) -> Meaning | None:
    return candidates[0].meaning if candidates else None


def threshold_run(talker: Talker, listen: Listen, *, seed: str, rules: Rules, result: Result) -> Track:
    """One run of one listener on one speaker, counted into `result`."""
    said = triplets(talker, rules.triplets, seed=seed)

    def understood(number: int, snr_db: float) -> bool:
        triplet = said[number - 1]
        meaning, decision = listen(in_noise(triplet, talker, snr_db, seed=f"{seed}-{number}"))
        right = isinstance(meaning, Value) and meaning.number == triplet.number
        result.presented += 1
        result.wrong_accepted += decision == "accept" and isinstance(meaning, Value) and not right
        return right

    track = run(understood, rules)
    result.tracks.setdefault(talker.name, []).append(track)
    return track


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(prog="srt", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("corpus", type=Path, help="folder of recordings with manifest.tsv")
    p.add_argument("--runs", type=int, default=4, help="runs for each group and speaker (see below)")
    p.add_argument("--json", type=Path, help="file for all figures")
    p.add_argument("--models", type=Path, default=ROOT / "models")
    p.add_argument("--only", nargs="*", help="listeners, by the beginning of their names")
    p.add_argument("--without-synthetic", action="store_true")
    p.epilog = "Speakers of whom there is one in their group have three times as many runs."
    a = p.parse_args(arguments)
    corpus = read_corpus(a.corpus)
    calibration = read_calibration(a.models / "calibration.json")
    for name in other_weights(calibration, encoder=a.models / "ear" / "encoder.onnx", vosk_model=a.models / "vosk"):
        print(f"warning: {name} is not the file that was calibrated; run scripts/bench/calibrate", file=sys.stderr)
    talkers = people(corpus, "dev", model=a.models / "vosk", memory=MEMORY / "places.json")
    if not a.without_synthetic:
        talkers += synthetic()
    every = Listeners(a.models, calibration).ways()
    ways = {n: w for n, w in every.items() if (any(n.startswith(o) for o in a.only) if a.only else n in USUAL)}
    results: dict[str, dict[str, Result]] = {}
    for talker in talkers:
        alone = sum(t.group == talker.group for t in talkers) == 1
        for number in range(a.runs * 3 if alone else a.runs):
            for name, listen in ways.items():
                result = results.setdefault(talker.group, {}).setdefault(name, Result())
                track = threshold_run(talker, listen, seed=f"run{number}", rules=Rules(), result=result)
                print(f"{talker.group}, {talker.name}, run {number}, {name}: {track.srt_db:.1f} dB", file=sys.stderr)
    print_table(results)
    if a.json:
        marks = {engine: weights(engine, a.models) for engine in ("packaged", "ear", "vosk")}
        a.json.write_text(json.dumps(document(results, marks, corpus.sha256), indent=1) + "\n", encoding="utf-8")


def print_table(results: dict[str, dict[str, Result]]) -> None:
    """Mean and standard deviation over the runs, dB SNR; lower is better."""
    for group, by_listener in results.items():
        speakers = len(next(iter(by_listener.values())).tracks)
        print(f"\nSpeech reception threshold, dB SNR, {group} ({speakers} speaker{'s' if speakers > 1 else ''})")
        print(f"{'listener':26} {'runs':>5} {'mean':>6} {'s.d.':>5} {'to people':>10}  wrong values accepted")
        for name, result in by_listener.items():
            t = together(result.all())
            mean = f"{t.mean_db:6.1f} {t.deviation_db:5.1f} {t.mean_db - PEOPLE_DB:+10.1f}"
            if math.isinf(t.mean_db):
                mean = f"{'none':>6} {'':5} {'':10}"
            without = f", {t.without} runs without a threshold" if t.without else ""
            print(f"{name:26} {t.runs:5} {mean}  {result.wrong_accepted} of {result.presented}{without}")
    print(f"\nPeople of normal hearing: about {PEOPLE_DB:.0f} dB (from memory, Smits et al. 2013)")


def document(
    results: dict[str, dict[str, Result]], marks: dict[str, dict[str, str]], corpus_sha256: str
) -> dict[str, Any]:
    """All figures; an infinite threshold is null."""
    told: dict[str, Any] = {"people_db": PEOPLE_DB, "rules": asdict(Rules()), "weights_sha256": marks}
    told["corpus_sha256"] = corpus_sha256
    told["groups"] = {
        group: {
            name: {
                "srt_db": _finite(together(result.all()).mean_db),
                "deviation_db": together(result.all()).deviation_db,
                "runs": len(result.all()),
                "presented": result.presented,
                "wrong_accepted": result.wrong_accepted,
                "speakers": {
                    speaker: {
                        "srt_db": _finite(together(tracks).mean_db),
                        "tracks": [{"srt_db": _finite(t.srt_db), "snrs_db": t.snrs_db} for t in tracks],
                    }
                    for speaker, tracks in result.tracks.items()
                },
            }
            for name, result in by_listener.items()
        }
        for group, by_listener in results.items()
    }
    return told


def _finite(x: float) -> float | None:
    return round(x, 2) if math.isfinite(x) else None


if __name__ == "__main__":
    main()
