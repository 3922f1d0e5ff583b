"""Everything that is said to people: one catalogue a language, chosen by `catalogue`."""

from __future__ import annotations

from assistant.speech.wording.english import English
from assistant.speech.wording.english_numbers import ONES
from assistant.speech.wording.german import German

Wording = English
"""What every catalogue offers."""
LANGUAGES = ("en", "de")


def catalogue(language: str) -> Wording:
    """The catalogue of a language of LANGUAGES.

    Raises:
        KeyError: it is not one of them (checked where a language is chosen).
    """
    return _CATALOGUES[language]


_CATALOGUES: dict[str, Wording] = {"en": English(), "de": German()}

__all__ = ["LANGUAGES", "ONES", "Wording", "catalogue"]
