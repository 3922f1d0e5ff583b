"""The word automaton itself: what listeners see and what it means are one thing."""

from __future__ import annotations

import pytest

from assistant.speech.grammar import AMBIGUOUS, GrammarBuilder
from assistant.speech.meaning import Command, Note, Value
from assistant.speech.vocabulary import Expecting, everything, grammar_for
from scripts.bench.fuzz import lines
from tests.speech.walks import walks, written


def read(marks):
    """The marks' names as one command; a note where one of them says so."""
    if marks and marks[0][0] == "note":
        return Note(str(marks[0][1]))
    return Command(" ".join(str(m[1]) for m in marks)) if marks else None


def small():
    """'red' or 'red wine', either may be followed by 'please'; 'blue' means two things; 'note' opens free speech."""
    g = GrammarBuilder()
    a, end, free, nowhere = g.state(), g.state(), g.state(), g.state()
    g.arc(0, a, "red", ("is", "red"))
    g.skip(a, end)
    g.arc(a, end, "wine", ("is", "wine"))
    g.arc(0, end, "blue", ("is", "colour"))
    g.arc(0, end, "blue", ("is", "mood"))
    g.arc(g.aside(end), end, "please")
    g.arc(0, nowhere, "lost")
    g.phrase(0, free, "take note", ("note", "note"))
    g.end(end)
    g.end(free, free=True)
    return g.build("small", read)


def test_the_marks_along_the_path_are_the_meaning():
    g = small()
    assert g.meaning(("red",)) == Command("red")
    assert g.meaning(("red", "wine", "please", "please")) == Command("red wine")
    assert g.meaning(("wine",)) is None
    assert g.meaning(()) is None


def test_words_with_two_meanings_are_ambiguous_not_chosen_from():
    assert small().meaning(("blue",)) == AMBIGUOUS


def test_states_that_no_sentence_passes_are_left_out():
    g = small()
    assert "lost" not in g.vocabulary()
    assert g.vocabulary() == {"red", "wine", "blue", "please", "take", "note"}
    reached = {b for arcs in g.arcs.values() for _, b in arcs} | {g.start}
    assert set(g.arcs) == reached


def test_patience_knows_what_may_follow():
    g = small()
    assert g.patience(("take",)) == "must"
    assert g.patience(("red",)) == "may"
    assert g.patience(("red", "wine")) == "over"
    assert g.patience(("take", "note")) == "may"
    assert g.patience(("nonsense",)) == "must"


@pytest.mark.parametrize(
    ("sentence", "follows"),
    [
        ("three", "may"),
        ("three hundred", "may"),
        ("three hundred and", "must"),
        ("three ten", "may"),
        ("three ten point", "must"),
        ("three ten point five", "may"),
        ("three ten newton metres", "over"),
        ("bolt", "must"),
        ("bolt seven", "may"),
        ("bolt seven done", "over"),
        ("stop now", "over"),
        ("done", "over"),
        ("hand over", "over"),
        ("note", "may"),
        ("no", "may"),
    ],
)
def test_patience_in_torque_talk(sentence, follows):
    assert everything().patience(tuple(sentence.split())) == follows


def test_free_speech_follows_only_its_openings():
    g = small()
    assert g.note(("take", "note"), "  the   socket slipped ") == Note("note", "the socket slipped")
    assert g.note(("take",), "the socket slipped") is None
    assert g.note(("red",), "anything") is None
    assert g.parse("Take note: the socket slipped!") == Note("note", "the socket slipped!")


def test_a_grammar_is_its_name():
    expecting = Expecting(values=True, yes_no=False)
    again = Expecting(values=True, yes_no=False)
    other = Expecting(values=True, yes_no=True)
    assert grammar_for(expecting) is grammar_for(again)
    assert grammar_for(expecting) != grammar_for(other)
    assert len({grammar_for(expecting), grammar_for(again), grammar_for(other)}) == 2


def test_a_grammar_cannot_be_changed_from_outside():
    g = small()
    with pytest.raises(TypeError):
        g.arcs[0] = ()
    with pytest.raises(AttributeError):
        g.final.add(3)


def test_what_is_written_down_and_typed_again_means_the_same():
    """A listener's words, written as text and typed, mean what the words mean (commas inside figures are refused)."""
    g = everything()
    checked = 0
    for words in walks(g, 5_000, seed=2):
        text = written(words)
        if "," in text or text[0] == "-":
            continue
        meaning = g.meaning(words)
        assert g.parse(text) == meaning, words
        checked += isinstance(meaning, Value)
    assert checked > 500


def test_a_hundred_thousand_random_lines_raise_nothing():
    g = everything()
    assert sum(g.parse(line) is not None for line in lines(g, 100_000, seed=3)) > 1000


def test_a_very_long_line_raises_nothing():
    g = everything()
    assert g.parse("one " * 50_000) is None
    assert g.parse("no " * 10_000) is None
    assert g.parse("9" * 100_000) is None
    assert isinstance(g.parse("note " + "rust " * 50_000), Note)


def test_meanings_are_remembered_within_bounds(monkeypatch):
    monkeypatch.setattr("assistant.speech.grammar.KEPT_MEANINGS", 10)
    g = small()
    for n in range(50):
        assert g.meaning(("red", str(n))) is None
    assert g.meaning(("red",)) == Command("red")


def test_a_grammar_knows_how_its_sentences_begin():
    g = small()
    assert g.begins(()) and g.begins(("take",)) and g.begins(("red", "wine"))
    assert not g.begins(("wine",)) and not g.begins(("red", "wine", "nonsense")) and not g.begins(("nonsense",))
    for half in ("three hundred and", "bolt", "three ten point"):
        assert everything().begins(tuple(half.split()))
    assert not everything().begins(("three", "[unk]"))
