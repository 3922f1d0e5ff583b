"""Two records side by side: every change is the change of the figures, whatever the order of the sessions."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from assistant.events import Measured
from assistant.procedure.follow_up import follow_up
from assistant.replay.comparison import Comparison, compare, recheck_beside
from assistant.replay.record_steps import converted
from assistant.replay.related import last_torques
from tests.replay.telling import record_of
from tests.replay.worked import DEMOS, START, Technician, Worked


@pytest.fixture(scope="module")
def again(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("again")
    technician = Technician((-3, 0, -4, 1, -2))
    return Worked(folder / "s", start=START + timedelta(hours=26)).finish(technician).seal(folder / "k")


def test_each_change_is_that_of_the_two_figures(done_session, again):
    first, second = record_of(done_session), record_of(again)
    found = compare(first, second)
    here, there = last_torques(first.passes), last_torques(second.passes)
    assert found.same_joint_file and len(found.last) == 8 == found.summary.in_both
    for line in found.last:
        a, b = here[line.group, line.bolt].value, there[line.group, line.bolt].value
        assert abs(line.change_percent - float(100 * (b - a) / a)) <= 0.0501
    changes = [line.change_percent for line in found.last]
    assert found.summary.largest_loss_percent == min(changes) and found.summary.largest_gain_percent == max(changes)
    worst = min(found.last, key=lambda line: line.change_percent)
    assert found.summary.largest_loss_at == f"{worst.group}, bolt {worst.bolt}"
    assert Comparison.model_validate_json(found.model_dump_json()) == found


def test_turned_round_the_figures_change_places(done_session, again):
    one, other = (compare(record_of(a), record_of(b)) for a, b in ((done_session, again), (again, done_session)))
    assert [(x.first, x.second) for x in one.last] == [(x.second, x.first) for x in other.last]
    assert [(f.first, f.second, f.same) for f in one.facts] == [(f.second, f.first, f.same) for f in other.facts]


def test_a_session_is_the_same_as_itself(done_session):
    record = record_of(done_session)
    found = compare(record, record)
    assert all(fact.same for fact in found.facts) and {line.change_percent for line in found.last} == {0}


def test_a_follow_up_is_compared_where_it_has_figures(done_session, tmp_path):
    folder = Worked(tmp_path / "s", work=lambda w: follow_up(w, {"flange bolts": (5,)})).finish().seal(tmp_path / "k")
    found = compare(record_of(done_session), record_of(folder))
    assert (found.summary.in_both, found.summary.only_first, found.summary.only_second) == (1, 7, 0)
    third = next(p for p in found.passes if "pass 3" in p.first)
    assert [line.remark for line in third.bolts if line.bolt == 1] == ["second: not in this pass"]
    first_only = next(p for p in found.passes if "pass 1" in p.first)
    assert first_only.second == ""


def test_other_joints_and_units_are_said_and_never_mixed(done_session, demo_sessions):
    found = compare(record_of(done_session), record_of(demo_sessions["north-sluice-conveying-pipe-coupling"]))
    assert not found.same_joint_file and found.summary.in_both == 0 and found.summary.mean_change_percent is None
    assert all(line.change_percent is None and None in (line.first, line.second) for line in found.last)


def test_the_same_joint_in_another_unit_is_converted(done_session, tmp_path):
    """lbf*ft against N*m: 1 lbf*ft = 1.355 817 9 N*m (NIST SP 811, read)."""
    joint = tmp_path / "feet.toml"
    text = (DEMOS / "north-sluice-dn150-flange.toml").read_text("utf-8")
    for old, new in (
        ('lowest = "40 N*m"', 'lowest = "30 lbf*ft"'),
        ('highest = "240 N*m"', 'highest = "180 lbf*ft"'),
        ('graduation = "2 N*m"', 'graduation = "1 lbf*ft"'),
        ('\nunit = "N*m"\nalso_reads = "lbf*ft"', '\nunit = "lbf*ft"'),
    ):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    joint.write_text(text, "utf-8")
    feet = Worked(tmp_path / "s", joint).finish(Technician((0,))).seal(tmp_path / "k")
    found = compare(record_of(done_session), record_of(feet))
    for line in found.last:
        assert line.second.unit == "lbf*ft" and abs(line.change_percent) < 3
        again = converted(Measured(line.second.value, "lbf*ft"), "N*m")
        assert abs(float(again.value) - float(line.second.value) * 1.3558179) < 0.01


def test_unfinished_sessions_are_compared_as_far_as_they_go(done_session, repairs_session):
    found = compare(record_of(done_session), record_of(repairs_session))
    assert {f.name for f in found.facts if not f.same} >= {"State", "Open bolts", "Corrections", "Deviations"}
    assert "second: open" in {line.remark for p in found.passes for line in p.bolts}


def test_the_recheck_stands_beside_the_first_tightening_of_the_same_session(done_session):
    record = record_of(done_session)
    found = recheck_beside(record)
    first = last_torques(record.passes)
    assert [(line.group, line.bolt) for line in found.last] == [("flange bolts", n) for n in range(1, 9)]
    assert all(line.first == first[line.group, line.bolt] for line in found.last)
    assert {line.bolt: line.remark for line in found.last} == dict.fromkeys(range(1, 9), "held") | {
        2: "moved in round 1"
    }
    facts = {fact.name: fact.second for fact in found.facts}
    assert facts["Between them"].startswith("24 h") and "the nut of bolt 2 moved" in facts["Found"]
    assert found.passes == () and Comparison.model_validate_json(found.model_dump_json()) == found


def test_without_a_recheck_nothing_is_said_to_be_rechecked(tmp_path):
    folder = Worked(tmp_path).finish(lambda s: None if s.dialogue == "waiting" else Technician()(s)).close()
    found = recheck_beside(record_of(folder))
    assert {line.remark for line in found.last} == {"not re-checked"}
    assert {fact.name: fact.second for fact in found.facts}["Found"] == "no re-check was begun"
