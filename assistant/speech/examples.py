"""Example sentences in the proportions in which people may say them, for engines that learn word pairs from a list.

Values are spread evenly, so that none is likelier than another; the forms take turns. The proportions of readings,
bolt reports and commands are ours (common practice, no source).
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import count

from assistant.speech.number_words import ALL_FIGURES, RADIO, TIMES
from assistant.speech.numbers import forms

_HALVES = (Decimal("0.5"), Decimal("2.5"))
_STEP = 37  # no common factor with 100 or 1000: visits all remainders before it repeats
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


def examples(commands: Mapping[str, tuple[str, ...]], *, values: bool, figures: bool) -> tuple[str, ...]:
    """Example sentences of a state's grammar.

    Args:
        commands: its commands and phrases, wordings by name.
        values: with readings and bolt reports.
        figures: readings figure by figure only; with `values`.
    """
    return (*_commands(commands), *(() if not values else _figure_readings() if figures else _readings()))


def spread_values() -> Iterator[Decimal]:
    """Values for the examples: all of 1 to 99, then evenly from 100 to 999, fewer to 3000, and some halves."""
    yield from (Decimal(n) for n in range(1, 100))
    yield from (Decimal(100 + n * _STEP % 900) for n in range(300))
    yield from (Decimal(1000 + n * _STEP * 3 % 2000) for n in range(80))
    for whole in (n * _STEP % 400 for n in range(60)):
        yield whole + _HALVES[0]


def _commands(commands: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    for name, wordings in commands.items():
        for words in dict.fromkeys(wordings):
            yield from [words] * (FIRST_WORDING if words in (name, wordings[0]) else OTHER_WORDING)
    yield from ["note", "skip"] * FIRST_WORDING
    yield from ["take a note", "skip this bolt"] * OTHER_WORDING


@functools.lru_cache(maxsize=1)
def _readings() -> tuple[str, ...]:
    """Every value in three forms, by turns alone, with a unit, behind a bolt or an opening word; bolt reports."""
    return tuple(_say())


def _say() -> Iterator[str]:
    turn = count()
    for value in spread_values():
        for words in _three(value, next(turn)):
            n = next(turn)
            if n % 4 == 1:
                yield f"{words} {_UNITS[n // 4 % len(_UNITS)]}"
            elif n % 8 == 2 and value >= 10:
                yield f"bolt {forms(1 + n % 48)[0]} {words}"
            elif n % 8 == 6:
                yield f"{_OPENED[n // 8 % len(_OPENED)]} {words}"
            elif n % 32 == 4 and value >= 100:
                yield f"{words} {_LINKED[n // 32 % len(_LINKED)]} {forms(value + 1 + n % 30)[0]}"
            else:
                yield words
    for bolt in range(1, 49):
        yield f"bolt {forms(bolt)[0]}"
        yield f"bolt {forms(bolt)[0]} {REPORTS[bolt % len(REPORTS)]}"


def _three(value: Decimal, turn: int) -> list[str]:
    """Three forms of a value: the usual one always, two others by turns; for short values fewer."""
    plain = [f for f in forms(value) if not _odd(f)]
    return list(dict.fromkeys((plain[0], plain[turn % len(plain)], plain[(turn // 2 + len(plain) // 2) % len(plain)])))


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
