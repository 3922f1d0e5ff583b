"""No two requests can be taken for each other when one word of a prompt is lost.

Metric: the edit distance over whole words (one word lost, added or replaced costs one), numbers set aside. In noise a
listener loses or mishears single words; a prompt that is one word from another becomes that other prompt by one loss.
At two words apart, one loss leaves a sentence that fits neither, and the person says 'say again'. Numbers are compared
exactly and apart: two prompts that differ in a number are the same request about another bolt or value, which the
read-back guards. Read-backs are compared with read-backs only: none stands alone, a request follows in the same breath.
They repeat what was just said, so two may differ in one word, if those words look unlike.
"""

from __future__ import annotations

import difflib
import itertools
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import read_joint
from assistant.config.procedure_file import procedure_for
from assistant.events import Item, ItemAnnounced, Measurement, Pass, PromptSpoken, Question, WaitBegun, WorkLaidOut
from assistant.procedure.evolve import fold
from assistant.procedure.prompts import prompt
from assistant.procedure.state import State
from assistant.procedure.work import lay_out
from assistant.speech.wording import LANGUAGES, catalogue
from tests.procedure.talk import Talk, command, value, work
from tests.speech import catalogue_walk as walk

DAY = date(2026, 11, 25)
DEMOS = sorted((Path(__file__).resolve().parents[2] / "demo_joints").glob("*.toml"))
APART = 2
ALIKE = 0.5
"""Share of letters in common, in order, from which two words look alike ('keep' and 'skip' have 0.5)."""
NUMBER_WORDS = {
    "en": set(
        "zero oh one two three four fife five six seven eight nine niner ten eleven twelve thirteen fourteen fifteen "
        "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand "
        "point".split()
    )
}
_PART = (
    "null|ein|eins|zwei|zwo|drei|vier|fünf|sechs|sieben|acht|neun|zehn|elf|zwölf|sech|sieb|zwanzig|dreißig|zig|hundert|"
    "tausend|und"
)
GERMAN_NUMBER = re.compile(f"(?:{_PART})+|komma")

WANTED = {
    # what is wanted of the person, by the sentence; what stands nowhere here wants something of its own
    "resume": "paused stopped hand_over told.say-resume help.paused help.stopped",
    "yes, no or again": "yes_or_no yes_is_enough told.yes-or-no help.asking",
    "figures": "figures_please told.unclear-words told.unclear-grouping help.figures",
    "a note": "note_please help.noting",
    "a name": "name_please told.say-the-name help.naming",
    "a choice": "choose help.choosing",
    "tighten or keep": "told.keep-or-retighten help.off-window",
    "a measured figure": "told.say-the-figure help.measuring",
    "the answer": "asked_back told.answer-first help.asked-back states one_of choose_answer choose_from",
    "the supervisor": "supervisor told.supervisor-phrase help.supervisor",
    "this reading": "told.say-the-reading told.one-at-a-time help.guiding help.clicks turn circle snug reading_of due "
    "set_to wrench_to",
    "the phrase": "hold_point whole_phrase once_more help.question not_now",
    "say it again": "say_again_please told.not-sure again",
    "your own words": "and_why help.explaining",
    "a reason": "help.reasoning",
    "a wait": "wait_begins wait_goes_on help.waiting",
    "is it": "is_it is_it_again",
    "did you say": "did_you_say did_you_say_again take_back take_back_again",
    "movement": "moved_or_not told.moved-or-not help.round circular_begins seat_begins",
    "snug": "help.snug",
    "nothing": "told.brief told.normal told.full told.louder told.quieter told.slower told.faster",
}
READ_BACKS = frozenset(
    "read_back recorded clicked held moved is_snug kept answered good taken_back noted skipped name_kept".split()
)
NOT_SPOKEN_ALONE = frozenset(
    {
        *("number", "figures", "amount", "unit_words", "duration", "bolt_named", "phrase_named", "entry", "group"),
        *("tool_name", "tool_scale_name", "tool_label_name", "multiplier_name", "called_closing", "called_review"),
        *("cautions", "place", "moment", "entries", "moments", "explained", "caution", "right", "wrong", "compare"),
        *("status", "where_question", "where_pass", "bolt_gets", "bolt_gets_now", "pass_begins", "again"),
        *("why_tool", "why_snug", "why_pattern", "why_circular", "why_seat", "why_closing", "why_review"),
        *("why_multiplier", "of_group", "plan_warns", "tool_in_words", "stop_called"),
    }
)


def split(text: str, language: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The words of a prompt without its numbers, and its numbers."""
    words = walk.plain_words(text)
    if language == "en":
        numbers = [w for w in words if w in NUMBER_WORDS["en"]]
    else:
        numbers = [w for w in words if GERMAN_NUMBER.fullmatch(w) and w not in ("und", "ein")]
    return tuple(w for w in words if w not in numbers), tuple(numbers)


def distance(one: tuple[str, ...], two: tuple[str, ...]) -> int:
    """How many words have to be lost, added or replaced."""
    row = list(range(len(two) + 1))
    for i, a in enumerate(one, start=1):
        last, row[0] = row[0], i
        for j, b in enumerate(two, start=1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (a != b))
    return row[-1]


def alike(one: tuple[str, ...], two: tuple[str, ...]) -> bool:
    """Whether two sentences one word apart differ in words that look alike."""
    only_one, only_two = " ".join(w for w in one if w not in two), " ".join(w for w in two if w not in one)
    return difflib.SequenceMatcher(None, only_one, only_two).ratio() >= ALIKE


def wanted(name: str) -> str:
    """What the sentence of this name wants; reasons are told apart by their purpose."""
    plain = name.split("(")[0]
    for what, names in WANTED.items():
        if plain in names.split():
            return what
    if plain == "impossible":
        return (
            "no-reading-due"
            if "due=None" in name
            else next((r for r in ("no-reading-due", "unit", "tool-range") if f"reason={r}" in name), "too far")
        )
    return name if plain in ("reason_please", "restarted") else plain


@pytest.mark.parametrize(("one", "two", "apart"), [("a b", "a b", 0), ("a b c", "a c", 1), ("a b", "c d", 2)])
def test_the_metric_counts_whole_words(one, two, apart):
    assert distance(tuple(one.split()), tuple(two.split())) == apart


@pytest.mark.parametrize(
    ("language", "text", "words"),
    [
        ("en", "Bolt five. One eighty.", ("bolt",)),
        ("de", "Schraube fünf. Moment hundertachtzig.", ("schraube", "moment")),
        ("de", "Ein Wert und eine Einheit", ("ein", "wert", "und", "eine", "einheit")),
        ("de", "Siebenundfünfzig Komma fünf", ()),
    ],
)
def test_numbers_are_set_aside(language, text, words):
    assert split(text, language)[0] == words


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_two_sentences_of_the_catalogue_are_taken_for_each_other(language):
    spoken = {
        (wanted(name), name.split("(")[0] in READ_BACKS, *split(text, language))
        for name, text in walk.sentences(catalogue(language))
        if name.split("(")[0].split(".")[0] not in NOT_SPOKEN_ALONE
    }
    near = []
    for one, two in itertools.combinations(sorted(spoken), 2):
        if one[0] == two[0] or one[1] != two[1] or one[3] != two[3]:
            continue
        apart, read_back = distance(one[2], two[2]), one[1]
        if apart == 0 or (alike(one[2], two[2]) if read_back and apart == 1 else apart < APART):
            near.append((one[0], " ".join(one[2]), two[0], " ".join(two[2])))
    assert not near


def request(item: Item) -> tuple[object, ...]:
    """What a stage wants; two stages that want the same may be asked for in the same words."""
    if isinstance(item, Pass):
        return item.kind, item.group, item.setting, item.phase == "re-check"
    if item.name.startswith("tool wrench"):
        return ("which wrench",)  # another group's name makes it the other wrench's question, whose answer is refused
    if isinstance(item, Measurement) and item.name.endswith("pipe diameter"):
        return ("a pipe's diameter",)  # both ends' figures have the same limits
    return type(item).__name__, getattr(item, "phrase", item.name)


def announced(work_laid_out: WorkLaidOut) -> Iterator[tuple[Item, str]]:
    """Each stage with the prompt that begins it."""
    begun = fold(State(), (work_laid_out,))
    for stage, item in enumerate(work_laid_out.items, start=1):
        at = State(**{**{f: getattr(begun, f) for f in begun.__slots__}, "stage": stage, "announced": (0, 0)})
        if isinstance(item, Pass):
            yield item, prompt(at, ItemAnnounced(stage=stage, round=1, bolt=at.bolt, first_of_pass=True), at)
        elif at.wait is not None:
            yield item, prompt(at, WaitBegun(stage=stage, name=at.wait.name, seconds=at.wait.seconds), at)
        else:
            yield item, prompt(at, ItemAnnounced(stage=stage, round=1, bolt=None, first_of_pass=False), at)


def works(language: str) -> Iterator[WorkLaidOut]:
    yield work()
    for path in DEMOS:
        joint = read_joint(path, today=DAY)
        yield lay_out(plan(joint, today=DAY), procedure_for(joint, near=path.parent), language=language)


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_two_stages_of_a_joint_are_taken_for_each_other(language):
    for each in works(language):
        prompts = [(item, *split(said, language)) for item, said in announced(each)]
        assert all(words for _, words, _ in prompts)
        for (one, words_1, numbers_1), (two, words_2, numbers_2) in itertools.combinations(prompts, 2):
            if request(one) != request(two) and numbers_1 == numbers_2:
                assert distance(words_1, words_2) >= APART, f"{each.joint}: {words_1} / {words_2}"


def test_every_demo_joint_has_its_four_kinds_of_stages():
    kinds = {type(item) for each in works("en") for item in each.items}
    assert kinds >= {Question, Pass} and len(kinds) == 4 and len(DEMOS) == 4


# ---------------------------------------------------------------------------------------- never twice word for word
AGAIN = {
    "a reading that is not sure": (1, [value("92", 0.7)], "ask"),
    "a command that is not sure": (1, [command("skip", 0.7)], "ask"),
    "a reading out of the window": (1, [value("110")], "accept"),
    "a reading that cannot be": (1, [value("500")], "accept"),
    "another bolt": (1, [value("92", bolt=4)], "accept"),
    "a range": (1, [command("unclear-range")], "accept"),
    "a phrase that is not sure": (0, [command("locked out and tried", 0.7)], "ask"),
    "a yes at a hold point": (0, [command("yes")], "accept"),
    "half a phrase": (0, [command("locked out and tried", 0.4)], "reject"),
}


@pytest.mark.parametrize(("at_pass", "heard", "decision"), AGAIN.values(), ids=AGAIN.keys())
def test_a_question_is_never_repeated_word_for_word(at_pass, heard, decision):
    talk = Talk.at_pass(at_pass) if at_pass else Talk.begun()
    before = ""
    for _ in range(6):
        talk.hear(*heard, decision=decision)
        assert not before or talk.said != before
        before = talk.said
        if talk.said:
            spoken = PromptSpoken(text=talk.said, start_sample=0, end_sample=1, cut_short=False)
            talk.state = fold(talk.state, (spoken,))


def spoken(talk: Talk) -> None:
    talk.state = fold(talk.state, (PromptSpoken(text=talk.said, start_sample=0, end_sample=1, cut_short=False),))


@pytest.mark.parametrize("between", ["status", "why", "help", "target"])
def test_say_again_repeats_the_open_question_whatever_was_asked_between(between):
    talk = Talk.begun()
    asked = talk.said
    spoken(talk)
    talk.hear(command(between))
    spoken(talk)
    talk.hear(command("say again"))
    assert asked.endswith(talk.said) and "locked out and tried" in talk.said
    spoken(talk)
    again = talk.said
    talk.hear(command("say again"))
    assert talk.said == again, "asked for word for word, it is said word for word"


def test_say_again_in_a_pass_repeats_the_last_reading_and_the_bolt_with_its_figure():
    talk = Talk.at_pass(1)
    talk.hear(value("92"))
    talk.hear(command("say again"))
    assert talk.said == "One recorded, ninety two. Bolt three, to ninety newton metres."


def test_say_again_repeats_what_was_read_back_as_a_question():
    talk = Talk.at_pass(1)
    talk.hear(value("92", 0.7), decision="ask")
    talk.hear(command("say again"))
    assert talk.said == "Ninety two?"


def test_what_does_not_fit_now_is_answered_with_what_does():
    talk = Talk.begun()
    talk.hear(command("close the joint"))
    assert talk.said == "Not yet. Is the line locked out? Say: locked out and tried."


def test_help_says_the_phrase_that_is_due():
    talk = Talk.begun()
    talk.hear(command("help"))
    assert "locked out and tried" in talk.said


def test_nothing_that_is_told_is_a_name_of_the_programs_inside():
    for language in LANGUAGES:
        for told in (catalogue(language).told, catalogue(language).help):
            assert not any(
                "-" in word and word.split("-")[0] == "unclear" for said in told.values() for word in said.split()
            )
