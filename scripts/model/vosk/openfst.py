"""OpenFst files as the stock Vosk wheel reads them: HCLr.fst (`olabel_lookahead`) and Gr.fst (`const` acceptor).

A header is magic, type name, arc name, version, flags, properties, start, states, arcs. A `const` FST follows with
states of five four-byte fields and arcs of four. `olabel_lookahead` is an empty header, 446681434, a whole `const` FST
sorted by word, then the add-on: for every state the words that can come out next without another before, as half-open
intervals, where "the end can be reached without a word" is the label one above the largest word. Source: OpenFst's
sources, read; tried with the wheel vosk 0.3.45.
"""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np

MAGIC, ADD_ON = 2125659606, 446681434
EXPANDED, ACCEPTOR, NOT_ACCEPTOR = 0x1, 0x10000, 0x20000
IN_SORTED, OUT_SORTED = 0x10000000, 0x40000000
NEVER = float("inf")  # cost of ending in a state that is not final

STATE = np.dtype([("final", "<f4"), ("first", "<u4"), ("count", "<u4"), ("in_empty", "<u4"), ("out_empty", "<u4")])
ARC = np.dtype([("enter", "<i4"), ("word", "<i4"), ("cost", "<f4"), ("to", "<i4")])

Interval = tuple[int, int]
Intervals = tuple[Interval, ...]


def merged(intervals: list[Interval]) -> Intervals:
    """Half-open intervals, sorted, with touching ones joined."""
    out: list[Interval] = []
    for a, b in sorted(set(intervals)):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return tuple(out)


class Fst:
    """States and arcs; state 0 is the start. An arc: transition id, word id (0 is none), cost, next state."""

    def __init__(self) -> None:
        self.arcs: list[list[tuple[int, int, float, int]]] = []
        self.final: list[float] = []

    def state(self) -> int:
        """A new state; its number."""
        self.arcs.append([])
        self.final.append(NEVER)
        return len(self.arcs) - 1

    def arc(self, source: int, enter: int, word: int, cost: float, to: int) -> None:
        """A new arc."""
        self.arcs[source].append((enter, word, cost, to))

    def _const(self, properties: int) -> bytes:
        table = np.zeros(len(self.arcs), STATE)
        listed = np.array([a for out in self.arcs for a in out], ARC)
        first = 0
        for s, out in enumerate(self.arcs):
            empty = sum(a[0] == 0 for a in out), sum(a[1] == 0 for a in out)
            table[s] = (self.final[s], first, len(out), *empty)
            first += len(out)
        head = _header("const", properties, 2, 0, len(self.arcs), len(listed))
        return head + table.tobytes() + listed.tobytes()

    def write_acceptor(self, path: Path) -> None:
        """Write Gr.fst; every arc must carry the same label twice."""
        for out in self.arcs:
            out.sort(key=lambda a: a[0])
        path.write_bytes(self._const(EXPANDED | ACCEPTOR | IN_SORTED | OUT_SORTED))

    def write_lookahead(self, path: Path, end_label: int) -> None:
        """Write HCLr.fst; `end_label` must be one above the largest word id."""
        for out in self.arcs:
            out.sort(key=lambda a: (a[1], a[0]))
        properties = EXPANDED | NOT_ACCEPTOR | OUT_SORTED
        parts = [
            _header("olabel_lookahead", properties, 1, -1, 0, 0),
            struct.pack("<i", ADD_ON),
            self._const(properties),
        ]
        parts.append(
            b"\x01\x00\x01\x00\x00"
        )  # add-on there; none for input, one for output; not by input; no relabelling
        parts.append(struct.pack("<iq", end_label, len(self.arcs)))
        for intervals in self.reachable(end_label):
            parts.append(struct.pack("<q", len(intervals)) + b"".join(struct.pack("<ii", *i) for i in intervals))
            parts.append(struct.pack("<i", sum(b - a for a, b in intervals)))
        path.write_bytes(b"".join(parts))

    def reachable(self, end_label: int) -> list[Intervals]:
        """For every state the words that can come out next, and `end_label` where the end needs none."""
        own, below = [], []
        for s, out in enumerate(self.arcs):
            words = {a[1] for a in out if a[1]} | ({end_label} if self.final[s] != NEVER else set())
            own.append(merged([(w, w + 1) for w in words]))
            below.append([a[3] for a in out if not a[1] and a[3] != s])
        order, changed = _children_first(below), True
        while changed:
            changed = False
            for s in order:
                parts = {own[d] for d in below[s]} - {own[s], ()}
                if parts:
                    new = merged([i for part in parts for i in part] + list(own[s]))
                    if new != own[s]:
                        own[s], changed = new, True
        return own


def _header(kind: str, properties: int, version: int, start: int, states: int, arcs: int) -> bytes:
    name, arc = kind.encode(), b"standard"
    out = struct.pack("<ii", MAGIC, len(name)) + name + struct.pack("<i", len(arc)) + arc
    return out + struct.pack("<iiQqqq", version, 0, properties, start, states, arcs)


def _children_first(below: list[list[int]]) -> list[int]:
    """States in an order that settles the reachable words in one or two sweeps."""
    order, seen = [], [False] * len(below)
    for root in range(len(below)):
        if seen[root]:
            continue
        seen[root], stack = True, [(root, iter(below[root]))]
        while stack:
            state, children = stack[-1]
            child = next((d for d in children if not seen[d]), None)
            if child is None:
                order.append(state)
                stack.pop()
            else:
                seen[child] = True
                stack.append((child, iter(below[child])))
    return order
