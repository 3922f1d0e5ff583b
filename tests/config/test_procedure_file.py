"""Procedure files: what is refused, with file, step, value and what is allowed; a kind that a practitioner wrote."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import parse_joint
from assistant.config.procedure_file import kinds, parse_procedure, procedure_for, procedure_schema, usual_procedure
from assistant.errors import BadJointFile
from assistant.events import Item, Measurement, Pass, Question, Wait
from assistant.procedure.work import lay_out
from tests.bolting.joint_samples import TODAY
from tests.config.own_procedure import JOINT, OWN
from tests.session.house import OPENED, events_of, typed

# what stands there -> what is written instead, then parts of the message, and of what is allowed
REFUSED = [
    (
        'name = "gap"',
        'name = "gap"\nthen = "torque"',
        ("steps[5].name is 'snug'", "nothing leads"),
        "a `then` that names",
    ),
    (
        'does = "snug"',
        'does = "snug"\nthen = "gap"',
        ("steps[5].then is 'gap'", "step 'snug'", "'gap': a circle"),
        "not there",
    ),
    (
        'does = "snug"',
        'does = "snug"\nthen = "nut"',
        ("steps[5].then is 'nut'", "step 'snug'"),
        "one of lock-out, left",
    ),
    ('phase = "snug"', 'phase = "tea"', ("steps[5].phase is 'tea'", "not one of the words"), "'prepare', 'assemble'"),
    (
        'phase = "snug"',
        'phase = "prepare"',
        ("steps[5].phase is 'prepare'", "'snug' comes after 'gap'"),
        "in the order",
    ),
    ('phrase = "locked out and tried"\n', "", ("steps[1].phrase", "'lock-out' is a hold point"), "phrase = ..."),
    (
        '"locked out and tried"',
        '"yes it is"',
        ("steps[1].phrase is 'yes it is'", "begins with 'yes'"),
        "other first word",
    ),
    ('"locked out and tried"', '"locked out"', ("steps[1].phrase is 'locked out'", "2 words"), "at least 3 words"),
    (
        '"locked out and tried"',
        '"lock 4 is on"',
        ("steps[1].phrase is 'lock 4 is on'", "cannot be listened"),
        "figures as words",
    ),
    ('name = "rest"', 'name = "Snug"', ("steps[8].name is 'Snug'", "twice"), "a different one for each"),
    (
        'only_for = "left arm"',
        'only_for = "third arm"',
        ("steps[2].only_for is 'third arm'", "'left shim'"),
        "dwell, hot re-check, two lengths, multiplier, left arm",
    ),
    (
        'does = "snug"',
        'does = "snug"\ncolour = "red"',
        ("steps[5].colour is 'red'", "unknown key"),
        "keys here: name, phase",
    ),
    ('does = "snug"', 'does = "snug"\nphase2 = 1', ("steps[5].phase2", "unknown key"), "did you mean 'phase'"),
    (
        'does = "snug"',
        'does = "snug"\nlasts = "4 h"',
        ("steps[5].lasts", "step 'snug' is a snug"),
        "only where does is wait",
    ),
    (
        'does = "snug"',
        'does = "snug"\nwitness = true',
        ("steps[5].witness is True", "'snug'"),
        "only where does is hold",
    ),
    ('does = "wait"', 'does = "rest"', ("steps[8].does is 'rest'", "not one of"), "'check', 'hold point'"),
    ('lasts = "10 min"\n', "", ("steps[8].lasts", "'rest' is a wait"), "lasts = ..."),
    ('lasts = "10 min"', 'lasts = "10"', ("steps[8].lasts",), ""),
    ("rounds = 3", "rounds = 30", ("steps[7].rounds is 30",), "at most 20"),
    ("rounds = 3\n", "", ("steps[7].rounds", "'knock' is a seat"), "rounds = ..."),
    ('unit = "mm"\n', "", ("steps[4].unit", "'gap' is a measure"), "unit = ..."),
    ('unit = "mm"', 'unit = "bar"', ("steps[4].unit is 'bar'",), "'degC', 'degF', 'mm', 'in'"),
    ('title = "Davit arm"\n', "", ("title", "missing"), "text in quotes"),
    ("[[steps]]", "[[steps", ("not TOML",), "[[steps]] for each step"),
]


@pytest.mark.parametrize(
    ("old", "new", "told", "allowed"), REFUSED, ids=[f"{old}->{new}"[:60] for old, new, _, _ in REFUSED]
)
def test_every_refusal_names_file_place_value_and_what_is_allowed(old, new, told, allowed):
    assert old in OWN
    with pytest.raises(BadJointFile) as caught:
        parse_procedure(OWN.replace(old, new, 1).encode(), source="davit-arm.toml")
    message = f"{caught.value.message} {caught.value.remedy}"
    assert message.startswith("davit-arm.toml: ")
    assert [part for part in (*told, allowed) if part not in message] == [], message
    assert caught.value.exit_status == 2


def written(folder: Path, procedure: str = OWN, joint: str = JOINT):
    """The work of the joint file and the procedure file beside it."""
    (folder / "davit-arm.toml").write_text(procedure, "utf-8")
    made = plan(parse_joint(joint.encode(), source="davit.toml"), today=TODAY)
    return lay_out(made, procedure_for(made.joint, near=folder))


@pytest.mark.parametrize(
    ("procedure", "joint", "told", "allowed"),
    [
        (("arm bolts", "leg bolts"), ("", ""), ("step 'torque'", "'leg bolts'"), "there are arm bolts"),
        (("", ""), ('["left arm"]', '["third arm"]'), ("variants names 'third arm'",), "one of left arm, right arm"),
        (("", ""), ('["left arm"]', "[]"), ("variants is []",), "exactly one of left arm, right arm"),
        (("", ""), ('["left arm"]', '["left arm", "right arm"]'), ("variants is",), "exactly one of"),
        (("", ""), ('"davit-arm.toml"', '"gone.toml"'), ("gone.toml is not there",), "Check the name"),
    ],
)
def test_what_does_not_fit_the_joint_is_refused(tmp_path, procedure, joint, told, allowed):
    with pytest.raises(BadJointFile) as caught:
        written(tmp_path, OWN.replace(*procedure), JOINT.replace(*joint))
    message = f"{caught.value.message} {caught.value.remedy}"
    assert [part for part in (*told, allowed) if part not in message] == [], message


def answers(item: Item) -> list[str]:
    """What a person types at one stage."""
    match item:
        case Question():
            return [item.phrase, *["Robin Marsh", "yes"] * item.witness]
        case Measurement():
            return ["1.5 millimetres", "yes", *["Kim Weir", "yes"] * item.who]
        case Wait():
            return ["skip", "the lead agreed, tide is coming"]
        case Pass(kind="snug"):
            return ["snug"] * len(item.bolts)
        case Pass(goes_round=True):
            return ["moved", *["did not move"] * (2 * len(item.bolts) - 1)]
    return [f"{item.setting.value:f}" for _ in item.bolts]


def test_a_kind_of_a_practitioners_own_is_guided_to_the_close(tmp_path):
    work = written(tmp_path)
    assert [item.name for item in work.items if not isinstance(item, Pass)] == [
        *("lock-out", "left shim", "gap", "rest", "swing", "closing")
    ]
    made = typed([line for item in work.items for line in answers(item)], first=(OPENED, work))
    assert made.state.closed
    names = [(e.purpose, e.text) for e in events_of(made) if e.kind == "name-kept"]
    assert names == [("witness", "Robin Marsh"), ("measured", "Kim Weir")]
    said = " ".join(e.text for e in events_of(made) if e.kind == "prompt-spoken")
    assert "Stay out from under the arm." in said and "Knock on the foot." in said


def test_a_file_that_extends_a_kind_replaces_and_adds_steps_and_is_guided_to_the_close(tmp_path):
    own = """
title = "Davit arm"
extends = "plain pattern"

[[steps]]
name = "threads"
phase = "assemble"
does = "check"
ask = "Threads brushed and dry?"
answer = "brushed and dry"

[[steps]]
name = "swing"
phase = "leak watch"
does = "check"
ask = "Arm swings freely?"
answer = "it swings freely"
"""
    work = written(tmp_path, own, JOINT.replace('variants = ["left arm"]\n', ""))
    usual = [step.name for step in usual_procedure("plain pattern").in_order()]
    asked = {question.name: question for question in work.questions}
    assert asked["threads"].phrase == "brushed and dry" and {"lock-out", "restore"} <= set(usual) & set(asked)
    assert list(asked)[-2:] == ["swing", "closing"]
    made = typed([line for item in work.items for line in answers(item)], first=(OPENED, work))
    assert made.state.closed


def test_what_extends_a_kind_has_to_hold_together_with_it(tmp_path):
    own = 'title = "x"\nextends = "pipe dream"\n[[steps]]\nname = "a"\nphase = "snug"\ndoes = "snug"\n'
    with pytest.raises(BadJointFile, match="pipe dream") as caught:
        written(tmp_path, own)
    assert all(kind in caught.value.remedy for kind in kinds())


@pytest.mark.parametrize("text", ["a = " + "[" * 5000, "a = " + "9" * 5000])
def test_nesting_and_figures_without_end_are_refused_in_a_sentence(text):
    with pytest.raises(BadJointFile, match="nested too deep, or a number too long"):
        parse_procedure(text.encode(), source="mine.toml")


def test_there_are_five_kinds_and_each_holds_together():
    assert kinds() == ("gasketed flange", "girth flange", "machine base", "plain pattern", "split clamp coupling")
    for kind in kinds():
        steps = usual_procedure(kind).in_order()
        assert any(step.does == "hold point" and step.name == "lock-out" and step.witness for step in steps)


def test_the_schema_knows_every_key_and_is_json():
    schema = json.loads(json.dumps(procedure_schema()))
    step = schema["$defs"]["Step"]
    assert step["additionalProperties"] is False
    assert {"name", "phase", "does", "phrase", "rounds", "lasts", "limits"} <= set(step["properties"])
    assert "leak watch" in step["properties"]["phase"]["enum"]
