"""Spoken numbers: the value of words, and every way to say a value.

`value` walks the automaton of `number_words`; `forms` builds the wordings from the value itself. The two are written
independently of each other, and the tests hold them against each other for every half from 0 to 5000.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Iterator
from decimal import Decimal

from assistant.speech.confusable import confusable, confusable_with, spelled, teen_or_ten
from assistant.speech.grammar import Grammar, GrammarBuilder, Marks
from assistant.speech.meaning import Command, Meaning, Value
from assistant.speech.number_language import ANY, add_number
from assistant.speech.number_words import (
    FINE_DECIMALS,
    MOST_FIGURES,
    NOUGHTS,
    NUMBER_MARKS,
    ONES,
    RADIO,
    TEENS,
    TENS,
    TIMES,
    Count,
)

__all__ = ["confusable", "confusable_with", "forms", "number_grammar", "spelled", "teen_or_ten", "value"]

LARGEST = 5000  # values up to here have all their forms; larger ones are understood, but not worded by `forms`
_ONE = {n: w for w, n in ONES.items()}
_TEEN = {n: w for w, n in TEENS.items()}
_TEN = {n: w for w, n in TENS.items()}
_FIGURE = {n: (w, *(r for r, m in RADIO.items() if m == n)) for n, w in _ONE.items()} | {0: NOUGHTS}
_TIMES = {n: w for w, n in TIMES.items()}


def read_number(marks: Marks) -> Meaning | None:
    """What the marks of one number add up to: a value without unit, or the refusal that is in them."""
    count = Count()
    for mark in marks:
        if mark[0] == "unclear":
            return Command(f"unclear-{mark[1]}")
        if mark[0] in NUMBER_MARKS:
            count.take(mark)
    return Value(count.number, by_figures=count.by_figures)


@functools.lru_cache(maxsize=1)
def number_grammar() -> Grammar:
    """The grammar of one number alone, in every form."""
    g = GrammarBuilder()
    end = g.state()
    add_number(g, 0, end, ANY)
    g.end(end)
    return g.build("number", read_number)


def value(words: str | tuple[str, ...]) -> Decimal | None:
    """The one number that these words say, or None: no number, two readings, or a form that is refused.

    Args:
        words: lower case, a string with single spaces or a tuple; glued numerals as in `speech.grammar`.
    """
    said = tuple(words.split()) if isinstance(words, str) else words
    found = number_grammar().meaning(said)
    return found.number if isinstance(found, Value) else None


def forms(number: Decimal | int) -> tuple[str, ...]:
    """Every way to say a number, the usual ones first, without numerals and without noughts behind the last decimal.

    Args:
        number: finite, 0 to 5000, with at most three decimals (three are understood of a length only).

    Raises:
        ValueError: it is not.
    """
    exact = Decimal(number)
    if not (exact.is_finite() and 0 <= exact <= LARGEST and exact * 10**FINE_DECIMALS % 1 == 0):
        raise ValueError(f"{number} has no spoken forms: 0 to {LARGEST} with at most {FINE_DECIMALS} decimals")
    whole = int(exact)
    heads = [*_grouped(whole), *_cardinals(whole), *_strings(whole)]
    return tuple(dict.fromkeys(f"{head}{tail}" for tail in _tails(exact - whole) for head in heads))


def _tails(fraction: Decimal) -> Iterator[str]:
    if not fraction:
        yield ""
        return
    figures = f"{fraction.normalize():f}"[2:]
    for point in ("point", "decimal"):
        for words in itertools.product(*(_FIGURE[int(c)] for c in figures)):
            yield f" {point} {' '.join(words)}"
    parts = {"0.5": "a half", "0.25": "a quarter", "0.75": "three quarters"}
    if part := parts.get(f"{fraction.normalize():f}"):
        yield f" and {part}"


def _two(n: int) -> str:
    """10..99 as a cardinal."""
    if n < 20:
        return _TEEN[n]
    return _TEN[n - n % 10] + (f" {_ONE[n % 10]}" if n % 10 else "")


def _small(n: int) -> str:
    """1..99 as a cardinal."""
    return _ONE[n] if n < 10 else _two(n)


def _grouped(n: int) -> Iterator[str]:
    """'three ten', 'four oh five', 'twelve fifty', 'twelve oh five'."""
    head, rest = divmod(n, 100)
    if not 1 <= head <= 19 or rest == 0:
        return
    if rest >= 10:
        yield f"{_small(head)} {_two(rest)}"
    else:
        yield from (f"{_small(head)} {nought} {_ONE[rest]}" for nought in NOUGHTS)


def _cardinals(n: int) -> Iterator[str]:
    """'three hundred [and] ten', 'a hundred', 'twelve hundred', 'two thousand [and] five', 'one thousand two fifty'."""
    if n == 0:
        yield from ("zero", "nought")
    elif n < 100:
        yield _small(n)
    else:
        yield from _hundreds(n)
        yield from _thousands(n)


def _hundreds(n: int) -> Iterator[str]:
    head, rest = divmod(n, 100)
    if not 1 <= head <= 19:
        return
    for name in (_small(head), "a") if head == 1 else (_small(head),):
        if rest == 0:
            yield f"{name} hundred"
        else:
            yield from (f"{name} hundred {link}{_small(rest)}" for link in ("and ", ""))


def _thousands(n: int) -> Iterator[str]:
    head, rest = divmod(n, 1000)
    if head == 0:
        return
    for name in (_small(head), "a") if head == 1 else (_small(head),):
        if rest == 0:
            yield f"{name} thousand"
        elif rest < 100:
            yield from (f"{name} thousand {link}{_small(rest)}" for link in ("and ", ""))
        else:
            says = [f for f in _hundreds(rest) if not f.startswith("a ")]
            yield from (f"{name} thousand {link}{words}" for link in ("", "and ") for words in says)
            if rest % 100 >= 10:
                yield f"{name} thousand {_ONE[rest // 100]} {_two(rest % 100)}"


def _strings(n: int) -> Iterator[str]:
    """Figure by figure, with 'double' and 'triple' for figures that repeat; a nought is never first."""
    text = str(n)
    if n == 0 or len(text) > MOST_FIGURES:
        return
    for pieces in _runs(text):
        ways = ([f"{_TIMES[k]} {w}" if k > 1 else w for w in _FIGURE[int(c)]] for c, k in pieces)
        yield from (" ".join(words) for words in itertools.product(*ways))


def _runs(text: str) -> Iterator[tuple[tuple[str, int], ...]]:
    """All ways to cut a string of figures into single, doubled and tripled ones; single ones first."""
    if not text:
        yield ()
        return
    for k in (1, *_TIMES):
        if text[:k] == text[0] * k:
            yield from (((text[0], k), *rest) for rest in _runs(text[k:]))
