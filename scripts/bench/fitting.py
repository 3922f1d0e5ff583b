"""Learns the combiner: a conditional logit by Newton's method, and thresholds that keep the budget of wrong values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.speech.calibration import KINDS, Combiner, Threshold
from assistant.speech.evidence import Evidence, weigh
from assistant.speech.heard import Reading
from assistant.speech.meaning import Meaning
from assistant.speech.quality import Quality
from assistant.speech.voting import kind, rank

Floats = npt.NDArray[np.float64]
RIDGE = 1.0  # weight of the pull of all weights to nought, in utterances
VALUES_WRONG, COMMANDS_WRONG = 0.002, 0.03
WRONG_SHARE = {kind: VALUES_WRONG if "value" in kind else COMMANDS_WRONG for kind in KINDS}
"""Of the accepted ones, so many may be wrong on voices not learnt from, before the window and the tool are looked at.
A wrong command takes back or repeats; a wrong value that is accepted stays."""
LOWEST = 0.9
OTHER = "otherwise: "


@dataclass(frozen=True)
class Case:
    """One utterance: what the listeners say, what it was, how much it counts, whose voice it was."""

    evidence: Evidence
    truth: Meaning | None
    weight: float
    speaker: str


def case(readings: Sequence[Reading], quality: Quality, truth: Meaning | None, *, weight: float, speaker: str) -> Case:
    """Collect the evidence of one utterance."""
    return Case(weigh(readings, quality), truth, weight, speaker)


def learn(cases: Sequence[Case]) -> Combiner:
    """Weights that make the truth likeliest; thresholds are still open (nothing is accepted)."""
    names = sorted({n for c in cases for f in c.evidence.figures for n in f})
    others = sorted({n for c in cases for n in c.evidence.otherwise})
    column = {n: i for i, n in enumerate([*names, *(OTHER + n for n in others)])}
    tables = [_table(c, column) for c in cases if c.evidence.meanings]
    right = [_right(c) for c in cases if c.evidence.meanings]
    counts = [c.weight for c in cases if c.evidence.meanings]
    w = np.zeros(len(column))
    for _ in range(40):
        gradient, curve = -RIDGE * w, RIDGE * np.eye(len(w))
        for x, k, n in zip(tables, right, counts, strict=True):
            p = _softmax(x @ w)
            mean = p @ x
            gradient += n * (x[k] - mean)
            curve += n * ((x * p[:, None]).T @ x - np.outer(mean, mean))
        step = np.linalg.solve(curve, gradient)
        w += step * min(1.0, 2.0 / (np.abs(step).max() + 1e-9))
        if np.abs(step).max() < 1e-5:
            break
    found = {n: round(float(w[i]), 5) for n, i in column.items()}
    return Combiner(
        {n: v for n, v in found.items() if not n.startswith(OTHER)},
        {n.removeprefix(OTHER): v for n, v in found.items() if n.startswith(OTHER)},
        dict.fromkeys(KINDS, Threshold(1.0, 1.0)),
    )


@dataclass(frozen=True)
class Verdict:
    """The best meaning of one utterance, by the combiner: its kind and probability, and whether it was right."""

    kind: str
    probability: float
    right: bool
    speaker: str
    weight: float


def verdicts(cases: Sequence[Case], combiner: Combiner) -> list[Verdict]:
    """Judge every utterance in which something was found."""
    made = []
    for c in cases:
        ranked = rank(c.evidence, combiner)
        if ranked:
            best = ranked[0]
            made.append(Verdict(kind(ranked), best.probability, best.meaning == c.truth, c.speaker, c.weight))
    return made


def cross_checked(cases: Sequence[Case], folds: int = 5) -> list[Verdict]:
    """Verdicts on speakers that the combiner has not learnt from, all speakers in turn."""
    speakers = sorted({c.speaker for c in cases})
    place = {s: i % folds for i, s in enumerate(speakers)}
    made: list[Verdict] = []
    for fold in range(folds):
        combiner = learn([c for c in cases if place[c.speaker] != fold])
        made += verdicts([c for c in cases if place[c.speaker] == fold], combiner)
    return made


def thresholds(found: Sequence[Verdict], *, ask_share: float) -> dict[str, Threshold]:
    """For each kind the accepting threshold, and the asking threshold.

    Accepting begins at the lowest probability from which either the share of wrong ones, counted with half a wrong one
    more than there were, is within `WRONG_SHARE`; or, where the data are too few to show that, half of the doubt that
    the surest wrong one had is left. Never below `LOWEST`. A kind without data takes the threshold of 'command'.

    Args:
        found: verdicts on voices not learnt from.
        ask_share: a question is worth while from this probability on.
    """
    made = {}
    for name in KINDS:
        own = sorted((v for v in found if v.kind == name), key=lambda v: -v.probability)
        made[name] = Threshold(_accepting(own, WRONG_SHARE[name]), ask_share) if own else None
    usual = made["command"] or Threshold(0.99, ask_share)
    chosen = {name: threshold or usual for name, threshold in made.items()}
    for hard, easy in (("confusable value", "value"), ("short command", "command")):
        chosen[hard] = stricter_of(chosen[hard], chosen[easy])  # too few data must not make the harder kind easier
    return chosen


def stricter_of(one: Threshold, other: Threshold) -> Threshold:
    """The higher accepting and asking thresholds of two."""
    return Threshold(max(one.accept, other.accept), max(one.ask, other.ask))


def _accepting(own: Sequence[Verdict], wrong_share: float) -> float:
    surest_wrong = max((v.probability for v in own if not v.right), default=0.0)
    lowest = (1 + surest_wrong) / 2
    wrong = 0
    for accepted, v in enumerate(own, 1):
        wrong += not v.right
        last_of_its_kind = accepted == len(own) or own[accepted].probability < v.probability
        if last_of_its_kind and wrong + 0.5 <= wrong_share * (accepted + 1):
            lowest = min(lowest, v.probability)
    return round(min(max(lowest, LOWEST), 0.9999), 5)


def reliability(found: Sequence[Verdict], bins: int = 10) -> tuple[list[tuple[float, float, float, int]], float]:
    """Rows (lowest probability of the bin, mean probability, share right, count) and the expected calibration error."""
    rows, error = [], 0.0
    for i in range(bins):
        low, high = i / bins, (i + 1) / bins + (1e-9 if i == bins - 1 else 0)
        own = [v for v in found if low <= v.probability < high]
        if own:
            mean = float(np.mean([v.probability for v in own]))
            share = float(np.mean([v.right for v in own]))
            rows.append((low, mean, share, len(own)))
            error += abs(mean - share) * len(own) / len(found)
    return rows, error


def _right(c: Case) -> int:
    """Row of the truth: its candidate, or the last row, 'something else'."""
    return c.evidence.meanings.index(c.truth) if c.truth in c.evidence.meanings else len(c.evidence.meanings)


def _table(c: Case, column: dict[str, int]) -> Floats:
    table = np.zeros((len(c.evidence.meanings) + 1, len(column)))
    for row, figures in enumerate(c.evidence.figures):
        for name, value in figures.items():
            table[row, column[name]] = value
    for name, value in c.evidence.otherwise.items():
        table[-1, column[OTHER + name]] = value
    return table


def _softmax(scores: Floats) -> Floats:
    parts = np.exp(scores - scores.max())
    whole: Floats = parts / parts.sum()
    return whole
