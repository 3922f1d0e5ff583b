"""Phrases for an engine that learns from a list which word may follow which: examples, and what they leave out."""

from __future__ import annotations

from collections import deque

from assistant.speech.grammar import Grammar

TWINS = {"meters": "metres", "meter": "metre", "o": "oh", "tree": "three", "okay": "ok"}
"""Second spellings of one sound -> the spelling to use where an engine should know only one."""

Path = tuple[str, ...]
Arc = tuple[int, str, int]


def covering_sentences(grammar: Grammar, words: frozenset[str] | None = None) -> tuple[str, ...]:
    """Phrases for an engine that learns word pairs from a list (a Vosk run-time grammar), some more than once.

    They are the grammar's examples that the engine has the words for, then for each spoken word left one shortest
    sentence with it. No numerals; of two spellings of one sound only one.

    Args:
        grammar: whose words are to be covered.
        words: the words that the engine knows; sentences with others are left out. None: all.
    """
    allowed = grammar.vocabulary() if words is None else grammar.vocabulary() & words
    twins = {w: first for w, first in TWINS.items() if first in allowed}
    allowed -= twins.keys()
    made = []
    for example in grammar.examples():
        sentence = [twins.get(w, w) for w in example.split()]
        if allowed.issuperset(sentence):
            made.append(" ".join(sentence))
    left = allowed - {w for sentence in made for w in sentence.split()}
    return (*made, *_shortest_with(grammar, left, allowed))


def _shortest_with(grammar: Grammar, wanted: frozenset[str], allowed: frozenset[str]) -> list[str]:
    """For each wanted word the shortest sentence of allowed words that holds it, if there is one."""
    arcs = [(a, w, b) for a, out in grammar.arcs.items() for w, b in out if w is not None and w in allowed]
    to, onward = _words_to(grammar, arcs), _words_from(grammar, arcs)
    best: dict[str, Path] = {}
    for a, w, b in arcs:
        if w in wanted and a in to and b in onward:
            sentence = (*to[a], w, *onward[b])
            if w not in best or (len(sentence), sentence) < (len(best[w]), best[w]):
                best[w] = sentence
    return sorted({" ".join(sentence) for sentence in best.values()})


def _words_to(grammar: Grammar, arcs: list[Arc]) -> dict[int, Path]:
    """State -> the fewest words that lead to it."""
    out: dict[int, list[tuple[str, int]]] = {}
    for a, w, b in arcs:
        out.setdefault(a, []).append((w, b))
    best: dict[int, Path] = {}
    todo: deque[tuple[int, Path]] = deque((s, ()) for s in sorted(grammar.closure(grammar.start)))
    while todo:
        state, path = todo.popleft()
        if state not in best:
            best[state] = path
            todo.extend((s, (*path, w)) for w, b in out.get(state, ()) for s in sorted(grammar.closure(b)))
    return best


def _words_from(grammar: Grammar, arcs: list[Arc]) -> dict[int, Path]:
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
        for word, a in into.get(state, ()):
            if word is None:
                todo.appendleft((a, path))
            else:
                todo.append((a, (word, *path)))
    return best
