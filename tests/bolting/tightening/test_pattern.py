"""Orders: the published lists, the check rows, and what must hold for every count."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting.tightening import pattern, ring_orders, row_orders
from assistant.errors import BadBolting
from tests.bolting.joint_rows import Row, name, rows

# ASME PCC-1 single-tool cross-pattern table. From memory; 12 also read as a list in a public article; 8..24 read as
# order labels on a public gasket installation work sheet.
PUBLISHED = {
    4: "1-3-2-4",
    8: "1-5-3-7-2-6-4-8",
    12: "1-7-4-10-2-8-5-11-3-9-6-12",
    16: "1-9-5-13-3-11-7-15-2-10-6-14-4-12-8-16",
    20: "1-11-6-16-3-13-8-18-5-15-10-20-2-12-7-17-4-14-9-19",
    24: "1-13-7-19-4-16-10-22-2-14-8-20-5-17-11-23-3-15-9-21-6-18-12-24",
    28: "1-15-8-22-4-18-11-25-6-20-13-27-2-16-9-23-5-19-12-26-3-17-10-24-7-21-14-28",
    32: "1-17-9-25-5-21-13-29-3-19-11-27-7-23-15-31-2-18-10-26-6-22-14-30-4-20-12-28-8-24-16-32",
}

# Computed from the written rule by another hand; the 48-bolt groups of four: read in a public article on ASME PCC-1.
GROUPS = {
    (36, 3): "1-3 19-21 10-12 28-30 4-6 22-24 13-15 31-33 7-9 25-27 16-18 34-36",
    (40, 4): "1-4 21-24 9-12 29-32 17-20 37-40 5-8 25-28 13-16 33-36",
    (44, 4): "1-4 21-24 33-36 9-12 29-32 5-8 25-28 41-44 17-20 37-40 13-16",
    (48, 4): "1-4 25-28 13-16 37-40 5-8 29-32 17-20 41-44 9-12 33-36 21-24 45-48",
    (64, 4): "1-4 33-36 17-20 49-52 9-12 41-44 25-28 57-60 5-8 37-40 21-24 53-56 13-16 45-48 29-32 61-64",
}

# Computed from the written rule by another hand; 2 x 2 is the four-foot diagonal: common practice, no source.
COVERS = {
    (2, 2): "1-3-2-4",
    (3, 2): "2-5-1-4-3-6",
    (4, 2): "2-6-3-7-1-5-4-8",
    (5, 2): "3-8-2-7-4-9-1-6-5-10",
    (4, 3): "2-7-3-8-5-10-1-6-4-9",
    (5, 3): "3-9-2-8-4-10-6-12-1-7-5-11",
    (6, 4): "3-11-4-12-2-10-5-13-7-15-8-16-1-9-6-14",
}

counts = st.integers(2, 96)
fours = st.integers(1, 24).map(lambda quarter: 4 * quarter)


def joined(order) -> str:
    return "-".join(map(str, order))


@pytest.mark.parametrize("row", rows("SEQ-1..29"), ids=name)
def test_check_row_of_an_order(row: Row):
    bolts = int(row.given["n"])
    order = pattern.order("cross", bolts)
    assert joined(pattern.labels(order) if "label" in row.topic else order) == row.expected


@pytest.mark.parametrize("row", rows("SEQ-31..41"), ids=name)
def test_check_row_consecutive_pairs_are_opposite(row: Row):
    bolts = int(row.given["n"])
    order = pattern.order("cross", bolts)
    assert (
        str(all(abs(a - b) == bolts // 2 for a, b in zip(order[::2], order[1::2], strict=True)))
        == row.expected
        == "True"
    )


@pytest.mark.parametrize("row", rows("SEQ-42"), ids=name)
def test_check_row_of_a_circular_pass(row: Row):
    assert joined(pattern.order("circular", int(row.given["n"]))) == row.expected


@pytest.mark.parametrize("bolts", PUBLISHED)
def test_the_cross_order_is_the_published_list(bolts: int):
    assert joined(pattern.order("cross", bolts)) == PUBLISHED[bolts]


def test_six_and_five_bolts_go_as_crews_do_them():
    """Opposite pairs and the five-point star: common practice, no source."""
    assert joined(pattern.order("cross", 6)) == "1-4-2-5-3-6"
    assert joined(pattern.order("star", 5)) == "1-3-5-2-4"


@pytest.mark.parametrize(("bolts", "group"), GROUPS)
def test_groups_of_neighbours(bolts: int, group: int):
    got = " ".join(f"{members[0]}-{members[-1]}" for members in ring_orders.groups(bolts, group))
    assert got == GROUPS[bolts, group]
    assert ring_orders.usual_group(bolts) == group


@pytest.mark.parametrize(("columns", "rows_"), COVERS)
def test_rectangular_covers(columns: int, rows_: int):
    bolts = 2 * (columns + rows_) - 4
    assert joined(pattern.order("rectangle", bolts, columns=columns, rows=rows_)) == COVERS[columns, rows_]


@pytest.mark.parametrize(
    ("bolts", "expected"), [(3, "2-1-3"), (4, "2-3-1-4"), (5, "3-2-4-1-5"), (6, "3-4-2-5-1-6"), (8, "4-5-3-6-2-7-1-8")]
)
def test_a_line_goes_from_the_centre_outward(bolts: int, expected: str):
    """Centre bolt first, then to each end: read in a repair clamp instruction; the lists are computed."""
    assert joined(pattern.order("line", bolts)) == expected


def test_clamps_alternate_sides_and_diagonals():
    """A1-B2-B1-A2: common practice, no source."""
    assert pattern.order("clamp", 2) == (1, 2)
    assert [row_orders.clamp_position(bolt, 4) for bolt in pattern.order("clamp", 4)] == ["A1", "B2", "B1", "A2"]


@pytest.mark.parametrize("bolts", range(2, 97, 2))
def test_a_split_hub_pairs_position_i_with_the_mirrored_position_of_the_other_side(bolts: int):
    side = bolts // 2
    places = [row_orders.clamp_position(bolt, bolts) for bolt in pattern.order("split hub", bolts)]
    for one, other in zip(places[::2], places[1::2], strict=True):
        assert (one[0], other[0]) == ("A", "B")
        assert int(other[1:]) == side + 1 - int(one[1:])
    assert [int(place[1:]) for place in places[::2]] == list(row_orders.line(side))


@pytest.mark.parametrize("bolts", range(2, 97))
@pytest.mark.parametrize("family", pattern.FAMILIES)
def test_every_bolt_comes_once_a_pass_and_the_first_on_a_circle_is_one(family: str, bolts: int):
    columns = bolts // 2 if family == "rectangle" else None
    try:
        order = pattern.order(family, bolts, columns=columns, rows=2 if columns else None)
    except BadBolting:
        refused = {
            "modified cross": bolts % 4,
            "four points": bolts % 4,
            "quadrant": bolts % 4,
            "rectangle": bolts % 2 or bolts < 4,
            "clamp": bolts not in (2, 4),
            "split hub": bolts % 2,
        }
        assert refused.get(family), f"{family} refused {bolts}"
        return
    assert sorted(order) == list(range(1, bolts + 1))
    if family in pattern.ROUND:
        assert order[0] == 1


@pytest.mark.parametrize("bolts", range(4, 97, 4))
@pytest.mark.parametrize("family", ["cross", "quadrant"])
def test_blocks_of_four_stand_90_degrees_apart_and_pairs_are_opposite(family: str, bolts: int):
    order = pattern.order(family, bolts)
    for at in range(0, bolts, 4):
        one, opposite, turned, last = order[at : at + 4]
        assert (opposite - one, last - turned) == (bolts // 2, bolts // 2)
        assert turned - one == bolts // 4


@pytest.mark.parametrize("bolts", range(6, 97, 4))
def test_other_even_counts_go_in_opposite_pairs(bolts: int):
    order = pattern.order("cross", bolts)
    assert all(abs(a - b) == bolts // 2 for a, b in zip(order[::2], order[1::2], strict=True))


@pytest.mark.parametrize("bolts", range(2, 97))
def test_the_cross_order_stays_balanced(bolts: int):
    """Never over 1.00 for even counts; odd counts at most 1.64 up to 63 bolts and 1.71 up to 95 (computed)."""
    worst = pattern.imbalance(pattern.order("cross", bolts))
    assert worst <= (1.0 + 1e-9 if bolts % 2 == 0 else 1.64 if bolts <= 63 else 1.71)
    if bolts >= 4:
        assert worst < pattern.imbalance(pattern.order("circular", bolts)) + 1e-9


@pytest.mark.parametrize(("bolts", "worst"), [(8, 2.61), (16, 5.13), (24, 7.66), (32, 10.2)])
def test_a_circular_pass_is_out_of_balance(bolts: int, worst: float):
    assert pattern.imbalance(pattern.order("circular", bolts)) == pytest.approx(worst, abs=0.01)


@pytest.mark.parametrize(("bolts", "pitches"), [(8, 23), (12, 53), (16, 95), (24, 215), (32, 383), (64, 1527)])
def test_walking_distance(bolts: int, pitches: int):
    assert pattern.walk(pattern.order("cross", bolts)) == pitches
    assert pattern.walk(pattern.order("circular", bolts)) == bolts - 1


@given(st.integers(1, 96).flatmap(lambda n: st.permutations(range(1, n + 1))))
@settings(deadline=None, max_examples=50)
def test_labels_undo_themselves(order: list[int]):
    labels = pattern.labels(order)
    assert pattern.labels(labels) == tuple(order)
    assert all(labels[bolt - 1] == turn for turn, bolt in enumerate(order, start=1))


@pytest.mark.parametrize(("bolts", "same"), [(4, 1), (8, 1), (12, 0), (16, 1), (20, 0), (24, 0), (28, 0), (32, 1)])
def test_labels_and_locations_are_the_same_list_only_for_some_counts(bolts: int, same: int):
    order = pattern.order("cross", bolts)
    assert (pattern.labels(order) == order) == bool(same)


@pytest.mark.parametrize("tools", [1, 2, 4, 8])
@pytest.mark.parametrize("family", ["cross", "circular"])
def test_several_tools_visit_every_bolt_once_evenly_apart(family: str, tools: int):
    for bolts in range(tools, 97, tools):
        steps = ring_orders.simultaneous(bolts, tools, family=family)
        assert sorted(bolt for step in steps for bolt in step) == list(range(1, bolts + 1))
        assert 1 in steps[0]
        for step in steps:
            assert list(step) == sorted(step)
            assert len(step) == tools
            apart = bolts // min(tools, 4)
            assert {(bolt - 1) % apart for bolt in step} == {(bolt - 1) % apart for bolt in step[: max(1, tools // 4)]}


@given(counts, st.integers(1, 48))
@settings(deadline=None)
def test_groups_hold_neighbours_and_take_every_bolt_once(bolts: int, group: int):
    if group > bolts // 2:
        with pytest.raises(BadBolting):
            ring_orders.groups(bolts, group)
        return
    members = ring_orders.groups(bolts, group)
    assert sorted(bolt for one in members for bolt in one) == list(range(1, bolts + 1))
    assert all(one == tuple(range(one[0], one[0] + len(one))) for one in members)
    assert sorted(map(len, members))[1:] == [group] * (len(members) - 1)


@given(st.integers(2, 47), st.integers(2, 47))
@settings(deadline=None)
def test_a_cover_is_tightened_through_its_centre_outward(columns: int, rows_: int):
    bolts = 2 * (columns + rows_) - 4
    if bolts > 96:
        return
    order = row_orders.rectangle(columns, rows_)
    places = row_orders.edge_places(columns, rows_)
    away = []
    for one, other in zip(order[::2], order[1::2], strict=True):
        (x1, y1), (x2, y2) = places[one - 1], places[other - 1]
        assert (x1 + x2, y1 + y2) == (columns - 1, rows_ - 1)
        away.append((2 * x1 - columns + 1) ** 2 + (2 * y1 - rows_ + 1) ** 2)
    assert away == sorted(away)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: pattern.order("spiral", 8), "spiral"),
        (lambda: pattern.order("cross", 0), "0"),
        (lambda: pattern.order("cross", 97), "97"),
        (lambda: pattern.order("cross", True), "True"),
        (lambda: pattern.order("cross", 8.0), "8.0"),
        (lambda: pattern.order("quadrant", 10), "10"),
        (lambda: pattern.order("modified cross", 6), "6"),
        (lambda: pattern.order("clamp", 6), "6"),
        (lambda: pattern.order("split hub", 5), "5"),
        (lambda: pattern.order("rectangle", 6), "columns"),
        (lambda: pattern.order("rectangle", 7, columns=3, rows=2), "7"),
        (lambda: pattern.order("rectangle", 2, columns=2, rows=1), "rows"),
        (lambda: pattern.order("cross", 8, columns=4), "columns"),
        (lambda: pattern.order("cross", 48, group=4), "group"),
        (lambda: pattern.order("groups", 48, group=25), "25"),
        (lambda: row_orders.edge_count(40, 20), "116"),
        (lambda: row_orders.clamp_position(5, 4), "5"),
        (lambda: ring_orders.simultaneous(12, 3), "3"),
        (lambda: ring_orders.simultaneous(12, 8), "12"),
        (lambda: ring_orders.simultaneous(12, 2, family="line"), "line"),
        (lambda: pattern.labels((1, 2, 2)), "1-2-2"),
        (lambda: pattern.walk((2, 3)), "2-3"),
        (lambda: pattern.imbalance(()), "order "),
    ],
)
def test_what_has_no_order_is_refused_with_the_figure(call, said: str):
    with pytest.raises(BadBolting, match=re.escape(said)) as refusal:
        call()
    assert refusal.value.remedy


def test_precautions_are_said_only_where_a_gasket_may_suffer():
    assert all(pattern.precautions(family, gasketed=False) == () for family in pattern.FAMILIES)
    assert pattern.precautions("cross", gasketed=True) == ()
    assert "first pass" in pattern.precautions("circular", gasketed=True)[0].text
    assert all(pattern.precautions(family, gasketed=True) for family in ("four points", "groups", "quadrant"))
    assert len(pattern.precautions("groups", gasketed=True, bolts=40)) == 3
    assert len(pattern.precautions("groups", gasketed=True, bolts=48)) == 2
