"""Passes and pass plans: published shares, and that no bolt is ever left out."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting.tightening import pattern
from assistant.bolting.tightening.pass_plans import PLANS, PassPlan, published_as
from assistant.bolting.tightening.passes import loosening, passes
from assistant.errors import BadBolting
from tests.bolting.joint_rows import Row, name, rows


def pass_plan(wanted: str) -> PassPlan:
    return next(plan for plan in PLANS if plan.name == wanted)


@pytest.mark.parametrize("row", rows("PASS-1"), ids=name)
def test_check_row_three_passes_to_450(row: Row):
    final_nm = float(row.given["final_Nm"])
    assert [share / 100 * final_nm for share in pass_plan("30/60/100").percents] == [
        float(value) for value in row.expected.split(",")
    ]


@pytest.mark.parametrize("row", rows("PASS-2"), ids=name)
def test_check_row_thirds(row: Row):
    assert row.expected == "1/3,2/3,1"
    assert pass_plan("three thirds").percents == pytest.approx((100 / 3, 200 / 3, 100))


@pytest.mark.parametrize(
    ("row", "plan"), list(zip(rows("PASS-3", "PASS-7"), ("sealing trade bands", "cross pattern bands"), strict=True))
)
def test_check_row_bands(row: Row, plan: str):
    found = pass_plan(plan)
    said = ",".join(f"{low:g}-{high:g}" if low != high else f"{high:g}" for low, high in found.bands)
    assert said == row.expected
    assert all(low <= share <= high for share, (low, high) in zip(found.percents, found.bands, strict=True))


@pytest.mark.parametrize(
    ("row", "plan"),
    list(zip(rows("PASS-4", "PASS-5", "PASS-6"), ("30/60/100", "20/40/80/100", "25/50/100"), strict=True)),
)
def test_check_row_shares_then_one_round(row: Row, plan: str):
    found = pass_plan(plan)
    said = ",".join(f"{share:g}" for share in found.percents) + " + rotational"
    if found.snug_percent is not None:
        said = f"pre-tighten <={found.snug_percent:g}; {said}"
    assert said == row.expected
    assert found.final_circular
    assert found.fewest_bolts == (12 if "12" in row.topic else 1)


@pytest.mark.parametrize("row", rows("PASS-8"), ids=name)
def test_check_row_at_least_three_pattern_passes(row: Row):
    assert len(pass_plan("cross pattern bands").percents) == int(row.expected)


@pytest.mark.parametrize("row", rows("PASS-9"), ids=name)
def test_check_row_wait_before_the_retightening_round(row: Row):
    assert pass_plan("cross pattern bands").dwell_h == float(row.expected)
    assert f"clamp-connector practice: {pass_plan('clamp 25/50/75/100').dwell_h:g} h" in row.note


@pytest.mark.parametrize("row", rows("PASS-16"), ids=name)
def test_check_row_clamp_passes(row: Row):
    plan = pass_plan("clamp 25/50/75/100")
    shares = ",".join(f"{share:g}" for share in plan.percents)
    assert row.expected == f"snug,{shares}, repeat until no nut moves, again after {plan.dwell_h:g} h"


def test_structural_bolts_pass_75_then_110_of_the_reference():
    """EN 1090-2 as quoted in public product data (read)."""
    two = passes("line", 6, percents=pass_plan("structural 75/110").percents, final_circular=False)
    assert [set(one.percents) for one in two] == [{75.0}, {110.0}]


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.name)
def test_every_plan_runs_and_says_where_it_comes_from(plan):
    assert plan.source
    every = passes("cross", 12, percents=plan.percents, final_circular=plan.final_circular)
    assert [one.number for one in every] == list(range(1, len(every) + 1))
    assert every[-1].until_still == plan.final_circular


@given(
    st.sampled_from([family for family in pattern.FAMILIES if family not in ("rectangle", "clamp")]),
    st.integers(1, 24).map(lambda quarter: 4 * quarter),
    st.lists(st.floats(1, 100), min_size=1, max_size=5).map(sorted),
    st.booleans(),
)
@settings(deadline=None)
def test_every_bolt_reaches_the_last_share_and_no_bolt_ever_goes_down(family, bolts, percents, final_circular):
    reached = dict.fromkeys(range(1, bolts + 1), 0.0)
    for one in passes(family, bolts, percents=percents, final_circular=final_circular):
        assert len(one.steps) == len(one.percents)
        if one.kind != "four points":
            assert sorted(one.order) == list(reached)
        for step, share in zip(one.steps, one.percents, strict=True):
            for bolt in step:
                assert share >= reached[bolt]
                reached[bolt] = share
    assert set(reached.values()) == {percents[-1]}


def test_modified_cross_steps_up_inside_the_first_pass():
    """ASME PCC-1 appendix F (from memory): block 1, block 2, then all at the full share; four bolts: three passes."""
    first, second, last = passes("modified cross", 12, percents=(25, 60, 100), final_circular=True)
    assert first.percents == (25.0,) * 4 + (60.0,) * 4 + (100.0,) * 4
    assert set(second.percents) == {100.0}
    assert last.kind == "circular"
    four = passes("modified cross", 4, percents=(25, 60, 100), final_circular=False)
    assert [set(one.percents) for one in four] == [{25.0}, {60.0}, {100.0}]


def test_four_points_come_up_first_and_then_all_bolts_go_round():
    """ASME PCC-1 appendix F (from memory)."""
    *points, last = passes("four points", 16, percents=(25, 60, 100), final_circular=False)
    assert [one.order for one in points] == [(1, 9, 5, 13)] * 3
    assert last.order == tuple(range(1, 17))
    assert last.until_still


@pytest.mark.parametrize("tools", [2, 4, 8])
def test_several_tools_pull_whole_steps(tools: int):
    every = passes("cross", 48, percents=(50, 100), final_circular=True, tools=tools)
    assert {len(step) for one in every for step in one.steps} == {tools}
    assert every[-1].steps[0] == tuple(range(1, 49, 48 // tools))


def test_the_final_round_of_a_line_keeps_its_own_order_and_a_cover_goes_round_the_edge():
    """One pass round the edge: common practice, no source."""
    assert passes("line", 5, percents=(100,), final_circular=True)[-1].order == (3, 2, 4, 1, 5)
    assert passes("clamp", 2, percents=(100,), final_circular=True)[-1].order == (1, 2)
    cover = passes("rectangle", 8, percents=(100,), final_circular=True, columns=4, rows=2)
    assert cover[-1].order == tuple(range(1, 9))


def test_loosening_releases_all_a_little_before_any_is_free():
    """70 % and then free: from memory."""
    part, free = loosening("cross", 8)
    assert part.order == free.order == pattern.order("cross", 8)
    assert (set(part.percents), set(free.percents)) == ({70.0}, {0.0})


@pytest.mark.parametrize(
    ("percents", "said"),
    [((), "no share"), ((0, 100), "0 %"), ((60, 30), "60, 30"), ((100, 111), "111"), ((float("nan"),), "nan")],
)
def test_shares_that_make_no_plan_are_refused(percents, said: str):
    with pytest.raises(BadBolting, match=re.escape(said)):
        passes("cross", 8, percents=percents, final_circular=True)


def test_several_tools_are_for_cross_and_circular_only():
    with pytest.raises(BadBolting, match="quadrant"):
        passes("quadrant", 8, percents=(100,), final_circular=True, tools=2)


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.name)
def test_shares_are_recognised_as_the_published_plan_that_has_them(plan):
    assert published_as(plan.percents).percents == pytest.approx(plan.percents, abs=0.5)
    assert published_as(tuple(share + 3 for share in plan.percents)) is None


def test_rounded_thirds_are_thirds_and_unknown_shares_are_nobodys():
    assert published_as((33, 67, 100)).name == "three thirds"
    assert published_as((10, 20, 100)) is None
