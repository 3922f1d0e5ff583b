"""What a verdict on an utterance is worth: right or wrong, accepted, asked or rejected; shares with intervals."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from assistant.speech.calibration import Calibration
from assistant.speech.evidence import bare
from assistant.speech.grammar import Grammar
from assistant.speech.meaning import Command, Meaning, Value
from assistant.speech.voting import combine
from scripts.bench.hearing import Listened
from scripts.bench.material import truth
from scripts.bench.mixes import CLEAN, Mix

SYSTEMS = {
    "free wording, packaged": ("packaged",),
    "free wording, our ear": ("ear",),
    "packaged in the grammar": ("packaged",),
    "our ear in the grammar": ("ear",),
    "vosk alone": ("vosk",),
    "the pair without letters": ("ear", "vosk"),
    "the pair": ("ear", "vosk"),
}
CONTESTED = 0.95
"""Of the wrong read-backs a technician contests so many (an assumption)."""
SIMPLE_MARGIN, SIMPLE_FIT = 1.5, -3.0
"""The refusal rule for the packaged encoder, which is not calibrated: nats between the two best, and fit."""


@dataclass(frozen=True)
class Outcome:
    """One verdict.

    Args:
        mix: the utterance.
        truth: what it means, None for noise and talk.
        heard: the best meaning, None for nothing.
        decision: "accept", "ask" or "reject".
        probability: of the best meaning, None where the system gives none.
    """

    mix: Mix
    truth: Meaning | None
    heard: Meaning | None
    decision: str
    probability: float | None = None

    @property
    def right(self) -> bool:
        """The best meaning is the truth."""
        return self.heard is not None and self.heard == self.truth

    @property
    def wrong_accepted(self) -> bool:
        """Something was taken for granted that was not said. 'unclear-...' enters nothing: not counted."""
        harmless = isinstance(self.heard, Command) and self.heard.name.startswith("unclear-")
        return self.decision == "accept" and not self.right and not harmless


def judge(system: str, mix: Mix, listened: Listened, grammar: Grammar, calibration: Calibration) -> Outcome:
    """The verdict of one of `SYSTEMS` on one utterance."""
    true = truth(mix, grammar)
    readings = [listened.readings[name] for name in SYSTEMS[system]]
    if system.startswith("free"):
        found = grammar.parse(readings[0].free_text)
        return Outcome(mix, true, None if found is None else bare(found), "reject" if found is None else "accept")
    if system.startswith("packaged"):
        candidates = readings[0].candidates
        if not candidates:
            return Outcome(mix, true, None, "reject")
        margin = candidates[0].log_probability - candidates[1].log_probability if len(candidates) > 1 else math.inf
        sure = margin >= SIMPLE_MARGIN and (readings[0].fit or 0.0) >= SIMPLE_FIT
        return Outcome(mix, true, bare(candidates[0].meaning), "accept" if sure else "reject")
    if system.endswith("without letters"):
        readings = [replace(r, letters=None) for r in readings]
    heard = combine(readings, calibration, quality=listened.quality)
    best = bare(heard.ranked[0].meaning) if heard.ranked else None
    return Outcome(mix, true, best, heard.decision, heard.ranked[0].probability if heard.ranked else None)


@dataclass(frozen=True)
class Shares:
    """Counts of one cell of the table."""

    count: int
    best_right: int
    accepted_right: int
    asked: int
    rejected: int
    accepted_wrong: int

    @staticmethod
    def of(outcomes: Sequence[Outcome]) -> Shares:
        """Count."""
        return Shares(
            count=len(outcomes),
            best_right=sum(o.right for o in outcomes),
            accepted_right=sum(o.right and o.decision == "accept" for o in outcomes),
            asked=sum(o.decision == "ask" for o in outcomes),
            rejected=sum(o.decision == "reject" for o in outcomes),
            accepted_wrong=sum(o.wrong_accepted for o in outcomes),
        )


def wilson(hits: int, count: int, z: float = 1.96) -> tuple[float, float]:
    """95 % interval of a share (Wilson 1927, from memory): low and high, 0..1."""
    if count == 0:
        return 0.0, 1.0
    p, n = hits / count, count
    middle = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return max(0.0, middle - half), min(1.0, middle + half)


def snr_name(snr_db: float) -> str:
    """Column title."""
    return "clean" if snr_db >= CLEAN else f"{snr_db:.0f} dB"


def confusions(outcomes: Sequence[Outcome], most: int = 12) -> list[tuple[str, str, int, int]]:
    """(said, heard, how often, how often accepted) of values taken for other values, commonest first."""
    seen: Counter[tuple[str, str]] = Counter()
    accepted: Counter[tuple[str, str]] = Counter()
    for o in outcomes:
        if isinstance(o.truth, Value) and isinstance(o.heard, Value) and not o.right:
            pair = _difference(f"{o.truth.number:f}", f"{o.heard.number:f}")
            seen[pair] += 1
            accepted[pair] += o.decision == "accept"
    return [(a, b, n, accepted[a, b]) for (a, b), n in seen.most_common(most)]


def numbers(outcomes: Sequence[Outcome]) -> list[tuple[str, str]]:
    """(said, heard) as figures, of every value for which some value was heard."""
    both = ((o.truth, o.heard) for o in outcomes)
    return [(f"{a.number:f}", f"{b.number:f}") for a, b in both if isinstance(a, Value) and isinstance(b, Value)]


def _difference(said: str, heard: str) -> tuple[str, str]:
    """The part in which two numbers differ: '310', '390' -> '1', '9'; a lost figure is '-'."""
    start = 0
    while start < min(len(said), len(heard)) and said[start] == heard[start]:
        start += 1
    end = 0
    while end < min(len(said), len(heard)) - start and said[-1 - end] == heard[-1 - end]:
        end += 1
    return said[start : len(said) - end] or "-", heard[start : len(heard) - end] or "-"
