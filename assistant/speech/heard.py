"""What listeners return: readings with scores, and the verdict of all listeners together. Plain records."""

from __future__ import annotations

from dataclasses import dataclass, field

from assistant.speech.letters import Scores
from assistant.speech.meaning import Meaning


@dataclass(frozen=True, slots=True)
class Candidate:
    """One meaning that a listener found possible."""

    meaning: Meaning
    text: str  # the likeliest wording of it
    log_probability: float  # of all wordings of this meaning, given the audio; not normalised over the grammar


@dataclass(frozen=True, slots=True)
class Reading:
    """All that one listener made of one utterance.

    Args:
        listener: its name ("constrained", "vosk", "typed").
        candidates: best first; empty when nothing in the grammar fits.
        fit: log-probability of the best in-grammar wording minus that of free wording; None where the engine has
            no such figure.
        free_text: the free wording, "" where the engine has none.
        seconds: processor time it took.
        letters: log-probabilities of the letters in each frame (`speech.letters`), None where the engine has none.
    """

    listener: str
    candidates: tuple[Candidate, ...]
    fit: float | None = None
    free_text: str = ""
    seconds: float = 0.0
    extra: dict[str, float] = field(default_factory=dict)  # figures for the combiner (word confidences ...)
    letters: Scores | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Ranked:
    """One meaning with its calibrated probability over the whole grammar of the state (0..1)."""

    meaning: Meaning
    text: str
    probability: float


@dataclass(frozen=True, slots=True)
class Heard:
    """The verdict of all listeners on one utterance.

    Args:
        ranked: best first, probabilities sum to at most 1 (the rest is 'something else').
        decision: "accept", "ask" or "reject" by the thresholds alone (no window, no tool).
        fit: of the constrained listener, where present.
        free_text: what free wording makes of it.
        by_listener: listener -> its own best text ("" for nothing).
        agreed: all listeners present have the same best meaning.
        accept_at: probability from which this utterance would have been accepted; 1 where it is asked however likely
            it is.
    """

    ranked: tuple[Ranked, ...]
    decision: str
    fit: float | None
    free_text: str
    by_listener: dict[str, str]
    agreed: bool
    accept_at: float = 1.0
