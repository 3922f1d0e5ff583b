from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.evidence import syllables, weigh
from assistant.speech.heard import Candidate, Reading
from assistant.speech.meaning import Command, Note
from assistant.speech.quality import Quality
from assistant.speech.voting import combine, kind, rank
from tests.speech.readings import GOOD, ear, plain_calibration, value, vosk

PLAIN = plain_calibration()


def vote(*readings, calibration=PLAIN, quality=GOOD):
    return combine(readings, calibration, quality=quality)


def test_two_listeners_that_agree_are_believed():
    heard = vote(ear((value("310"), 0.0), (value("390"), -6.0)), vosk((value("310"), 0.0)))
    assert heard.decision == "accept" and heard.agreed
    assert heard.ranked[0].meaning == value("310") and heard.ranked[0].probability > 0.95
    assert heard.by_listener == {"constrained": "number 310", "vosk": "number 310"}


def test_two_listeners_that_contradict_each_other_are_not():
    heard = vote(ear((value("310"), 0.0), (value("390"), -2.0)), vosk((value("390"), 0.0), (value("310"), -2.5)))
    assert heard.decision == "ask" and not heard.agreed
    assert {r.meaning for r in heard.ranked[:2]} == {value("310"), value("390")}


def test_the_second_listener_can_settle_what_the_first_leaves_open():
    open_question = ear((value("310"), -0.6), (value("210"), -0.7))
    assert vote(open_question).decision == "ask"
    settled = vote(open_question, vosk((value("210"), 0.0)))
    assert settled.decision == "accept" and settled.ranked[0].meaning == value("210")


@pytest.mark.parametrize("fit", [-8.0, 9.0])
def test_a_fit_out_of_bounds_on_either_side_is_rejected(fit):
    """Talk fits badly; a fit far above nought means that free wording ran wild (measured by the prototype)."""
    assert vote(ear((value("310"), 0.0), fit=fit)).decision == "reject"
    assert vote(ear((value("310"), 0.0), fit=0.5)).decision == "accept"


def test_nothing_heard_is_rejected_and_so_is_silence():
    assert vote(ear(), vosk()).decision == "reject"
    assert vote().decision == "reject"
    silent = Quality(seconds=1.0, speech_s=0.0, level_dbfs=-90.0, snr_db=0.0, clipped=0.0)
    heard = vote(ear((value("310"), 0.0)), vosk((value("310"), 0.0)), quality=silent)
    assert heard.decision == "reject" and heard.ranked == ()


def test_a_typed_word_is_believed_as_it_is():
    typed = Reading("typed", (Candidate(value("310"), "310", 0.0),))
    heard = vote(typed)
    assert heard.decision == "accept" and heard.ranked[0].probability == 1.0
    assert vote(Reading("typed", ())).decision == "reject"


def test_a_decimal_whose_point_nobody_said_is_asked():
    """The decoder writes '33.6' for a hesitation within 'three three six' too."""
    unsaid = ear((value("33.6"), 0.0), unsaid_point=1.0)
    said = ear((value("33.6"), 0.0), unsaid_point=0.0)
    assert vote(unsaid).decision == "ask"
    assert vote(said).decision == "accept"
    assert vote(unsaid, vosk((value("33.6"), 0.0))).decision == "accept"
    assert vote(unsaid, vosk((value("336"), -0.1), (value("33.6"), -2.0))).decision == "ask"


def test_a_near_rival_that_sounds_alike_asks_for_more():
    strict = plain_calibration(value=0.6, confusable_value=0.99)
    alike = ear((value("315"), 0.0), (value("350"), -2.0))
    unlike = ear((value("315"), 0.0), (value("822"), -2.0))
    assert vote(alike, calibration=strict).decision == "ask"
    assert vote(unlike, calibration=strict).decision == "accept"


def test_the_same_number_with_another_unit_is_a_near_rival_too():
    ranked = vote(ear((value("310"), 0.0), (value("310", unit="lbf*ft"), -1.0))).ranked
    assert kind(ranked) == "confusable value"


@pytest.mark.parametrize(
    ("meaning", "text", "expected"),
    [
        (value("310"), "three hundred and ten", "value"),
        (value("5"), "five", "short value"),
        (Command("stop"), "stop", "short command"),
        (Command("say again"), "say again", "command"),
        (Command("unclear-range"), "three ten to three twenty", "command"),
        (Command("locked out and tried"), "locked out and tried", "phrase"),
        (Note("note"), "note", "note"),
    ],
)
def test_kinds(meaning, text, expected):
    reading = Reading("constrained", (Candidate(meaning, text, 0.0),), fit=0.0, free_text=text)
    assert kind(vote(reading).ranked) == expected


def test_notes_agree_whatever_their_text_and_the_longest_text_is_kept():
    heard = vote(ear((Note("note", "washer damaged"), 0.0)), vosk((Note("note"), 0.0)))
    assert heard.agreed and heard.ranked[0].meaning == Note("note", "washer damaged")


def test_one_listener_alone_uses_its_own_combiner():
    for reading in (ear((value("310"), 0.0)), vosk((value("310"), 0.0))):
        heard = vote(reading)
        assert heard.ranked[0].meaning == value("310") and heard.agreed


def test_a_stricter_calibration_asks_where_the_usual_one_accepts():
    reading = ear((value("310"), 0.0), (value("822"), -3.9))
    assert vote(reading).decision == "accept"
    assert vote(reading, calibration=PLAIN.stricter()).decision == "ask"


scores = st.floats(-30.0, 0.0)
meanings = st.sampled_from([value("310"), value("390"), value("31"), Command("stop"), Command("no"), Note("note")])
found = st.lists(st.tuples(meanings, scores), max_size=6, unique_by=lambda f: f[0]).map(
    lambda f: sorted(f, key=lambda x: -x[1])
)


@given(found, found, st.floats(-40.0, 40.0), st.floats(0.0, 60.0))
def test_probabilities_are_probabilities_and_the_order_of_listeners_does_not_matter(a, b, fit, snr_db):
    quality = Quality(seconds=2.0, speech_s=1.0, level_dbfs=-25.0, snr_db=snr_db, clipped=0.0)
    one, other = ear(*a, fit=fit), vosk(*b)
    heard = vote(one, other, quality=quality)
    assert all(0.0 <= r.probability <= 1.0 for r in heard.ranked)
    assert sum(r.probability for r in heard.ranked) <= 1.0 + 1e-9
    assert [r.probability for r in heard.ranked] == sorted((r.probability for r in heard.ranked), reverse=True)
    assert len({r.meaning for r in heard.ranked}) == len(heard.ranked)
    swapped = vote(other, one, quality=quality)
    assert (swapped.ranked, swapped.decision) == (heard.ranked, heard.decision)


def test_what_no_listener_found_has_no_place_and_every_meaning_one():
    evidence = weigh([ear((value("310"), 0.0), (value("390"), -3.0)), vosk((value("390"), 0.0))], GOOD)
    assert [r.meaning for r in rank(evidence, PLAIN.combiners["constrained+vosk"])] == [value("390"), value("310")]
    assert evidence.figures[0]["vosk missing"] == 1.0 and evidence.figures[1]["vosk missing"] == 0.0


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("three", 1),
        ("seven", 2),
        ("one hundred and eighty", 6),
        ("newton metres", 4),
        ("310", 4),
        ("nine", 1),
        ("double", 2),
    ],
)
def test_syllables_are_counted_roughly(text, count):
    assert abs(syllables(text) - count) <= 1
