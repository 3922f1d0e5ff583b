"""What the product would hear from people that neither its combiner nor its thresholds have met.

All people are dealt into folds; each fold is judged by a combiner and by thresholds that are learnt from the others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from assistant.speech.calibration import Calibration, Combiner
from assistant.speech.heard import Heard
from assistant.speech.voting import combine
from scripts.bench.fitting import FOLDS, Case, Verdict, chosen, folded, learn, verdicts
from scripts.bench.hearing import Listened

PAIR = "constrained+letters+vosk"
PLAIN = "constrained+vosk"


def heard_by_strangers(
    cases: dict[str, Sequence[Case]],
    strange: int,
    listened: Sequence[Listened],
    *,
    ask_share: float,
    before: Mapping[str, Combiner] | None = None,
) -> list[Heard]:
    """The verdict on each of the last `strange` utterances.

    Args:
        cases: for `PAIR`, and `PLAIN` unless `before` has it to stay, all utterances: first those to learn from, then
            the strange ones.
        listened: what was made of the strange ones.
        before: combiners of an earlier calibration, see `fitting.learn`.
    """
    fold_of = folded(cases[PAIR])
    first = len(fold_of) - strange
    combiners = {
        name: [
            learn([c for c, f in zip(own, fold_of, strict=True) if f != fold], (before or {}).get(name))
            for fold in range(FOLDS)
        ]
        for name, own in cases.items()
    }
    found = {name: _checked(own, fold_of, combiners[name]) for name, own in cases.items()}
    made: list[Heard | None] = [None] * strange
    for fold in range(FOLDS):
        kept = dict(before or {})
        for name in cases:
            others = [v for v in found[name] if fold_of[v.place] != fold]
            limits = chosen(
                [v for v in others if v.place >= first], others, ask_share=ask_share, before=(before or {}).get(name)
            )
            kept[name] = replace(combiners[name][fold], thresholds=limits)
        calibration = Calibration(combiners=kept, weights_sha256={}, source={})
        for i in range(strange):
            if fold_of[first + i] == fold:
                readings = list(listened[i].readings.values())
                made[i] = combine(readings, calibration, quality=listened[i].quality)
    return [h for h in made if h is not None]


def _checked(cases: Sequence[Case], fold_of: Sequence[int], combiners: Sequence[Combiner]) -> list[Verdict]:
    made: list[Verdict] = []
    for fold, combiner in enumerate(combiners):
        out = [i for i, f in enumerate(fold_of) if f == fold]
        made += [replace(v, place=out[v.place]) for v in verdicts([cases[i] for i in out], combiner)]
    return made
