"""Add words to a Vosk model's graph without training: `vosk_words.py MODEL_FOLDER WORDS_FILE`.

WORDS_FILE holds lines `word PH PH ...` in the 39 phones of the model (North American English, no stress marks); a word may
have several lines. Words that the model has are left alone. Each new word becomes a chain of phones from the graph's loop state,
with the costs that the graph has for these phones, so the acoustic model and all other words stay as they are. Changed files:
graph/HCLr.fst (with new look-ahead sets) and graph/words.txt. The model's plain bigram (Gr.fst) does not learn the new words: they
can be used in run-time grammars.

Formats, read in our own writer of these files and tried with the stock vosk 0.3.45: HCLr.fst is an OpenFst `olabel_lookahead`: a
header, 446681434, a `const` FST (states of five 4-byte fields, arcs of four), then for every state the labels that can come next, as
half-open intervals, where the label "end" is one more than the largest word id.
"""

from __future__ import annotations

import struct
import sys
from pathlib import Path

import numpy as np

PHONES = "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH".split()
STATE = np.dtype([("final", "<f4"), ("first", "<u4"), ("count", "<u4"), ("in_empty", "<u4"), ("out_empty", "<u4")])
ARC = np.dtype([("enter", "<i4"), ("word", "<i4"), ("cost", "<f4"), ("to", "<i4")])
HEADER_END = struct.Struct("<iiQqqq")  # version, flags, properties, start, states, arcs
INFINITE = np.float32("inf")

Interval = tuple[int, int]


def phone_id(name: str, position: str) -> int:
    """Number of a phone at the beginning, end, inside of a word, or alone (B, E, I, S)."""
    return 2 + 4 * PHONES.index(name) + "BEIS".index(position)


def header_size(data: bytes, at: int) -> int:
    """Bytes of the OpenFst header at this place: magic, type name, arc name, then the fixed fields."""
    kind = struct.unpack_from("<i", data, at + 4)[0]
    arc = struct.unpack_from("<i", data, at + 8 + kind)[0]
    return 12 + kind + arc + HEADER_END.size


class Graph:
    """The graph as lists of arcs, and how to write it back."""

    def __init__(self, path: Path) -> None:
        data = path.read_bytes()
        inner = header_size(data, 0) + 4
        body = inner + header_size(data, inner)
        self.head, self.inner_head = data[:inner], data[inner:body]
        states, arcs = HEADER_END.unpack(self.inner_head[-HEADER_END.size :])[4:]
        table = np.frombuffer(data, STATE, states, body)
        listed = np.frombuffer(data, ARC, arcs, body + states * STATE.itemsize)
        self.final = [float(s["final"]) for s in table]
        self.arcs = [[tuple(a.item()) for a in listed[s["first"] : s["first"] + s["count"]]] for s in table]
        self.loop = self.final.index(0.0)  # the one state in which a sentence may end, and from which every word begins
        self.hub = next(
            s for s, out in enumerate(self.arcs) if s and s != self.loop and any(a[0] == 0 and a[3] == self.loop for a in out) and len(out) == 2
        )
        self.costs = {a[0]: a[2] for out in self.arcs for a in out if a[0]}

    def add(self, word: int, pronunciation: list[str]) -> None:
        """One chain: every phone is entered by transition 2 x phone and held by 2 x phone - 1."""
        here, label = self.loop, word
        for i, name in enumerate(pronunciation):
            last = len(pronunciation) - 1
            position = "S" if last == 0 else "B" if i == 0 else "E" if i == last else "I"
            phone = phone_id(name, position)
            self.arcs.append([(2 * phone - 1, 0, self._cost(name, 2 * phone - 1), len(self.arcs))])
            self.final.append(float(INFINITE))
            self.arcs[here].append((2 * phone, label, self._cost(name, 2 * phone), len(self.arcs) - 1))
            here, label = len(self.arcs) - 1, 0
        self.arcs[here].append((0, 0, 0.0, self.hub))

    def _cost(self, name: str, transition: int) -> float:
        """Cost of a transition; a position that the graph never used costs what the others of this phone do."""
        if transition in self.costs:
            return self.costs[transition]
        odd = transition % 2
        return next(self.costs[t] for p in "IBES" if (t := 2 * phone_id(name, p) - odd) in self.costs)

    def write(self, path: Path, end_label: int) -> None:
        """Write the graph with its look-ahead sets."""
        for out in self.arcs:
            out.sort(key=lambda a: (a[1], a[0]))
        table, listed = np.zeros(len(self.arcs), STATE), np.array([a for out in self.arcs for a in out], ARC)
        first = 0
        for s, out in enumerate(self.arcs):
            table[s] = (self.final[s], first, len(out), sum(a[0] == 0 for a in out), sum(a[1] == 0 for a in out))
            first += len(out)
        version, flags, properties, start, _, _ = HEADER_END.unpack(self.inner_head[-HEADER_END.size :])
        inner = self.inner_head[: -HEADER_END.size] + HEADER_END.pack(version, flags, properties, start, len(self.arcs), len(listed))
        parts = [self.head, inner, table.tobytes(), listed.tobytes(), b"\x01\x00\x01\x00\x00", struct.pack("<iq", end_label, len(self.arcs))]
        for intervals in self._reachable(end_label):
            parts.append(struct.pack("<q", len(intervals)) + b"".join(struct.pack("<ii", *i) for i in intervals))
            parts.append(struct.pack("<i", sum(b - a for a, b in intervals)))
        path.write_bytes(b"".join(parts))

    def _reachable(self, end_label: int) -> list[tuple[Interval, ...]]:
        """For every state the words that can come out next, and `end_label` where the end can be reached without one."""
        sets = [
            _merged([(a[1], a[1] + 1) for a in out if a[1]] + ([(end_label, end_label + 1)] if final != INFINITE else []))
            for out, final in zip(self.arcs, self.final, strict=True)
        ]
        children = [[a[3] for a in out if not a[1] and a[3] != s] for s, out in enumerate(self.arcs)]
        changed = True
        while changed:
            changed = False
            for s in range(len(sets) - 1, -1, -1):
                more = {sets[c] for c in children[s]} - {sets[s], ()}
                if more:
                    new = _merged([i for part in more for i in part] + list(sets[s]))
                    if new != sets[s]:
                        sets[s], changed = new, True
        return sets


def _merged(intervals: list[Interval]) -> tuple[Interval, ...]:
    out: list[Interval] = []
    for a, b in sorted(set(intervals)):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return tuple(out)


def main() -> None:
    """Command line."""
    if len(sys.argv) != 3:
        raise SystemExit(__doc__)
    folder, wanted = Path(sys.argv[1]) / "graph", Path(sys.argv[2])
    lines = (folder / "words.txt").read_text(encoding="utf-8").splitlines()
    ids = {line.split()[0]: int(line.split()[1]) for line in lines}
    graph, had = Graph(folder / "HCLr.fst"), set(ids)
    for line in wanted.read_text(encoding="utf-8").splitlines():
        word, *pronunciation = line.split("#")[0].split() or [""]
        unknown = [p for p in pronunciation if p not in PHONES]
        if unknown or (word and not pronunciation):
            raise SystemExit(f"{wanted}: {line!r}: {' '.join(unknown) or 'nothing'} is no phone; phones are {' '.join(PHONES)}")
        if word and word not in had:
            graph.add(ids.setdefault(word, max(ids.values()) + 1), pronunciation)
    graph.write(folder / "HCLr.fst", max(ids.values()) + 1)
    (folder / "words.txt").write_text("".join(f"{w} {i}\n" for w, i in ids.items()), encoding="utf-8")
    print(f"{len(ids) - len(had)} words added: {' '.join(sorted(set(ids) - had))}")


if __name__ == "__main__":
    main()
