"""Zahlen und Einheiten in Worten: numbers and units as German crews say them."""

from __future__ import annotations

import re
from decimal import Decimal

from typing_extensions import override

from assistant.speech.wording.english_numbers import EnglishNumbers

ONES = "null eins zwei drei vier fünf sechs sieben acht neun zehn elf zwölf dreizehn vierzehn fünfzehn sechzehn".split()
ONES += "siebzehn achtzehn neunzehn".split()
TENS = "- - zwanzig dreißig vierzig fünfzig sechzig siebzig achtzig neunzig".split()
FIGURES = "null eins zwo drei vier fünf sechs sieben acht neun".split()
"""Figure by figure two is 'zwo', so that it is not taken for 'drei' (practice of German radio and telephone talk)."""
UNIT_WORDS = {
    "N*m": "Newtonmeter",
    "lbf*ft": "„foot pounds“",
    "lbf*in": "„inch pounds“",
    "kgf*m": "Kilopondmeter",
    "degC": "Grad Celsius",
    "degF": "Grad Fahrenheit",
    "mm": "Millimeter",
    "in": "Zoll",
    "deg": "Grad",
    "bar": "Bar",
    "%": "Prozent",
    "kN": "Kilonewton",
    "kip": "„kips“",
    "MPa": "Megapascal",
    "h": "Stunden",
    "times": "Mal",
    "": "",
}
ROLES = {
    "lead": "Vorarbeiter",
    "technician": "Monteur",
    "second technician": "zweiter Monteur",
    "supervisor": "Aufsicht",
}
"""Usual roles of joint files; others are said as they stand there."""


class GermanNumbers(EnglishNumbers):
    """Numbers as German trades people say them; English words stand between „ and “, for an English voice."""

    def number(self, value: Decimal) -> str:
        """180 'hundertachtzig', 405 'vierhundertfünf', 1250 'zwölfhundertfünfzig', 7.5 'sieben Komma fünf'."""
        whole, _, fraction = f"{value.normalize():f}".partition(".")
        words = self._whole(int(whole))
        return f"{words} Komma {' '.join(ONES[int(f)] for f in fraction)}" if fraction else words

    def _whole(self, n: int) -> str:
        """One word; between 1100 and 1999 in hundreds, as prices and torques are said."""
        if n < 20:
            return ONES[n]
        if n < 100:
            ten, one = TENS[n // 10], n % 10
            return f"{_joined(one)}und{ten}" if one else ten
        thousands, rest = divmod(n, 1000)
        if thousands and not (n < 2000 and rest >= 100):
            head = "" if thousands == 1 else _joined(thousands) if thousands < 20 else self._whole(thousands)
            return f"{head}tausend{self._whole(rest) if rest else ''}"
        hundreds, rest = divmod(n, 100)
        head = "" if hundreds == 1 else _joined(hundreds)
        return f"{head}hundert{self._whole(rest) if rest else ''}"

    def figures(self, value: Decimal) -> str:
        """Figure by figure: 170 'eins, sieben, null', 95 'neun, fünf', 2.5 'zwo, Komma, fünf'."""
        text = f"{value:f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return ", ".join("Komma" if c == "." else FIGURES[int(c)] for c in text)

    def amount(self, value: Decimal, unit: str, unit_said: str = "") -> str:
        """A value with its unit in words; the people's own words are English where a joint file has them."""
        del unit_said
        return f"{self.number(value)} {self._counted(value, unit)}".rstrip()

    def _counted(self, value: Decimal, unit: str) -> str:
        """German units are the same for one and for many, but for hours."""
        return "Stunde" if value == 1 and unit == "h" else UNIT_WORDS[unit]

    @override
    def unit_words(self, unit: str) -> str:
        return UNIT_WORDS[unit]

    def tool_in_words(self, name: str) -> str:
        """A tool that is spoken of, called by its number with the German word; other names as they are."""
        number = re.fullmatch(r"(wrench|multiplier) ([0-9]+)", name, flags=re.IGNORECASE)
        if number is None:
            return name
        word = "Drehmomentschlüssel" if number[1].casefold() == "wrench" else "Drehmomentvervielfältiger"
        return f"{word} {number[2]}"

    def _bolt(self, bolt: int) -> str:
        return capital(self.number(Decimal(bolt)))


def _joined(n: int) -> str:
    """A number below 20 in front of another part of its word."""
    return "ein" if n == 1 else ONES[n]


def capital(text: str) -> str:
    """The text with its first letter in upper case, the rest as it is."""
    return f"{text[:1].upper()}{text[1:]}"


def english(phrase: str) -> str:
    """A phrase that people must say: listening is English, so it is quoted, and an English voice says it."""
    return f"„{phrase}“"


def role_words(role: str) -> str:
    """A role in German where it is a usual one."""
    return ROLES.get(role.casefold(), role)
