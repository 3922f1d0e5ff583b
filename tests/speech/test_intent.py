"""What sentences mean: a table that was read line by line, and properties over all values."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from assistant.bolting.unit_kinds import TORQUE_UNITS
from assistant.speech.intent import AFTERTHOUGHTS, CARRIERS, CORRECTING, NO_TORQUE, UNCLEAR, UNITS
from assistant.speech.meaning import Command, Note, Value
from assistant.speech.numbers import forms, value
from assistant.speech.vocabulary import everything
from tests.speech.walks import walks

GRAMMAR = everything()
TABLE = [
    line.rstrip("\n").split("\t")
    for line in (Path(__file__).parent / "sentences.tsv").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


def shown(meaning):
    """A meaning in the notation of the table."""
    match meaning:
        case None:
            return "-"
        case Note(opening, text):
            return f"note({opening}) {text}".strip()
        case Command(name, bolt):
            return f":{name}" + (f" bolt {bolt}" if bolt else "")
        case Value(number, unit, bolt, corrected, by_figures):
            parts = [f"{number:f}", unit, bolt and f"bolt {bolt}", corrected and "corrected", by_figures and "figures"]
            return " ".join(p for p in parts if p)


@pytest.mark.parametrize(("sentence", "meaning"), TABLE)
def test_sentences(sentence, meaning):
    assert shown(GRAMMAR.parse(sentence)) == meaning


numbers = st.integers(0, 5000).map(lambda n: Decimal(n) / 2)
said = numbers.flatmap(lambda n: st.tuples(st.just(n), st.sampled_from(forms(n))))


@st.composite
def large(draw):
    """A value from 100 on, in words (not figure by figure)."""
    number = draw(st.integers(100, 2500).map(Decimal))
    words = [f for f in forms(number) if "hundred" in f or "thousand" in f]
    return number, draw(st.sampled_from(words))


def understood(words):
    return GRAMMAR.meaning(tuple(words.split()))


@given(said, st.sampled_from([(u, w) for u, ways in UNITS.items() for w in ways]))
def test_a_spoken_unit_is_honoured(reading, unit):
    assert understood(f"{reading[1]} {unit[1]}") == Value(reading[0], unit[0])


@given(said, st.sampled_from(CARRIERS))
def test_small_words_before_a_value_change_nothing(reading, carrier):
    assert understood(f"{carrier} {reading[1]}") == Value(reading[0])


@given(said, st.sampled_from(CORRECTING))
def test_an_opening_correction_is_marked(reading, opening):
    assert understood(f"{opening} {reading[1]}") == Value(reading[0], corrected=True)


@given(said, st.integers(1, 99))
def test_a_bolt_and_a_value_never_become_another_value(reading, bolt):
    """'bolt twenty three ten' may be bolt 20 or bolt 23: it is refused, or it is exactly what was said."""
    meant = Value(reading[0], bolt=bolt)
    for number in forms(bolt):
        if understood(f"bolt {number}") != Command("bolt", bolt):
            continue  # said figure by figure: 'bolt one two fifty' would be no bolt number
        found = understood(f"bolt {number} {reading[1]}")
        assert found == meant or isinstance(found, Command), found
        if isinstance(found, Command):
            assert found.name in ("bolt", *UNCLEAR)


@given(said, st.integers(1, 99))
def test_a_linking_word_makes_bolt_and_value_clear(reading, bolt):
    assert understood(f"bolt {forms(bolt)[0]} is {reading[1]}") == Value(reading[0], bolt=bolt)
    assert understood(f"{reading[1]} on bolt {forms(bolt)[0]}") == Value(reading[0], bolt=bolt)


@given(said, said, st.sampled_from(AFTERTHOUGHTS))
def test_an_afterthought_replaces_the_value_and_is_no_correction_of_the_record(first, second, link):
    assert understood(f"{first[1]} {link} {second[1]}") == Value(second[0])


@given(said, said)
def test_no_between_two_values_is_the_second_or_refused(first, second):
    found = understood(f"{first[1]} no {second[1]}")
    assert found is None or found == Value(second[0])


@given(said)
def test_not_a_value_is_a_no(reading):
    assert understood(f"not {reading[1]}") == Command("no")


@given(large(), large())
def test_two_values_in_one_breath_are_one_only_when_they_are_equal(first, second):
    found = understood(f"{first[1]} {second[1]}")
    one = value(f"{first[1]} {second[1]}")
    if one is not None:  # 'two thousand' 'one hundred'
        assert found == Value(one) and one == first[0] + second[0]
    elif first[0] == second[0]:
        assert found == Value(first[0])
    else:
        assert isinstance(found, Command) and found.name in UNCLEAR, found


@given(large(), large(), st.sampled_from(["{} to {}", "{} or {}", "between {} and {}", "from {} to {}"]))
def test_a_range_is_refused(first, second, form):
    assert understood(form.format(first[1], second[1])) == Command("unclear-range")


@given(
    said, said, st.sampled_from(["{} to {}", "{} or {}", "between {} and {}", "from {} to {}", "{} plus or minus {}"])
)
def test_no_range_of_whatever_numbers_is_a_value(first, second, form):
    found = understood(form.format(first[1], second[1]))
    assert found is None or found == Command("unclear-range")


@given(said, st.sampled_from(NO_TORQUE))
def test_a_unit_that_is_no_torque_is_refused(reading, unit):
    assert understood(f"{reading[1]} {unit}") == Command("unclear-unit")


@given(st.text(alphabet="abcdefghijklmnopqrstuvwxyz 0123456789.,'", max_size=60), st.sampled_from(["note", "skip"]))
def test_free_speech_is_never_a_value(text, opening):
    assume(text.strip())
    found = GRAMMAR.parse(f"{opening} {text}")
    assert isinstance(found, Note) and found.opening == opening


def test_every_sentence_of_the_grammar_has_a_meaning():
    kinds = {Value: 0, Command: 0, Note: 0}
    for words in walks(GRAMMAR, 20_000, seed=1):
        meaning = GRAMMAR.meaning(words)
        assert meaning is not None, words
        kinds[type(meaning)] += 1
        if isinstance(meaning, Command) and meaning.name.startswith("unclear-"):
            assert meaning.name in UNCLEAR
    assert min(kinds.values()) > 100


def test_units_are_those_of_the_house():
    assert set(UNITS) == set(TORQUE_UNITS)


def test_a_value_said_again_by_figures_is_the_same_value():
    assert understood("three one zero three hundred and ten") == Value(Decimal(310))
    assert understood("three one zero three hundred and eleven") == Command("unclear-two-values")
