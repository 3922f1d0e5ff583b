"""Which sentences are understood in which state: `grammar_for(expecting)`.

The grammar of a state holds every command and, where a reading may come, every value in every form. What is
expected shapes the questions, never what is heard: no value is likelier than another by anything in here.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from assistant.speech.commands import (
    CHOICES,
    COMMANDS,
    NEITHER,
    NO,
    OPENINGS,
    SHORT_NO,
    SHORT_YES,
    TROUBLES,
    WRONG,
    YES,
)
from assistant.speech.examples import examples
from assistant.speech.grammar import Grammar, GrammarBuilder
from assistant.speech.intent import (
    FILLERS,
    add_bolt_number,
    add_choices,
    add_commands,
    add_figures,
    add_readings,
    read,
)
from assistant.speech.numbers import LARGEST, forms
from assistant.speech.typed import typed_words

_ALWAYS_WIN = frozenset({*COMMANDS["stop"], *COMMANDS["pause"]})


@dataclass(frozen=True, slots=True)
class Expecting:
    """What may be said in a state, besides the commands that are understood in every state.

    Args:
        values: readings and bolt reports.
        yes_no: a question waits, or a value was read back in passing: 'yes' and 'no' alone are taken, and 'wrong' is
            a no. Without it only their longer wordings are ('affirmative', 'that's correct', 'negative'), and
            'wrong' corrects the last entry.
        bare: of "yes" and "no", those that are taken alone although nothing is asked by yes or no: a failing answer, or
            a no that contests the last read-back. 'wrong' still corrects the last entry.
        phrases: further sentences, each the command of that very name: hold-point phrases, thread conditions.
        free: openings of free speech ('because', 'note', 'skip'). Each may open a note by its name; of the first, the
            opening may be left out, so that whatever is no command is the text of that note.
        figures_only: readings are taken figure by figure only; with `values`.
        choices: two numbered choices were offered.
        measures: the figure that may come is no torque but another key of `intent.UNITS_OF`; with `values`.
    """

    values: bool
    yes_no: bool
    phrases: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    figures_only: bool = False
    choices: bool = False
    measures: str = ""
    bare: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """All of it in one line; also the name of the grammar."""
        flags = [w for w in ("values", "yes_no", "figures_only", "choices") if getattr(self, w)]
        flags += [f"bare:{word}" for word in self.bare]
        flags += [f"measures:{self.measures}"] * bool(self.measures)
        return (
            "|".join([*flags, *(f"phrase:{p}" for p in self.phrases), *(f"free:{f}" for f in self.free)]) or "commands"
        )


def phrase_words(phrase: str) -> tuple[str, ...]:
    """The ways to say a phrase: lower case words, figures in it worded out. () when a sign in it can't be said."""
    words = typed_words(phrase)
    if not words:
        return ()
    text = "".join(w[1:] if w[0] == "+" else f" {w}" for w in words).strip()
    ways = [""]
    for part in re.split(r"([0-9]+)", text):
        if part.isdecimal():
            said = forms(int(part)) if int(part) <= LARGEST else ()
            ways = [f"{way} {number} " for way in ways for number in said]
        else:
            ways = [way + part for way in ways]
    return tuple(" ".join(way.split()) for way in ways)


@functools.lru_cache(maxsize=256)
def grammar_for(expecting: Expecting) -> Grammar:
    """The grammar of a state; the same object for the same argument.

    A phrase comes before a command of the same wording, except before 'stop' and 'pause'.

    Raises:
        ValueError: a phrase can't be said (`phrase_words` is empty for it).
    """
    g = GrammarBuilder()
    lead, end, done = g.state(), g.state(), g.state()
    g.skip(0, lead)
    for filler in FILLERS:
        g.arc(0, lead, filler)
    commands = _commands(expecting)
    add_commands(g, lead, done, commands)
    g.phrase(lead, back := g.state(), "go back to bolt", ("command", "go back"))
    g.skip(back, back_in := g.state(), ("bolt", 0))
    g.skip(add_bolt_number(g, back_in), done)
    if expecting.choices:
        alone = {} if expecting.values else {1: ("one", "1"), 2: ("two", "2")}
        add_choices(g, lead, done, {n: (*CHOICES[n], *alone.get(n, ())) for n in CHOICES})
    if expecting.values and expecting.figures_only:
        add_figures(g, lead, end, expecting.measures)
    elif expecting.values:
        add_readings(g, lead, end, commands, expecting.measures)
    g.skip(done, end)
    g.arc(g.aside(done), end, "please")
    g.end(end)
    _add_free(g, lead, expecting.free)
    said = functools.partial(
        examples,
        commands,
        values=expecting.values,
        figures=expecting.figures_only,
        measures=expecting.measures,
    )
    return g.build(expecting.name, read, said)


def everything() -> Grammar:
    """Every value, command and answer: the grammar where no joint tells what may come."""
    return grammar_for(Expecting(values=True, yes_no=True))


def _commands(expecting: Expecting) -> dict[str, tuple[str, ...]]:
    table = {**COMMANDS, **TROUBLES}
    table["yes"] = (*SHORT_YES, *YES) if expecting.yes_no or "yes" in expecting.bare else YES
    table["no"] = (*SHORT_NO, *NO) if expecting.yes_no or "no" in expecting.bare else NO
    wrong = "no" if expecting.yes_no else "correction"
    table[wrong] = (*table[wrong], *WRONG)
    if expecting.choices:
        table["no"] = (*table["no"], *NEITHER)
    phrases = {}
    for phrase in expecting.phrases:
        ways = phrase_words(phrase)
        if not ways:
            raise ValueError(f"the phrase {phrase!r} cannot be said")
        phrases[phrase] = tuple(w for w in (*ways, " ".join(typed_words(phrase) or ())) if w not in _ALWAYS_WIN)
    taken = {words for ways in phrases.values() for words in ways}
    rest = {name: tuple(w for w in ways if w not in taken) for name, ways in table.items()}
    return {name: (*rest.get(name, ()), *phrases.get(name, ())) for name in (*rest, *phrases)}


def _add_free(g: GrammarBuilder, lead: int, free: tuple[str, ...]) -> None:
    openings = dict(OPENINGS) | {name: (*OPENINGS.get(name, ()), name) for name in free}
    for name, wordings in openings.items():
        opened = g.state()
        g.end(opened, free=True)
        for words in dict.fromkeys(wordings):
            g.phrase(lead, opened, words, ("note", name))
    if free:
        bare = g.state()
        g.skip(lead, bare, ("note", free[0]))
        g.end(bare, free=True)
