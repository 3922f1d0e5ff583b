"""Example sentences in the proportions in which people may say them, for engines that learn word pairs from a list.

Values are spread evenly, so that none is likelier than another; the forms take turns. The proportions of readings,
bolt reports and commands are ours (common practice, no source).
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from decimal import Decimal

from assistant.speech.number_words import ALL_FIGURES, RADIO, TIMES
from assistant.speech.numbers import forms

_HALF = Decimal("0.5")
_STEP = 371  # no common factor with 999, 2000 or 400: every value comes once, neighbours far apart
_UNITS = ("newton metres", "foot pounds", "newton metres", "inch pounds", "foot pounds", "kilogram metres")
_OPENED = (
    *("correction", "no", "yes", "it's", "that's", "reading", "i got", "it is", "make that", "not", "about", "done"),
    *(
        "correction",
        "no",
        "yes",
        "sorry",
        "at",
        "value",
        "uh",
        "um",
        "around",
        "should be",
        "clicked at",
        "scratch that",
    ),
)
_LINKED = ("no", "sorry", "to", "or", "correction", "no sorry")
FIRST_WORDING, OTHER_WORDING = 12, 3  # how often a command's first wording and each of its others is listed
REPORTS = ("done", "clicked", "snug", "moved", "did not move")


def examples(
    commands: Mapping[str, tuple[str, ...]], *, values: bool, figures: bool, measures: str = ""
) -> tuple[str, ...]:
    """Example sentences of a state's grammar.

    Args:
        commands: its commands and phrases, wordings by name.
        values: with readings and bolt reports.
        figures: readings figure by figure only; with `values`.
        measures: what is read where it is no torque, as in `Expecting`.
    """
    if not values:
        return tuple(_commands(commands))
    said = _figure_readings() if figures else _readings()
    return (*_commands(commands), *said, *_measured_readings(measures, figures=figures))


@functools.lru_cache(maxsize=8)
def _measured_readings(measures: str, *, figures: bool) -> tuple[str, ...]:
    """Readings that are no torque, with their unit by turns; lengths in thousandths too."""
    fine = [Decimal(1 + n * _STEP % 999) / 1000 for n in range(0, 999, 3)] if measures == "length" else []
    coarse = [Decimal(1 + n * _STEP % 360) for n in range(0, 360, 3)] if measures in ("angle", "pressure") else []
    said = [forms(value)[0] for value in (*fine, *coarse)]
    if figures:
        return tuple(words for words in said if {*ALL_FIGURES, "point"}.issuperset(words.split()))
    unit = {"length": "millimetres", "angle": "degrees", "pressure": "bar"}.get(measures, "")
    return tuple(f"{words} {unit}" if n % 2 else words for n, words in enumerate(said))


def spread_values() -> Iterator[Decimal]:
    """Values for the examples: all of 1 to 999, fewer up to 3000, and some halves, in mixed order."""
    yield from (Decimal(1 + n * _STEP % 999) for n in range(999))
    yield from (Decimal(1000 + n * 3 * _STEP % 2000) for n in range(80))
    yield from (n * _STEP % 400 + _HALF for n in range(80))


def _commands(commands: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    for name, wordings in commands.items():
        for words in dict.fromkeys(wordings):
            yield from [words] * (FIRST_WORDING if words in (name, wordings[0]) else OTHER_WORDING)
    yield from ["note", "skip"] * FIRST_WORDING
    yield from ["take a note", "skip this bolt"] * OTHER_WORDING


@functools.lru_cache(maxsize=1)
def _readings() -> tuple[str, ...]:
    """Every value in its usual form and one other, by turns alone, with a unit, a bolt or an opening word; reports."""
    return tuple(_say())


def _say() -> Iterator[str]:
    n = 0
    for value in spread_values():
        plain = [f for f in forms(value) if not _odd(f)]
        for words in dict.fromkeys((plain[0], plain[n // 2 % len(plain)])):
            n += 1
            if n % 4 == 1:
                yield f"{words} {_UNITS[n // 4 % len(_UNITS)]}"
            elif n % 8 == 2 and value >= 10:
                yield f"bolt {forms(1 + n * 5 // 8 % 48)[0]} {words}"
            elif n % 8 == 6:
                yield f"{_OPENED[n // 8 % len(_OPENED)]} {words}"
            elif n % 32 == 4 and value >= 100:
                yield f"{words} {_LINKED[n // 32 % len(_LINKED)]} {forms(value + 1 + n % 30)[0]}"
            else:
                yield words
    for bolt in range(1, 49):
        yield f"bolt {forms(bolt)[0]}"
        yield f"bolt {forms(bolt)[0]} {REPORTS[bolt % len(REPORTS)]}"


@functools.lru_cache(maxsize=1)
def _figure_readings() -> tuple[str, ...]:
    """Every value figure by figure, in two ways by turns."""
    return tuple(_spell_out())


def _spell_out() -> Iterator[str]:
    figures = {*ALL_FIGURES, *TIMES, "point", "decimal"}
    for turn, value in enumerate(spread_values()):
        said = [f for f in forms(value) if figures.issuperset(f.split()) and not _odd(f)]
        yield from said[turn % max(len(said), 1) :][:2]


def _odd(words: str) -> bool:
    """A form with more than one rare word: they are many, and would outnumber the usual ones."""
    rare = (*RADIO, "o", "nought", "decimal", "double", "triple")
    return sum(w in rare for w in words.split()) > 1
