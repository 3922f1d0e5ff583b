"""The wording: every language complete, short, number last, and every number that is said is understood back."""

from __future__ import annotations

import inspect
import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bolting.tightening.pattern import FAMILIES
from assistant.config.procedure_file import kinds, usual_procedure
from assistant.speech import numbers
from assistant.speech.intent import UNCLEAR, UNITS_OF
from assistant.speech.wording import LANGUAGES, catalogue
from assistant.speech.wording.english import English
from assistant.speech.wording.practice import EnglishPractice, practice_words
from assistant.speech.wording.terms import TERMS
from tests.speech import catalogue_walk as walk

HALVES = st.integers(1, 5000).map(lambda n: Decimal(n) / 2)
EN, DE = catalogue("en"), catalogue("de")
FIGURES_DE = "null eins zwo drei vier fünf sechs sieben acht neun".split()
SMALL_DE = {
    **{word: n for n, word in enumerate("null eins zwei drei vier fünf sechs sieben acht neun zehn elf".split())},
    **{"ein": 1, "zwölf": 12, "sechzehn": 16, "siebzehn": 17},
    **{f"{word}zehn": n for n, word in ((13, "drei"), (14, "vier"), (15, "fünf"), (18, "acht"), (19, "neun"))},
    **{word: 10 * n for n, word in enumerate("zwanzig dreißig vierzig fünfzig sechzig".split(), start=2)},
    **{"siebzig": 70, "achtzig": 80, "neunzig": 90},
}
NOT_ROUTINE = frozenset(
    {
        # said once a session, or in an apprentice's mode, or at the start of a pass, or with a figure to pull to
        *("opening", "resuming", "cautions", "closing", "tool", "review", "pass_begins", "circular_begins"),
        *("seat_begins", "last_round", "together", "wait_begins", "measured_outside", "caution", "explained", "right"),
        *("wrong", "compare", "debrief", "moment", "snug", "name_please", "hand_over", "choose", "recorded"),
        *(
            "wrong_answer",
            "wrong_tool",
            "wrong_state",
            "low",
            "high",
            "last_pass_setting",
            "impossible",
            "kept",
            "hold_point",
        ),
        *("which_bolt_next", "asked_back", "wait_cut_short", "states", "one_of", "choose_answer", "supervisor"),
        *("set_to", "wrench_to", "bolt_value", "other_scale", "bolt_gets", "bolt_gets_now", "fits_other_scale"),
        *("plan_remark", "of_group", "stop_asked", "what_changed", "why_release", "name_again", "clock_asked"),
        *("clock_counted", "off_the_record"),
        *("method_begins", "too_wide", "pull_together", "pressure_caution", "fresh_bolts"),
    }
)
ANSWERS = ("why_", "help.", "equipment.", "troubles.", "no_reason.")
"""Said to whoever asked for them, or where a device fails."""


def german_value(words: str) -> Decimal:
    """What German number words say; written without looking at how they are made."""
    whole, _, fraction = words.partition(" Komma ")
    figures = "".join(str(SMALL_DE[word]) for word in fraction.split())
    return Decimal(f"{_german_whole(whole)}{'.' + figures if figures else ''}")


def _german_whole(word: str) -> int:
    for name, size in (("tausend", 1000), ("hundert", 100)):
        head, found, rest = word.partition(name)
        if found:
            return (_german_whole(head) if head else 1) * size + (_german_whole(rest) if rest else 0)
    if word in SMALL_DE:
        return SMALL_DE[word]
    one, ten = re.fullmatch("(.+?)und(.+)", word).groups()  # type: ignore[union-attr]
    return SMALL_DE[one] + SMALL_DE[ten]


# ------------------------------------------------------------------------------------------------------------ numbers
@given(HALVES)
def test_a_number_that_is_said_is_understood_back(value):
    assert numbers.value(EN.number(value)) == value


@given(HALVES)
def test_figures_that_are_said_are_understood_back(value):
    assert numbers.value(EN.figures(value).replace(",", "")) == value


@given(HALVES)
def test_a_german_number_says_its_value_and_no_other(value):
    assert german_value(DE.number(value)) == value


@given(HALVES)
def test_german_figures_say_their_value_and_no_other(value):
    said = DE.figures(value).split(", ")
    assert Decimal("".join("." if w == "Komma" else str(FIGURES_DE.index(w)) for w in said)) == value


def test_every_number_of_a_language_sounds_different():
    for words in (EN, DE):
        said = [words.number(Decimal(n) / 2) for n in range(1, 5001)]
        assert len(set(said)) == len(said)


@pytest.mark.parametrize(
    ("value", "english", "german"),
    [
        ("180", "one eighty", "hundertachtzig"),
        ("205", "two oh five", "zweihundertfünf"),
        ("100", "one hundred", "hundert"),
        ("1", "one", "eins"),
        ("101", "one oh one", "hunderteins"),
        ("121", "one twenty one", "hunderteinundzwanzig"),
        ("1200", "twelve hundred", "zwölfhundert"),
        ("1250", "twelve fifty", "zwölfhundertfünfzig"),
        ("1005", "one thousand and five", "tausendfünf"),
        ("57.5", "fifty seven point five", "siebenundfünfzig Komma fünf"),
        ("2000", "two thousand", "zweitausend"),
        ("2317", "two thousand three hundred and seventeen", "zweitausenddreihundertsiebzehn"),
    ],
)
def test_numbers_are_said_as_people_say_them_on_site(value, english, german):
    assert EN.number(Decimal(value)) == english
    assert DE.number(Decimal(value)) == german


def test_spelled_figures_keep_apart_what_sounds_alike():
    assert EN.figures(Decimal(95)) == "niner, fife"
    assert DE.figures(Decimal(170)) == "eins, sieben, null"
    assert DE.figures(Decimal("32.5")) == "drei, zwo, Komma, fünf"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_unit_that_is_understood_can_be_said(language):
    for unit in (unit for units in UNITS_OF.values() for unit in units):
        said = catalogue(language).amount(Decimal("180"), unit)
        assert said.startswith(catalogue(language).number(Decimal("180")))
        assert not set(said) & set("*·°")


def test_units_are_said_as_words():
    assert EN.amount(Decimal("180"), "N*m") == "one eighty newton metres"
    assert EN.amount(Decimal("180"), "N*m", "newtons") == "one eighty newtons"
    assert DE.amount(Decimal("180"), "N*m") == "hundertachtzig Newtonmeter"


# ----------------------------------------------------------------------------------------------------------- complete
def test_the_walk_knows_every_constant():
    assert sorted(walk.constants()) == sorted((*walk.CONSTANTS, "language"))
    assert all(catalogue(language).language == language for language in LANGUAGES)


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
@pytest.mark.parametrize("name", walk.methods())
def test_another_language_says_everything_itself(language, name):
    other = type(catalogue(language))
    assert getattr(other, name) is not getattr(English, name), f"{name} would be said in English"
    assert inspect.signature(getattr(other, name)) == inspect.signature(getattr(English, name))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", walk.CONSTANTS)
def test_every_language_has_the_same_fixed_answers(language, name):
    assert set(getattr(catalogue(language), name)) == set(getattr(EN, name))
    assert all(getattr(catalogue(language), name).values())


SHARED = frozenset(
    "plan paste hand last was person will minute still name in so an pause celsius fahrenheit bar".split()
)
"""Words that are German as well: 'Last' is a load, 'was' is what, 'will' wants, 'still' is quiet."""


def test_no_english_word_is_left_outside_the_phrases_that_people_must_say():
    english = {word for _, said in walk.sentences(EN) for word in walk.plain_words(said)}
    english -= {*walk.plain_words(f"{walk.TEXT} {walk.PHRASE}"), *SHARED}
    for name, said in walk.sentences(DE):
        left = english & set(walk.plain_words(walk.without_quotes(said)))
        assert not left, f"{name}: {said}"


def test_a_phrase_that_people_must_say_stands_between_quotation_marks():
    quoted = 0
    for name, said in walk.sentences(DE):
        assert walk.PHRASE.split()[0] not in walk.without_quotes(said), f"{name}: {said}"
        assert said.count("„") == said.count("“"), f"{name}: {said}"
        quoted += walk.PHRASE in said
    assert quoted >= len(walk.PHRASES) - 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_sentences_are_whole(language):
    """No doubled blanks or stops, first letter in upper case where a sentence ends with a stop."""
    for name, said in walk.sentences(catalogue(language)):
        assert said == " ".join(said.split()) and ".." not in said and " ." not in said, f"{name}: {said!r}"
        if said.endswith((".", "?")):
            first = said.lstrip("„")[0]
            assert first.isupper() or said.startswith((walk.TEXT, f"„{walk.PHRASE}")), f"{name}: {said!r}"


def test_every_order_family_has_its_german_words():
    for family in FAMILIES:
        assert walk.without_quotes(DE.why_pattern(Decimal(50), family)) == DE.why_pattern(Decimal(50), family)


def test_every_refused_way_of_speaking_has_an_answer():
    for language in LANGUAGES:
        assert set(UNCLEAR) <= set(catalogue(language).told)


PRACTICE = [name for name, _ in inspect.getmembers(EnglishPractice, inspect.isfunction) if name[0] != "_"]
PRACTICE_SLIPS = ("wrong-unit", "missed-bolt", "dry-torque", "calibration")


def practised(language: str) -> list[str]:
    """Everything that is said in a practice; texts that come from elsewhere are left empty."""
    w = practice_words(language)
    fixed = [getattr(w, name)() for name in PRACTICE if len(inspect.signature(getattr(w, name)).parameters) == 0]
    slips = [s for name in PRACTICE_SLIPS for s in (w.slip(name, other="", unit=""), w.caught(name))]
    told = [
        w.reads(""),
        w.shows(""),
        w.nut(moved=True),
        w.nut(moved=False),
        w.debrief(1, 4, PRACTICE_SLIPS, 1, 2),
        w.last_time(("",)),
        w.say_back(""),
        w.try_instead(""),
        w.lesson_end((), ()),
        w.lesson_end((("", ""),), ("",)),
        w.sees(""),
    ]
    return [*fixed, *slips, *told]


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
@pytest.mark.parametrize("name", PRACTICE)
def test_a_practice_in_another_language_says_everything_itself(language, name):
    other = type(practice_words(language))
    assert getattr(other, name) is not getattr(EnglishPractice, name)
    assert inspect.signature(getattr(other, name)) == inspect.signature(getattr(EnglishPractice, name))


def test_no_english_word_is_left_in_a_german_practice():
    english = {word for said in practised("en") for word in walk.plain_words(said)} - SHARED
    assert len(practised("de")) == len(practised("en"))
    for said in practised("de"):
        assert not english & set(walk.plain_words(walk.without_quotes(said))), said


# --------------------------------------------------------------------------------------------------------------- short
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_routine_prompt_has_at_most_nine_words(language):
    seen = 0
    for name, said in walk.sentences(catalogue(language)):
        if name.split("(")[0] not in NOT_ROUTINE and not name.startswith(ANSWERS):
            seen += 1
            assert len(said.split()) <= 9, f"{name}: {said}"
    assert seen > 100


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_not_routine_is_short_as_well(language):
    """A correction's question not more than twelve words; a reason and what goes with it twenty."""
    for name, said in walk.sentences(catalogue(language)):
        assert len(said.split()) <= 22, f"{name}: {said}"


def test_what_is_not_routine_is_in_the_catalogue():
    assert set(walk.methods()) >= NOT_ROUTINE


@pytest.mark.parametrize("language", LANGUAGES)
@given(st.integers(1, 96), HALVES)
def test_the_number_comes_last(language, bolt, value):
    w = catalogue(language)
    for said in (
        w.turn(bolt, w.number(value)),
        w.wrench_to(bolt, w.number(value)),
        w.set_to(bolt, w.number(value)),
        w.low(w.number(value + 1), Decimal(7), w.number(value), told=True),
        w.low(w.number(value + 1), Decimal(7), w.number(value), told=False),
        w.last_pass_setting(w.number(value)),
        w.impossible(value + 1, "far-off", "", value),
        w.recorded(bolt, value, spell=False),
        w.read_back(value, spell=False),
        w.kept(bolt, value),
        w.together((bolt, bolt + 1), w.number(value)),
        w.is_it(value, spell=False),
    ):
        assert said.rstrip(".?").lower().endswith(w.number(value).lower())
    for said in (w.recorded(bolt, value, spell=True), w.is_it(value, spell=True), w.is_it_again(value)):
        assert said.rstrip(".?").lower().endswith(w.figures(value).lower())
    asked = (w.snug(bolt, first=True), w.circle(bolt), w.moved_or_not(bolt), w.reading_of(bolt), w.figures_please(bolt))
    for said in (*asked, w.replaced(bolt), w.other_bolt(bolt + 1, bolt)):
        assert said.rstrip(".?").lower().endswith(w.number(Decimal(bolt)).lower())


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_question_asked_again_has_other_words(language):
    w = catalogue(language)
    pairs = [
        (w.is_it(Decimal(95), spell=True), w.is_it_again(Decimal(95))),
        (w.did_you_say("skip"), w.did_you_say_again("skip")),
        (w.take_back("x"), w.take_back_again("x")),
        (w.yes_or_no(again=False), w.yes_or_no(again=True)),
        (w.say_again_please(1), w.say_again_please(2)),
        (w.whole_phrase("x"), w.once_more("x")),
        (w.turn(5, "one eighty"), w.again(w.turn(5, "one eighty"))),
    ]
    for first, second in pairs:
        assert first != second


# --------------------------------------------------------------------------------------------------------------- terms
def texts(language):
    """All that is said in a language: the catalogue and the usual procedures."""
    yield from walk.sentences(catalogue(language))
    for kind in kinds():
        for step in usual_procedure(kind).steps:
            said = step if language == "en" else step.de
            yield f"{kind}, {step.name}", step.name if language == "en" else getattr(said, "called", None) or ""
            for key in ("ask", "why", "goes_wrong", "caution", "tap"):
                yield f"{kind}, {step.name}, {key}", getattr(said, key, None) or ""


@pytest.mark.parametrize("language", LANGUAGES)
def test_one_word_is_used_for_one_thing(language):
    avoided = {word.casefold(): term.en for term in TERMS for word in getattr(term, f"avoid_{language}")}
    for name, said in texts(language):
        for word, term in avoided.items():
            assert not re.search(rf"\b{re.escape(word)}\b", said.casefold()), f"{name}: {said!r} says {word!r} ({term})"


def test_every_term_is_said():
    for language in LANGUAGES:
        said = " ".join(text for _, text in texts(language)).casefold()
        for term in TERMS:
            word = getattr(term, language).casefold()
            assert word[:8] in said, f"{language}: nobody says {word!r}"
