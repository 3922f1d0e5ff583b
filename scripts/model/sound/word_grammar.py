"""A word automaton: which sentences the development check may hear."""

from __future__ import annotations

from collections import defaultdict


class Grammar:
    """Word automaton. `arc(a, b, words)` adds one arc a word; a word starting with '+' is glued to the one before."""

    def __init__(self):
        self.arcs, self.final = defaultdict(list), set()
        self.n = 1  # state 0 is the start

    def new(self) -> int:
        self.n += 1
        return self.n - 1

    def arc(self, a: int, b: int, words):
        self.arcs[a] += [(w, b) for w in words]

    def phrase(self, a: int, b: int, text: str):
        *head, last = text.split()
        for w in head:
            c = self.new()
            self.arc(a, c, [w])
            a = c
        self.arc(a, b, [last])

    def skip(self, a: int, b: int):
        self.arcs[a].append((None, b))

    def closure(self, s: int) -> set[int]:
        seen, todo = {s}, [s]
        while todo:
            for w, b in self.arcs[todo.pop()]:
                if w is None and b not in seen:
                    seen.add(b)
                    todo.append(b)
        return seen

    def follows(self, words: list[str]) -> bool:
        """Whether the automaton takes the sentence."""
        states = self.closure(0)
        for w in words:
            states = {c for s in states for x, b in self.arcs[s] if x == w for c in self.closure(b)}
        return bool(states & self.final)

    def words(self) -> list[str]:
        """All plain words of the arcs, sorted; numerals and glued ones left out."""
        found = {w for arcs in self.arcs.values() for w, _ in arcs if w and w.replace("'", "").isalpha()}
        return sorted(found)
