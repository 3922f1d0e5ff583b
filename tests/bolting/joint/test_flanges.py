"""Flange bolting against the check rows, and what the tables must obey."""

from __future__ import annotations

import re

import pytest

from assistant.bolting.joint.flange_tables import B16_5, EN_1092
from assistant.bolting.joint.flanges import FlangeBolting, flange_bolting, spacing_is_usual, spacing_ratio
from assistant.bolting.threads_and_strength.threads import thread
from assistant.bolting.units import magnitude, of
from assistant.errors import BadBolting
from tests.bolting.joint_rows import Row, name, rows

ALL = [("ASME B16.5", f"class {rating}", f"NPS {size}") for rating, table in B16_5.items() for size in table] + [
    ("EN 1092-1", f"PN {rating}", f"DN {size}") for rating, table in EN_1092.items() for size in table
]


def found(row: Row) -> FlangeBolting:
    if "class" in row.given:
        return flange_bolting(row.given["std"], f"class {row.given['class']}", size=f"NPS {row.given['NPS']}")
    return flange_bolting(row.given["std"], f"PN {row.given['PN']}", size=f"DN {row.given['DN']}")


@pytest.mark.parametrize("row", rows("FLG-1..65"), ids=name)
def test_check_row_of_a_flange(row: Row):
    flange = found(row)
    expected = dict(part.split("=") for part in row.expected.split(";"))
    assert flange.bolts == int(expected["n"])
    assert flange.bolt == expected["bolt"].replace("-", " ")
    for key, length in (("circle", flange.bolt_circle), ("hole", flange.hole)):
        if key in expected:
            assert f"{magnitude(length, 'mm', name=key):g}" == f"{float(expected[key].removesuffix(' mm')):g}"
    if "from memory" in row.how:
        assert "from memory" in flange.known
        assert flange.note
    elif row.given["std"] == "EN 1092-1":
        assert flange.known.startswith("read")


@pytest.mark.parametrize("row", rows("FLG-66"), ids=name)
def test_check_row_bolt_counts_are_divisible_by_four(row: Row):
    assert row.expected == "divisible by 4"
    assert all(flange_bolting(std, rating, size=size).bolts % 4 == 0 for std, rating, size in ALL)


@pytest.mark.parametrize("row", rows("GSK-25"), ids=name)
def test_check_row_bolt_spacing(row: Row):
    ratio = spacing_ratio(
        of(row.number("bolt_circle_mm"), "mm"), int(row.number("n")), diameter=of(row.number("d_mm"), "mm")
    )
    assert ratio == pytest.approx(float(row.expected), rel=1e-5)
    assert row.tolerance == "range 3..6"
    assert spacing_is_usual(ratio)


@pytest.mark.parametrize(("standard", "rating", "size"), ALL)
def test_every_row_has_a_thread_and_room_for_its_bolts(standard: str, rating: str, size: str):
    flange = flange_bolting(standard, rating, size=size)
    stud = thread(flange.thread)
    diameter = magnitude(stud.diameter, "mm", name="diameter")
    room = magnitude(flange.hole, "mm", name="hole") - diameter
    assert room == pytest.approx(3.175) if standard == "ASME B16.5" else 2 <= room <= 3
    assert 1.8 < spacing_ratio(flange.bolt_circle, flange.bolts, diameter=stud.diameter) < 8


@pytest.mark.parametrize("rating", B16_5)
def test_inch_flanges_grow_with_the_size(rating: int):
    circles = [circle for circle, _, _ in B16_5[rating].values()]
    assert circles == sorted(circles)


@pytest.mark.parametrize("size", ["15", "50", "100", "200", "400", "600"])
def test_a_higher_rating_never_has_a_smaller_bolt_circle(size: str):
    circles = [EN_1092[rating][int(size)][0] for rating in (10, 16, 25, 40)]
    assert circles == sorted(circles)


def test_dn_65_asks_to_count_the_holes():
    """Eight holes in EN 1092-1, four in the older DIN table: read as a known disagreement."""
    flange = flange_bolting("EN 1092-1", "PN 16", size="DN 65")
    assert (flange.bolts, "4 holes" in flange.note) == (8, True)


def test_names_are_read_as_people_write_them():
    assert flange_bolting("ASME B16.5", "150", size='1-1/2"').size == "NPS 1 1/2"
    assert flange_bolting("EN 1092-1", "pn16", size="dn150").bolts == 8


@pytest.mark.parametrize(
    ("standard", "rating", "size", "said"),
    [
        ("DIN 2501", "PN 16", "DN 50", "DIN 2501"),
        ("ASME B16.5", "class 175", "NPS 4", "class 175"),
        ("ASME B16.5", "class 150", "NPS 22", "NPS 22"),
        ("ASME B16.5", "class 900", "NPS 2", "NPS 2"),
        ("EN 1092-1", "PN 64", "DN 50", "PN 64"),
        ("EN 1092-1", "PN 25", "DN 700", "DN 700"),
        ("EN 1092-1", "class 150", "DN 50", "class 150"),
    ],
)
def test_a_flange_that_is_not_in_the_tables_is_refused(standard: str, rating: str, size: str, said: str):
    with pytest.raises(BadBolting, match=re.escape(said)) as refusal:
        flange_bolting(standard, rating, size=size)
    assert refusal.value.remedy


@pytest.mark.parametrize(("bolts", "circle"), [(1, 100.0), (8, 0.0)])
def test_a_spacing_without_meaning_is_refused(bolts: int, circle: float):
    with pytest.raises(BadBolting):
        spacing_ratio(of(circle, "mm"), bolts, diameter=of(16, "mm"))


def test_the_usual_spacing_ends_at_three_and_six():
    assert [spacing_is_usual(ratio) for ratio in (2.99, 3.0, 6.0, 6.01)] == [False, True, True, False]
