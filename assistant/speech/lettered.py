"""What the ear's letters say of each meaning that any listener found. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from assistant.speech.aloud import aloud
from assistant.speech.letters import NEVER, Scores, best_letters, log_probabilities, spelt, written
from assistant.speech.meaning import Meaning, Note


@dataclass(frozen=True, slots=True)
class Lettered:
    """Log-probabilities in nats.

    Args:
        scores: meaning -> of all ways to say it together; None for one that cannot be said in words.
        sizes: meaning -> letters of its likeliest wording.
        free: of the likeliest letters without any grammar.
        free_size: how many letters those are.
    """

    scores: Mapping[Meaning, float | None]
    sizes: Mapping[Meaning, int]
    free: float
    free_size: int

    @property
    def best(self) -> Meaning | None:
        """The meaning that fits the letters best."""
        known = {m: s for m, s in self.scores.items() if s is not None}
        return max(known, key=lambda m: known[m]) if known else None

    @property
    def top(self) -> float:
        """Its log-probability; `NEVER` where there is none."""
        return max((s for s in self.scores.values() if s is not None), default=NEVER)


def lettered(letters: Scores, meanings: Mapping[Meaning, tuple[str, ...]]) -> Lettered:
    """Hold every meaning against the letters.

    Args:
        letters: (frames, letters) log-probabilities, see `letters.log_probabilities`.
        meanings: each with the wordings in which listeners found it; of a note its opening.
    """
    free = best_letters(letters)
    tail = written(free).split()
    ways, owner = [], []
    for i, (meaning, texts) in enumerate(meanings.items()):
        for said in dict.fromkeys(w for text in texts for w in aloud(meaning, text)):
            if isinstance(meaning, Note):  # any free speech may follow: what the letters say comes next
                said = " ".join([said, *tail[len(said.split()) :]])
            ways.append(spelt(said))
            owner.append(i)
    found = log_probabilities(letters, [free, *ways] if free else ways)
    free_score = float(found[0]) if free else float(letters[:, 0].sum())
    each, owners = found[1:] if free else found, np.array(owner, int)
    scores: dict[Meaning, float | None] = {}
    sizes: dict[Meaning, int] = {}
    for i, meaning in enumerate(meanings):
        own = np.flatnonzero(owners == i)
        scores[meaning] = float(np.logaddexp.reduce(each[own])) if len(own) else None
        sizes[meaning] = len(ways[own[int(each[own].argmax())]]) if len(own) else 0
    return Lettered(scores, sizes, free_score, len(free))
