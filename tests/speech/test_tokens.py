from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.grammar import GrammarBuilder
from assistant.speech.meaning import Command
from assistant.speech.tokens import END, FIRST_TEXT_TOKEN, TokenAutomaton, TokenTable
from tests.speech.fake_decoder import small_table, table_bytes

TABLE = small_table()


def grammar_of(*sentences: str, free: tuple[str, ...] = ()):
    """A grammar of exactly these sentences, each meaning a command of its own name."""
    g = GrammarBuilder()
    for sentence in (*sentences, *free):
        end = g.state()
        g.phrase(0, end, sentence, ("command", sentence))
        g.end(end, free=sentence in free)
    return g.build("|".join((*sentences, *free)), lambda marks: Command(str(marks[0][1])) if marks else None)


def written(automaton: TokenAutomaton, ids: tuple[int, ...]) -> list[tuple[str, ...]]:
    """Words of the sentence that these tokens write, [] when the automaton does not take them."""
    node, words = TokenAutomaton.START, ()
    for token in ids:
        step = automaton.steps(node)
        places = [i for i, t in enumerate(step.tokens.tolist()) if t == token]
        if not places:
            return []
        assert len(places) == 1, "the automaton is not deterministic"
        words = (*words, step.word) if step.completes[places[0]] else words
        node = int(step.nodes[places[0]])
    step = automaton.steps(node)
    ends = [(*words, step.word)] if step.ends_with_word else []
    return ends + ([words] if step.ends_before else [])


def spelt(*words: str) -> tuple[int, ...]:
    return tuple(i for w in words for i in TABLE.spell(w))


def test_spelling_merges_the_pair_with_the_lowest_id_first():
    assert [TABLE.tokens[i].decode() for i in TABLE.spell("three")] == ["▁th", "re", "e"]
    assert TABLE.text(TABLE.spell("three")) == "three"
    assert TABLE.text(TABLE.spell("6", glued=True)) == "6"


@given(st.text("abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=12), st.booleans())
def test_spelling_and_text_are_a_round_trip(word, glued):
    assert TABLE.text(TABLE.spell(word, glued=glued)) == word


def test_a_word_with_an_unknown_sign_cannot_be_spelt():
    with pytest.raises(KeyError):
        TABLE.spell("größe")


def test_lengths_over_127_take_a_second_byte():
    tokens = [b"x" * n for n in (1, 127, 128, 200, 1000)] + [b"y"] * FIRST_TEXT_TOKEN
    assert TokenTable(table_bytes(tokens)).tokens == tokens


@pytest.mark.parametrize("data", [b"", b"\x05ab", b"\x80", table_bytes([b"a"] * 20)])
def test_a_table_cut_short_is_refused(data):
    with pytest.raises(ValueError, match="token table"):
        TokenTable(data)


def test_every_way_of_writing_leads_to_the_words_and_only_those():
    automaton = TokenAutomaton(grammar_of("three ten", "three", "six"), TABLE)
    comma, hyphen, stop = (TABLE.ids[c] for c in (b",", b"-", b"."))
    assert written(automaton, spelt("three", "ten")) == [("three", "ten")]
    assert written(automaton, spelt("Three", "ten")) == [("three", "ten")]
    assert written(automaton, (*spelt("three"), comma, *spelt("ten"))) == [("three", "ten")]
    assert written(automaton, (*spelt("three"), hyphen, *TABLE.spell("ten", glued=True))) == [("three", "ten")]
    assert written(automaton, (*spelt("three", "ten"), stop)) == [("three", "ten")]
    assert written(automaton, spelt("three", "six")) == []
    assert written(automaton, spelt("three", "Ten")) == []
    assert written(automaton, spelt("ten")) == []


def test_a_full_stop_may_end_the_sentence_or_be_a_decimal_point():
    """Traps met by the prototype: '336.8' must not leak into '336'."""
    automaton = TokenAutomaton(grammar_of("3", "3 +. +8"), TABLE)
    stop, eight = TABLE.ids[b"."], TABLE.ids[b"8"]
    assert written(automaton, (*spelt("3"), stop)) == [("3",)]
    assert written(automaton, (*spelt("3"), stop, eight)) == [("3", "+.", "+8")]


def test_openings_of_free_speech_are_marked():
    automaton = TokenAutomaton(grammar_of("no", free=("note",)), TABLE)
    node = TokenAutomaton.START
    for token in spelt("note"):
        step = automaton.steps(node)
        node = int(step.nodes[step.tokens.tolist().index(token)])
    assert automaton.steps(node).opens_free
    assert END in TABLE.boundaries and TABLE.ids["▁t".encode()] in TABLE.boundaries
    assert TABLE.ids[b"t"] not in TABLE.boundaries


def test_nodes_are_built_once_and_only_where_the_search_comes():
    automaton = TokenAutomaton(grammar_of("three ten", "six hundred", "one"), TABLE)
    assert len(automaton) == 1
    written(automaton, spelt("three", "ten"))
    built = len(automaton)
    written(automaton, spelt("three", "ten"))
    assert len(automaton) == built
