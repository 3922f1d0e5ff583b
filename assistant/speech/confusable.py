"""Which numbers are taken for which, and how to read a number back so that they are not.

Teens and tens (fifteen, fifty) are the classic pair. *Nine* and *five* were what two agreeing listeners still got wrong
most often in our own measurements, hence the radio words niner and fife. Engines and tired people drop a word or say
a figure twice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

FIGURE_WORDS = ("zero", "one", "two", "three", "four", "fife", "six", "seven", "eight", "niner")
_TWINS = {"5": "9", "9": "5"}
_LONGEST = 4  # figures before the point


def spelled(value: Decimal) -> str:
    """The number figure by figure for a read-back: Decimal("59.5") is 'fife niner point fife'. No trailing noughts
    after the point; value finite, >= 0.
    """
    return " ".join("point" if c == "." else FIGURE_WORDS[int(c)] for c in _plain(value))


def teen_or_ten(value: Decimal) -> bool:
    """Whether the number has a part that is a teen/ten twin (13/30 ... 19/90): its read-back is spelled."""
    return any(True for _ in teen_ten_twins(int(value)))


def figure_by_figure(value: Decimal, text: str, *, by_figures: bool) -> bool:
    """Whether a number of three figures or more was said one by one: 'two one six' is not taken for 'two sixty'.

    'One seven' may be a 'one seventy' that lost its end.

    Args:
        value: the number.
        text: as it was heard; one with numerals does not tell how the number was said.
        by_figures: so it was said, by its words.
    """
    return by_figures and value >= 100 and not re.search(r"\d", text)


def confusable_with(value: Decimal) -> tuple[Decimal, ...]:
    """Numbers that are easily heard instead of this one, or said instead of it, rising, without itself.

    Teen/ten twins; five for nine in any one figure; one figure dropped or doubled; the end or the head of the number
    lost ('three hundred' of 'three hundred and ten'); the point or the fraction lost.

    Args:
        value: finite, >= 0.
    """
    found = {*_twin_figures(value), *_dropped(value), *_lost(value)}
    found |= {Decimal(n) + value % 1 for n in teen_ten_twins(int(value))}
    return tuple(sorted(found - {value, Decimal(0)}))


def confusable(a: Decimal, b: Decimal) -> bool:
    """Whether one of two different numbers is easily heard instead of the other."""
    return a != b and (b in confusable_with(a) or a in confusable_with(b))


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def teen_ten_twins(n: int) -> Iterator[int]:
    """The number with a teen turned into its ten or back: in the last two figures, or in those of the thousands."""
    for unit in (1, 1000):
        end = n // unit % (100 if unit == 1 else 1000)
        if 13 <= end <= 19:
            yield n + ((end % 10) * 10 - end) * unit
        elif 30 <= end <= 90 and end % 10 == 0:
            yield n + (10 + end // 10 - end) * unit


def _twin_figures(value: Decimal) -> Iterator[Decimal]:
    text = _plain(value)
    for i, c in enumerate(text):
        if c in _TWINS:
            yield Decimal(text[:i] + _TWINS[c] + text[i + 1 :])


def _dropped(value: Decimal) -> Iterator[Decimal]:
    whole, _, rest = _plain(value).partition(".")
    tail = f".{rest}" if rest else ""
    for i, c in enumerate(whole):
        shorter = whole[:i] + whole[i + 1 :]
        if shorter and shorter[0] != "0":
            yield Decimal(shorter + tail)
        if len(whole) < _LONGEST and whole[0] != "0":
            yield Decimal(whole[:i] + c + whole[i:] + tail)


def _lost(value: Decimal) -> Iterator[Decimal]:
    whole = int(value)
    for unit in (10, 100, 1000):
        if whole > unit:
            yield Decimal(whole - whole % unit)
            yield Decimal(whole % unit) + value % 1
    if value != whole:
        yield Decimal(whole)
        yield Decimal(_plain(value).replace(".", ""))
