"""What was found, said aloud: every usual way to word a meaning, in words only, so that letters can be held against it.

Listeners name a meaning with one wording each, and the ear writes figures as it likes ('310', '3 10'). The number in it
is replaced by each of its spoken forms; what stands around it stays.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from decimal import Decimal

from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.number_words import NOUGHTS, ONES, RADIO, TEENS, TENS, TIMES
from assistant.speech.numbers import LARGEST, forms

MOST_FORMS = 14
_SELDOM = frozenset({"o", "tree", "decimal", "triple", "quarter", "quarters", "half"})
_NUMBER_WORDS = frozenset({*ONES, *TEENS, *TENS, *NOUGHTS, *RADIO, *TIMES, "hundred", "thousand", "point"})
_LINKS = frozenset({"and", "a"})
_PAIRS = (("five", "fife"), ("nine", "niner"), ("zero", "oh"), ("zero", "nought"), ("oh", "nought"))
_FIGURE = {n: word for word, n in ONES.items()}
_SPELLINGS = {"meter": "metre", "meters": "metres", "o": "oh"}


def aloud(meaning: Meaning, text: str) -> tuple[str, ...]:
    """Ways to say a meaning: the wording itself, where it has no numerals, and those with other forms of its number.

    Args:
        meaning: what was found.
        text: one wording of it; of a note the opening alone.

    Returns:
        Lower-case words, none twice, no numerals; () where the wording cannot be said in words.
    """
    words = tuple(_SPELLINGS.get(w, w) for w in text.lower().replace("-", " ").split())
    made = [" ".join(words)]
    match meaning:
        case Value(number=number, bolt=bolt):
            made += _with_forms(words, number, bolt)
        case Command(bolt=bolt) if bolt is not None:
            made += [
                f"bolt {said} {' '.join(rest)}" for rest in _after_bolt(words) for said in _usual(Decimal(bolt))[:1]
            ]
        case Command() | Note():
            pass
    return tuple(dict.fromkeys(w for w in made if w and not any(c.isdigit() for c in w)))


def _with_forms(words: tuple[str, ...], number: Decimal, bolt: int | None) -> Iterator[str]:
    """The wording with every usual form of its number; nothing where two numbers stand in it beside the bolt's."""
    openings = [""]
    if bolt is not None:
        rest = next(iter(_after_bolt(words)), None)
        if rest is None:
            return
        # where the bolt's number ends is known from the value's end of the sentence only
        before = words[: words.index("bolt")]
        openings = [" ".join((*before, "bolt", said)) for said in _usual(Decimal(bolt))[:1]]
        words = words[words.index("bolt") + 1 :]
    runs = _runs(words)
    if len(runs) != 1:
        return
    first, last = runs[0]
    first -= words[first - 1 : first] == ("a",)  # 'a hundred'
    if bolt is None:
        openings = [" ".join(words[:first])]
    behind = " ".join(words[last:])
    for opening in openings:
        for said in _usual(number):
            yield " ".join(f"{opening} {said} {behind}".split())


def _after_bolt(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """What follows the number of the bolt in a report ('bolt 7 snug')."""
    if "bolt" in words:
        runs = _runs(words[words.index("bolt") + 1 :])
        if runs:
            yield words[words.index("bolt") + 1 + runs[0][1] :]


def _runs(words: tuple[str, ...]) -> list[tuple[int, int]]:
    """Stretches of number words and numerals: first word of each and the one behind it."""
    runs: list[tuple[int, int]] = []
    for i, word in enumerate(words):
        numeral = bool(re.fullmatch(r"[\d.]+", word)) or word in _NUMBER_WORDS
        link = word in _LINKS and bool(runs) and runs[-1][1] == i and words[i + 1 : i + 2] != ()
        if numeral and runs and runs[-1][1] == i:
            runs[-1] = (runs[-1][0], i + 1)
        elif numeral:
            runs.append((i, i + 1))
        elif link and words[i + 1] in _NUMBER_WORDS:
            runs[-1] = (runs[-1][0], i + 1)
    return runs


@functools.lru_cache(maxsize=4096)
def _usual(number: Decimal) -> tuple[str, ...]:
    """The forms that people use, the cardinal or the groups first, without mixtures of two words for one figure; larger
    numbers figure by figure.
    """
    if number > LARGEST:
        return tuple(_figure_by_figure(f"{number:f}", nought) for nought in ("zero", "oh")) if number % 1 == 0 else ()
    try:
        found = forms(number)
    except ValueError:
        return ()
    return tuple(f for f in found if _is_usual(f.split()))[:MOST_FORMS]


def _figure_by_figure(figures: str, nought: str) -> str:
    return " ".join(_FIGURE[int(c)] if c != "0" else nought for c in figures)


def _is_usual(words: list[str]) -> bool:
    return not _SELDOM.intersection(words) and not any(a in words and b in words for a, b in _PAIRS)
