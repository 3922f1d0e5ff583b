"""Learns the combiner: a conditional logit by Newton's method, and thresholds that keep the budget of wrong values."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from assistant.speech.calibration import KINDS, Combiner, Threshold
from assistant.speech.evidence import Evidence, weigh
from assistant.speech.heard import Reading
from assistant.speech.meaning import Command, Meaning
from assistant.speech.quality import Quality
from assistant.speech.voting import doubtful, kind, rank
from scripts.bench.judging import wilson

Floats = npt.NDArray[np.float64]
RIDGE = 0.5  # weight of the pull of all weights to nought, in utterances
PULL = 8.0  # the same to the weights of an earlier calibration, where there is one
VALUES = ("value", "confusable value", "teen or ten", "short value")
VALUES_WRONG, COMMANDS_WRONG = 0.001, 0.01
WRONG_SHARE = {kind: VALUES_WRONG if kind in VALUES else COMMANDS_WRONG for kind in KINDS}
"""Of the accepted ones, so many may be wrong on voices not learnt from, before the window and the tool are looked at.
A wrong command takes back or repeats; a wrong value that is accepted stays."""
SURELY = 2.0  # the 95 % limit (Wilson) of the wrong ones may be so many times their share
LOWEST, FEWEST = 0.9, 40
WORST_TENTH = 0.01
"""Nine people of ten have no larger share of wrong ones among their accepted values."""
SURE_OF = 300
"""So many verdicts of a kind outweigh the threshold of an earlier calibration, which is not undercut with fewer."""
FOLDS = 5
HEARD = 0.5  # below it more is wrong than right: the curve has to fit where accepting begins, not in the noise
HARDER = [(name, "value") for name in VALUES[1:]] + [("short command", "command"), ("phrase", "command")]
"""(harder, easier) kinds: the harder one is never accepted sooner."""
OTHER = "otherwise: "
NOBODY = "noise "  # begins the speaker of noise alone


@dataclass(frozen=True)
class Case:
    """One utterance: what the listeners say, what it was, how much it counts, whose voice it was."""

    evidence: Evidence
    truth: Meaning | None
    weight: float
    speaker: str
    readings: tuple[Reading, ...]


def case(readings: Sequence[Reading], quality: Quality, truth: Meaning | None, *, weight: float, speaker: str) -> Case:
    """Collect the evidence of one utterance."""
    return Case(weigh(readings, quality), truth, weight, speaker, tuple(readings))


def learn(cases: Sequence[Case], before: Combiner | None = None) -> Combiner:
    """Weights that make the truth likeliest; thresholds are still open (nothing is accepted).

    Args:
        cases: to learn from.
        before: weights of an earlier calibration to go on from, so that what it learnt from more utterances is kept
            where these say little; None to begin at nought.
    """
    names = sorted({n for c in cases for f in c.evidence.figures for n in f} | set(before.weights if before else ()))
    others = sorted({n for c in cases for n in c.evidence.otherwise} | set(before.otherwise if before else ()))
    column = {n: i for i, n in enumerate([*names, *(OTHER + n for n in others)])}
    start, pull = np.zeros(len(column)), RIDGE
    if before is not None:
        kept = {**before.weights, **{OTHER + n: v for n, v in before.otherwise.items()}}
        start, pull = np.array([kept.get(n, 0.0) for n in column]), PULL
    known = [c for c in cases if c.evidence.meanings]
    tables = [_table(c, column) for c in known]
    x, sizes = np.concatenate(tables), np.array([len(t) for t in tables])
    first = np.concatenate([[0], sizes[:-1]]).cumsum()
    counts = np.array([c.weight for c in known])
    right = x[first + np.array([_right(c) for c in known])]
    w = start.copy()
    for _ in range(40):
        scores = x @ w
        parts = np.exp(scores - np.repeat(np.maximum.reduceat(scores, first), sizes))
        p = parts / np.repeat(np.add.reduceat(parts, first), sizes)
        weighed = x * p[:, None]
        means = np.add.reduceat(weighed, first, axis=0)
        gradient = counts @ (right - means) - pull * (w - start)
        curve = pull * np.eye(len(w)) + x.T @ (weighed * np.repeat(counts, sizes)[:, None])
        curve -= means.T @ (means * counts[:, None])
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
    """The best meaning of one utterance, by the combiner: its kind and probability, and whether it was right.

    Args:
        doubtful: it is asked however likely it is.
        place: of the case in the list that was judged.
        speaker: who said it.
    """

    kind: str
    probability: float
    right: bool
    doubtful: bool = False
    place: int = 0
    speaker: str = ""


def verdicts(cases: Sequence[Case], combiner: Combiner) -> list[Verdict]:
    """Judge every utterance in which something was found. 'Stop' is a kind of its own here, without a threshold: the
    dialogue obeys it when it is but likely, so that one heard wrongly says nothing of the other short commands.
    """
    made = []
    for place, c in enumerate(cases):
        ranked = rank(c.evidence, combiner)
        if ranked:
            best = ranked[0]
            name = "stop" if best.meaning == Command("stop") else kind(ranked)
            sure = not doubtful(best.meaning, c.readings)
            made.append(Verdict(name, best.probability, best.meaning == c.truth, not sure, place, c.speaker))
    return made


def cross_checked(cases: Sequence[Case], before: Combiner | None = None, folds: int = FOLDS) -> list[Verdict]:
    """Verdicts on speakers that the combiner has not learnt from, all speakers in turn; `before` as for `learn`."""
    fold_of = folded(cases, folds)
    made: list[Verdict] = []
    for fold in range(folds):
        combiner = learn([c for c, f in zip(cases, fold_of, strict=True) if f != fold], before)
        out = [i for i, f in enumerate(fold_of) if f == fold]
        made += [replace(v, place=out[v.place]) for v in verdicts([cases[i] for i in out], combiner)]
    return made


def folded(cases: Sequence[Case], folds: int = FOLDS) -> list[int]:
    """In which fold each case is left out: all of one speaker in the same."""
    place = {s: i % folds for i, s in enumerate(sorted({c.speaker for c in cases}))}
    return [place[c.speaker] for c in cases]


def thresholds(
    found: Sequence[Verdict], *, ask_share: float, others: Sequence[Verdict] | None = None
) -> dict[str, Threshold]:
    """For each kind the accepting threshold, and the asking threshold.

    A kind accepts from where the doubts of its verdicts together are within `WRONG_SHARE` of their number; doubt is a
    logistic curve through them, so that the threshold does not hang on a single one. With less than `FEWEST` verdicts
    half of the doubt that the surest wrong one had is left instead. Then the wrong ones that were really accepted are
    counted, of all values together and of every other kind alone: while they are more than the share of all that was
    said, or of values more than one person in ten has a share of them above `WORST_TENTH`, the doubt allowed is cut for
    the kind that has most of them among its accepted. Never below `LOWEST`. A kind without data takes the threshold of
    'command'.

    Args:
        found: verdicts on voices not learnt from; those that are asked anyway do not count.
        others: the same for kinds that are no value, where commands are few; None for `found`.
        ask_share: a question is worth while from this probability on.
    """
    wider = found if others is None else others
    sure = [v for kinds, ones in ((True, found), (False, wider)) for v in ones if (v.kind in VALUES) == kinds]
    sure = [v for v in sure if not v.doubtful]
    own = {name: sorted((v for v in sure if v.kind == name), key=lambda v: -v.probability) for name in KINDS}
    accept = {name: _modelled(own[name], WRONG_SHARE[name]) for name in KINDS if own[name]}
    usual = accept.get("command", 0.99)
    accept = {name: max(accept.get(name, usual), LOWEST) for name in KINDS}
    for hard, easy in HARDER:
        accept[hard] = max(accept[hard], accept[easy])  # too few data must not make the harder kind easier
    for group in (VALUES, *((name,) for name in KINDS if name not in VALUES)):
        while worst := _too_many_wrong(group, own, accept):
            accept[worst] = 1 - (1 - accept[worst]) * 0.9
    for hard, easy in HARDER:
        accept[hard] = max(accept[hard], accept[easy])
    return {name: Threshold(round(min(accept[name], 0.9999), 5), ask_share) for name in KINDS}


def chosen(
    strange: Sequence[Verdict],
    everyone: Sequence[Verdict],
    *,
    ask_share: float,
    before: Combiner | None = None,
) -> dict[str, Threshold]:
    """The thresholds: for values, those that the people ask for who taught the ears nothing, or those of all people
    together, whichever is stricter; for the rest, where the strange ones said little, those of all.

    Args:
        strange, everyone: verdicts by combiners that had not met the person.
        before: an earlier combiner: its thresholds are not undercut for kinds of which less than `SURE_OF` verdicts
            are known.
    """
    own = thresholds(strange, ask_share=ask_share, others=everyone)
    together = thresholds(everyone, ask_share=ask_share)
    found = {kind: stricter_of(t, together[kind]) if kind in VALUES else t for kind, t in own.items()}
    if before is None:
        return found
    count = Counter(v.kind for v in everyone if not v.doubtful)
    return {k: t if count[k] >= SURE_OF else stricter_of(t, before.thresholds[k]) for k, t in found.items()}


def stricter_of(one: Threshold, other: Threshold) -> Threshold:
    """The higher accepting and asking thresholds of two."""
    return Threshold(max(one.accept, other.accept), max(one.ask, other.ask))


def _too_many_wrong(group: Sequence[str], own: Mapping[str, Sequence[Verdict]], accept: Mapping[str, float]) -> str:
    """'' where none is wrong, and where the wrong ones that are accepted, and half a one more, are within the share of
    what was said (of values with an upper limit of `SURELY` times that share too, and within `WORST_TENTH` for nine
    people of ten); of commands also where so few were said that a single one would be too many: there the curve alone
    decides. Else the kind with the largest share of wrong ones among its accepted.
    """
    accepted = {name: [v for v in own[name] if v.probability >= accept[name]] for name in group}
    wrong = {name: sum(not v.right for v in accepted[name]) for name in group}
    said = sum(v.probability >= HEARD for name in group for v in own[name])
    count = sum(wrong.values())
    allowed = WRONG_SHARE[group[0]] * said
    bounded = group[0] not in VALUES or (
        wilson(count, said)[1] <= SURELY * WRONG_SHARE[group[0]] and _worst_tenth(accepted) <= WORST_TENTH
    )
    if not count or (count + 0.5 <= allowed and bounded) or (group[0] not in VALUES and allowed < 1.5):
        return ""
    return max(group, key=lambda name: wrong[name] / max(1, len(accepted[name])))


def _worst_tenth(accepted: Mapping[str, Sequence[Verdict]]) -> float:
    """The share of wrong ones among the accepted that nine people of ten do not exceed."""
    own: dict[str, list[bool]] = defaultdict(list)
    for v in (v for ones in accepted.values() for v in ones if not v.speaker.startswith(NOBODY)):
        own[v.speaker].append(not v.right)
    shares = sorted((sum(wrong) / len(wrong) for wrong in own.values()), reverse=True)
    return shares[len(shares) // 10] if shares else 0.0


def _modelled(own: Sequence[Verdict], wrong_share: float) -> float:
    """The lowest probability from which the doubts together are within the share of all that were said.

    Args:
        own: of one kind, surest first; one at least.
        wrong_share: 0..1.
    """
    near = [v for v in own if v.probability >= HEARD]
    if len(near) < FEWEST:
        return (1 + max((v.probability for v in own if not v.right), default=0.0)) / 2
    odds = np.array([_log_odds(v.probability) for v in near])
    wrong = np.array([not v.right for v in near], float)
    x = np.stack([np.ones_like(odds), odds], axis=1)
    w = start = np.array([0.0, -1.0])  # probabilities taken at their word
    for _ in range(60):
        doubt = 1 / (1 + np.exp(-x @ w))
        curve = (x * (doubt * (1 - doubt))[:, None]).T @ x + 0.5 * np.eye(2)
        step = np.linalg.solve(curve, x.T @ (wrong - doubt) - 0.5 * (w - start))
        w = w + step * min(1.0, 1.0 / (np.abs(step).max() + 1e-9))
    within = np.flatnonzero(np.cumsum(1 / (1 + np.exp(-x @ w))) <= wrong_share * len(near))
    return near[int(within[-1])].probability if len(within) else 1.0


def _log_odds(p: float) -> float:
    bounded = min(max(p, 1e-6), 1 - 1e-6)
    return float(np.log(bounded / (1 - bounded)))


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
