"""Random sentences of a grammar, made from what listeners see of it: arcs, closures, final states."""

from __future__ import annotations

import random
from collections.abc import Iterator

from assistant.speech.grammar import Grammar


def walks(
    grammar: Grammar, count: int, *, seed: int, stop: float = 0.4, numerals: bool = True
) -> Iterator[tuple[str, ...]]:
    """`count` sentences; at a final state the walk stops with probability `stop`."""
    rng = random.Random(seed)
    left = _words_left(grammar)
    for _ in range(count):
        state, words = grammar.start, []
        while True:
            here = sorted(grammar.closure(state))
            if words and grammar.final.intersection(here) and (rng.random() < stop or len(words) > 24):
                break
            arcs = [
                (w, b) for s in here for w, b in grammar.arcs[s] if w is not None and (numerals or not is_numeral(w))
            ]
            if len(words) > 12:  # home by the shortest way
                arcs = [(w, b) for w, b in arcs if left[b] == min(left[b] for _, b in arcs)]
            if not arcs:
                break
            word, state = rng.choice(arcs)
            words.append(word)
        yield tuple(words)


def is_numeral(word: str) -> bool:
    """Whether a word is a numeral or glued to one."""
    return word[0] == "+" or word[0].isdecimal()


def written(words: tuple[str, ...]) -> str:
    """Words as text: glued pieces are joined on."""
    return "".join(w[1:] if w[0] == "+" else f" {w}" for w in words).strip()


def _words_left(grammar: Grammar) -> dict[int, int]:
    """State -> fewest words to an end."""
    left = dict.fromkeys(grammar.final, 0)
    while True:
        grown = dict(left)
        for state, arcs in grammar.arcs.items():
            for word, there in arcs:
                if there in left:
                    n = left[there] + (word is not None)
                    grown[state] = min(grown.get(state, n), n)
        if grown == left:
            return left
        left = grown
