"""What each state understands, and that nothing wanted is ever favoured."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.commands import COMMANDS, NO, SHORT_NO, SHORT_YES, YES
from assistant.speech.covering import TWINS, covering_sentences
from assistant.speech.meaning import Command, Note, Value
from assistant.speech.number_words import ONES, TEENS, TENS
from assistant.speech.numbers import forms
from assistant.speech.vocabulary import Expecting, everything, grammar_for, phrase_words
from tests.speech.walks import walks

flags = st.builds(
    Expecting,
    values=st.booleans(),
    yes_no=st.booleans(),
    phrases=st.sampled_from([(), ("anti seize", "dry", "oiled"), ("ready to tighten the joint",), ("tighten again",)]),
    free=st.sampled_from([(), ("because",), ("note",), ("skip", "because")]),
    figures_only=st.booleans(),
    choices=st.booleans(),
)


@given(flags)
def test_commands_of_every_state_are_in_every_state(expecting):
    g = grammar_for(expecting)
    for name, wordings in COMMANDS.items():
        for words in wordings:
            assert g.meaning(tuple(words.split())) == Command(name)
    assert g.meaning(("note",)) == Note("note")
    assert g.parse("skip the nut is seized") == Note("skip", "the nut is seized")


@given(flags)
def test_all_reports_and_answers_are_heard_in_every_state(expecting):
    """An answer to another question must be heard as what it is, not bent into something else."""
    g = grammar_for(expecting)
    for name, wordings in {**COMMANDS, "yes": YES, "no": NO}.items():
        for words in wordings:
            assert g.meaning(tuple(words.split())) == Command(name)


@given(flags)
def test_yes_and_no_alone_are_heard_only_when_a_question_waits(expecting):
    g = grammar_for(expecting)
    for name, wordings in (("yes", SHORT_YES), ("no", SHORT_NO)):
        for words in wordings:
            assert (g.meaning(tuple(words.split())) == Command(name)) is expecting.yes_no
    assert g.meaning(("wrong",)) == Command("no" if expecting.yes_no else "correction")


@given(flags, st.integers(1, 2500).map(Decimal))
def test_every_value_is_heard_where_readings_may_come(expecting, number):
    g = grammar_for(expecting)
    by_figures = {*ONES, "zero", "oh", "o", "nought", "niner", "fife", "tree", "double", "triple"}
    for words in forms(number):
        found = g.meaning(tuple(words.split()))
        if not expecting.values:
            assert found is None or (expecting.choices and number <= 2)
        elif not expecting.figures_only or by_figures.issuperset(words.split()):
            assert found == Value(number)
        else:
            assert found == Command("unclear-words")


@given(flags)
def test_phrases_are_commands_of_their_own_name(expecting):
    g = grammar_for(expecting)
    for phrase in expecting.phrases:
        assert g.parse(phrase) == Command(phrase)
        assert g.parse(phrase.upper() + ".") == Command(phrase)


def test_a_phrase_comes_before_a_command_of_the_same_wording_but_not_before_stop():
    g = grammar_for(Expecting(values=False, yes_no=True, phrases=("continue", "confirmed", "stop now", "done")))
    assert g.parse("continue") == Command("continue")
    assert g.parse("resume") == Command("resume")
    assert g.parse("confirmed") == Command("confirmed")
    assert g.parse("stop now") == Command("stop")
    assert g.parse("finished") == Command("done")


def test_yes_alone_passes_no_hold_point():
    g = grammar_for(Expecting(values=False, yes_no=True, phrases=("yes the line is locked out",)))
    assert g.parse("yes") == Command("yes")
    assert g.parse("yes the line is locked out") == Command("yes the line is locked out")
    assert g.parse("the line is locked out") is None


def test_figures_in_a_phrase_are_said_in_words():
    assert "pass three done" in phrase_words("pass 3 done")
    g = grammar_for(Expecting(values=False, yes_no=False, phrases=("Pass 12, released!",)))
    for said in ("pass twelve released", "pass one two released", "PASS 12 RELEASED"):
        assert g.parse(said) == Command("Pass 12, released!")


@pytest.mark.parametrize("phrase", ["", "100 %", "pass 99999 done", "läuft"])
def test_a_phrase_that_cannot_be_said_is_our_error(phrase):
    assert phrase_words(phrase) == ()
    with pytest.raises(ValueError, match="cannot be said"):
        grammar_for(Expecting(values=False, yes_no=False, phrases=(phrase,)))


def test_free_speech_that_is_waited_for_needs_no_opening():
    g = grammar_for(Expecting(values=False, yes_no=True, free=("because",)))
    assert g.parse("the thread was dry") == Note("because", "the thread was dry")
    assert g.parse("because the thread was dry") == Note("because", "the thread was dry")
    assert g.parse("20,5 was shown") == Note("because", "20,5 was shown")
    assert g.parse("help") == Command("help")
    assert g.closure(g.start) & g.free
    assert g.parse("") is None
    closed = grammar_for(Expecting(values=False, yes_no=True))
    assert closed.parse("the thread was dry") is None
    assert not closed.closure(closed.start) & closed.free


def test_a_numbered_choice_is_the_value_of_its_number():
    for values in (True, False):
        g = grammar_for(Expecting(values=values, yes_no=False, choices=True))
        for number, wordings in (
            (1, ("one", "first", "the first one", "number one", "1")),
            (2, ("two", "second", "2")),
        ):
            for words in wordings:
                assert g.parse(words) == Value(Decimal(number))
        assert g.parse("neither") == Command("no")
    assert grammar_for(Expecting(values=False, yes_no=False)).parse("one") is None
    assert everything().parse("first") is None


def test_figures_only_takes_no_number_in_words():
    g = grammar_for(Expecting(values=True, yes_no=False, figures_only=True))
    assert g.parse("one five") == Value(Decimal(15))
    assert g.parse("fife zero newton metres") == Value(Decimal(50), "N*m")
    assert g.parse("no one five") == Value(Decimal(15), corrected=True)
    for words in ("fifteen", "fifty", "three ten", "one hundred and fifteen", "it's fifty newton metres"):
        assert g.parse(words) == Command("unclear-words")


@given(flags)
def test_every_sentence_has_a_meaning(expecting):
    g = grammar_for(expecting)
    for words in walks(g, 60, seed=7):
        assert g.meaning(words) is not None, words


@pytest.mark.parametrize(
    "expecting",
    [
        Expecting(values=True, yes_no=True),
        Expecting(values=True, yes_no=False, figures_only=True),
        Expecting(values=True, yes_no=False, choices=True),
        Expecting(values=False, yes_no=True, phrases=("anti seize", "pass 3 done"), free=("because",)),
    ],
)
def test_phrases_for_an_engine_are_sentences_and_hold_every_word(expecting):
    g = grammar_for(expecting)
    listed = covering_sentences(g)
    assert all(g.meaning(tuple(s.split())) is not None for s in set(listed))
    words = {w for s in listed for w in s.split()}
    assert words == g.vocabulary() - {w for w, first in TWINS.items() if first in g.vocabulary()}


def test_phrases_for_an_engine_use_only_words_that_it_knows():
    g = everything()
    known = g.vocabulary() - {"oh", "metres", "fife", "stop", "okay"}
    words = {w for s in covering_sentences(g, known) for w in s.split()}
    assert words <= known
    assert {"o", "meters", "ok"} <= words  # the second spelling stands in
    assert covering_sentences(g, frozenset()) == ()


def test_no_figure_is_likelier_than_another_in_the_phrases():
    """The target gets no prior: words of one kind are listed about equally often."""
    said = Counter(w for s in covering_sentences(everything()) for w in s.split())
    for kind in (ONES, list(TEENS)[1:], TENS):
        counts = [said[w] for w in kind]
        assert max(counts) < 2.5 * min(counts), counts


def test_numbers_in_the_phrases_show_every_pair_of_plain_number_words():
    said = {pair for s in covering_sentences(everything()) for pair in zip(s.split(), s.split()[1:], strict=False)}
    pairs = {(a, b) for a in ONES for b in (*TENS, *TEENS, *ONES, "hundred", "oh", "zero")}
    pairs |= {(a, b) for a in TENS for b in ONES} | {("hundred", b) for b in (*TENS, *TEENS, *ONES, "and")}
    missing = pairs - said
    assert len(missing) < 0.03 * len(pairs), sorted(missing)


def test_no_wording_belongs_to_two_commands():
    wordings = [w for ways in COMMANDS.values() for w in ways] + [*YES, *NO, *SHORT_YES, *SHORT_NO]
    assert len(wordings) == len(set(wordings))


def test_the_words_without_which_a_listener_is_of_no_use_are_in_the_largest_grammar():
    commands = {word for ways in COMMANDS.values() for word in ways[0].split()}
    numbers = {*ONES, *TEENS, *TENS, "zero", "oh", "hundred", "thousand", "and", "point", "bolt", "double"}
    assert commands | numbers | {"yes", "no", "note", "skip"} <= everything().vocabulary()
