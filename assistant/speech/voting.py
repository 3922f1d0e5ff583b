"""All listeners' readings of one utterance become one verdict, with calibrated probabilities. Pure.

Numbers, commands, hold-point phrases and notes have thresholds of their own; one-word answers, teens and tens, and
values with a near rival that is easily heard instead of them (nine and five, a lost figure) need more. A decimal that
was only ever written with a full stop, never heard with the word 'point', is asked, not accepted.

The letters have learnt figures above all, and spell the words of commands and phrases badly in noise: what is no value
is judged without them, by what the other sources together say.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from assistant.speech.calibration import Calibration, Combiner
from assistant.speech.commands import CHOICES, COMMANDS
from assistant.speech.confusable import confusable, figure_by_figure, teen_or_ten
from assistant.speech.evidence import EAR, VOSK, Evidence, Figures, bare, sources, weigh
from assistant.speech.heard import Heard, Ranked, Reading
from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.quality import Quality

TYPED = "typed"
MOST_RANKED = 6
NEAR = 0.01  # probability from which a rival counts as near
_PLAIN_COMMANDS = frozenset({*COMMANDS, *CHOICES, "yes", "no"})


def combine(readings: Sequence[Reading], calibration: Calibration, *, quality: Quality) -> Heard:
    """The verdict of all listeners on one utterance.

    Args:
        readings: one for each listener that is there: "constrained", "vosk", or "typed" alone.
        calibration: weights and thresholds.
        quality: of the sound, by `quality.measure`.
    """
    by_listener = {r.listener: r.candidates[0].text if r.candidates else "" for r in readings}
    typed = next((r for r in readings if r.listener == TYPED), None)
    if typed is not None:
        ranked = tuple(Ranked(c.meaning, c.text, 1.0) for c in typed.candidates[:1])
        return Heard(ranked, "accept" if ranked else "reject", typed.fit, typed.free_text, by_listener, bool(ranked))
    known = [r for r in readings if r.listener in (EAR, VOSK)]
    ear = next((r for r in known if r.listener == EAR), None)
    fit, free_text = (ear.fit, ear.free_text) if ear is not None else (None, "")
    if not known or quality.silent:
        return Heard((), "reject", fit, free_text, by_listener, False)
    evidence, combiner = judged(known, calibration, quality)
    ranked = rank(evidence, combiner)
    agreed = len(evidence.best) == len(known) and len(set(evidence.best.values())) == 1
    decision = _decision(ranked, combiner, known)
    told = tuple(Ranked(_whole(r.meaning, known), r.text, r.probability) for r in ranked[:MOST_RANKED])
    asked_anyway = not ranked or doubtful(ranked[0].meaning, known)
    accept_at = 1.0 if asked_anyway else combiner.thresholds[kind(ranked)].accept
    return Heard(told, decision, fit, free_text, by_listener, agreed, accept_at)


def judged(readings: Sequence[Reading], calibration: Calibration, quality: Quality) -> tuple[Evidence, Combiner]:
    """The evidence by which these readings are judged and the combiner for it; without letters where no value is best.

    Args:
        readings: of EAR and VOSK, one of them at least.
    """
    evidence, combiner = weigh(readings, quality), calibration.combiners[sources(readings)]
    if all(r.letters is None for r in readings):
        return evidence, combiner
    plain = tuple(replace(r, letters=None) for r in readings)
    other, plainer = weigh(plain, quality), calibration.combiners[sources(plain)]
    bests = [
        ranked[0].meaning for e, c in ((evidence, combiner), (other, plainer)) for ranked in [rank(e, c)] if ranked
    ]
    return (evidence, combiner) if any(isinstance(best, Value) for best in bests) else (other, plainer)


def rank(evidence: Evidence, combiner: Combiner) -> tuple[Ranked, ...]:
    """Every meaning that was found with its probability, best first; what is left of 1 is something else."""
    probabilities = _probabilities(evidence, combiner)
    order = sorted(range(len(probabilities)), key=lambda i: -probabilities[i])
    return tuple(Ranked(evidence.meanings[i], evidence.texts[i], probabilities[i]) for i in order)


def kind(ranked: Sequence[Ranked]) -> str:
    """Which of `calibration.KINDS` the best meaning is; ranked holds one at least."""
    best = ranked[0]
    match best.meaning:
        case Note():
            return "note"
        case Command(name=name):
            if name not in _PLAIN_COMMANDS and not name.startswith("unclear-"):
                return "phrase"
            return "short command" if len(best.text.split()) <= 1 else "command"
        case Value(number=number):
            if teen_or_ten(number) and not figure_by_figure(number, best.text, by_figures=best.meaning.by_figures):
                return "teen or ten"
            if any(r.probability >= NEAR and _easily_taken(r.meaning, best.meaning) for r in ranked[1:]):
                return "confusable value"
            return "short value" if len(best.text.split()) <= 1 and number < 100 else "value"


def _easily_taken(rival: Meaning, best: Value) -> bool:
    if not isinstance(rival, Value):
        return False
    return rival.number == best.number or confusable(rival.number, best.number)


def _probabilities(evidence: Evidence, combiner: Combiner) -> list[float]:
    scores = [_score(f, combiner.weights) for f in evidence.figures]
    other = _score(evidence.otherwise, combiner.otherwise)
    top = max([*scores, other])
    parts = [math.exp(s - top) for s in scores]
    whole = sum(parts) + math.exp(other - top)
    return [p / whole for p in parts]


def _score(figures: Figures, weights: Mapping[str, float]) -> float:
    return sum(weights.get(name, 0.0) * value for name, value in figures.items())


def _decision(ranked: Sequence[Ranked], combiner: Combiner, readings: Sequence[Reading]) -> str:
    if not ranked:
        return "reject"
    threshold = combiner.thresholds[kind(ranked)]
    if ranked[0].probability < threshold.ask:
        return "reject"
    return "ask" if ranked[0].probability < threshold.accept or doubtful(ranked[0].meaning, readings) else "accept"


def doubtful(best: Meaning, readings: Sequence[Reading]) -> bool:
    """Whether the best meaning is asked however likely it is: a decimal without 'point', a value unheard by the ear."""
    return _point_unsaid(best, readings) or _unheard_by_the_ear(best, readings)


def _unheard_by_the_ear(best: Meaning, readings: Sequence[Reading]) -> bool:
    """A value that the ear, the better of the two, does not even count among the possible ones."""
    ear = next((r for r in readings if r.listener == EAR), None)
    return isinstance(best, Value) and ear is not None and all(bare(c.meaning) != best for c in ear.candidates)


def _point_unsaid(best: Meaning, readings: Sequence[Reading]) -> bool:
    """A decimal whose 'point' no listener heard as a word."""
    if not isinstance(best, Value) or best.number % 1 == 0:
        return False
    heard_it = (r for r in readings if r.candidates and bare(r.candidates[0].meaning) == best)
    return not any(r.listener == VOSK or not r.extra.get("unsaid_point", 0.0) for r in heard_it)


def _whole(meaning: Meaning, readings: Sequence[Reading]) -> Meaning:
    """A note with its text again."""
    if not isinstance(meaning, Note):
        return meaning
    notes = (c.meaning for r in readings for c in r.candidates if bare(c.meaning) == meaning)
    return max(notes, key=lambda n: len(n.text) if isinstance(n, Note) else 0, default=meaning)
