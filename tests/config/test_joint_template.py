"""Joint files to start from: every kind plans at once, and no invented value passes for the joint's own."""

from datetime import date

import pytest

from assistant.bolting.joint.flanges import flange_bolting
from assistant.bolting.planning.plan import plan
from assistant.bolting.tightening.pattern import family_name
from assistant.config.joint_file import parse_joint
from assistant.config.joint_template import _ORDERS, EXAMPLE, FACTS, KINDS, SEALED, joint_template
from assistant.config.procedure_file import kinds

DAY = date(2026, 12, 1)
OWN = {
    "name": "Feed pump flange",
    "place": "North Sluice, pump bay 3",
    "instruction": "NS-FI-09",
    "revision": "B",
    "bolts": "12",
    "thread": "M24",
    "grade": "10.9",
    "length": "120 mm",
    "condition": "oiled",
    "torque": "400 N*m",
    "published_for": "oiled",
    "wrench": "wrench nine",
    "wrench_kind": "click",
    "serial": "NS-TW-0009",
    "lowest": "60 N*m",
    "highest": "500 N*m",
    "graduation": "5 N*m",
    "calibrated_until": "2027-06-30",
}


def planned(text):
    joint = parse_joint(text.encode(), source="new.toml")
    return joint, plan(joint, today=DAY)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_still_an_example_is_warned_of_until_it_is_put_right(kind):
    joint, made = planned(joint_template(kind, {}).text)
    assert not made.open_stops
    figures = next(each for each in made.cautions if each.remark == "example figures")
    assert {"groups.target.torque", "groups.thread", "groups.grade", "wrenches.calibration_due"} <= set(joint.examples)
    assert "groups.target.torque" in figures.text and "wrenches.serial" not in figures.text
    caution = next(each for each in made.cautions if each.remark == "example entries")
    assert "wrenches.serial" in caution.text and "instruction.title" in caution.text
    _, put_right = planned(joint_template(kind, OWN | {"bolts": "4"}).text)
    left = [each for each in (*put_right.open_stops, *put_right.cautions) if each.remark.startswith("example")]
    assert bool(left) is (kind in SEALED)  # the gasket's figures, and a coupling's second group


def test_a_mark_within_a_text_or_a_comment_alone_is_no_example():
    text = joint_template("plain pattern", OWN).text.replace('"Feed pump flange"', '"Pump # EXAMPLE"')
    joint, _ = planned(text.replace("[tightening]", "# EXAMPLE\n[tightening]"))
    assert joint.examples == () and joint.name == "Pump # EXAMPLE"


def test_there_is_a_template_for_every_kind():
    assert sorted(KINDS) == sorted(kinds())


@pytest.mark.parametrize("us", [False, True], ids=["metric", "US"])
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_plans_at_once(kind, us):
    made = joint_template(kind, {}, us=us)
    joint, _ = planned(made.text)
    assert joint.kind == kind and joint.torque_unit == ("lbf*ft" if us else "N*m")
    assert set(made.examples) >= {"name", "torque", "thread", "serial", "lowest", "highest"}


@pytest.mark.parametrize("kind", ["plain pattern", "machine base"])
def test_what_was_given_stands_there_and_is_no_example(kind):
    made = joint_template(kind, OWN)
    joint, _ = planned(made.text)
    (group,) = joint.groups
    assert (joint.name, group.count, group.thread, group.grade) == ("Feed pump flange", 12, "M24", "10.9")
    assert made.examples == () and EXAMPLE not in made.text


@pytest.mark.parametrize("missing", sorted(OWN))
def test_each_value_that_nobody_gave_is_marked_on_its_own_line(missing):
    made = joint_template("plain pattern", {key: value for key, value in OWN.items() if key != missing})
    assert made.examples == (missing,)
    assert [line for line in made.text.splitlines() if EXAMPLE in line]


@pytest.mark.parametrize(
    ("standard", "rating", "size", "bolts", "thread", "torque"),
    [
        ("EN 1092-1", "PN 40", "DN 80", 8, "M16", "95 N*m"),  # EN 1092-1: eight M16
        ("ASME B16.5", "class 300", "NPS 6", 12, "3/4-10 UNC", "150 lbf*ft"),  # ASME B16.5: twelve 3/4 in
    ],
)
def test_standard_flanges_are_drilled_by_their_standard(standard, rating, size, bolts, thread, torque):
    drilling = flange_bolting(standard, rating, size=size)
    assert (drilling.bolts, drilling.thread) == (bolts, thread)
    known = {"standard": standard, "rating": rating, "size": size, "torque": torque}
    made = joint_template(
        "gasketed flange",
        known | {"bolts": str(drilling.bolts), "thread": drilling.thread},
        us="lbf" in torque,
    )
    joint, _ = planned(made.text)
    assert joint.groups[0].count == bolts and joint.flange is not None


def test_the_orders_named_in_the_file_exist():
    names = [part.split(" (")[0].strip() for part in _ORDERS.split(",")]
    assert all(family_name(name) for name in names)


def test_a_pitch_with_a_comma_is_written_with_a_point():
    assert 'thread = "M16x1.5"' in joint_template("plain pattern", OWN | {"thread": "M16x1,5"}).text


def test_hostile_text_stays_text():
    made = joint_template("plain pattern", OWN | {"name": 'A "quoted"\nname = "x"', "place": "C:\\bay"})
    joint, _ = planned(made.text)
    assert joint.place == "C:\\bay" and '"quoted"' in joint.name


def test_every_fact_is_used_by_some_kind():
    known = {fact: f"<{fact}>" for fact in FACTS} | {"torque": "95 N*m"}
    text = joint_template("gasketed flange", known).text
    assert all(f"<{fact}>" in text for fact in FACTS if fact != "torque")
