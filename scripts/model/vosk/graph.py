"""The decoding graph of a Vosk model: HCLr.fst, Gr.fst, words.txt, word_boundary.int, disambig_tid.int.

Lexicon, context and phone states are written in one go as a prefix tree of transition ids that returns to a loop state
through an optional silence. It may be non-deterministic (the wheel's look-ahead composition and decoder take that), so
words that sound alike need nothing special. A word's label sits where it is the only one left, or behind its last
phone.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from scripts.model.vosk import phones
from scripts.model.vosk.kaldi_files import enter_id, loop_id
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.openfst import Fst

UNKNOWN = "[unk]"
PLACE_NAMES = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}


@dataclass(frozen=True)
class Costs:
    """Probability of silence between words, and what each phone of [unk] costs: the lower, the sooner it is heard."""

    silence: float = 0.5
    unknown_phone: float = 9.0


@dataclass
class _Node:
    children: dict[int, _Node] = field(default_factory=dict)
    ends: list[str] = field(default_factory=list)  # words that end here
    words: set[str] = field(default_factory=set)  # words on the way


def _tree(lexicon: Lexicon) -> _Node:
    root = _Node()
    for word, ways in lexicon.items():
        for way in ways:
            node = root
            for phone in phones.placed(way):
                node = node.children.setdefault(phone, _Node())
                node.words.add(word)
            node.ends.append(word)
    return root


def _numbered(root: _Node) -> dict[str, int]:
    """Word ids in the tree's order, so that the words that can follow a state are few intervals."""
    ids = {"<eps>": 0}

    def walk(node: _Node) -> None:
        for word in node.ends:
            ids.setdefault(word, len(ids))
        for phone in sorted(node.children):
            walk(node.children[phone])

    walk(root)
    return ids | {UNKNOWN: len(ids)}


class _Builder:
    """The look-ahead graph while it grows."""

    def __init__(self, stay: list[float], ids: dict[str, int], costs: Costs) -> None:
        units = phones.transition_units(stay)
        self.ids, self.costs, self.fst = ids, costs, Fst()
        self.into = [0.0, *(-math.log(1 - u[3]) for u in units)]
        self.hold = [0.0, *(-math.log(u[3]) for u in units)]
        start, self.loop, self.hub, silence = (self.fst.state() for _ in range(4))
        self.fst.final[self.loop] = 0.0
        for s in (start, self.hub):
            self.fst.arc(s, 0, 0, -math.log(1 - costs.silence), self.loop)
            price = -math.log(costs.silence) + self.into[phones.SILENCE]
            self.fst.arc(s, enter_id(phones.SILENCE), 0, price, silence)
        self.fst.arc(silence, loop_id(phones.SILENCE), 0, self.hold[phones.SILENCE], silence)
        self.fst.arc(silence, 0, 0, 0.0, self.loop)

    def enter(self, source: int, unit: int, word: int, cost: float) -> int:
        """A state for one phone, reached from `source`."""
        s = self.fst.state()
        self.fst.arc(source, enter_id(unit), word, cost + self.into[unit], s)
        self.fst.arc(s, loop_id(unit), 0, self.hold[unit], s)
        return s

    def grow(self, node: _Node, source: int, said: bool) -> None:
        """The branches under a node; `said`: the word's label is already out."""
        for phone in sorted(node.children):
            child = node.children[phone]
            label = self.ids[next(iter(child.words))] if not said and len(child.words) == 1 else 0
            s = self.enter(source, phone, label, 0.0)
            for word in dict.fromkeys(child.ends):
                self.fst.arc(s, 0, 0 if said or label else self.ids[word], 0.0, self.hub)
            self.grow(child, s, said or bool(label))

    def unknown(self) -> None:
        """[unk]: any two or more phones, each at its price."""
        inside, price = self.fst.state(), self.costs.unknown_phone
        for k in range(len(phones.PHONES)):
            first = self.enter(self.loop, phones.garbage_unit(k, "B"), self.ids[UNKNOWN], price)
            self.fst.arc(first, 0, 0, 0.0, inside)
            self.fst.arc(self.enter(inside, phones.garbage_unit(k, "I"), 0, price), 0, 0, 0.0, inside)
            self.fst.arc(self.enter(inside, phones.garbage_unit(k, "E"), 0, price), 0, 0, 0.0, self.hub)


def bigram(sentences: Iterable[str], ids: dict[str, int], *, discount: float = 0.3, floor: float = 0.5) -> Fst:
    """Word pairs with back-off to single words, for a recogniser that is opened without a grammar."""
    single: Counter[int] = Counter({i: floor for i in ids.values() if i})  # type: ignore[dict-item]
    pairs: dict[int, Counter[int]] = defaultdict(Counter)
    end = -1
    for sentence in sentences:
        before = 0
        for i in [*(ids.get(w, ids[UNKNOWN]) for w in sentence.split()), end]:
            single[i] += 1
            pairs[before][i] += 1
            before = i
    single[end] += 1
    fst, total = Fst(), sum(single.values())
    states = {0: fst.state()}  # the sentence's start
    back = fst.state()
    states |= {i: fst.state() for i in ids.values() if i}
    fst.final[back] = -math.log(single[end] / total)
    for i, count in single.items():
        if i != end:
            fst.arc(back, i, i, -math.log(count / total), states[i])
    for before, s in states.items():
        seen = pairs[before]
        n = sum(seen.values())
        for i, count in seen.items():
            cost = -math.log(count / n * (1 - discount))
            if i == end:
                fst.final[s] = cost
            else:
                fst.arc(s, i, i, cost, states[i])
        fst.arc(s, 0, 0, -math.log(discount if n else 1.0), back)
    return fst


def write_graph(
    folder: Path, lexicon: Lexicon, stay: list[float], *, sentences: Iterable[str] = (), costs: Costs | None = None
) -> dict[str, int]:
    """Write the folder `graph`; returns the word ids.

    Args:
        lexicon: not empty.
        stay: probability of staying in silence and each phone, shape (UNITS,).
        sentences: what a recogniser without a grammar expects.
    """
    (folder / "phones").mkdir(parents=True, exist_ok=True)
    root = _tree(lexicon)
    ids = _numbered(root)
    builder = _Builder(stay, ids, costs or Costs())
    builder.grow(root, builder.loop, False)
    builder.unknown()
    builder.fst.write_lookahead(folder / "HCLr.fst", len(ids))
    bigram(sentences, ids).write_acceptor(folder / "Gr.fst")
    (folder / "words.txt").write_text("".join(f"{w} {i}\n" for w, i in ids.items()), encoding="utf-8")
    (folder / "disambig_tid.int").write_text("")  # the graph has no disambiguation symbols
    lines = [f"{phones.SILENCE} nonword"]
    for name in phones.PHONES:
        lines += [f"{phones.phone_id(name, p)} {PLACE_NAMES[p]}" for p in phones.PLACES]
    lines += [f"{phones.garbage_phone(p)} {PLACE_NAMES[p]}" for p in "BEI"]
    (folder / "phones" / "word_boundary.int").write_text("\n".join(lines) + "\n")
    return ids
