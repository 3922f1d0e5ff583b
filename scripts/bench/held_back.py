"""What is accepted of voices that neither the ears, nor the combiner, nor the thresholds have met."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from assistant.speech.calibration import Combiner, Threshold
from assistant.speech.meaning import Meaning, Value
from scripts.bench.fitting import FOLDS, VALUES, Verdict, chosen
from scripts.bench.judging import snr_name, wilson
from scripts.bench.mixes import CLEAN, Mix

Table = dict[str, dict[str, dict[str, int]]]


def left_out(
    found: Sequence[Verdict],
    fold_of: Sequence[int],
    mixes: Sequence[Mix],
    truths: Sequence[Meaning | None],
    before: Combiner | None = None,
) -> dict[str, Any]:
    """Print and return what is accepted, by people and synthetic voices and SNR; and all values wrongly accepted.

    Args:
        found: verdicts by combiners that had not met the voice; `place` counts the utterances.
        fold_of: fold of each utterance; the thresholds of a fold are chosen on the others.
        mixes: the utterances.
        truths: what they mean.
        before: see `fitting.chosen`.
    """
    own = []
    for fold in range(FOLDS):
        others = [v for v in found if fold_of[v.place] != fold]
        own.append(chosen(others, others, ask_share=0.0, before=before))
    by_place = {v.place: v for v in found}
    cells: dict[tuple[str, str], dict[str, int]] = defaultdict(
        lambda: dict.fromkeys(("said", "best", "right", "wrong"), 0)
    )
    wrong = said = 0
    for place, (mix, truth) in enumerate(zip(mixes, truths, strict=True)):
        v = by_place.get(place)
        accepted = v is not None and _accepted(v, own[fold_of[place]])
        wrong += v is not None and accepted and not v.right and v.kind in VALUES
        if mix.spoken is None or not isinstance(truth, Value):
            continue
        said += 1
        group = "people" if mix.spoken.real else "synthetic voices"
        for column in (snr_name(mix.snr_db), *(["noisy"] if mix.snr_db < CLEAN else [])):
            cell = cells[group, column]
            cell["said"] += 1
            cell["best"] += v is not None and v.right
            cell["right"] += v is not None and v.right and accepted
            cell["wrong"] += v is not None and not v.right and accepted
    table: Table = defaultdict(dict)
    for (group, column), cell in cells.items():
        table[group][column] = cell
    _print(table, wrong, said)
    return {"table": dict(table), "said": said, "wrong": wrong}


def _accepted(v: Verdict, own: Mapping[str, Threshold]) -> bool:
    return v.kind in own and not v.doubtful and v.probability >= own[v.kind].accept


def _print(table: Mapping[str, Mapping[str, Mapping[str, int]]], wrong: int, said: int) -> None:
    for group, columns in table.items():
        print(f"  left out, {group}, %: SNR, said, best reading right, accepted right, wrong")
        for column, c in columns.items():
            n = c["said"]
            print(f"    {column:>6} {n:5} {100 * c['best'] / n:6.1f} {100 * c['right'] / n:6.1f} {c['wrong']:4}")
    low, high = wilson(wrong, said)
    print(f"  values accepted wrongly: {wrong}, {said} said, {100 * wrong / max(1, said):.2f} %", end=" ")
    print(f"(95 % interval {100 * low:.2f} to {100 * high:.2f})")
