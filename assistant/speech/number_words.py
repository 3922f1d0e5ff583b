"""The words of numbers, and what the marks of a number add up to.

Niner, fife and tree are the figure words of aviation radio (read: FAA AIM 4-2-8).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from assistant.speech.grammar import Mark

ONES = {w: i + 1 for i, w in enumerate("one two three four five six seven eight nine".split())}
RADIO = {"niner": 9, "fife": 5, "tree": 3}
NOUGHTS = ("zero", "oh", "o", "nought")
TEENS = {
    w: i + 10
    for i, w in enumerate("ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split())
}
TENS = {w: 10 * (i + 2) for i, w in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split())}
NUMERALS = {str(d): d for d in range(1, 10)}
FIGURES = {**ONES, **RADIO, **NUMERALS}
ALL_FIGURES = {**FIGURES, **dict.fromkeys(NOUGHTS, 0), "0": 0}
TIMES = {"double": 2, "triple": 3}
MOST_FIGURES = 4  # said one by one; a longer string is a restart or a slip and is marked as unclear
LONGEST_STRING = 7  # figures that are still heard as one such string
MOST_DECIMALS = 2
FINE_DECIMALS = 3  # of a length: elongations are read to a thousandth of a millimetre

NUMBER_MARKS = frozenset({"add", "hundred", "thousand", "pair", "figure", "glued", "times", "point", "decimal", "part"})


@dataclass(slots=True)
class Count:
    """A number being said: feed it the marks of `NUMBER_MARKS` in order, then take `number`."""

    total: int = 0  # thousands done
    group: int = 0
    times: int = 1
    decimals: str = ""
    part: Decimal = Decimal(0)
    by_figures: bool = False

    def take(self, mark: Mark) -> None:
        """Add what one mark says."""
        kind, n = mark[0], int(mark[1])
        if kind == "add":
            self.group += n
        elif kind in ("hundred", "pair"):
            self.group *= 100
        elif kind == "thousand":
            self.total, self.group = self.total + 1000 * self.group, 0
        elif kind in ("figure", "glued"):
            for _ in range(self.times):
                self.group = 10 * self.group + n
            self.times = 1
            self.by_figures = self.by_figures or kind == "figure"
        elif kind == "times":
            self.times = n
        elif kind == "decimal":
            self.decimals += str(n)
        elif kind == "part":
            self.part = Decimal(n) / 100

    @property
    def number(self) -> Decimal:
        """The number said so far; '310.50' keeps no trailing nought."""
        whole = Decimal(self.total + self.group) + self.part
        if not self.decimals:
            return whole
        shown = self.decimals.rstrip("0")
        return whole + Decimal(f"0.{shown}") if shown else whole
