"""Beam search for the sentences of a grammar, over a decoder that scores tokens; free wording is one more row of it.

The decoder is asked for a whole batch at a time. All spellings of one sentence are summed, then all sentences of one
meaning. What lies more than `slack` below the best finished sentence, or more than `spread` below the best open one, is
dropped, so that clear speech costs few rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt

from assistant.speech.grammar import Grammar
from assistant.speech.heard import Candidate
from assistant.speech.meaning import Meaning, Value
from assistant.speech.tokens import BEGIN, END, Steps, TokenAutomaton

Logits = npt.NDArray[np.float32]
Integers = npt.NDArray[np.int64]


class Decoding(Protocol):
    """One utterance on its way through a decoder."""

    def step(self, tokens: Integers, parents: Integers) -> Logits:
        """Scores of the next token, shape (n, vocabulary), not normalised.

        Args:
            tokens: (n,) the token that each row took last; [BEGIN] at first.
            parents: (n,) the row of the call before that each row goes on from; [0] at first.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """How far the search looks. Log-probabilities in nats.

    Args:
        width: rows kept.
        slack: how far below the best finished sentence an open one may lie.
        spread: how far below the best open one another may lie.
        longest: tokens of a sentence of the grammar.
        longest_free: tokens of free wording.
    """

    width: int = 16
    slack: float = 9.0
    spread: float = 12.0
    longest: int = 30
    longest_free: int = 40


@dataclass(slots=True)
class Found:
    """What the search found.

    Args:
        sentences: words -> log-probability of all their spellings; only sentences with a meaning. Words that open free
            speech ('note ...') count with everything that may follow them.
        openings: sentences that open free speech -> tokens of their likeliest spelling.
        free_tokens: tokens of free wording, without begin and end.
        free_scores: log-probability of each, and of the end if it came.
        steps: calls of the decoder.
        rows: rows of all these calls together.
    """

    sentences: dict[tuple[str, ...], float] = field(default_factory=dict)
    openings: dict[tuple[str, ...], int] = field(default_factory=dict)
    free_tokens: list[int] = field(default_factory=list)
    free_scores: list[float] = field(default_factory=list)
    steps: int = 0
    rows: int = 0

    @property
    def free_log_probability(self) -> float:
        """Of the whole free wording."""
        return sum(self.free_scores)

    @property
    def fit(self) -> float | None:
        """Log-probability of the best wording of the grammar minus that of free wording (for a note: of its start)."""
        if not self.sentences:
            return None
        words = max(self.sentences, key=lambda w: self.sentences[w])
        return self.sentences[words] - sum(self.free_scores[: self.openings.get(words)])


@dataclass(slots=True)
class _Row:
    score: float
    node: int
    words: tuple[str, ...]
    token: int
    parent: int


class _Search:
    """State of one search; `run` does it."""

    def __init__(self, decoding: Decoding, automaton: TokenAutomaton, limits: Limits) -> None:
        self.decoding, self.automaton, self.limits = decoding, automaton, limits
        self.found = Found()
        self.best = -math.inf  # best finished sentence
        self.meaningless: set[tuple[str, ...]] = set()

    def run(self) -> Found:
        """Search until nothing open can come near the best finished sentence, and free wording has ended."""
        rows = [_Row(0.0, TokenAutomaton.START, (), BEGIN, 0)]
        free: int | None = BEGIN
        free_row = 0
        while rows or free is not None:
            shared = self.found.steps == 0  # at the first step free wording and the grammar have the same row
            tokens = [row.token for row in rows] + ([] if free is None or shared else [free])
            parents = [row.parent for row in rows] + ([] if free is None or shared else [free_row])
            logits = self.decoding.step(np.array(tokens, np.int64), np.array(parents, np.int64))
            self.found.steps += 1
            self.found.rows += len(tokens)
            top = logits.max(axis=1)
            norm = top + np.log(np.exp(logits - top[:, None]).sum(axis=1))
            if free is not None:
                free_row = len(tokens) - 1
                free = self._free_step(logits[free_row], float(norm[free_row]))
            rows = self._grammar_step(rows, logits, norm) if self.found.steps < self.limits.longest else []
        return self.found

    def _free_step(self, logits: Logits, norm: float) -> int | None:
        token = int(logits.argmax())
        self.found.free_scores.append(float(logits[token]) - norm)
        if token == END:
            return None
        self.found.free_tokens.append(token)
        return token if len(self.found.free_tokens) < self.limits.longest_free else None

    def _grammar_step(self, rows: list[_Row], logits: Logits, norm: npt.NDArray[np.float32]) -> list[_Row]:
        scores, origin, steps = [], [], []
        for r, row in enumerate(rows):
            step = self.automaton.steps(row.node)
            base = row.score - float(norm[r])
            if step.ends_before:
                self._finish(row.words, base + float(logits[r, END]))
            if step.opens_free and step.word is not None:
                self._open_free((*row.words, step.word), base + _log_sum(logits[r, self.automaton.table.boundaries]))
            elif step.ends_with_word and step.word is not None:
                self._finish((*row.words, step.word), base + float(logits[r, END]))
            if len(step.tokens):
                scores.append(base + logits[r, step.tokens])
                origin.append(np.full(len(step.tokens), r))
            steps.append(step)
        if not scores:
            return []
        return self._choose(rows, steps, np.concatenate(scores), np.concatenate(origin))

    def _choose(self, rows: list[_Row], steps: list[Steps], scores: Logits, origin: Integers) -> list[_Row]:
        """The likeliest continuations as the next rows."""
        floor = max(self.best - self.limits.slack, float(scores.max()) - self.limits.spread)
        order = np.argsort(-scores, kind="stable")[: self.limits.width]
        first = {}
        for r in range(len(rows)):
            first[r] = int(np.searchsorted(origin, r))
        kept = []
        for i in order:
            if scores[i] <= floor:
                break
            r = int(origin[i])
            step, k = steps[r], int(i) - first[r]
            words = (*rows[r].words, step.word) if step.completes[k] and step.word is not None else rows[r].words
            kept.append(_Row(float(scores[i]), int(step.nodes[k]), words, int(step.tokens[k]), r))
        return kept

    def _open_free(self, words: tuple[str, ...], score: float) -> None:
        self._finish(words, score)
        if words in self.found.sentences and words not in self.found.openings:
            self.found.openings[words] = self.found.steps - 1

    def _finish(self, words: tuple[str, ...], score: float) -> None:
        if words in self.meaningless:
            return
        known = self.found.sentences.get(words)
        if known is None:
            if self.automaton.grammar.meaning(words) is None:
                self.meaningless.add(words)
                return
            total = score
        else:
            total = float(np.logaddexp(known, score))
        self.found.sentences[words] = total
        self.best = max(self.best, total)


def _log_sum(scores: Logits) -> float:
    top = float(scores.max())
    return top + math.log(float(np.exp(scores - top).sum()))


def search(decoding: Decoding, automaton: TokenAutomaton, limits: Limits) -> Found:
    """Find the sentences of the automaton's grammar in one utterance, and its free wording."""
    return _Search(decoding, automaton, limits).run()


def free_wording(decoding: Decoding, *, longest: int) -> tuple[list[int], float]:
    """The likeliest tokens one by one, without a grammar: tokens and their log-probability."""
    tokens: list[int] = []
    score, last = 0.0, BEGIN
    while len(tokens) < longest:
        logits = decoding.step(np.array([last], np.int64), np.array([0], np.int64))[0]
        last = int(logits.argmax())
        top = float(logits[last])
        score -= float(np.log(np.exp(logits - top).sum()))
        if last == END:
            break
        tokens.append(last)
    return tokens, score


def candidates(found: Found, grammar: Grammar, *, most: int = 12) -> tuple[Candidate, ...]:
    """Meanings with all their wordings summed, best first."""
    by_meaning: dict[Meaning, list[tuple[float, tuple[str, ...]]]] = {}
    for words, score in found.sentences.items():
        meaning = grammar.meaning(words)
        if meaning is not None:
            by_meaning.setdefault(meaning, []).append((score, words))
    made = [
        Candidate(meaning, written(max(ways)[1]), float(np.logaddexp.reduce([score for score, _ in ways])))
        for meaning, ways in by_meaning.items()
    ]
    return tuple(sorted(made, key=lambda c: -c.log_probability)[:most])


def written(words: tuple[str, ...]) -> str:
    """Words of the grammar as plain text: glued figures are joined on."""
    return "".join(word[1:] if word.startswith("+") else f" {word}" for word in words).strip()


def unsaid_point(found: Found, grammar: Grammar, meaning: Meaning) -> bool:
    """Whether a decimal value was only ever written with a full stop, never with the word 'point'.

    The decoder writes '33.6' for a hesitation within 'three three six' too, so such a reading is not to be trusted.
    """
    if not isinstance(meaning, Value) or meaning.number == meaning.number.to_integral_value():
        return False
    return not any("point" in words for words in found.sentences if grammar.meaning(words) == meaning)
