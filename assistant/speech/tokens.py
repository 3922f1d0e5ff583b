"""The decoder's tokens: their table, how words are spelt in them, and the automaton of all spellings of a grammar.

The automaton is deterministic: a sequence of tokens leads to one node at most, so a beam never holds the same spelling
twice. It is built a node at a time, when the beam first comes there, and kept for the life of the grammar.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.speech.grammar import Grammar

BEGIN, END = 1, 2
FIRST_TEXT_TOKEN = (
    259  # ids 3..258 are the single bytes, which plain English never needs (table of the packaged decoder)
)
SPACE = "▁"
MARKS = (".", "!", "?")  # what the decoder may put behind a finished sentence


class TokenTable:
    """The decoder's vocabulary: token strings in the order of their ids.

    Attributes:
        tokens: token strings.
        ids: token string -> id, bytes and special tokens left out.
        boundaries: int64, ids of all tokens that end the word before them (spaces, marks, the end).
    """

    def __init__(self, data: bytes) -> None:
        """Read the packaged table: a length byte before each token; from 128 on it takes a second byte (x 128).

        Raises:
            ValueError: the bytes end within a token, or hold too few tokens to be such a table.
        """
        self.tokens: list[bytes] = []
        at = 0
        while at < len(data):
            length, at = data[at], at + 1
            if length >= 128:
                if at >= len(data):
                    raise ValueError("the token table ends within a length")
                length, at = data[at] * 128 + length - 128, at + 1
            if at + length > len(data):
                raise ValueError("the token table ends within a token")
            self.tokens.append(data[at : at + length])
            at += length
        if len(self.tokens) <= FIRST_TEXT_TOKEN:
            raise ValueError(f"the token table holds {len(self.tokens)} tokens, too few")
        self.ids: dict[bytes, int] = {}
        for number, token in enumerate(self.tokens):
            if number >= FIRST_TEXT_TOKEN and token:
                self.ids.setdefault(token, number)
        starts = (SPACE.encode(), *(m.encode() for m in (*MARKS, ",", ";", ":", "-")))
        self.boundaries: npt.NDArray[np.int64] = np.array(
            [END, *(n for n, t in enumerate(self.tokens) if n >= FIRST_TEXT_TOKEN and t.startswith(starts))], np.int64
        )  # tokens that cannot go on with the word before them

    def spell(self, text: str, *, glued: bool = False) -> tuple[int, ...]:
        """Byte-pair tokens of one word, with the space before it unless `glued`.

        The adjacent pair with the lowest id is merged until none merges.

        Raises:
            KeyError: a character of `text` is no token.
        """
        pieces = [c.encode() for c in ("" if glued else SPACE) + text]
        while True:
            pairs = (((self.ids[a + b], i)) for i, (a, b) in enumerate(itertools.pairwise(pieces)) if a + b in self.ids)
            best = min(pairs, default=None)
            if best is None:
                return tuple(self.ids[p] for p in pieces)
            pieces[best[1] : best[1] + 2] = [pieces[best[1]] + pieces[best[1] + 1]]

    def text(self, ids: Sequence[int]) -> str:
        """The words that `ids` stand for."""
        return b"".join(self.tokens[i] for i in ids).decode("utf-8", "replace").replace(SPACE, " ").strip()


Way = tuple[tuple[int, ...], str, int]  # tokens that write a word, the word, the word state that it leads to


@dataclass(slots=True)
class _Node:
    """A place in the spelling of the word that leads on from a set of grammar states."""

    ways: list[Way]  # the words that may still be meant here ...
    depth: int  # ... and how many of their tokens are written
    word: str | None = None  # complete here
    after: int = -1  # word state reached by that word
    stopped: bool = False  # a full stop was written behind a finished sentence: the end may follow


@dataclass(frozen=True, slots=True)
class Steps:
    """What may follow a node.

    Args:
        tokens: int64 (n,), the tokens that may come next.
        nodes: int64 (n,), where each leads.
        completes: bool (n,), whether taking it first completes `word`.
        word: the word that is complete at the node, or None.
        ends_with_word: the sentence may end here, with `word` as its last.
        ends_before: the sentence may end here with the words before (a full stop was written).
        opens_free: with `word` the sentence may end, or go on with any free speech ('note ...').
    """

    tokens: npt.NDArray[np.int64]
    nodes: npt.NDArray[np.int64]
    completes: npt.NDArray[np.bool_]
    word: str | None
    ends_with_word: bool
    ends_before: bool
    opens_free: bool


class TokenAutomaton:
    """All spellings of all sentences of one grammar.

    Figures may be glued to the word before ('+5' in the grammar), a word may carry a comma or a hyphen before it, the
    first word a capital, and a full stop may end the sentence: all ways in which the decoder was seen to write.
    """

    START = 0

    def __init__(self, grammar: Grammar, table: TokenTable) -> None:
        self.grammar, self.table = grammar, table
        self._comma, self._hyphen = table.ids[b","], table.ids[b"-"]
        self._marks = [table.ids[m.encode()] for m in MARKS]
        self._spelt: dict[tuple[str, bool], tuple[int, ...]] = {}
        self._nodes: list[_Node] = []
        self._states: dict[frozenset[int], int] = {}  # sets of grammar states that the same words lead to
        self._sets: list[frozenset[int]] = []
        self._roots: dict[int, tuple[tuple[int, int], ...]] = {}
        self._steps: dict[int, Steps] = {}
        start = self._state(frozenset(grammar.closure(grammar.start)))
        capitals = [
            w for word, after in self._words_after(start).items() for w in self._ways(word, after, capital=True)
        ]
        self._new(_Node(capitals, 0))

    def steps(self, node: int) -> Steps:
        """What may follow `node` (START is the empty sentence)."""
        found = self._steps.get(node)
        if found is None:
            found = self._steps[node] = self._make_steps(node)
        return found

    def __len__(self) -> int:
        """Nodes built so far."""
        return len(self._nodes)

    def _make_steps(self, node: int) -> Steps:
        here = self._nodes[node]
        inside = self._children(here)
        beyond = self._root(here.after) if here.word is not None else ()
        moves = [*inside, *beyond]
        return Steps(
            tokens=np.array([token for token, _ in moves], np.int64),
            nodes=np.array([child for _, child in moves], np.int64),
            completes=np.arange(len(moves)) >= len(inside),
            word=here.word,
            ends_with_word=here.word is not None and bool(self._sets[here.after] & self.grammar.final),
            ends_before=here.stopped,
            opens_free=here.word is not None and bool(self._sets[here.after] & self.grammar.free),
        )

    def _children(self, node: _Node) -> list[tuple[int, int]]:
        """(token, node) for every token that may be written next within the same word."""
        ways: dict[int, list[Way]] = {}
        for way in node.ways:
            if len(way[0]) > node.depth:
                ways.setdefault(way[0][node.depth], []).append(way)
        return [(token, self._new(self._at(own, node.depth + 1))) for token, own in ways.items()]

    def _at(self, ways: list[Way], depth: int) -> _Node:
        """The node behind `depth` tokens that all these ways begin with."""
        node = _Node(ways, depth)
        for ids, word, after in ways:
            if len(ids) == depth:
                node.word, node.after = word, after
        return node

    def _root(self, state: int) -> tuple[tuple[int, int], ...]:
        """(token, node) for every way to begin the next word in mid-sentence, or to stop.

        A comma may come first, which leads to the same words, or a hyphen, which leads to them without their space.
        """
        if state in self._roots:
            return self._roots[state]
        words = self._words_after(state)
        plain = [w for word, after in words.items() if word[0] != "+" for w in self._ways(word, after)]
        glued = [(self._spell(word[1:], True), word, after) for word, after in words.items() if word[0] == "+"]
        hyphened = [(self._spell(word, True), word, after) for word, after in words.items() if word[0] != "+"]
        moves = dict(self._children(_Node(plain + glued, 0)))
        if plain:
            moves[self._comma] = self._new(_Node(plain, 0))
            moves[self._hyphen] = self._new(_Node(hyphened, 0))
        if self._sets[state] & self.grammar.final:
            for mark in self._marks:
                if mark not in moves:
                    moves[mark] = self._new(_Node([], 0))
                self._nodes[moves[mark]].stopped = True
        self._roots[state] = tuple(moves.items())
        return self._roots[state]

    def _words_after(self, state: int) -> dict[str, int]:
        """Word -> word state that it leads to."""
        after: dict[str, set[int]] = {}
        for s in self._sets[state]:
            for word, target in self.grammar.arcs[s]:
                if word is not None:
                    after.setdefault(word, set()).update(self.grammar.closure(target))
        return {word: self._state(frozenset(targets)) for word, targets in after.items()}

    def _ways(self, word: str, after: int, *, capital: bool = False) -> list[Way]:
        """How `word` is written with its space before it; with a capital too at the beginning of a sentence."""
        forms = {word, word[0].upper() + word[1:]} if capital or word == "newton" else {word}
        return [(self._spell(form, False), word, after) for form in sorted(forms)]

    def _spell(self, text: str, glued: bool) -> tuple[int, ...]:
        key = (text, glued)
        if key not in self._spelt:
            self._spelt[key] = self.table.spell(text, glued=glued)
        return self._spelt[key]

    def _state(self, states: frozenset[int]) -> int:
        if states not in self._states:
            self._states[states] = len(self._sets)
            self._sets.append(states)
        return self._states[states]

    def _new(self, node: _Node) -> int:
        self._nodes.append(node)
        return len(self._nodes) - 1
