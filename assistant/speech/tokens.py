"""The decoder's tokens: their table, how words are spelt in them, and the automaton of all spellings of a grammar.

The automaton is deterministic: a sequence of tokens leads to one node at most, so a beam never holds the same spelling
twice. It is built a node at a time, when the beam first comes there, and kept for the life of the grammar.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

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


@dataclass(slots=True)
class _Node:
    """A place in the spelling of the word that leads on from a set of grammar states."""

    children: dict[int, int] = field(default_factory=dict)  # token -> node
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
        self._nodes: list[_Node] = []
        self._states: dict[frozenset[int], int] = {}  # sets of grammar states that the same words lead to
        self._sets: list[frozenset[int]] = []
        self._roots: dict[int, int] = {}
        self._steps: dict[int, Steps] = {}
        start = self._state(frozenset(grammar.closure(grammar.start)))
        self._root(start, first=True)

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
        moves = [(token, child, False) for token, child in here.children.items()]
        final = False
        if here.word is not None:
            root = self._root(here.after, first=False)
            moves += [(token, child, True) for token, child in self._nodes[root].children.items()]
            final = self._is_final(here.after)
        return Steps(
            tokens=np.array([m[0] for m in moves], np.int64),
            nodes=np.array([m[1] for m in moves], np.int64),
            completes=np.array([m[2] for m in moves], np.bool_),
            word=here.word,
            ends_with_word=final,
            ends_before=here.stopped,
            opens_free=here.word is not None and bool(self._sets[here.after] & self.grammar.free),
        )

    def _state(self, states: frozenset[int]) -> int:
        if states not in self._states:
            self._states[states] = len(self._sets)
            self._sets.append(states)
        return self._states[states]

    def _is_final(self, state: int) -> bool:
        return bool(self._sets[state] & self.grammar.final)

    def _new(self) -> int:
        self._nodes.append(_Node())
        return len(self._nodes) - 1

    def _root(self, state: int, *, first: bool) -> int:
        if state in self._roots and not first:
            return self._roots[state]
        root = self._new()
        if not first:
            self._roots[state] = root
        after: dict[str, set[int]] = {}
        for s in self._sets[state]:
            for word, target in self.grammar.arcs[s]:
                if word is not None:
                    after.setdefault(word, set()).update(self.grammar.closure(target))
        for word, targets in after.items():
            reached = self._state(frozenset(targets))
            for ids in self._ways(word, first=first):
                end = self._nodes[self._walk(root, ids)]
                end.word, end.after = word, reached
        if not first and self._is_final(state):
            for mark in self._marks:
                self._nodes[self._walk(root, (mark,))].stopped = True
        return root

    def _walk(self, node: int, ids: Sequence[int]) -> int:
        for token in ids:
            child = self._nodes[node].children.get(token)
            if child is None:
                child = self._nodes[node].children[token] = self._new()
            node = child
        return node

    def _ways(self, word: str, *, first: bool) -> list[tuple[int, ...]]:
        """All token sequences that may write `word` at this place of the sentence."""
        if word.startswith("+"):
            return [self.table.spell(word[1:], glued=True)]
        forms = {word, word[0].upper() + word[1:]} if first or word == "newton" else {word}
        ways = [self.table.spell(form) for form in sorted(forms)]
        if first:
            return ways
        return [*ways, *((self._comma, *way) for way in ways), (self._hyphen, *self.table.spell(word, glued=True))]
