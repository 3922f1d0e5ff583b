#!/usr/bin/env python3
"""Add words to a Vosk model's graph without training: `vosk_words.py MODEL_FOLDER WORDS_FILE`.

WORDS_FILE holds lines `word PH PH ...` in the 39 phones of the model (North American English); a word may have several
lines. Words that the model has are left alone. Each new word becomes a chain of phones from the graph's loop state,
with the costs that the graph has for these phones, so the acoustic model and all other words stay as they are. Changed
files: graph/HCLr.fst (with new look-ahead sets) and graph/words.txt. The model's plain bigram (Gr.fst) does not learn
the new words: they can be used in run-time grammars. The format of HCLr.fst is told in `vosk/openfst.py`; it is read
back here.
"""

from __future__ import annotations

import math
import struct
import sys
from pathlib import Path

if __name__ == "__main__":
    sys.path[0] = str(Path(__file__).resolve().parents[2])

import numpy as np

from scripts.model.vosk.lexicon import LexiconError, read_dictionary
from scripts.model.vosk.openfst import ARC, STATE, Fst
from scripts.model.vosk.phones import PHONES, PLACES, garbage_unit, phone_id, placed

HEADER_END = struct.Struct("<iiQqqq")  # version, flags, properties, start, states, arcs


def header_size(data: bytes, at: int) -> int:
    """Bytes of the OpenFst header at this place: magic, type name, arc name, then the fixed fields."""
    kind = struct.unpack_from("<i", data, at + 4)[0]
    arc = struct.unpack_from("<i", data, at + 8 + kind)[0]
    return 12 + kind + arc + HEADER_END.size


class Graph:
    """HCLr.fst as lists of arcs, and how to add to it."""

    def __init__(self, path: Path) -> None:
        data = path.read_bytes()
        inner = header_size(data, 0) + 4
        body = inner + header_size(data, inner)
        states, arcs = HEADER_END.unpack(data[body - HEADER_END.size : body])[4:]
        table = np.frombuffer(data, STATE, states, body)
        listed = np.frombuffer(data, ARC, arcs, body + states * STATE.itemsize)
        self.fst = Fst()
        self.fst.final = [float(s["final"]) for s in table]
        self.fst.arcs = [[tuple(a.item()) for a in listed[s["first"] : s["first"] + s["count"]]] for s in table]
        self.arcs = self.fst.arcs
        self.loop = self.fst.final.index(0.0)  # a sentence may end here alone, and every word begins here
        self.hub = next(s for s, out in enumerate(self.arcs) if s and s != self.loop and self._is_hub(out))
        self.costs = {a[0]: a[2] for out in self.arcs for a in out if a[0]}

    def _is_hub(self, out: list[tuple[int, int, float, int]]) -> bool:
        """Whether these arcs lead back to the loop, directly or through silence."""
        return len(out) == 2 and any(a[0] == 0 and a[3] == self.loop for a in out)

    def add(self, word: int, pronunciation: list[str]) -> None:
        """One chain: every phone is entered by transition 2 x phone and held by 2 x phone - 1."""
        here, label = self.loop, word
        for name, phone in zip(pronunciation, placed(pronunciation), strict=True):
            there = self.fst.state()
            self.fst.arc(there, 2 * phone - 1, 0, self._cost(name, 2 * phone - 1), there)
            self.fst.arc(here, 2 * phone, label, self._cost(name, 2 * phone), there)
            here, label = there, 0
        self.fst.arc(here, 0, 0, 0.0, self.hub)

    def _cost(self, name: str, transition: int) -> float:
        """Cost of a transition; a phone that no word has yet costs what its place in [unk] tells."""
        held = transition % 2
        for place in PLACES:
            if (used := 2 * phone_id(name, place) - held) in self.costs:
                return self.costs[used]
        staying = self.costs[2 * garbage_unit(PHONES.index(name), "I") - 1]
        return staying if held else -math.log(1 - math.exp(-staying))


def main() -> None:
    """Command line."""
    if len(sys.argv) != 3:
        raise SystemExit(__doc__)
    folder, wanted = Path(sys.argv[1]) / "graph", Path(sys.argv[2])
    lines = (folder / "words.txt").read_text(encoding="utf-8").splitlines()
    ids = {line.split()[0]: int(line.split()[1]) for line in lines}
    graph, had = Graph(folder / "HCLr.fst"), set(ids)
    try:
        new = {word: ways for word, ways in read_dictionary(wanted).items() if word not in had}
    except LexiconError as problem:
        raise SystemExit(str(problem)) from None
    for word, ways in new.items():
        ids[word] = max(ids.values()) + 1
        for way in ways:
            graph.add(ids[word], way)
    graph.fst.write_lookahead(folder / "HCLr.fst", max(ids.values()) + 1)
    (folder / "words.txt").write_text("".join(f"{w} {i}\n" for w, i in ids.items()), encoding="utf-8")
    print(f"{len(new)} words added: {' '.join(sorted(new))}")


if __name__ == "__main__":
    main()
