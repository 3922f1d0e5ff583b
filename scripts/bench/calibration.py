"""Calibrates the listeners: `scripts/bench/calibrate SPEECH_FOLDER` writes models/calibration.json.

Learns on both splits of the corpus. The ears have learnt from the voices of the train split and are surer of them than
they will be of anyone else, so the thresholds are chosen on the dev split, whose voices taught the ears nothing, each
voice left out in turn, and never below those that all people of both splits together ask for. What is printed as 'left
out' is of voices that neither combiner nor thresholds have met. Readings are remembered in .training/bench: a second
run is quick. Run it again after any change of the weights, of the listeners or of the grammar.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from assistant.devices.calibration_file import read_calibration
from assistant.speech.calibration import SOURCES, VERSION, Calibration, Combiner
from assistant.speech.evidence import bare
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard
from assistant.speech.vocabulary import everything
from scripts.bench import context, safety
from scripts.bench.corpus import read_corpus
from scripts.bench.fitting import (
    NOBODY,
    VALUES,
    WRONG_SHARE,
    Case,
    case,
    chosen,
    cross_checked,
    folded,
    learn,
    reliability,
    stricter_of,
)
from scripts.bench.hearing import MEMORY, ROOT, Listened, hear, remembered, weights
from scripts.bench.held_back import left_out
from scripts.bench.judging import Outcome
from scripts.bench.material import Source, judging, training, truth
from scripts.bench.mixes import Mix
from scripts.bench.strangers import PAIR, PLAIN, heard_by_strangers

ASK_SHARE = 0.35  # a question with less hope than this only annoys
AFTER = ("corpus_manifest_sha256", "utterances")  # told of the calibration that this one goes on from
NEW_PEOPLE = ("sc-", "aa-")
"""Speakers of the corpora of 2026-12-01: single words and telephone numbers; no earlier calibration has met them."""
EARS = {"constrained": "ear", "letters": "ear", "vosk": "vosk"}
"""Which engine makes what a combiner goes by (`assistant.speech.calibration.SOURCES`)."""
SYNTHETIC_WEIGHT = 0.4  # people count more than eSpeak's voices
STRANGE_WEIGHT = 2.0  # voices that taught the ears nothing count more than those that did


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="calibrate", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("corpus", type=Path, help="folder of recordings with manifest.tsv")
    p.add_argument("--models", type=Path, default=ROOT / "models")
    p.add_argument(
        "--train-clips", type=Path, nargs="*", default=[], help="folders of further voices with list.tsv, to learn from"
    )
    p.add_argument(
        "--dev-clips", type=Path, nargs="*", default=[], help="folders of further voices with list.tsv, to judge by"
    )
    p.add_argument("--size", type=float, default=1.0, help="share of the full number of training utterances")
    p.add_argument("--limit", type=int, help="most utterances to judge by")
    p.add_argument("--after", type=Path, help="an earlier calibration to go on from, instead of from nought")
    p.add_argument(
        "--heard-only", action="store_true", help="use only what both listeners have heard before; hear nothing new"
    )
    p.add_argument(
        "--values",
        action="store_true",
        help="only values that both listeners heard; the rest stays as in the calibration that --after names",
    )
    p.add_argument("--jobs", type=int, default=1, help="how many processes hear at once")
    p.add_argument("--out", type=Path, help="file to write instead of models/calibration.json")
    a = p.parse_args(arguments)
    corpus = read_corpus(a.corpus)
    source = Source(corpus, a.models, MEMORY, {"train": tuple(a.train_clips), "dev": tuple(a.dev_clips)})
    grammar = everything()
    learnt_from = list(training(source, grammar, size=a.size))
    judged_by = list(judging(source, grammar, limit=a.limit))
    if a.heard_only:
        known = remembered("ear", grammar, a.models) & remembered("vosk", grammar, a.models)
        learnt_from, judged_by = ([m for m in mixes if m.key in known] for mixes in (learnt_from, judged_by))
    print(f"{len(learnt_from)} utterances to learn from, {len(judged_by)} to judge by", file=sys.stderr)
    heard = hear(learnt_from, ("ear", "vosk"), grammar, models=a.models, jobs=a.jobs)
    judged = hear(judged_by, ("ear", "vosk"), grammar, models=a.models, jobs=a.jobs)
    before = None if a.after is None else read_calibration(a.after)
    if before is None and a.values:
        p.error("--values needs --after")
    names = (PAIR,) if a.values else SOURCES
    combiners, reports, strangers = calibrated(learnt_from, judged_by, heard, judged, grammar, before, names)
    told = {
        "version": VERSION,
        "source": {
            "script": "scripts/bench/calibrate",
            "corpus_manifest_sha256": corpus.sha256,
            "further_clips": sorted(f.name for f in (*a.train_clips, *a.dev_clips)),
            "grammar": grammar.name,
            "utterances": {"learnt_from": len(learnt_from) + len(judged_by), "strange": len(judged_by)},
            "people": {"learnt_from": _people([*learnt_from, *judged_by]), "strange": _people(judged_by)},
            "after": None if before is None else {k: before.source[k] for k in AFTER},
            "calibrated": list(names),
            "wrong_share": WRONG_SHARE,
            "reports": reports,
            "strangers": strangers,
        },
        "weights_sha256": {
            "ear/encoder.onnx" if k == "encoder.onnx" else k: v
            for e in ("ear", "vosk")
            for k, v in weights(e, a.models).items()
        },
        "combiners": {name: _told(c) for name, c in combiners.items()},
    }
    out = a.out or a.models / "calibration.json"
    out.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    print(f"written: {out}")


def calibrated(
    learnt_from: Sequence[Mix],
    judged_by: Sequence[Mix],
    heard: Sequence[Listened],
    judged: Sequence[Listened],
    grammar: Grammar,
    before: Calibration | None = None,
    names: Sequence[str] = SOURCES,
) -> tuple[dict[str, Combiner], dict[str, Any], dict[str, Any]]:
    """Combiner for each of `SOURCES` and report for each of `names`, and what strangers can expect.

    `heard` and `judged` are what was made of the two sets of mixes. What is not in `names` stays as in `before`.
    `before` is an earlier calibration to go on from. Where it has met people of `judged_by`, only the others are
    strangers in the full sense; they are told apart.
    """
    earlier = {} if before is None else dict(before.combiners)
    combiners, reports = dict(earlier), {}
    cases: dict[str, Sequence[Case]] = {}
    for name in names:
        known, strange = cases_of(learnt_from, heard, name, grammar), cases_of(judged_by, judged, name, grammar)
        combiners[name], reports[name] = _calibrate(name, known, strange, judged_by, earlier.get(name))
        if name in (PAIR, PLAIN):
            cases[name] = [*known, *(replace(c, weight=c.weight * STRANGE_WEIGHT) for c in strange)]
    heards = heard_by_strangers(cases, len(judged_by), judged, ask_share=ASK_SHARE, before=earlier)
    said = context.of_values(judged_by, heards, grammar)
    groups = {"people": [s for s in said if s.real], "synthetic voices": [s for s in said if not s.real]}
    groups["people new to every calibration"] = [s for s in said if s.speaker.startswith(NEW_PEOPLE)]
    strangers: dict[str, Any] = {}
    for title, own in groups.items():
        strangers[f"in context, {title}"] = context.report(own, title=f"In context, left out, {title}")
    strangers["words"] = safety.words([_outcome(m, h, grammar) for m, h in zip(judged_by, heards, strict=True)])
    return {name: _not_easier(name, combiners) for name in SOURCES}, reports, strangers


def cases_of(mixes: Sequence[Mix], heard: Sequence[Listened], sources: str, grammar: Grammar) -> list[Case]:
    """The evidence of every utterance for one of `SOURCES`."""
    made, parts = [], sources.split("+")
    ears = [e for e in ("ear", "vosk") if e in {EARS[part] for part in parts}]
    for mix, h in zip(mixes, heard, strict=True):
        group = "noise" if mix.spoken is None else mix.spoken.group
        speaker = f"{NOBODY}{mix.key}" if mix.spoken is None else mix.spoken.speaker
        weight = SYNTHETIC_WEIGHT if group == "synthetic" else 1.0
        readings = [h.readings[e] for e in ears]
        if "letters" not in parts:
            readings = [replace(r, letters=None) for r in readings]
        made.append(case(readings, h.quality, truth(mix, grammar), weight=weight, speaker=speaker))
    return made


def _calibrate(
    name: str, known: Sequence[Case], strange: Sequence[Case], mixes: Sequence[Mix], before: Combiner | None
) -> tuple[Combiner, dict[str, Any]]:
    """The combiner for some sources with its thresholds, and how reliable it is.

    Args:
        known: whose voices the ears have learnt from: there they are surer than they will be.
        strange: whose voices taught them nothing; the thresholds of values go by these, left out in turn.
        mixes: the utterances of `strange`.
        before: see `fitting.learn`.
    """
    cases = [*known, *(replace(c, weight=c.weight * STRANGE_WEIGHT) for c in strange)]
    checked = cross_checked(cases, before)
    ours = [v for v in checked if v.place >= len(known)]
    combiner = replace(learn(cases, before), thresholds=chosen(ours, checked, ask_share=ASK_SHARE, before=before))
    report: dict[str, Any] = {}
    for title, ones in (("train split", [v for v in checked if v.place < len(known)]), ("dev split", ours)):
        rows, error = reliability(ones)
        report[title] = {"utterances": len(ones), "expected_calibration_error": round(error, 4)}
        print(
            f"\n{name}, {title}, voices left out in turn: {len(ones)}, expected calibration error {100 * error:.1f} %"
        )
        print("  probability  mean   right  count")
        for low, mean, share, count in rows:
            print(f"  from {low:.1f}     {mean:.3f}  {share:.3f}  {count}")
    for kind, t in combiner.thresholds.items():
        print(f"  {kind}: accept from {t.accept}, ask from {t.ask}")
    fold_of = folded(cases)
    report["left out"] = left_out(
        [replace(v, place=v.place - len(known)) for v in ours],
        fold_of[len(known) :],
        mixes,
        [c.truth for c in strange],
        before,
    )
    return combiner, report


def _not_easier(name: str, combiners: Mapping[str, Combiner]) -> Combiner:
    """The combiner of some sources never believes anything sooner than that of more; by the letters only values are
    judged.
    """
    made, own = combiners[name], set(name.split("+"))
    for other in SOURCES:
        if own < set(other.split("+")):
            more = combiners[other].thresholds
            judged = VALUES if "letters" in other else tuple(more)
            kinds = {k: stricter_of(t, more[k]) if k in judged else t for k, t in made.thresholds.items()}
            made = replace(made, thresholds=kinds)
    return made


def _outcome(mix: Mix, heard: Heard, grammar: Grammar) -> Outcome:
    best = bare(heard.ranked[0].meaning) if heard.ranked else None
    return Outcome(mix, truth(mix, grammar), best, heard.decision)


def _people(mixes: Sequence[Mix]) -> int:
    return len({m.spoken.speaker for m in mixes if m.spoken is not None and m.spoken.real})


def _told(combiner: Combiner) -> dict[str, Any]:
    return {
        "weights": dict(combiner.weights),
        "otherwise": dict(combiner.otherwise),
        "thresholds": {k: asdict(t) for k, t in combiner.thresholds.items()},
    }


if __name__ == "__main__":
    main()
