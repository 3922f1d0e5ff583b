"""Letters heard frame by frame, and how likely they make a wording: connectionist temporal classification. Pure.

The ear writes, beside its frames, how likely each letter is in each of them. That is a second opinion on the same
sound: the decoder may lose, double or invent a figure where it follows its own sentence; the letters cannot, as every
wording has to fit the sound from its beginning to its end. Method: Graves et al. 2006, 'Connectionist temporal
classification' (the sum over all alignments; blanks between doubled letters).
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

BLANK, GAP = 0, 1
LETTERS = "abcdefghijklmnopqrstuvwxyz'"
COUNT = 2 + len(LETTERS)  # blank, gap between words, letters
NEVER = -1000.0  # nats; nothing is less likely
TINY = 1e-300
Scores = npt.NDArray[np.float32]
_ID = {letter: 2 + i for i, letter in enumerate(LETTERS)}
_SPELT_ALIKE = {"meter": "metre", "meters": "metres"}


def spelt(text: str) -> tuple[int, ...]:
    """Ids of a wording's letters, words parted by GAP; spellings that sound alike become one.

    Raises:
        ValueError: it has a figure, or no letter.
    """
    plain = re.sub(r"[^a-z0-9' ]+", " ", text.lower().replace("’", "'"))
    words = [_SPELT_ALIKE.get(w, w) for w in plain.split()]
    if not words or any(c.isdigit() for w in words for c in w):
        raise ValueError(f"{text!r} cannot be spelt in letters")
    return tuple(i for k, w in enumerate(words) for i in ([GAP] if k else []) + [_ID[c] for c in w])


def log_probabilities(scores: Scores, wordings: Sequence[Sequence[int]]) -> npt.NDArray[np.float64]:
    """Log-probability of each wording, summed over all its alignments.

    Args:
        scores: (frames, COUNT) log-probabilities of the letters in each frame.
        wordings: ids by `spelt`, none empty.

    Returns:
        (wordings,), nats; `NEVER` for one that does not fit into the frames.
    """
    if not wordings:
        return np.zeros(0)
    rows, states = len(wordings), 2 * max(len(w) for w in wordings) + 1
    label = np.full((rows, states), BLANK, np.int64)  # blanks between and around the letters
    for r, w in enumerate(wordings):
        label[r, 1 : 2 * len(w) : 2] = w
    leap = np.zeros((rows, states))  # a letter may follow another one without a blank, unless it is the same
    leap[:, 3::2] = label[:, 3::2] != label[:, 1:-2:2]
    heard = np.exp(scores.astype(np.float64))
    at, total = np.zeros((rows, states)), np.zeros(rows)
    at[:, 0] = 1.0  # before the first frame: in the first blank, from where its letter can be entered as well
    for frame in heard:
        come = at.copy()
        come[:, 1:] += at[:, :-1]
        come[:, 2:] += at[:, :-2] * leap[:, 2:]
        at = come * frame[label]
        size = at.sum(axis=1) + TINY  # kept near 1, each row by itself
        at /= size[:, None]
        total += np.log(size)
    last, every = np.array([2 * len(w) for w in wordings]), np.arange(rows)
    ended: npt.NDArray[np.float64] = np.maximum(total + np.log(at[every, last] + at[every, last - 1] + TINY), NEVER)
    return ended


def best_letters(scores: Scores) -> tuple[int, ...]:
    """What the letters say without any grammar: the likeliest of each frame, doubles and blanks left out."""
    best = scores.argmax(axis=1)
    kept = best[np.concatenate([[True], best[1:] != best[:-1]])]
    return tuple(int(i) for i in kept if i != BLANK)


def written(ids: Sequence[int]) -> str:
    """Ids as text."""
    return "".join(" " if i == GAP else LETTERS[i - 2] for i in ids if i != BLANK)
