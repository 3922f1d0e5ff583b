"""Every prompt that holds a value, and the routine ones, with the grammar of all of them, made from the wording itself.

A prompt's text is taken from `speech.wording` (in English) with trial numbers; where their words stand, the grammar has
a slot for any number in any form. So a changed wording is tried as it is, and whoever listens is not told which numbers
come, nor whether they are spelled.
"""

from __future__ import annotations

import hashlib
import itertools
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from assistant.procedure.prompts import spelled_out
from assistant.speech.grammar import Grammar, GrammarBuilder, Marks
from assistant.speech.meaning import Command, Meaning
from assistant.speech.number_language import BOLTS, Kinds, add_number
from assistant.speech.number_words import MOST_FIGURES, NUMBER_MARKS, Count
from assistant.speech.typed import typed_words
from assistant.speech.wording import catalogue

WORDING = catalogue("en")
SLOTS = {"bolt": BOLTS, "value": Kinds(single=True, tens=True, large=True, strings=(1, MOST_FIGURES), block=(1, 5))}
TRIAL = {"bolt": (Decimal(7), Decimal(8)), "value": (Decimal(264), Decimal(382), Decimal(517))}
VALUES = tuple(
    Decimal(v)
    for v in (
        "310 15 95 180 57.5 120 50 405 1250 90 205 65 590 30 450 18 1500 270.5 345 19 145 700 59 80 155 2000 45 210"
        " 16 370 60 195 1050 13 550 75 515 40 119 800 14 650 35 950 250 17 70 1200 105 85 330 25 2500 475 118 55"
    ).split()
)
"""Settings and readings of small and large joints, teens and tens and fives and nines among them."""
OFF_BY = tuple(Decimal(d) for d in ("12", "4", "4.6", "21", "9", "2.5", "15", "7", "31", "1", "18", "3"))
"""By how much a reading may lie outside its window."""
OFF = ("low", "high")
"""Prompts that say by how much, in their second slot."""
UNITS = ("N*m", "lbf*ft", "N*m", "lbf*in", "lbf*ft", "kgf*m")
STOP = "fullstop"
"""Stands for the end of a sentence within a prompt; no prompt has such a word."""
Numbers = tuple[Decimal, ...]


@dataclass(frozen=True)
class Template:
    """One kind of prompt.

    Args:
        name: of the function in `speech.wording`.
        slots: what numbers it says, in the order in which they are heard: keys of SLOTS.
        say: numbers, and a running number for what else varies -> the text.
    """

    name: str
    slots: tuple[str, ...]
    say: Callable[[Numbers, int], str]

    @property
    def has_value(self) -> bool:
        """Whether a torque is said."""
        return "value" in self.slots


@dataclass(frozen=True)
class Prompt:
    """One prompt: which template, the numbers in it, the text for the voice."""

    template: Template
    numbers: Numbers
    text: str

    @property
    def meaning(self) -> Command:
        """What whoever hears it should come to."""
        return told(self.template.name, self.numbers)


def told(name: str, numbers: Sequence[Decimal]) -> Command:
    """The meaning of a prompt: its name and its numbers."""
    return Command(" ".join([name, *(f"{n.normalize():f}" for n in numbers)]))


def _setting(value: Decimal, n: int) -> str:
    return WORDING.amount(value, UNITS[n % len(UNITS)])


def _spell(value: Decimal) -> bool:
    return spelled_out(value, None)


def _read_back(value: Decimal) -> str:
    return WORDING.read_back(value, spell=_spell(value))


def templates() -> tuple[Template, ...]:
    """All of them: those with a value, those with a bolt, fixed ones."""
    w = WORDING
    found = [
        Template("routine", ("value", "bolt"), lambda a, _: f"{_read_back(a[0])} {w.circle(int(a[1]))}"),
        Template("turn", ("bolt", "value"), lambda a, _: w.turn(int(a[0]), w.number(a[1]))),
        Template("wrench_to", ("bolt", "value"), lambda a, _: w.wrench_to(int(a[0]), w.number(a[1]))),
        Template("recorded", ("bolt", "value"), lambda a, _: w.recorded(int(a[0]), a[1], spell=_spell(a[1]))),
        Template("is_it", ("value",), lambda a, _: w.is_it(a[0], spell=_spell(a[0]))),
        Template("is_it_again", ("value",), lambda a, _: w.is_it_again(a[0])),
        Template(
            "pass_begins",
            ("bolt", "bolt", "value"),
            lambda a, n: f"{w.pass_begins(int(a[0]), None)} {w.turn(int(a[1]), _setting(a[2], n))}",
        ),
        Template(
            "circular_begins",
            ("bolt", "value"),
            lambda a, n: (
                f"{w.circular_begins(1, None, recheck=False, told=True)} {w.turn(int(a[0]), _setting(a[1], n))}"
            ),
        ),
        Template("set_to", ("bolt", "value"), lambda a, n: w.set_to(int(a[0]), _setting(a[1], n))),
        Template("bolt_gets", ("value",), lambda a, n: w.bolt_gets(_setting(a[0], n), "multiplier")),
        Template("kept", ("bolt", "value"), lambda a, _: w.kept(int(a[0]), a[1])),
        Template(
            "low",
            ("value", "value", "value"),
            lambda a, n: w.low(w.number(a[0]), a[1], _setting(a[2], n), told=True),
        ),
        Template("high", ("value", "value"), lambda a, _: w.high(w.number(a[0]), a[1], told=True)),
        Template("last_pass_setting", ("value",), lambda a, n: w.last_pass_setting(_setting(a[0], n))),
        Template("not_on_this_wrench", ("value",), lambda a, _: w.impossible(a[0], "tool-range", "", a[0])),
        Template("too_far_off", ("value", "value"), lambda a, _: w.impossible(a[0], "far", "", a[1])),
        Template("choose", ("value", "value"), lambda a, _: w.choose(w.figures(a[0]), w.figures(a[1]))),
        Template("snug", ("bolt",), lambda a, _: w.snug(int(a[0]), first=True)),
        Template("circle", ("bolt",), lambda a, _: w.circle(int(a[0]))),
        Template("moved_or_not", ("bolt",), lambda a, _: w.moved_or_not(int(a[0]))),
        Template("held", ("bolt",), lambda a, _: f"{w.held()} {w.circle(int(a[0]))}"),
        Template("moved", ("bolt",), lambda a, _: f"{w.moved()} {w.circle(int(a[0]))}"),
        Template("is_snug", ("bolt",), lambda a, _: f"{w.is_snug()} {w.circle(int(a[0]))}"),
        Template("skipped", ("bolt",), lambda a, _: w.skipped(int(a[0]))),
        Template("other_bolt", ("bolt", "bolt"), lambda a, _: w.other_bolt(int(a[0]), int(a[1]))),
    ]
    return (*found, *(_fixed(name, text) for name, text in fixed().items()))


def fixed() -> dict[str, str]:
    """Prompts that never vary, by name; of several names with one text the first."""
    w = WORDING
    said = {
        "closed": w.closed(),
        "left": w.left(),
        "noted": w.noted(),
        "all_done": w.all_done(),
        "helper": w.helper(),
        "paused": w.paused(),
        "stopped": w.stopped(),
        "resumed": w.resumed(),
        "note_please": w.note_please(),
        "figures_please": w.figures_please(None),
        "reason_keep": w.reason_please("keep"),
        "reason_skip": w.reason_please("skip"),
        "yes_or_no": w.yes_or_no(again=False),
        "yes_or_no_again": w.yes_or_no(again=True),
        "say_again": w.say_again_please(0),
        "say_again_more": w.say_again_please(1),
        **{f"told {name}": text for name, text in w.told.items()},
        **{f"help {name}": text for name, text in w.help.items()},
    }
    first: dict[str, str] = {}
    for name, text in said.items():
        first.setdefault(text, name)
    return {name: text for text, name in first.items()}


def _fixed(name: str, text: str) -> Template:
    return Template(name, (), lambda _a, _n: text)


def prompts(count: int, found: Sequence[Template] | None = None) -> list[Prompt]:
    """`count` prompts of each template that says numbers, values and bolts in turn; each fixed one once."""
    made: list[Prompt] = []
    for place, template in enumerate(templates() if found is None else found):
        for n in range(count if template.slots else 1):
            numbers = tuple(_numbers(template, n + 7 * place))
            made.append(Prompt(template, numbers, template.say(numbers, n)))
    return made


def _numbers(template: Template, n: int) -> Iterator[Decimal]:
    for k, slot in enumerate(template.slots):
        if slot == "bolt":
            yield Decimal((5 * n + 11 * k) % 24 + 1)
        elif template.name in OFF and k == 1:
            yield OFF_BY[n % len(OFF_BY)]
        else:
            yield VALUES[(n + 19 * k) % len(VALUES)]


def grammar(found: Sequence[Template], *, written: bool) -> Grammar:
    """All sentences of these templates, with any numbers in their slots.

    Args:
        found: the templates.
        written: with the full stops and capitals within a prompt that an engine writes which was taught on text;
            without them for an engine that knows bare words only.
    """
    g = GrammarBuilder()
    end = g.state()
    g.end(end)
    mark = hashlib.sha256()
    for template in found:
        for pieces in _shapes(template):
            mark.update(repr((template.name, pieces)).encode())
            _add(g, template, pieces, end, written=written)
    examples = tuple(" ".join(bare_words(p.text)) for p in prompts(len(VALUES), found))
    name = f"prompts {'written' if written else 'spoken'} {mark.hexdigest()}"
    return g.build(name, _read, lambda: examples)


def bare_words(text: str) -> tuple[str, ...]:
    """The words of a prompt."""
    return tuple(word for word in _words(text) if word != STOP)


def _words(text: str) -> tuple[str, ...]:
    """The words of a prompt, with STOP where a sentence ends within it."""
    return typed_words(re.sub(r"[.?!:] ", f" {STOP} ", text)) or ()


def _add(g: GrammarBuilder, template: Template, pieces: Sequence[str], end: int, *, written: bool) -> None:
    """Pieces in a row: words, STOP, or the name of a slot in brackets."""
    here, first = g.state(), False
    g.skip(0, here, ("prompt", template.name))
    for piece in pieces:
        there = g.state()
        if piece == STOP:
            g.skip(here, there)
            for stop in ("+.", "+?") if written else ():
                g.arc(here, there, stop)
        elif piece[0] == "[":
            g.skip(here, inside := g.state(), ("slot", 0))
            add_number(g, inside, there, SLOTS[piece[1:-1]])
        else:
            g.arc(here, there, piece)
            if written and first:
                g.arc(here, there, piece.capitalize())
        here, first = there, piece == STOP
    g.skip(here, end)


def _shapes(template: Template) -> list[tuple[str, ...]]:
    """The template's words and slots, found by saying it with trial numbers; one shape for each unit."""
    taken = dict.fromkeys(template.slots, 0)
    numbers = []
    for slot in template.slots:
        numbers.append(TRIAL[slot][taken[slot]])
        taken[slot] += 1
    shapes: dict[tuple[str, ...], None] = {}
    for n in range(len(UNITS) if template.has_value else 1):
        words = _words(template.say(tuple(numbers), n))
        shape: tuple[str, ...] = ()
        for slot, number in zip(template.slots, numbers, strict=True):
            at, length = _find(words, number)
            shape, words = (*shape, *words[:at], f"[{slot}]"), words[at + length :]
        shapes[(*shape, *words)] = None
    return list(shapes)


def _find(words: tuple[str, ...], number: Decimal) -> tuple[int, int]:
    """Where a number's words stand, and how many they are."""
    for way in (WORDING.number(number), WORDING.figures(number)):
        wanted = typed_words(way) or ()
        for at in range(len(words) - len(wanted) + 1):
            if words[at : at + len(wanted)] == wanted:
                return at, len(wanted)
    raise ValueError(f"{number} is not said in {' '.join(words)!r}")


def _read(marks: Marks) -> Meaning | None:
    name, counts = "", list[Count]()
    for mark in marks:
        if mark[0] == "prompt":
            name = str(mark[1])
        elif mark[0] == "slot":
            counts.append(Count())
        elif mark[0] in NUMBER_MARKS:
            counts[-1].take(mark)
    return told(name, [c.number for c in counts])


def two_readings(found: Sequence[Template], *, bolts: Sequence[int], values: Sequence[Decimal]) -> dict[str, list[str]]:
    """Texts that, by their words alone, can be another prompt or hold other numbers; by template.

    A listener in noise loses the pauses first, so words alone must do.
    """
    whole = grammar(found, written=False)
    unclear: dict[str, list[str]] = {}
    for template in found:
        choices: Mapping[str, Sequence[Decimal]] = {"bolt": [Decimal(b) for b in bolts], "value": values}
        for numbers in itertools.product(*(choices[slot] for slot in template.slots[:2])):
            if template.name in OFF and numbers[1] >= 10 and numbers[1] % 1:
                continue  # by how much a reading is off is said in whole units there
            filled = (*numbers, *(Decimal(12) for _ in template.slots[2:]))
            prompt = Prompt(template, filled, template.say(filled, 0))
            if whole.meaning(bare_words(prompt.text)) != prompt.meaning:
                unclear.setdefault(template.name, []).append(prompt.text)
    return unclear
