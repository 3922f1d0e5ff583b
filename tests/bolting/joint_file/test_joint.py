"""The joint file's models: shapes, contradictions, and what they refuse (wording is tested in tests/config)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.units import of
from tests.bolting.joint_samples import PLAIN, changed, joint


def findings(**values):
    with pytest.raises(ValidationError) as caught:
        joint(**values)
    return [
        ".".join(map(str, error["loc"])) + "|" + found.field + "|" + found.why
        for error in caught.value.errors()
        for found in error.get("ctx", {}).get("findings", ())
    ]


def test_quantities_keep_the_unit_they_were_written_in():
    made = joint(groups__0__length="5 1/2 in")
    assert made.groups[0].length == of(5.5, "in")
    assert made.tightening.percents == (30.0, 60.0, 100.0)


def test_models_are_frozen_all_the_way_down():
    made = joint()
    for part in (made, made.groups[0], made.groups[0].target, made.wrenches[0], made.hold_points[0]):
        with pytest.raises(ValidationError):
            part.name = "other"


def table_paths(tables, path=""):
    """Every table of a joint file, as the path that `changed` takes."""
    yield path
    for key, value in tables.items():
        if isinstance(value, dict):
            yield from table_paths(value, f"{path}{key}__")
        for at, entry in enumerate(value if isinstance(value, list) else ()):
            if isinstance(entry, dict):
                yield from table_paths(entry, f"{path}{key}__{at}__")


@pytest.mark.parametrize("path", sorted(table_paths(PLAIN)))
def test_an_unknown_key_is_an_error_in_every_table(path):
    with pytest.raises(ValidationError) as caught:
        joint(**{f"{path}colour": "red"})
    assert {error["type"] for error in caught.value.errors()} - {"too_short"} == {"extra_forbidden"}


@pytest.mark.parametrize("name", ["lockout", "permit", "lock out"])
def test_every_joint_needs_its_lock_out_hold_point(name):
    assert findings(hold_points__0__name=name) == ["|hold_points|no lock-out hold point"]


def test_lock_out_is_asked_before_anything_is_touched():
    assert findings(hold_points__0__phase="close") == ["|hold_points[1].phase|too late for lock-out"]


@given(st.lists(st.sampled_from(["locked", "out", "yes", "tried", "and", "clear"]), max_size=2))
def test_no_hold_point_passes_with_fewer_than_three_words(words):
    with pytest.raises(ValidationError):
        joint(hold_points__0__phrase=" ".join(words))


@given(st.lists(st.sampled_from(["locked", "out", "tried", "clear", "gaps"]), min_size=3, max_size=8))
def test_a_phrase_of_three_words_or_more_is_kept_as_it_is_listened_for(words):
    made = joint(hold_points__0__phrase=f"  {'-'.join(words).upper()} ")
    assert made.hold_points[0].phrase == " ".join(words)


@pytest.mark.parametrize("phrase", ["note the line is", "skip it all now", "pump 2 is out", "yes it is out", "a b ü"])
def test_a_phrase_that_means_something_else_or_cannot_be_listened_for_is_refused(phrase):
    assert len(findings(hold_points__0__phrase=phrase)) == 1


def test_two_hold_points_never_share_a_phrase():
    second = {**PLAIN["hold_points"][0], "name": "gaps", "phrase": "Locked out, and tried"}
    assert findings(hold_points=[PLAIN["hold_points"][0], second]) == [
        "|hold_points[1].phrase|it stands there twice",
        "|hold_points[2].phrase|it stands there twice",
    ]


def test_a_check_cannot_be_answered_with_a_hold_points_phrase():
    check = {"name": "c", "phase": "prepare", "ask": "?", "answer": "locked out and tried"}
    assert findings(checks=[check]) == ["|checks[1].answer|a hold point's phrase"]


def test_a_check_does_not_refuse_its_own_answer():
    check = {"name": "c", "phase": "prepare", "ask": "?", "answer": "anti-seize", "refused": ["anti seize"]}
    assert findings(checks=[check]) == ["checks.0|answer|also among the refused answers"]


@pytest.mark.parametrize("key", ["wrench", "multiplier", "extension"])
def test_a_group_names_tools_that_are_there(key):
    assert findings(**{f"groups__0__{key}": "nothing"})[0].startswith(f"|groups[1].{key}|not in ")


def test_a_group_without_any_tightening_is_refused():
    assert findings(tightening=None) == ["|groups[1].tightening|missing"]


def test_a_groups_own_tightening_comes_before_the_joints():
    own = {**PLAIN["tightening"], "order": "circular"}
    made = joint(groups__0__tightening=own)
    assert made.tightening_of(made.groups[0]).order == "circular"
    assert joint().tightening_of(joint().groups[0]).order == "cross"


@pytest.mark.parametrize(
    ("target", "field"),
    [
        ({}, ""),
        ({"preload": "70 kN", "stress": "300 MPa"}, ""),
        ({"torque": "310 N*m"}, "published_for"),
        ({"preload": "70 kN", "published_for": "dry"}, "published_for"),
        ({"preload": "70 kN", "change_for_condition": "-45 %"}, "change_for_condition"),
        ({"torque": "310 N*m", "published_for": "dry", "change_for_condition": "-90 %"}, "change_for_condition"),
        ({"percent_of_proof": "100 %"}, "percent_of_proof"),
        ({"percent_of_proof": "-5 %"}, "percent_of_proof"),
    ],
)
def test_a_target_is_given_in_exactly_one_way(target, field):
    assert [each.split("|")[:2] for each in findings(groups__0__target=target)] == [["groups.0.target", field]]


@pytest.mark.parametrize("bolts", [[1, 1], [9], [0], [1, 2, 3, 4, 5, 6, 7, 8]])
def test_bolts_of_another_length_are_some_of_the_groups_own(bolts):
    other = [{"bolts": bolts, "length": "140 mm", "where": "at the thick top"}]
    assert findings(groups__0__other_lengths=other)[0].startswith("groups.0|other_lengths|")


@pytest.mark.parametrize(
    ("passes", "good"),
    [
        (["100 %"], True),
        (["75 %", "110 %"], False),  # of structural bolts only
        (["30 %", "60 %"], False),
        (["60 %", "30 %", "100 %"], False),
        (["50 %", "50 %", "100 %"], False),
        (["0 %", "100 %"], False),
        (["50 %", "120 %"], False),
    ],
)
def test_passes_rise_to_the_whole_target(passes, good):
    if good:
        assert joint(tightening__passes=passes).tightening.passes[-1].magnitude >= 100
    else:
        found = [each.split("|")[1] for each in findings(tightening__passes=passes)]
        assert [each.removeprefix("tightening.") for each in found] == ["passes"]


def test_circular_rounds_are_limited_to_five_unless_said_otherwise():
    assert joint().tightening.max_circular_rounds == 5
    assert joint(tightening__max_circular_rounds=3).tightening.max_circular_rounds == 3


@pytest.mark.parametrize("side", ["window_low", "window_high", "order", "passes", "circular"])
def test_no_default_hides_a_safety_choice(side):
    with pytest.raises(ValidationError) as caught:
        joint(**{f"tightening__{side}": None})
    assert caught.value.errors()[0]["type"] == "missing"


def test_kinds_that_seal_need_their_gasket_and_a_machine_base_has_none():
    gasket = {
        "type": "rubber",
        "inner_diameter": "160 mm",
        "outer_diameter": "200 mm",
        "pressure": "6 bar",
        "elastomer": True,
    }
    assert findings(kind="girth flange") == ["|gasket|missing, and kind is 'girth flange'"]
    assert findings(kind="machine base", gasket=gasket) == ["|gasket|kind is 'machine base'"]
    assert joint(kind="gasketed flange", gasket=gasket).gasket.elastomer


def test_a_circular_order_is_refused_on_a_gasket():
    gasket = {
        "type": "rubber",
        "inner_diameter": "1 mm",
        "outer_diameter": "2 mm",
        "pressure": "6 bar",
        "elastomer": True,
    }
    told = findings(kind="gasketed flange", gasket=gasket, tightening__order="circular")
    assert told == ["|tightening.order|a circular order is not for the first pass of a gasketed joint"]
    assert joint(tightening__order="circular").tightening.order == "circular"


def test_a_standard_flange_has_its_own_bolt_count_and_size():
    """DN 150 PN 16: 8 x M20. Source: EN 1092-1 (from memory; the row is the issue's own example)."""
    base = {
        "kind": "gasketed flange",
        "gasket": {
            "type": "rubber",
            "inner_diameter": "170 mm",
            "outer_diameter": "210 mm",
            "pressure": "6 bar",
            "elastomer": True,
        },
        "flange": {"standard": "EN 1092-1", "size": "DN 150", "rating": "PN 16"},
    }
    assert joint(**base).flange.bolting.bolts == 8
    assert "8 bolts" in findings(**base, groups__0__count=12)[0]
    assert "M20" in findings(**base, groups__0__thread="M16")[0]


def test_a_hot_recheck_needs_its_written_procedure():
    assert findings(rechecks=[{"kind": "hot", "earliest": "24 h"}])[0].startswith("rechecks.0|kind|")


def test_an_own_nut_factor_stands_for_a_condition_that_no_table_knows():
    own = {"value": "0.11", "low": "0.10", "high": "0.13", "lubricated": True, "source": "test of 2026, M20, 20 degC"}
    made = joint(groups__0__condition="blue paste", groups__0__nut_factor=own)
    assert made.groups[0].thread_condition.nut_factor == 0.11
    assert "condition" in findings(groups__0__condition="blue paste")[0]
    assert findings(groups__0__condition="blue paste", groups__0__nut_factor={**own, "low": "0.12"})


def test_the_whole_plain_joint_is_valid_and_equal_to_itself():
    assert Joint.model_validate(changed()) == joint()
