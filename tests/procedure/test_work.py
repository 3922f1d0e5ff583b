"""The work laid out from a plan: every demo joint, its hold points, passes and figures."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import parse_joint, read_joint
from assistant.config.procedure_file import usual_procedure
from assistant.events import Question
from assistant.procedure.follow_up import follow_up
from assistant.procedure.work import lay_out as lay_out_by
from assistant.speech.vocabulary import Expecting, grammar_for

ROOT = Path(__file__).resolve().parents[2]
JOINTS = sorted((ROOT / "demo_joints").glob("*.toml"))
DAY = date(2026, 11, 25)


def lay_out(made):
    return lay_out_by(made, usual_procedure(made.joint.kind))


def laid_out(path: Path):
    made = plan(read_joint(path, today=DAY), today=DAY)
    return made, lay_out(made)


@pytest.mark.parametrize("path", JOINTS, ids=lambda p: p.stem)
def test_lock_out_comes_first_and_closing_last(path):
    _, work = laid_out(path)
    holds = [question for question in work.questions if question.hold]
    assert holds[0].name == "lock-out" and holds[0].witness
    assert all(isinstance(item, Question) for item in work.items[: work.items.index(holds[0])])
    assert work.items[-1].phrase == "close the joint"


@pytest.mark.parametrize("path", JOINTS, ids=lambda p: p.stem)
def test_every_step_of_the_plan_is_in_a_pass_with_its_figures(path):
    made, work = laid_out(path)
    for group in made.groups:
        own = [p for p in work.passes if p.group == group.name]
        passes = list({(p.number, p.setting): p for p in reversed(own)}.values())[::-1]  # all round, once of several
        assert passes[0].kind == "snug" and sorted(passes[0].bolts) == list(range(1, group.bolts + 1))
        visited = [(p.number, bolt, p.setting.value) for p in passes[1:] for bolt in p.bolts]
        planned = [(each.number, bolt, each.scale.magnitude) for each in group.passes for bolt in each.order]
        assert [(n, b) for n, b, _ in visited] == [(n, b) for n, b, _ in planned]
        for (_, _, setting), (_, _, mark) in zip(visited, planned, strict=True):
            assert float(setting) == pytest.approx(mark, abs=1e-4)


@pytest.mark.parametrize("path", JOINTS, ids=lambda p: p.stem)
def test_the_setting_lies_in_the_window_and_on_the_scale(path):
    _, work = laid_out(path)
    for each in work.passes:
        if each.setting is not None:
            assert each.low.value <= each.setting.value <= each.high.value
            assert each.tool_low.value <= each.setting.value <= each.tool_high.value


@pytest.mark.parametrize("path", JOINTS, ids=lambda p: p.stem)
def test_every_phrase_can_be_said_and_is_understood(path):
    _, work = laid_out(path)
    for question in work.questions:
        grammar = grammar_for(Expecting(values=False, yes_no=False, phrases=(question.phrase, *question.refused)))
        for phrase in (question.phrase, *question.refused):
            assert grammar.parse(phrase).name == phrase


def test_the_peoples_own_words_for_the_unit_are_used():
    demo = next(p for p in JOINTS if "flange" in p.stem).read_text("utf-8") + '\n[settings]\nunit_words = "newtons"\n'
    work = lay_out(plan(parse_joint(demo.encode(), source="demo"), today=DAY))
    assert {p.unit_words for p in work.passes if p.setting is not None} == {"newtons"}


@pytest.mark.parametrize("demo", JOINTS, ids=lambda p: p.stem)
def test_a_follow_up_covers_the_named_bolts_at_full_value_then_all_round(demo):
    whole = lay_out(plan(read_joint(demo, today=DAY), today=DAY))
    for group in {p.group for p in whole.passes}:
        own = [p for p in whole.passes if p.group == group]
        again = follow_up(whole, {group: (2, 1), "no such group": (1,)})
        assert again.items[0].name == "review"
        names = [getattr(item, "name", "") for item in again.items]
        prepared = [item.name for item in whole.items if isinstance(item, Question) and item.phase == "prepare"]
        assert names[1 : 1 + len(prepared)] == prepared  # isolation and pressure off before anything is turned
        assert "gasket" not in names and not [q for q in again.questions if "new" in q.ask.split()]
        later = ("restore", "re-check", "leak watch", "close")
        assert [i for i in again.items if i.phase in later] == [i for i in whole.items if i.phase in later]
        assert ("settling time" in names) == any(getattr(i, "name", "") == "settling time" for i in whole.items)
        arm = {"reaction arm", "hands clear"}
        assert arm <= set(names) if group == "split bolts" else not arm & set(names)
        before = [p for p in again.passes if p.phase != "re-check"]
        first, last = before[0], before[-1]
        full = [p for p in own if p.kind == "pattern"][-1]
        assert set(first.bolts) == {1, 2} and first.bolts == tuple(b for b in full.bolts if b in (1, 2))
        assert (first.setting, first.low, first.high, first.target) == (full.setting, full.low, full.high, full.target)
        assert set(last.bolts) == set(full.bolts) and last.setting == full.setting
        assert last.goes_round == any(p.goes_round for p in own)


def test_a_follow_up_of_nothing_that_is_there_has_no_passes():
    whole = lay_out(plan(read_joint(JOINTS[0], today=DAY), today=DAY))
    for bolts in ({}, {"nobody's": (1,)}, {whole.passes[0].group: (99,)}):
        assert follow_up(whole, bolts).passes == ()


def test_a_follow_up_without_a_circular_pass_does_the_last_pass_over_all_bolts():
    whole = lay_out(plan(read_joint(JOINTS[0], today=DAY), today=DAY))
    plain = replace(whole, stages=tuple(s for s in whole.stages if s.bolts is None or not s.bolts.goes_round))
    group = plain.passes[0].group
    again = follow_up(plain, {group: (2,)})
    last = [p for p in plain.passes if p.group == group][-1]
    assert again.passes == (replace(last, bolts=(2,)), last)
