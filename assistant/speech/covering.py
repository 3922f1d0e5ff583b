"""A list of phrases that shows an engine every pair of neighbouring words of a grammar, each in a whole sentence.

Engines that take a list of phrases learn from it which word may follow which. A list that covers every pair once
gives each the same chance, and no value a better one than another.
"""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assistant.speech.grammar import Grammar

TWINS = {"meters": "metres", "meter": "metre", "o": "oh", "tree": "three", "naught": "nought", "handover": "hand"}
"""Second spellings of one sound -> the spelling to use where an engine should know only one."""

Path = tuple[str, ...]


def covering_sentences(grammar: Grammar, words: frozenset[str] | None = None) -> tuple[str, ...]:
    """Sentences of `grammar` in which every allowed pair of neighbouring spoken words occurs, sorted.

    Args:
        grammar: any.
        words: the words that the engine knows; None: all. Numerals and second spellings (`TWINS`) are left out, unless
            the engine does not know the first.
    """
    allowed = grammar.vocabulary() if words is None else grammar.vocabulary() & words
    allowed -= {w for w, first in TWINS.items() if first in allowed}
    arcs = [(a, w, b) for a, out in grammar.arcs.items() for w, b in out if w in allowed and w is not None]
    to, onward = _shortest_to(grammar, arcs), _shortest_from(grammar, arcs)
    after: dict[int, list[tuple[str, int]]] = {}
    for a, w, b in arcs:
        after.setdefault(a, []).append((w, b))
    seen: set[tuple[str, str]] = set()
    made: dict[str, None] = {}
    for sentence in _candidates(grammar, arcs, after, to, onward, seen):
        made[" ".join(sentence)] = None
        padded = ("", *sentence, "")
        seen.update(itertools.pairwise(padded))
    return tuple(sorted(made))


def _candidates(
    grammar: Grammar,
    arcs: list[tuple[int, str, int]],
    after: dict[int, list[tuple[str, int]]],
    to: dict[int, Path],
    onward: dict[int, Path],
    seen: set[tuple[str, str]],
) -> Iterator[Path]:
    """A sentence for every pair that is not among `seen` when its turn comes."""
    for a, w, b in arcs:
        if a not in to:
            continue
        if not to[a] and ("", w) not in seen and b in onward:
            yield (w, *onward[b])
        if (w, "") not in seen and grammar.closure(b) & grammar.final:
            yield (*to[a], w)
        for c in grammar.closure(b):
            for w2, d in after.get(c, ()):
                if (w, w2) not in seen and d in onward:
                    yield (*to[a], w, w2, *onward[d])


def _shortest_to(grammar: Grammar, arcs: list[tuple[int, str, int]]) -> dict[int, Path]:
    """State -> the fewest words that lead to it."""
    out: dict[int, list[tuple[str, int]]] = {}
    for a, w, b in arcs:
        out.setdefault(a, []).append((w, b))
    best: dict[int, Path] = {}
    todo: deque[tuple[int, Path]] = deque((s, ()) for s in sorted(grammar.closure(grammar.start)))
    while todo:
        state, path = todo.popleft()
        if state in best:
            continue
        best[state] = path
        todo.extend((s, (*path, w)) for w, b in out.get(state, ()) for s in sorted(grammar.closure(b)))
    return best


def _shortest_from(grammar: Grammar, arcs: list[tuple[int, str, int]]) -> dict[int, Path]:
    """State -> the fewest words that lead from it to an end."""
    into: dict[int, list[tuple[str | None, int]]] = {}
    for a, w, b in arcs:
        into.setdefault(b, []).append((w, a))
    for a, steps in grammar.arcs.items():
        for word, b in steps:
            if word is None:
                into.setdefault(b, []).append((None, a))
    best: dict[int, Path] = {}
    todo: deque[tuple[int, Path]] = deque((s, ()) for s in sorted(grammar.final))
    while todo:
        state, path = todo.popleft()
        if state in best:
            continue
        best[state] = path
        for before, a in into.get(state, ()):
            if before is None:
                todo.appendleft((a, path))
            else:
                todo.append((a, (before, *path)))
    return best
