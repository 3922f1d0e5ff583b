"""The language of spoken numbers as a piece of word automaton.

Four ways of saying a number, all with British and American habits: as a cardinal ("three hundred [and] ten", "twelve
hundred"), grouped ("three ten", "twelve fifty"), figure by figure ("three one oh", "double five"), and as numerals the
way listeners write them. Forms in which a figure may be lost unseen are refused: no leading nought, decimals only after
'point', no 'hundred' without a figure before it. Forms that have two readings ("twenty five hundred" is 2500, or two
numbers with a word lost; "twenty two fifty") are in the language, so that they are heard as what they are, but marked
as unclear. Common practice of the trade, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.speech.grammar import GrammarBuilder
from assistant.speech.number_words import (
    ALL_FIGURES,
    FIGURES,
    LONGEST_STRING,
    MOST_DECIMALS,
    MOST_FIGURES,
    NOUGHTS,
    NUMERALS,
    ONES,
    TEENS,
    TENS,
    TIMES,
)

_GLUED = {f"+{n}": n for n in range(10)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinds:
    """Which forms of numbers to take in.

    Args:
        single: one figure alone.
        nought: with `single`, also nought alone.
        tens: 10 to 99 as cardinals.
        large: from 100 on, as cardinals and grouped.
        strings: fewest and most figures said one by one; None: none are taken.
        unclear: also the forms that have two readings, and strings that are too long or begin with a nought.
        fraction: 'point five', 'and a half' may follow.
        block: fewest and most numerals in one piece; None: none are taken.
        decimals: most figures behind the point.
    """

    single: bool = False
    nought: bool = True
    tens: bool = False
    large: bool = False
    strings: tuple[int, int] | None = None
    unclear: bool = False
    fraction: bool = True
    block: tuple[int, int] | None = None
    decimals: int = MOST_DECIMALS


ANY = Kinds(single=True, tens=True, large=True, strings=(2, MOST_FIGURES), unclear=True, block=(1, 5))
CLEAR = Kinds(tens=True, large=True, strings=(3, MOST_FIGURES), block=(2, 5))
"""Numbers in which 'oh', 'no', 'to' or 'or' behind them can be no figure: all but one or two single figures."""
SHORT = Kinds(single=True, strings=(2, 2), unclear=True, block=(1, 1))
"""The rest: CLEAR and SHORT together are ANY."""
SECOND = Kinds(large=True, strings=(3, MOST_FIGURES), block=(3, 5))
"""Numbers that can't be the rest of the number before them: from 100 on."""
FIGURES_ONLY = Kinds(single=True, strings=(2, MOST_FIGURES), unclear=True, block=(1, 5))
IN_WORDS = Kinds(tens=True, large=True)
"""What a person says who was asked for figures and forgot."""
BOLTS = Kinds(single=True, nought=False, tens=True, fraction=False, block=(1, 2))
"""1 to 99, never figure by figure: 'bolt one two fifty' would have two readings."""


def add_number(g: GrammarBuilder, a: int, z: int, kinds: Kinds) -> None:
    """Put all numbers of these kinds between the states a and z."""
    whole = g.state() if kinds.fraction else z
    if kinds.single:
        _words(g, a, whole, {**FIGURES, "zero": 0, "nought": 0} if kinds.nought else FIGURES)
    if kinds.tens:
        _two(g, a, whole)
    if kinds.large:
        _cardinal(g, a, whole)
        _grouped(g, a, whole, {**TEENS} if kinds.strings else {**ONES, **TEENS})
    if kinds.unclear:
        _two_readings(g, a, whole)
    if kinds.strings is not None:
        _string(g, a, whole, kinds.strings, unclear=kinds.unclear)
    decimals = kinds.decimals if kinds.fraction else 0
    if decimals:
        _fraction(g, whole, z, decimals)
    if kinds.single and kinds.nought:
        g.arc(a, nought := g.state(), "0", ("glued", 0))
        _numeral_end(g, nought, z, decimals)
    if kinds.block is not None:
        _block(g, a, z, *kinds.block, decimals=decimals)


def _words(g: GrammarBuilder, a: int, b: int, words: dict[str, int], kind: str = "add") -> None:
    for word, n in words.items():
        g.arc(a, b, word, (kind, n))


def _two(g: GrammarBuilder, a: int, b: int) -> None:
    """10..99, in words or as two numerals."""
    _words(g, a, b, TEENS)
    _words(g, a, b, TENS)
    c, d = g.state(), g.state()
    _words(g, a, c, TENS)
    _words(g, c, b, ONES)
    _words(g, a, d, {numeral: 10 * n for numeral, n in NUMERALS.items()})
    _words(g, d, b, _GLUED)


def _small(g: GrammarBuilder, a: int, b: int) -> None:
    """1..99."""
    _words(g, a, b, ONES)
    _words(g, a, b, NUMERALS)
    _two(g, a, b)


def _hundreds(g: GrammarBuilder, a: int, b: int, heads: dict[str, int]) -> None:
    """'three hundred', 'three hundred [and] ten'; the head is one word."""
    head, hundred, rest = g.state(), g.state(), g.state()
    _words(g, a, head, heads)
    g.arc(head, hundred, "hundred", ("hundred", 0))
    g.skip(hundred, b)
    g.skip(hundred, rest)
    g.arc(hundred, rest, "and")
    _small(g, rest, b)


def _cardinal(g: GrammarBuilder, a: int, b: int) -> None:
    """From 100 on: hundreds up to nineteen hundred, thousands with what may follow them."""
    _hundreds(g, a, b, {**ONES, **NUMERALS, **TEENS, "a": 1})
    head, thousand, rest, after = g.state(), g.state(), g.state(), g.state()
    _small(g, a, head)
    g.arc(a, head, "a", ("add", 1))
    g.arc(head, thousand, "thousand", ("thousand", 0))
    g.skip(thousand, b)
    g.skip(thousand, rest)
    g.arc(thousand, rest, "and")
    _small(g, rest, b)
    g.skip(thousand, after)
    _hundreds(g, rest, b, ONES)
    _pair(g, after, b, ONES)  # one thousand two fifty


def _pair(g: GrammarBuilder, a: int, b: int, heads: dict[str, int]) -> None:
    """A head and two figures said as one number: 'three ten', 'twelve fifty'."""
    head, tail = g.state(), g.state()
    _words(g, a, head, heads)
    g.skip(head, tail, ("pair", 0))
    _two(g, tail, b)


def _grouped(g: GrammarBuilder, a: int, b: int, before_nought: dict[str, int]) -> None:
    """'three ten', 'four oh five', 'twelve fifty', 'twelve oh five', '3 10', '12 50'."""
    _pair(g, a, b, {**ONES, **NUMERALS})
    _pair(g, a, b, TEENS)
    numeral, head, nought = g.state(), g.state(), g.state()
    g.arc(a, numeral, "1", ("glued", 1))
    _words(g, numeral, head, _GLUED, "glued")
    g.skip(head, tail := g.state(), ("pair", 0))
    _two(g, tail, b)
    last = g.state()
    _words(g, a, nought, before_nought)
    g.skip(nought, zero := g.state(), ("pair", 0))
    for word in NOUGHTS:
        g.arc(zero, last, word)
    _words(g, last, b, ONES)


def _two_readings(g: GrammarBuilder, a: int, b: int) -> None:
    """'twenty five hundred', 'twenty two fifty', 'twenty [four] oh five': heard, but as unclear."""
    mark = ("unclear", "grouping")
    tens, head, rest = g.state(), g.state(), g.state()
    for word in TENS:
        g.arc(a, tens, word, mark)
    for word in ONES:
        g.arc(tens, head, word)
    g.arc(head, rest, "hundred")
    g.skip(rest, b)
    tail, last, nought = g.state(), g.state(), g.state()
    g.skip(rest, tail)
    g.arc(rest, tail, "and")
    _small(g, tail, b)
    _two(g, head, b)
    for state in (tens, head):
        for word in NOUGHTS:
            g.arc(state, nought, word)
    for word in ONES:
        g.arc(nought, last, word)
    g.skip(last, b)


def _string(g: GrammarBuilder, a: int, b: int, lengths: tuple[int, int], *, unclear: bool) -> None:
    """Figure by figure, with 'double' and 'triple'; too many figures or a leading nought are marked as unclear."""
    most = LONGEST_STRING if unclear else lengths[1]
    after = [a] + [g.state() for _ in range(most)]
    for i, here in enumerate(after):
        first = FIGURES if i == 0 else ALL_FIGURES
        if i + 1 <= most:
            _words(g, here, after[i + 1], first, "figure")
        for word, times in TIMES.items():
            if i + times <= most:
                g.arc(here, repeated := g.state(), word, ("times", times))
                _words(g, repeated, after[i + times], first, "figure")
        if lengths[0] <= i <= lengths[1]:
            g.skip(here, b)
        elif i > MOST_FIGURES:
            g.skip(here, b, ("unclear", "figures"))
    if unclear:
        _leading_nought(g, a, b)


def _leading_nought(g: GrammarBuilder, a: int, b: int) -> None:
    here = g.state()
    for word in NOUGHTS:
        g.arc(a, here, word, ("unclear", "figures"))
    for _ in range(MOST_FIGURES):
        there = g.state()
        _words(g, here, there, ALL_FIGURES, "figure")
        g.skip(there, b)
        here = there


def _block(g: GrammarBuilder, a: int, z: int, fewest: int, most: int, *, decimals: int) -> None:
    """Numerals written in one piece: '310', '1,200', '35.25'. A point may follow numerals only, never a word."""
    done, comma = g.state(), g.state()
    here = a
    for i in range(1, most + 1):
        there = g.state()
        if i == 1:
            _words(g, here, there, NUMERALS, "glued")
        else:
            _words(g, here, there, _GLUED, "glued")
        if i >= fewest:
            g.skip(there, done)
        if i <= 2 and most > 3:
            g.arc(there, comma, "+,")
        here = there
    thousands = comma
    for _ in range(3):
        there = g.state()
        _words(g, thousands, there, _GLUED, "glued")
        thousands = there
    g.skip(thousands, done)
    _numeral_end(g, done, z, decimals)


def _numeral_end(g: GrammarBuilder, done: int, z: int, decimals: int) -> None:
    g.skip(done, z)
    if decimals:
        point = g.state()
        g.arc(done, point, "+.", ("point", 0))
        _decimals(g, point, z, _GLUED, decimals)
        _fraction(g, done, z, decimals)


def _decimals(g: GrammarBuilder, a: int, z: int, words: dict[str, int], most: int) -> None:
    for _ in range(most):
        there = g.state()
        _words(g, a, there, words, "decimal")
        g.skip(there, z)
        a = there


def _fraction(g: GrammarBuilder, whole: int, z: int, decimals: int) -> None:
    """Nothing, 'point five', 'decimal two five', 'and a half', 'and a quarter', 'and three quarters'."""
    g.skip(whole, z)
    point, and_ = g.state(), g.state()
    g.arc(whole, point, "point", ("point", 0))
    g.arc(whole, point, "decimal", ("point", 0))
    _decimals(g, point, z, ALL_FIGURES, decimals)
    g.arc(whole, and_, "and")
    g.phrase(and_, z, "a half", ("part", 50))
    g.phrase(and_, z, "a quarter", ("part", 25))
    g.phrase(and_, z, "three quarters", ("part", 75))
