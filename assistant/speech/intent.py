"""Sentences: how numbers, units, bolts, corrections and commands go together, and what a sentence means.

Refused politely, each as a command whose name begins with 'unclear-', so that a listener can hear it for what it is
instead of bending it into a value (`UNCLEAR` says why): ranges and tolerances, guesses, two different values in one
breath, forms with two readings, units that are no torque, a click and a reading at once.

'three ten, no, three twenty' is the value 320 and nothing else: the slip within the breath was never recorded, so
`corrected` is not set. It is set when the sentence *begins* with the correction ('correction three ten', 'no three
twenty'), because then it speaks of something said before. 'not three ten' is a no, never the value 310.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from assistant.speech.grammar import GrammarBuilder, Marks
from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.number_language import BOLTS, CLEAR, FIGURES_ONLY, IN_WORDS, SECOND, SHORT, Kinds, add_number
from assistant.speech.number_words import FINE_DECIMALS, NUMBER_MARKS, Count

UNCLEAR: Mapping[str, str] = MappingProxyType(
    {
        "unclear-range": "a range or a tolerance, not one reading",
        "unclear-about": "a guess, not a reading",
        "unclear-two-values": "two different values in one breath",
        "unclear-grouping": "a number that can be read in two ways",
        "unclear-figures": "too many figures, or a nought in front",
        "unclear-words": "not figure by figure, when only that was asked for",
        "unclear-unit": "a unit that is no torque, or half a torque unit",
        "unclear-click": "a click and a reading at once",
    }
)
UNITS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "N*m": ("newton metres", "newton meters", "newton metre", "newton meter"),
        "lbf*ft": ("foot pounds", "foot pound", "feet pounds", "pound feet", "pounds feet", "pound foot"),
        "lbf*in": ("inch pounds", "inch pound", "pound inches", "pound inch"),
        "kgf*m": ("kilogram metres", "kilogram meters", "kilogram metre", "kilogram force metres", "metre kilograms"),
    }
)
NO_TORQUE = (
    *("degrees", "percent", "bar", "p s i", "millimetres", "kilonewtons", "kilonewton metres", "kilonewton meters"),
    *("newtons", "pounds", "kilograms", "kilos", "turns"),
)
"""Heard, so that they are not bent into a torque unit: 'ninety four pounds' is one sound from 'ninety foot pounds'."""
UNITS_OF: Mapping[str, Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "": UNITS,
        "temperature": {
            "degC": ("degrees", "degrees celsius", "degrees centigrade", "celsius"),
            "degF": ("degrees fahrenheit", "fahrenheit"),
        },
        "length": {
            "mm": ("millimetres", "millimeters", "millimetre", "millimeter"),
            "in": ("inches", "inch"),
        },
        "angle": {"deg": ("degrees", "degree")},
        "pressure": {"bar": ("bar",)},
    }
)
"""Units by what is measured; '' is torque. 'degrees' alone are degrees Celsius, where no other scale was asked for."""
FILLERS = ("uh", "um", "er", "erm", "ah", "okay", "ok", "so", "well")
CARRIERS = (
    *("it's", "it is", "it was", "that's", "that is", "i got", "i have", "got", "reading", "reads", "it reads"),
    *("value", "the value is", "torque", "achieved", "reached", "at", "came to"),
)
CORRECTING = (
    *("correction", "no", "make that", "make it", "no make that", "change that to", "change it to", "it should be"),
    *("should be", "sorry", "no sorry", "i mean", "no i mean", "i meant", "scratch that", "wrong", "that's wrong"),
)
AFTERTHOUGHTS = (
    *(
        "sorry",
        "no sorry",
        "sorry no",
        "correction",
        "no correction",
        "i mean",
        "no i mean",
        "make that",
        "no make that",
    ),
    *("no wait", "wait no", "scratch that", "rather", "or rather"),
)
NUMBERED = ("done", "clicked", "snug", "moved", "did not move", "same", "replaced")
"""Commands that may follow 'bolt seven'."""

Phrases = Mapping[str, tuple[str, ...]]


def read(marks: Marks) -> Meaning | None:
    """Fold the marks of one sentence into its meaning."""
    values: list[Count] = []
    units: list[str] = []
    before: list[str] = []  # units of what was withdrawn: 'three ten foot pounds, no, three twenty'
    bolt: Count | None = None
    count = Count()
    said: dict[str, str] = {}
    for mark in marks:
        kind = mark[0]
        if kind in NUMBER_MARKS:
            count.take(mark)
        elif kind == "value":
            values.append(count := Count())
        elif kind == "bolt":
            bolt = count = Count()
        elif kind == "unit":
            units.append(str(mark[1]))
        elif kind == "instead":  # what was said before in this breath is withdrawn
            values, units, before = [], [], units or before
        else:
            said[kind] = str(mark[1])
    number = None if bolt is None else int(bolt.number)
    if "unclear" in said:
        return Command(f"unclear-{said['unclear']}", number)
    if "note" in said:
        return Note(said["note"])
    if "command" in said:
        return Command(said["command"], number)
    return _value(values, units or before[-1:], number, corrected="corrected" in said)


def _value(values: list[Count], units: list[str], bolt: int | None, *, corrected: bool) -> Meaning | None:
    if not values:
        return None if bolt is None else Command("bolt", bolt)
    if len({v.number for v in values}) > 1 or len(set(units)) > 1:
        return Command("unclear-two-values", bolt)
    return Value(
        values[0].number,
        units[-1] if units else None,
        bolt,
        corrected=corrected,
        by_figures=any(v.by_figures for v in values),
    )


def add_commands(g: GrammarBuilder, start: int, end: int, commands: Phrases) -> None:
    """All commands with all their wordings between start and end."""
    for name, wordings in commands.items():
        for words in wordings:
            g.phrase(start, end, words, ("command", name))


def add_choices(g: GrammarBuilder, start: int, end: int, choices: Mapping[int, tuple[str, ...]]) -> None:
    """Answers to a numbered choice, each the value of its number."""
    for n, wordings in choices.items():
        g.skip(start, chosen := g.state(), ("value", 0))
        for words in wordings:
            g.phrase(chosen, end, words, ("add", n))


def add_figures(g: GrammarBuilder, start: int, end: int, measures: str = "") -> None:
    """Readings said figure by figure, with a unit, and the corrections that may open them."""
    carried, value, said = g.state(), g.state(), g.state()
    _openings(g, start, carried, value)
    g.skip(value, inner := g.state(), ("value", 0))
    add_number(g, inner, said, _fine(FIGURES_ONLY, measures))
    g.skip(value, words := g.state(), ("unclear", "words"))
    add_number(g, words, said, _fine(IN_WORDS, measures))
    _units(g, said, end, measures)


def add_readings(g: GrammarBuilder, start: int, end: int, commands: Phrases, measures: str = "") -> None:
    """Readings and bolt reports in every wording, from start to end.

    Args:
        g: the grammar being built.
        start: where such a sentence begins.
        end: where it ends; the caller makes it final.
        commands: wordings by canonical name, of which `NUMBERED` may follow a bolt.
        measures: what is measured, a key of UNITS_OF.
    """
    carried, value, clear, corrected = g.state(), g.state(), g.state(), g.state()
    _openings(g, start, carried, value)
    short_said, clear_said, united, repeated = g.state(), g.state(), g.state(), g.state()
    g.skip(value, short := g.state(), ("value", 0))
    add_number(g, short, short_said, _fine(SHORT, measures))
    g.skip(value, clear)
    g.skip(clear, clear_in := g.state(), ("value", 0))
    add_number(g, clear_in, clear_said, _fine(CLEAR, measures))
    _units(g, short_said, united, measures)
    _units(g, clear_said, clear_united := g.state(), measures)
    g.skip(clear_united, united)
    g.skip(united, end)
    _guesses(g, start, value, end, united)
    _afterthoughts(g, united, value)
    _second_value(g, start, clear_united, clear, united, repeated, end, measures)
    _bolts(g, start, carried, united, end, commands)
    for words in ("correction", "no", "sorry"):
        g.phrase(start, corrected, words, ("corrected", 0))
    _bolts(g, corrected, carried, None, end, {})


def _fine(kinds: Kinds, measures: str) -> Kinds:
    """The numbers of these kinds as they are said of what is measured: lengths have more decimals."""
    return replace(kinds, decimals=FINE_DECIMALS) if measures == "length" else kinds


def _openings(g: GrammarBuilder, start: int, carried: int, value: int) -> None:
    """What may stand before a number: a yes or a correction (to `carried`), then 'it's', 'reading' (to `value`)."""
    g.skip(start, carried)
    for words in CORRECTING:
        g.phrase(start, carried, words, ("corrected", 0))
    for words in ("yes", "yeah"):
        g.phrase(start, carried, words)
    for words in ("not", "no not", "it's not", "that's not"):
        g.phrase(start, carried, words, ("command", "no"))
    g.skip(carried, value)
    for words in CARRIERS:
        g.phrase(carried, value, words)
    for words in ("uh", "um", "er"):
        g.phrase(value, value, words)
    g.arc(carried, done := g.state(), "done")
    g.skip(g.aside(done), carried)


def _units(g: GrammarBuilder, said: int, united: int, measures: str) -> None:
    """No unit, a unit of what is measured, or one of something else, which is heard and refused."""
    g.skip(said, united)
    own = {words: symbol for symbol, wordings in UNITS_OF[measures].items() for words in wordings}
    for words, symbol in own.items():
        g.phrase(said, united, words, ("unit", symbol))
    foreign = NO_TORQUE if not measures else (*NO_TORQUE, *(words for ways in UNITS.values() for words in ways))
    for words in foreign:
        if words not in own:
            g.phrase(said, united, words, ("unclear", "unit"))


def _guesses(g: GrammarBuilder, start: int, value: int, end: int, united: int) -> None:
    """'about three ten', 'just over three ten', 'plus or minus five', 'clicked at three ten'."""
    for words in (
        "about",
        "around",
        "roughly",
        "nearly",
        "almost",
        "just over",
        "just under",
        "more than",
        "less than",
    ):
        g.phrase(start, value, words, ("unclear", "about"))
    for words in ("clicked at", "click at", "it clicked at"):
        g.phrase(start, value, words, ("unclear", "click"))
    later = g.aside(united)
    for words in ("clicked", "and clicked"):
        g.phrase(later, end, words, ("unclear", "click"))
    for words in ("plus or minus", "plus minus", "plus", "minus"):
        g.phrase(later, value, words, ("unclear", "range"))
    g.phrase(later, end, "done")


def _afterthoughts(g: GrammarBuilder, united: int, value: int) -> None:
    later = g.aside(united)
    for words in AFTERTHOUGHTS:
        g.phrase(later, value, words, ("instead", 0))


def _second_value(
    g: GrammarBuilder,
    start: int,
    clear_united: int,
    clear: int,
    united: int,
    repeated: int,
    end: int,
    measures: str,
) -> None:
    """A second value in the same breath: the same again, another, the other end of a range, or 'no, ...'.

    'no', 'to' and 'or' sound like figures ('three oh five', 'three two five'), so they join only numbers in which no
    single figure stands beside them.
    """
    between, low, joined, high = g.state(), g.state(), g.state(), g.state()
    g.arc(g.aside(clear_united), clear, "no", ("instead", 0))
    g.skip(g.aside(united), joined)
    for words in ("to", "or"):
        g.arc(g.aside(clear_united), joined, words, ("unclear", "range"))
    for words in ("between", "from", "somewhere between"):
        g.phrase(start, between, words, ("unclear", "range"))
    g.skip(between, between_in := g.state(), ("value", 0))
    add_number(g, between_in, low, _fine(CLEAR, measures))
    for words in ("and", "to"):
        g.arc(low, joined, words)
    g.skip(joined, high, ("value", 0))
    add_number(g, high, repeated, _fine(SECOND, measures))
    _units(g, repeated, end, measures)


def _bolts(g: GrammarBuilder, start: int, carried: int, united: int | None, end: int, commands: Phrases) -> None:
    """'bolt seven', 'bolt seven done', 'bolt seven [at] three ten', 'three ten on bolt seven'."""
    word = g.state()
    for name in ("bolt", "stud", "bolt number", "on bolt", "for bolt"):
        g.phrase(start, word, name, ("bolt", 0))
    bolt = add_bolt_number(g, word)
    g.skip(bolt, carried)
    for words in ("is", "was"):
        g.phrase(bolt, carried, words)
    if united is None:
        return
    g.skip(bolt, end)
    for name in NUMBERED:
        for words in commands.get(name, ()):
            g.phrase(bolt, end, words, ("command", name))
    after, later = g.state(), g.aside(united)
    for words in ("bolt", "on bolt", "for bolt", "on stud"):
        g.phrase(later, after, words, ("bolt", 0))
    g.skip(add_bolt_number(g, after), end)


def add_bolt_number(g: GrammarBuilder, start: int) -> int:
    """A bolt number behind the word 'bolt', whose mark opens it; the state behind the number."""
    end = g.state()
    add_number(g, start, end, BOLTS)
    return end
