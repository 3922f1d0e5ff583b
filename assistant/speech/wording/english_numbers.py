"""Numbers and units as words, for the ear."""

from __future__ import annotations

from decimal import Decimal

from assistant.bolting.remark import Figure
from assistant.speech.confusable import spelled

ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen".split()
ONES += "seventeen eighteen nineteen".split()
TENS = "- - twenty thirty forty fifty sixty seventy eighty ninety".split()
UNIT_WORDS = {
    "N*m": "newton metres",
    "lbf*ft": "foot pounds",
    "lbf*in": "inch pounds",
    "kgf*m": "kilogram metres",
    "degC": "degrees Celsius",
    "degF": "degrees Fahrenheit",
    "mm": "millimetres",
    "in": "inches",
    "deg": "degrees",
    "bar": "bar",
    "%": "percent",
    "kN": "kilonewtons",
    "kip": "kips",
    "MPa": "megapascals",
    "h": "hours",
    "times": "times",
    "": "",
}
ONE_OF = {
    "N*m": "newton metre",
    "lbf*ft": "foot pound",
    "lbf*in": "inch pound",
    "kgf*m": "kilogram metre",
    "degC": "degree Celsius",
    "degF": "degree Fahrenheit",
    "mm": "millimetre",
    "in": "inch",
    "deg": "degree",
    "bar": "bar",
    "%": "percent",
    "kN": "kilonewton",
    "kip": "kip",
    "MPa": "megapascal",
    "h": "hour",
    "times": "time",
    "": "",
}
"""Of just one."""


class EnglishNumbers:
    """Numbers as people say them on site."""

    def number(self, value: Decimal) -> str:
        """A value as people say it on site: 180 'one eighty', 405 'four oh five', 57.5 'fifty seven point five'."""
        whole, _, fraction = f"{value.normalize():f}".partition(".")
        words = self._whole(int(whole))
        return f"{words} point {' '.join(ONES[int(f)] for f in fraction)}" if fraction else words

    def _whole(self, n: int) -> str:
        if n < 20:
            return ONES[n]
        if n < 100:
            return TENS[n // 10] + (f" {ONES[n % 10]}" if n % 10 else "")
        if n % 1000 == 0:
            return f"{self._whole(n // 1000)} thousand"
        if n > 2000 or (n > 1000 and (n // 100) % 10 == 0):
            hundreds, rest = divmod(n % 1000, 100)
            said = f"{ONES[hundreds]} hundred" if hundreds else ""
            tail = f"and {self._whole(rest)}" if rest else ""
            return " ".join(w for w in (self._whole(n // 1000), "thousand", said, tail) if w)
        return self._hundreds(n)

    def _hundreds(self, n: int) -> str:
        """Below 2000, in hundreds: 1250 'twelve fifty'."""
        rest = n % 100
        if n < 100:
            return self._whole(n)
        if rest == 0:
            return f"{self._whole(n // 100)} hundred"
        return f"{self._whole(n // 100)} {'oh ' if rest < 10 else ''}{self._whole(rest)}"

    def figures(self, value: Decimal) -> str:
        """Figure by figure, five and nine as radio practice says them (read: FAA AIM 4-2-8): 95 'niner, fife'."""
        return ", ".join(spelled(value).split())

    def amount(self, value: Decimal, unit: str, unit_said: str = "") -> str:
        """A value with its unit in words: the people's own where they have some, else the usual ones."""
        return f"{self.number(value)} {unit_said or self._counted(value, unit)}".rstrip()

    def _counted(self, value: Decimal, unit: str) -> str:
        """'one millimetre', but 'two millimetres', 'one point five inches', 'one degree Celsius'."""
        words = UNIT_WORDS[unit]
        return words if value != 1 else ONE_OF[unit]

    def unit_words(self, unit: str) -> str:
        """The unit as it is said."""
        return UNIT_WORDS[unit]

    def _bolt(self, bolt: int) -> str:
        return self.number(Decimal(bolt)).capitalize()

    def _part(self, part: Figure | str) -> str:
        """A figure or a name within such a sentence."""
        if isinstance(part, str):
            return self.tool_in_words(part)
        return self.unit_words(part.unit) if part.value is None else self.amount(part.value, part.unit)

    def tool_in_words(self, name: str) -> str:
        """A tool that is spoken of; other names as they are."""
        return name
