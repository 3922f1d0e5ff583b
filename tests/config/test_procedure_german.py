"""German in the procedure files and demo joints: every English text has its German one, and no English is in it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from assistant.bolting.joint_file.joint_people import Check, HoldPoint
from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import read_joint
from assistant.config.procedure_file import kinds, procedure_for, usual_procedure
from assistant.events import Pass, WorkLaidOut
from assistant.procedure.kinds import ON_BOLTS, Step
from assistant.procedure.work import lay_out
from tests.speech.catalogue_walk import plain_words, without_quotes
from tests.speech.test_prompts_apart import announced

DAY = date(2026, 11, 25)
DEMOS = sorted((Path(__file__).resolve().parents[2] / "demo_joints").glob("*.toml"))
STEPS = [(kind, step) for kind in kinds() for step in usual_procedure(kind).in_order()]
SHARED = frozenset("in an am was hand arm rest motor paste moment nut fast last ring wind".split())
"""Words that are German as well: 'Nut' is a groove, 'Last' a load, 'fast' is nearly."""

SHARED_SPOKEN = SHARED | frozenset("plan so pause celsius fahrenheit will still name".split())


def english_texts(step: Step | HoldPoint | Check) -> dict[str, str]:
    """The texts of a step that are spoken, by their German keys."""
    found = {key: getattr(step, key, None) for key in ("ask", "why", "goes_wrong", "caution", "tap")}
    ask = getattr(step, "ask_back", None)
    if ask is not None:
        found |= {"ask_back": ask.ask, "because": ask.because}
    return {key: text for key, text in found.items() if text}


def assert_in_german(step: Step | HoldPoint | Check) -> None:
    german = step.de.model_dump(exclude_none=True) if step.de is not None else {}
    english = english_texts(step)
    assert set(german) - {"called"} == set(english), step.name
    left = {word for text in english.values() for word in plain_words(text)} - SHARED
    for text in german.values():
        assert not left & set(plain_words(without_quotes(text))), f"{step.name}: {text}"


@pytest.mark.parametrize(("kind", "step"), STEPS, ids=[f"{kind}: {step.name}" for kind, step in STEPS])
def test_every_text_of_a_step_has_its_german_one(kind, step):
    assert_in_german(step)
    named = step.does not in (*ON_BOLTS, "tools")
    assert not named or (step.de is not None and step.de.called), "it is spoken of by its name"


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_own_question_of_a_demo_joint_has_its_german_one(path):
    joint = read_joint(path, today=DAY)
    for own in (*joint.hold_points, *joint.checks):
        assert_in_german(own)


@pytest.mark.parametrize(("kind", "step"), STEPS, ids=[f"{kind}: {step.name}" for kind, step in STEPS])
def test_what_is_said_is_short(kind, step):
    """A question not more than twelve words, a caution or a reason not more than twenty-four (common practice)."""
    german = step.de.model_dump(exclude_none=True) if step.de is not None else {}
    for texts in (english_texts(step), german):
        for key, text in texts.items():
            assert len(text.split()) <= (13 if key in ("ask", "ask_back") else 24), text


def laid_out(path: Path, language: str) -> WorkLaidOut:
    joint = read_joint(path, today=DAY)
    return lay_out(plan(joint, today=DAY), procedure_for(joint, near=path.parent), language=language)


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_joint_in_german_is_the_same_work_in_other_words(path):
    english, german = laid_out(path, "en"), laid_out(path, "de")
    assert [type(item) for item in english.items] == [type(item) for item in german.items]
    for one, two in zip(english.items, german.items, strict=True):
        if isinstance(one, Pass):
            assert (one.bolts, one.setting, one.kind) == (two.bolts, two.setting, two.kind)  # type: ignore[union-attr]
            continue
        assert one.name == two.name, "the record keeps its names"  # type: ignore[union-attr]
        assert one.called != two.called  # type: ignore[union-attr]
        if not hasattr(one, "seconds"):
            assert one.ask != two.ask  # type: ignore[union-attr]
        assert getattr(one, "phrase", "") == getattr(two, "phrase", ""), "listening stays English"


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_no_english_is_said_at_any_stage_but_the_phrases(path):
    """Every stage announced to an apprentice, who is told all there is; the joint's name stays as it is."""
    work = replace(laid_out(path, "de"), apprentice=True)
    english = replace(laid_out(path, "en"), apprentice=True)
    spoken = {word for _, said in announced(english) for word in plain_words(said)} - SHARED_SPOKEN
    for _, said in announced(work):
        left = spoken & set(plain_words(without_quotes(said)))
        assert not left, said


def test_a_reason_of_the_joint_file_is_not_followed_by_the_german_one_of_the_usual_step():
    path = next(path for path in DEMOS if "dn150" in path.stem)
    joint = read_joint(path, today=DAY)
    own = tuple(
        hold.model_copy(update={"de": None, "why": "Ours."}) if hold.name == "lock-out" else hold
        for hold in joint.hold_points
    )
    work = lay_out(
        plan(joint.model_copy(update={"hold_points": own}), today=DAY),
        usual_procedure("gasketed flange"),
        language="de",
    )
    lock_out = next(item for item in work.items if getattr(item, "name", "") == "lock-out")
    assert lock_out.lesson.why == "Ours."
    assert lock_out.ask == joint.hold_points[0].ask  # type: ignore[union-attr]
    assert lock_out.called == "Absperrung"  # type: ignore[union-attr]
