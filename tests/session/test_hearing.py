"""How long silence is waited for, by what was understood so far."""

from __future__ import annotations

import pytest

from assistant.session.hearing import USUAL_MS, first_patience_ms, patience_ms
from assistant.speech.heard import Heard, Ranked
from assistant.speech.vocabulary import everything


def heard(text: str, *, decision: str = "accept", agreed: bool = True, **by_listener: str) -> Heard:
    meaning = everything().parse(text)
    ranked = () if meaning is None else (Ranked(meaning, text, 0.99),)
    return Heard(ranked, decision, 0.0, text, by_listener, agreed)


def waits(text: str, **how: object) -> int:
    return patience_ms(heard(text, **how), everything())  # type: ignore[arg-type]


def test_what_can_not_go_on_waits_least():
    assert waits("three ten newton metres") == waits("say again")
    assert waits("say again") < waits("three ten") < waits("one two zero") < waits("one two") < waits("three hundred")


@pytest.mark.parametrize("text", ["three hundred and", "fifty seven point"])
def test_an_unfinished_number_waits_longest(text):
    half = Heard((Ranked(everything().parse("three hundred"), text, 0.9),), "accept", 0.0, text, {}, True)
    assert patience_ms(half, everything()) > waits("three hundred")


def test_doubt_waits_longer():
    assert waits("three ten", decision="ask") > waits("three ten")
    assert waits("three ten", decision="reject") > waits("three ten", decision="ask")
    assert waits("say again", decision="ask") > waits("say again")


def test_an_answer_that_something_might_follow_waits_less_than_half_a_number():
    assert waits("say again") < waits("yes") < waits("one two")
    assert waits("yes") < waits("yes", decision="ask") < waits("yes", decision="reject")
    assert waits("bolt seven") > waits("yes")


def test_numerals_do_not_tell_how_they_were_said_but_the_other_listener_does():
    unknown = waits("310", constrained="310")
    assert waits("310", constrained="310", vosk="three ten") == waits("three ten") < unknown
    assert waits("310", constrained="310", vosk="three one zero") == waits("three one zero")
    assert waits("310", constrained="310", vosk="three ten", agreed=False) == unknown


@pytest.mark.parametrize(
    ("partial", "as_long_as"),
    [
        ("stop now", "stop now"),
        ("three ten newton metres", "three ten newton metres"),
        ("three ten", "three ten"),
        ("one two", "one two"),
        ("three hundred", "three hundred"),
        ("yes", "yes"),
        ("bolt seven", "bolt seven"),
    ],
)
def test_partial_words_wait_as_a_verdict_that_is_not_sure(partial, as_long_as):
    assert first_patience_ms(tuple(partial.split()), everything()) == waits(as_long_as, decision="ask")


@pytest.mark.parametrize("partial", ["three hundred and", "fifty seven point", "bolt", "double"])
def test_partial_words_that_must_go_on_wait_longest(partial):
    assert first_patience_ms(tuple(partial.split()), everything()) > waits("three hundred")


@pytest.mark.parametrize("partial", ["", "three [unk]", "[unk]", "hundred and", "the note of", "stop ninety"])
def test_partial_words_that_begin_no_sentence_tell_nothing(partial):
    assert first_patience_ms(tuple(partial.split()), everything()) == USUAL_MS
