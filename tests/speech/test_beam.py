from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.beam import Limits, candidates, free_wording, search, unsaid_point, written
from assistant.speech.meaning import Command, Note, Value
from assistant.speech.tokens import END, TokenAutomaton
from assistant.speech.vocabulary import Expecting, everything, grammar_for
from tests.speech.fake_decoder import FakeDecoding, heard, small_table
from tests.speech.test_tokens import grammar_of

TABLE = small_table()
LIMITS = Limits()


def found_in(grammar, **shares):
    return search(heard(TABLE, **shares), TokenAutomaton(grammar, TABLE), LIMITS)


def test_the_likeliest_sentence_of_the_grammar_comes_first_with_its_probability():
    grammar = grammar_of("three ten", "three six", "six ten")
    found = found_in(grammar, three_ten=0.7, three_six=0.2, bar=0.1)
    best, second, *_ = candidates(found, grammar)
    assert best.meaning == Command("three ten") and best.text == "three ten"
    assert math.exp(best.log_probability) == pytest.approx(0.7, abs=0.01)
    assert math.exp(second.log_probability) == pytest.approx(0.2, abs=0.01)


def test_all_spellings_of_a_meaning_are_summed():
    grammar = everything()
    found = found_in(grammar, three_hundred=0.4, Three_hundred=0.3, **{"300": 0.2, "three_thousand": 0.1})
    best = candidates(found, grammar)[0]
    assert isinstance(best.meaning, Value) and best.meaning.number == 300
    assert math.exp(best.log_probability) == pytest.approx(0.9, abs=0.02)


def test_free_wording_outside_the_grammar_makes_a_bad_fit():
    grammar = grammar_of("three ten", "six")
    inside = found_in(grammar, three_ten=0.95, six=0.05)
    outside = found_in(grammar, three_tin=0.999, three_ten=0.001)
    assert inside.fit == pytest.approx(0.0, abs=0.1)
    assert outside.fit is not None and outside.fit < -6
    assert TABLE.text(outside.free_tokens) == "three tin"


def test_a_numeral_with_a_decimal_does_not_leak_into_the_whole_number():
    """Traps met by the prototype: after '.' the end must be scored by its own step."""
    grammar = everything()
    ways = {(*TABLE.spell("336"), TABLE.ids[b"."], TABLE.ids[b"8"], END): 1.0}
    found = search(FakeDecoding(TABLE, ways), TokenAutomaton(grammar, TABLE), LIMITS)
    numbers = {c.meaning.number: c.log_probability for c in candidates(found, grammar) if isinstance(c.meaning, Value)}
    assert str(max(numbers, key=lambda n: numbers[n])) == "336.8"
    assert numbers.get(Decimal(336), -math.inf) < -8


def test_a_decimal_is_trusted_only_when_the_point_was_heard_as_a_word():
    grammar = everything()
    ways = {(*TABLE.spell("33"), TABLE.ids[b"."], TABLE.ids[b"6"], END): 0.99}
    numeral = search(FakeDecoding(TABLE, ways), TokenAutomaton(grammar, TABLE), LIMITS)
    spoken = found_in(grammar, thirty_three_point_six=0.99)
    best = candidates(spoken, grammar)[0].meaning
    assert str(best.number) == "33.6"
    assert unsaid_point(numeral, grammar, best)
    assert not unsaid_point(spoken, grammar, best)
    assert not unsaid_point(numeral, grammar, Command("stop"))


def test_note_counts_with_everything_that_may_follow_and_is_not_taken_for_no():
    grammar = grammar_for(Expecting(values=True, yes_no=True, free=("note",)))
    found = found_in(grammar, note_washer_damaged=0.9, no=0.1)
    by_meaning = {type(c.meaning): c for c in candidates(found, grammar)}
    assert isinstance(candidates(found, grammar)[0].meaning, Note)
    assert math.exp(by_meaning[Note].log_probability) == pytest.approx(0.9, abs=0.05)
    assert found.fit is not None and abs(found.fit) < 0.5


def test_nothing_is_found_when_no_sentence_comes_near():
    """The beam is narrow here, and free wording fills it: the search ends and says so."""
    grammar = grammar_of("three")
    found = search(heard(TABLE, bar_bar=1.0), TokenAutomaton(grammar, TABLE), Limits(slack=3.0, spread=3.0))
    assert all(score < -10 for score in found.sentences.values())


def test_free_wording_that_never_ends_is_cut():
    class Babbling(FakeDecoding):
        def step(self, tokens, parents):
            logits = super().step(tokens, parents)
            logits[:, :] = -9.0
            logits[:, TABLE.ids[b"a"]] = 0.0
            return logits

    tokens, _ = free_wording(Babbling(TABLE, {}), longest=12)
    assert tokens == [TABLE.ids[b"a"]] * 12
    found = search(Babbling(TABLE, {}), TokenAutomaton(grammar_of("three"), TABLE), Limits(longest_free=15))
    assert len(found.free_tokens) == 15


def test_the_first_step_is_shared_and_no_batch_is_wider_than_the_beam_and_free_wording():
    decoding = heard(TABLE, three_hundred_and_ten=0.5, three_hundred_and_six=0.5)
    search(decoding, TokenAutomaton(everything(), TABLE), Limits(width=4))
    assert decoding.batches[0] == 1
    assert max(decoding.batches) <= 5


@given(st.sampled_from(["three ten", "six", "one", "three six"]), st.integers(1, 8))
def test_a_narrow_beam_finds_what_is_clear(said, width):
    grammar = grammar_of("three ten", "three six", "six", "one")
    decoding = heard(TABLE, **{said.replace(" ", "_"): 1.0})
    found = search(decoding, TokenAutomaton(grammar, TABLE), Limits(width=width))
    assert candidates(found, grammar)[0].meaning == Command(said)


def test_words_are_written_as_text():
    assert written(("bolt", "5", "3", "+1", "+0", "+.", "+5")) == "bolt 5 310.5"
