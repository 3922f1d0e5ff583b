from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.calibration import Calibration, Combiner
from assistant.speech.evidence import syllables, weigh
from assistant.speech.heard import Candidate, Reading
from assistant.speech.meaning import Command, Note
from assistant.speech.quality import Quality
from assistant.speech.voting import combine, kind, rank
from tests.speech.readings import GOOD, ear, plain_calibration, saying, value, vosk

PLAIN = plain_calibration()


def vote(*readings, calibration=PLAIN, quality=GOOD):
    return combine(readings, calibration, quality=quality)


def test_two_listeners_that_agree_are_believed():
    heard = vote(ear((value("310"), 0.0), (value("390"), -6.0)), vosk((value("310"), 0.0)))
    assert heard.decision == "accept" and heard.agreed
    assert heard.ranked[0].meaning == value("310") and heard.ranked[0].probability > 0.95
    assert heard.by_listener == {"constrained": "number 310", "vosk": "number 310"}
    assert heard.accept_at == PLAIN.combiners["constrained+vosk"].thresholds["value"].accept
    assert vote(ear()).accept_at == 1.0


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
    alike = ear((value("325"), 0.0), (value("329"), -2.0))
    unlike = ear((value("325"), 0.0), (value("822"), -2.0))
    assert vote(alike, calibration=strict).decision == "ask"
    assert vote(unlike, calibration=strict).decision == "accept"


@pytest.mark.parametrize("number", ["315", "350", "19", "1340", "90"])
def test_a_teen_or_ten_asks_for_more_even_where_no_listener_names_its_twin(number):
    strict = plain_calibration(value=0.6, teen_or_ten=0.999)
    assert vote(ear((value(number), 0.0)), vosk((value(number), 0.0)), calibration=strict).decision == "ask"
    assert vote(ear((value("312"), 0.0)), vosk((value("312"), 0.0)), calibration=strict).decision == "accept"


def test_a_value_that_the_better_listener_does_not_even_count_among_the_possible_ones_is_asked():
    trusting = Combiner({"vosk": 1.0}, {"any": -9.0}, plain_calibration().combiners["vosk"].thresholds)
    lenient = Calibration(dict.fromkeys(("vosk", "constrained+vosk"), trusting), {}, {})
    heard = vote(ear((value("822"), -14.0)), vosk((value("83"), 0.0)), calibration=lenient)
    assert heard.ranked[0].meaning == value("83") and heard.ranked[0].probability > 0.99
    assert heard.decision == "ask"
    counted = vote(ear((value("822"), -1.0), (value("83"), -3.0)), vosk((value("83"), 0.0)), calibration=lenient)
    assert counted.ranked[0].meaning == value("83") and counted.decision == "accept"
    assert vote(vosk((value("83"), 0.0)), calibration=lenient).decision == "accept"  # nobody else is there


def test_the_same_number_with_another_unit_is_a_near_rival_too():
    ranked = vote(ear((value("310"), 0.0), (value("310", unit="lbf*ft"), -1.0))).ranked
    assert kind(ranked) == "confusable value"


@pytest.mark.parametrize(
    ("meaning", "text", "expected"),
    [
        (value("310"), "three hundred and ten", "value"),
        (value("315"), "three hundred and fifteen", "teen or ten"),
        (value("90"), "ninety", "teen or ten"),
        (value("216", by_figures=True), "two one six", "value"),
        (value("216", by_figures=True), "216", "teen or ten"),
        (value("17", by_figures=True), "one seven", "teen or ten"),
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


def test_only_values_are_judged_by_the_letters():
    """Letters that contradict speak against a value, not against a command, whose words they have hardly learnt."""
    trusting = plain_calibration().combiners["constrained+vosk"]
    weights = {**trusting.weights, "letters": 1.0}
    wary = Combiner(weights, {**trusting.otherwise, "letters fit bad": 1.0}, trusting.thresholds)
    calibration = Calibration({**plain_calibration().combiners, "constrained+letters+vosk": wary}, {}, {})
    for meaning, decision in ((Command("resume"), "accept"), (value("310"), "reject")):
        heard = replace(ear((meaning, -0.1)), letters=saying("kettle"))
        assert vote(heard, vosk((meaning, 0.0)), calibration=calibration).decision == decision
    between = replace(ear((value("9"), -0.1), (Command("no"), -0.3)), letters=saying("number nine"))
    second = vosk((Command("no"), 0.0), (value("9"), -3.0))
    assert vote(between, second, calibration=calibration).ranked[0].meaning == value("9")


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


def figures_of(reading, *others):
    return weigh([reading, *others], GOOD).figures[0]


def read(text: str, number: str, free_text: str = "") -> Reading:
    return Reading("constrained", (Candidate(value(number), text, -1.0),), fit=0.0, free_text=free_text)


def test_words_around_a_number_are_counted_as_they_may_be_a_drowned_figure():
    """'eight seventy five' came back as 'it's seventy five' from both listeners."""
    plain, filled = figures_of(read("eight seventy five", "875")), figures_of(read("it's seventy five", "75"))
    assert (plain["begins with a filler"], plain["fillers"]) == (0.0, 0.0)
    assert (filled["begins with a filler"], filled["fillers"]) == (1.0, 1.0)
    assert figures_of(read("four so six", "46"))["begins with a filler"] == 0.0
    assert figures_of(read("875", "875"))["numerals"] == 1.0 and plain["numerals"] == 0.0


def test_free_speech_whose_opening_free_wording_does_not_know_is_told():
    """'gaps are even' was taken for 'skip ...'."""

    def opening(free_text: str) -> float:
        reading = Reading("constrained", (Candidate(Note("skip"), "skip", -1.0),), fit=0.0, free_text=free_text)
        return figures_of(reading)["opening unheard"]

    assert opening("Skip, washer damaged.") == 0.0
    assert opening("Gaps are even.") == 1.0
    assert figures_of(read("three ten", "310", "Breathe in."))["opening unheard"] == 0.0


def test_all_figures_are_bounded_however_bad_the_sound():
    worst = Quality(seconds=16.0, speech_s=16.0, level_dbfs=-60.0, snr_db=0.0, clipped=1.0)
    long = " ".join(["seven hundred"] * 20)
    reading = Reading("constrained", (Candidate(value("99999"), long, -900.0),), fit=-500.0, free_text="x " * 90)
    evidence = weigh([reading, vosk((value("1"), -700.0), readable=0.0)], worst)
    for figures in (*evidence.figures, evidence.otherwise):
        assert all(abs(v) <= 25.0 for v in figures.values()), figures


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
