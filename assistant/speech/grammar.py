"""Word automaton with meanings on its arcs: the one grammar that parser and listeners are both made from.

A grammar is a finite automaton over words. An arc may carry a *mark*, a small token of meaning ("add 20", "the unit is
lbf*ft"). A sentence means what the marks along its path say; `read`, given when the grammar is built, folds them into
a `Meaning`. Listeners follow `arcs`, the parser follows the same `arcs`, so what can be heard and what can be
understood are the same set by construction.

Words are lower case. None is an arc without a word (epsilon). A word that begins with '+' is glued to the word before
it without a space: numerals as listeners write them ('3' '+1' '+0' '+.' '+5' is "310.5").
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType

from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.typed import typed_words

Mark = tuple[str, "int | str"]
Marks = tuple[Mark, ...]
Read = Callable[[Marks], "Meaning | None"]
Examples = Callable[[], "tuple[str, ...]"]
Arcs = Mapping[int, tuple[tuple["str | None", int], ...]]

START = 0
KEPT_MEANINGS = 20_000  # sentences whose meaning is remembered
LONGEST_OPENING = 4  # words that may open free speech
AMBIGUOUS = Command("unclear-grouping")  # the words can be read as two different things


class Grammar:
    """An immutable word automaton. Equal and hashed by its name, which spells out all it was built from.

    Attributes:
        name: spells out the specification; two grammars of one name are the same grammar.
        start: the state in which every sentence begins, 0.
        arcs: state -> ((word or None, next state), ...); every state has an entry, final ones may have none.
        final: states in which a sentence may end.
        free: final states behind which any free speech may follow ('note ...', 'skip ...'). What follows is text, never
            a value. If one is in the closure of `start` the whole utterance may be free speech.
    """

    start = START

    def __init__(
        self,
        name: str,
        steps: Mapping[int, tuple[tuple[str | None, int, Mark | None], ...]],
        *,
        final: Iterable[int],
        free: Iterable[int],
        aside: Iterable[int],
        read: Read,
        examples: Examples = tuple,
    ) -> None:
        self.name = name
        self.arcs: Arcs = MappingProxyType({s: tuple((w, b) for w, b, _ in out) for s, out in steps.items()})
        self.final = frozenset(final)
        self.free = frozenset(free)
        self._examples = examples
        self._aside = frozenset(aside)
        self._steps = dict(steps)
        self._read = read
        self._closures: dict[int, frozenset[int]] = {}
        self._reach: dict[int, tuple[tuple[int, Marks], ...]] = {}
        self._by_word: dict[int, dict[str, tuple[tuple[int, Marks], ...]]] = {}
        self._meanings: dict[tuple[str, ...], Meaning | None] = {}

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Grammar) and other.name == self.name

    def __hash__(self) -> int:
        return hash(self.name)

    def __repr__(self) -> str:
        return f"Grammar({self.name!r}, {len(self.arcs)} states)"

    # ------------------------------------------------------------------------------------------- for the listeners
    def closure(self, state: int) -> frozenset[int]:
        """All states reached from `state` without a word, itself included."""
        if state not in self._closures:
            self._closures[state] = frozenset(s for s, _ in self._reached(state))
        return self._closures[state]

    def vocabulary(self) -> frozenset[str]:
        """Every spoken word of the grammar; numerals and glued pieces left out."""
        words = (w for out in self.arcs.values() for w, _ in out)
        return frozenset(w for w in words if w is not None and w[0] != "+" and not w[0].isdigit())

    def examples(self) -> tuple[str, ...]:
        """Sentences in the proportions in which people may say them (see `speech.covering` for what they leave out)."""
        return self._examples()

    # ------------------------------------------------------------------------------------------------- for meaning
    def meaning(self, words: tuple[str, ...]) -> Meaning | None:
        """What a sentence of this grammar means; None when it is no sentence of it or is refused without a word.

        A sentence that can be read in two ways is `Command("unclear-grouping")`; the other refusals that a person
        should be told of are commands too, their names all begin with 'unclear-' (see `speech.intent`).
        """
        try:
            return self._meanings[words]
        except KeyError:
            found = self._meaning(words)
        if len(self._meanings) >= KEPT_MEANINGS:
            self._meanings.clear()
        self._meanings[words] = found
        return found

    def note(self, words: tuple[str, ...], text: str) -> Note | None:
        """The note that `words`, ending in a `free` state, open for the free speech `text`; None if they open none."""
        for state, marks in self._walk(words):
            if state in self.free:
                meaning = self._read(marks)
                if isinstance(meaning, Note):
                    return Note(meaning.opening, " ".join(text.split()))
        return None

    def parse(self, text: str) -> Meaning | None:
        """What a typed line means, or None. Case, punctuation, hyphens, figures ("310.5") and written units ("N*m",
        "ft-lb") are understood; a comma inside figures is refused, because it has two meanings in the world.
        """
        raw = text.split()
        words = typed_words(text)
        found = self.meaning(words) if words else None
        if found is not None or not raw:
            return found
        for cut in range(min(LONGEST_OPENING, len(raw)), -1, -1):
            head = typed_words(" ".join(raw[:cut]))
            note = None if head is None else self.note(head, " ".join(raw[cut:]))
            if note is not None:
                return note
        return None

    def begins(self, words: tuple[str, ...]) -> bool:
        """Whether a sentence of this grammar begins with these words."""
        here = set(self.closure(START))
        for word in words:
            here = {s for a in here for w, b in self.arcs[a] if w == word for s in self.closure(b)}
        return bool(here)

    def patience(self, words: tuple[str, ...]) -> str:
        """Whether more words follow: 'must' (no sentence yet), 'may', or 'over' (only an afterthought could)."""
        after = set(self.closure(START))
        direct: set[int] = {START}
        for word in words:
            direct = {b for s in after for w, b in self.arcs[s] if w == word}
            after = {s for b in direct for s in self.closure(b)}
        if not after & self.final:
            return "must"
        plain = {s for b in direct for s in self._plain_closure(b)}
        more = any(w is not None for s in plain for w, _ in self.arcs[s])
        return "may" if more or after & self.free else "over"

    def _plain_closure(self, state: int) -> set[int]:
        """States reached without a word and without beginning an afterthought."""
        silent = {s: [b for w, b in self.arcs[s] if w is None and b not in self._aside] for s in self.closure(state)}
        return _closure({state}, silent)

    # ------------------------------------------------------------------------------------------------------ inside
    def _reached(self, state: int) -> tuple[tuple[int, Marks], ...]:
        """States reached without a word, with the marks met on the way."""
        if state not in self._reach:
            seen: dict[tuple[int, Marks], None] = {(state, ()): None}
            todo: list[tuple[int, Marks]] = [(state, ())]
            while todo:
                here, marks = todo.pop()
                for word, there, mark in self._steps[here]:
                    item = (there, marks if mark is None else (*marks, mark))
                    if word is None and item not in seen:
                        seen[item] = None
                        todo.append(item)
            self._reach[state] = tuple(seen)
        return self._reach[state]

    def _outgoing(self, state: int) -> dict[str, tuple[tuple[int, Marks], ...]]:
        """Word -> every (state, marks) reached by it from exactly this state."""
        if state not in self._by_word:
            table: dict[str, list[tuple[int, Marks]]] = {}
            for word, there, mark in self._steps[state]:
                if word is not None:
                    own: Marks = () if mark is None else (mark,)
                    table.setdefault(word, []).extend((s, own + m) for s, m in self._reached(there))
            self._by_word[state] = {w: tuple(v) for w, v in table.items()}
        return self._by_word[state]

    def _walk(self, words: tuple[str, ...]) -> tuple[tuple[int, Marks], ...]:
        here = dict.fromkeys(self._reached(START))
        for word in words:
            step = ((s, m, nxt) for s, m in here for nxt in self._outgoing(s).get(word, ()))
            here = dict.fromkeys((b, m + m2) for _, m, (b, m2) in step)
            if not here:
                return ()
        return tuple(here)

    def _meaning(self, words: tuple[str, ...]) -> Meaning | None:
        if not words and not self.closure(START) & self.free:
            return None
        read = (self._read(marks) for state, marks in self._walk(words) if state in self.final)
        found = dict.fromkeys(m for m in read if m is not None)
        for pick in (_is_clear_command, _is_note, _is_value, _is_refusal):
            chosen = [m for m in found if pick(m)]
            if chosen:
                return chosen[0] if len(chosen) == 1 or pick is _is_refusal else AMBIGUOUS
        return None


def _is_refusal(meaning: Meaning) -> bool:
    return isinstance(meaning, Command) and meaning.name.startswith("unclear-")


def _is_clear_command(meaning: Meaning) -> bool:
    return isinstance(meaning, Command) and not _is_refusal(meaning)


def _is_note(meaning: Meaning) -> bool:
    return isinstance(meaning, Note)


def _is_value(meaning: Meaning) -> bool:
    return isinstance(meaning, Value)


class GrammarBuilder:
    """Makes a `Grammar`: add states, arcs and phrases, then `build`."""

    def __init__(self) -> None:
        self._out: list[dict[tuple[str | None, int, Mark | None], None]] = [{}]
        self._final: set[int] = set()
        self._free: set[int] = set()
        self._aside: set[int] = set()

    def state(self) -> int:
        """A new state."""
        self._out.append({})
        return len(self._out) - 1

    def arc(self, a: int, b: int, word: str | None, mark: Mark | None = None) -> None:
        """One arc from a to b with one word (None: without a word) and what it contributes to the meaning."""
        self._out[a][(word, b, mark)] = None

    def skip(self, a: int, b: int, mark: Mark | None = None) -> None:
        """An arc without a word."""
        self.arc(a, b, None, mark)

    def phrase(self, a: int, b: int, text: str, mark: Mark | None = None) -> None:
        """Words in a row from a to b; the mark is on the first of them."""
        *head, last = text.split()
        for word in head:
            c = self.state()
            self.arc(a, c, word, mark)
            a, mark = c, None
        self.arc(a, b, last, mark)

    def end(self, state: int, *, free: bool = False) -> None:
        """A sentence may end in this state; with `free`, free speech may follow."""
        self._final.add(state)
        if free:
            self._free.add(state)

    def aside(self, state: int) -> int:
        """A new state behind `state` without a word, from which only an afterthought goes on ('no, ...', 'to ...')."""
        there = self.state()
        self.skip(state, there)
        self._aside.add(there)
        return there

    def build(self, name: str, read: Read, examples: Examples = tuple) -> Grammar:
        """The finished grammar, without the states that no sentence passes."""
        useful = self._useful()
        number = {s: i for i, s in enumerate(sorted(useful | {START}))}
        steps = {i: tuple((w, number[b], m) for w, b, m in self._out[s] if b in useful) for s, i in number.items()}
        ends = (number[s] for s in self._final & useful)
        free = (number[s] for s in self._free & useful)
        aside = (number[s] for s in self._aside & useful)
        return Grammar(name, steps, final=ends, free=free, aside=aside, read=read, examples=examples)

    def _useful(self) -> set[int]:
        forward = _closure({START}, {s: [b for _, b, _ in out] for s, out in enumerate(self._out)})
        back: dict[int, list[int]] = {}
        for s, out in enumerate(self._out):
            for _, b, _ in out:
                back.setdefault(b, []).append(s)
        return forward & _closure(self._final, back)


def _closure(start: set[int], edges: Mapping[int, list[int]]) -> set[int]:
    seen, todo = set(start), list(start)
    while todo:
        for b in edges.get(todo.pop(), ()):
            if b not in seen:
                seen.add(b)
                todo.append(b)
    return seen
