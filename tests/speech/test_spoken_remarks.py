"""Every caution and stop of a plan has its own sentence for the ear, short, in every language."""

from __future__ import annotations

import ast
import re
from datetime import date
from pathlib import Path

import pytest
from pydantic import ValidationError

import assistant.bolting
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.limits import examine
from assistant.bolting.planning.plan import plan
from assistant.bolting.remark import Figure, Spoken
from assistant.speech.wording import LANGUAGES, catalogue
from assistant.speech.wording.remarks import REMARKS
from tests.bolting.planning.test_harmful_and_honest import HARMFUL, HONEST, made
from tests.procedure.demo_walks import DEMO_JOINTS, demo_work
from tests.speech import catalogue_walk as walk

TODAY = date(2026, 11, 25)
MOST_WORDS = 22
"""In one breath: 8 s at 165 words a minute."""


def spoken_of(tables: dict) -> set[Spoken]:
    """What the voice says of a joint file's cautions and stops; nothing where it is refused."""
    try:
        joint = Joint.model_validate(tables)
    except ValidationError:
        return set()
    if examine(joint, today=TODAY).refusals:
        return set()
    whole = plan(joint, today=TODAY)
    return {said for each in (*whole.cautions, *whole.stops) for said in each.spoken}


@pytest.fixture(scope="module")
def everything() -> set[Spoken]:
    cases = [(base, changes) for base, changes, *_ in (*HARMFUL.values(), *HONEST.values())]
    return {said for base, changes in cases for said in spoken_of(made(base, changes))}


def sentences_in_the_source() -> set[str]:
    """Names of the sentences of every remark that may be a caution or a stop, where they stand there as they are."""
    found = set()
    for file in Path(assistant.bolting.__file__).parent.rglob("*.py"):
        for call in ast.walk(ast.parse(file.read_text())):
            if not (isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Remark"):
                continue
            grade, name, *rest = call.args
            given = [word.value for word in call.keywords if word.arg == "sentence"] + rest[3:]
            sentence = given[0] if given else name
            if ast.unparse(grade) != "'note'" and isinstance(sentence, ast.Constant):
                found.add(str(sentence.value))
    return found


def test_every_remark_that_is_spoken_has_its_sentence(everything: set[Spoken]):
    assert len(sentences_in_the_source()) > 40
    assert sentences_in_the_source() <= REMARKS.keys()
    assert {said.sentence for said in everything} <= REMARKS.keys()
    assert len({said.sentence for said in everything}) > 35


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_remark_is_said_with_all_its_figures_in_one_breath(language: str, everything: set[Spoken]):
    w = catalogue(language)
    for each in everything:
        template = getattr(REMARKS[each.sentence], language)
        assert len(set(re.findall(r"\{(\d)\}", template))) == len(each.parts), each
        said = w.plan_remark(each)
        assert all(w.number(part.value).lower() in said.lower() for part in each.parts if numbered(part)), said
        assert len(f"{w.plan_warns()} {w.of_group('joint bolts', said)}".split()) <= MOST_WORDS + 3, said
        assert not set(said) & set("*+/°%{}"), said


def numbered(part: Figure | str) -> bool:
    return isinstance(part, Figure) and part.value is not None


@pytest.mark.parametrize("apprentice", [False, True])
def test_every_caution_of_a_demo_plan_is_told_before_one_stage_and_no_other(apprentice: bool):
    told = 0
    for stem in DEMO_JOINTS:
        every = [text for item in demo_work(stem, apprentice=apprentice).items for text in item.lesson.warned]
        assert len(every) == len(set(every))
        told += len(every)
    assert told >= 8


def test_the_samples_of_the_walk_hold_every_sentence():
    assert {each.sentence for each in walk.SAMPLES["spoken"]} == REMARKS.keys()
