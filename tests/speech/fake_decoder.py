"""A token table of a few words and a decoder that has 'heard' a given text: for tests of the search without weights."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from assistant.speech.beam import Integers, Logits
from assistant.speech.tokens import BEGIN, END, FIRST_TEXT_TOKEN, SPACE, TokenTable

LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,-!?'"
MERGED = ("th", "re", "ee", "▁t", "▁th", "in", "en", "ne", "▁s", "ix", "ty", "▁o", "▁on", "hu", "ndred", "▁T", "▁Th")
EVERYWHERE = 1e-6  # probability that the decoder leaves to every token


def table_bytes(tokens: Sequence[bytes]) -> bytes:
    """Tokens in the form of the packaged table."""
    return b"".join(
        (bytes([len(t)]) if len(t) < 128 else bytes([128 + len(t) % 128, len(t) // 128])) + t for t in tokens
    )


def small_table() -> TokenTable:
    """Special tokens, 256 bytes, letters, marks and a few merged pieces."""
    special = [b"<unk>", b"<s>", b"</s>"] + [f"<{i:02x}>".encode() for i in range(FIRST_TEXT_TOKEN - 3)]
    pieces = [SPACE, *LETTERS, *MERGED]
    return TokenTable(table_bytes([*special, *(p.encode() for p in pieces)]))


class FakeDecoding:
    """Decoder that finds the given texts likely, each with its share, and everything else equally unlikely."""

    def __init__(self, table: TokenTable, shares: Mapping[tuple[int, ...], float]) -> None:
        self.table, self.shares = table, dict(shares)
        self.written: list[tuple[int, ...]] = []  # what each row has written so far
        self.batches: list[int] = []

    def step(self, tokens: Integers, parents: Integers) -> Logits:
        before = self.written
        self.written = [
            () if token == BEGIN else (*before[parent], int(token))
            for token, parent in zip(tokens.tolist(), parents.tolist(), strict=True)
        ]
        self.batches.append(len(tokens))
        out = np.full((len(tokens), len(self.table.tokens)), math.log(EVERYWHERE), np.float32)
        for row, written in enumerate(self.written):
            n = len(written)
            open_ways = {ids: p for ids, p in self.shares.items() if ids[:n] == written and len(ids) > n}
            whole = sum(open_ways.values())
            for ids, p in open_ways.items():
                out[row, ids[n]] = np.logaddexp(out[row, ids[n]], math.log(p / whole))
        return out


def heard(table: TokenTable, **shares: float) -> FakeDecoding:
    """Decoder that has heard these texts ('_' for a space), each with its share."""
    ways = {}
    for text, share in shares.items():
        ids = tuple(i for word in text.split("_") for i in table.spell(word))
        ways[(*ids, END)] = share
    return FakeDecoding(table, ways)
