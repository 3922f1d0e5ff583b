"""Pictures of bolt groups: they fit, hold every bolt where crews chalk it, and tell states without colour."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest

from assistant.bolting.tightening import pattern
from assistant.errors import BadBolting
from assistant.report.bolt_layout import STATES, layout
from assistant.report.bolt_picture import MARKS, WIDTH, text_picture
from assistant.report.bolt_svg import svg_picture
from scripts import docs

COUNTS = [*range(1, 34), 36, 40, 48, 57, 63, 64, 80, 95, 96]
SVG = "{http://www.w3.org/2000/svg}"


def drawing(picture: str) -> str:
    """The part above the caption."""
    return picture.split("\n\nBolt ")[0].split("\n\nNumbers ")[0].split("\n\nSeen ")[0]


def columns_of(family: str, bolts: int) -> int | None:
    return bolts // 2 if family == "rectangle" else None


def drawable() -> list[tuple[str, int]]:
    found = []
    for family in pattern.FAMILIES:
        for bolts in COUNTS:
            columns = columns_of(family, bolts)
            try:
                pattern.order(family, bolts, columns=columns, rows=2 if columns else None)
            except BadBolting:
                continue
            found.append((family, bolts))
    return found


@pytest.mark.parametrize(("family", "bolts"), drawable())
def test_a_text_picture_fits_the_terminal_and_holds_every_bolt(family: str, bolts: int):
    columns = columns_of(family, bolts)
    shape = {"columns": columns, "rows": 2 if columns else None}
    order = pattern.order(family, bolts, **shape)
    busy = dict.fromkeys(range(1, bolts + 1), "done")
    for picture in (
        text_picture(family, bolts, **shape),
        text_picture(family, bolts, order=order, **shape),
        text_picture(family, bolts, order=order, states=busy, **shape),
    ):
        assert all(len(line) <= WIDTH and line == line.rstrip() for line in picture.splitlines())
        assert picture.isascii()
        shown = re.findall(r"\d+", drawing(picture))
        assert sorted(map(int, shown)) == sorted([*range(1, bolts + 1)] * (len(shown) // bolts))
        assert len(shown) == bolts * (2 if "turn" in picture else 1)


@pytest.mark.parametrize("bolts", COUNTS[1:])
def test_numbers_in_the_terminal_run_clockwise_from_the_top(bolts: int):
    lines = drawing(text_picture("cross", bolts)).splitlines()
    at = {int(one[0]): (one.start(), row) for row, line in enumerate(lines) for one in re.finditer(r"\d+", line)}
    middle = (min(row for _, row in at.values()) + max(row for _, row in at.values())) / 2
    assert at[1][1] == 0
    angles = [math.atan2(at[bolt][0] + len(str(bolt)) / 2 - 39, 2 * (middle - at[bolt][1])) for bolt in sorted(at)]
    full = [angle % (2 * math.pi) for angle in angles[1:]]
    assert full == sorted(full)
    assert abs(angles[0]) < 0.1


def test_the_turn_stands_on_the_ray_of_its_bolt():
    lines = drawing(text_picture("cross", 4, order=(1, 3, 2, 4))).splitlines()
    assert [line.split() for line in lines if line] == [["1"], ["1"], ["4", "4", "3", "2"], ["2"], ["3"]]


def test_every_state_has_its_own_mark_and_the_legend_explains_it():
    assert sorted(MARKS) == sorted(STATES)
    assert len(set(MARKS.values())) == len(STATES)
    states = dict(enumerate(STATES, start=1))
    picture = text_picture("cross", 8, states=states)
    for bolt, state in states.items():
        assert f"{MARKS[state]}{bolt}" in picture.split()
        assert MARKS[state] == "" or f"{MARKS[state]} {state}" in picture
    assert "current" not in text_picture("cross", 8)


@pytest.mark.parametrize(("family", "bolts"), drawable())
def test_an_svg_picture_is_sound_and_holds_every_bolt_inside_its_frame(family: str, bolts: int):
    columns = columns_of(family, bolts)
    shape = {"columns": columns, "rows": 2 if columns else None}
    order = pattern.order(family, bolts, **shape)
    root = ElementTree.fromstring(svg_picture(family, bolts, order=order, **shape))
    assert root.tag == f"{SVG}svg"
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    upright = [one for one in root.iter(f"{SVG}text") if "font-style" not in one.attrib and str(one.text).isdigit()]
    slanted = [one for one in root.iter(f"{SVG}text") if "font-style" in one.attrib]
    assert [int(str(one.text)) for one in upright] == list(range(1, bolts + 1))
    assert [int(str(one.text)) for one in slanted] == list(pattern.labels(order))
    for one in root.iter(f"{SVG}text"):
        assert 0 < float(one.attrib["x"]) < width
        assert 0 < float(one.attrib["y"]) < height


@pytest.mark.parametrize("bolts", [2, 8, 12, 33, 96])
def test_no_two_bolts_overlap_in_the_svg(bolts: int):
    root = ElementTree.fromstring(svg_picture("cross", bolts))
    circles = [(float(one.attrib["cx"]), float(one.attrib["cy"])) for one in root.iter(f"{SVG}circle")]
    assert len(circles) == bolts
    for at, (x, y) in enumerate(circles):
        assert all(math.hypot(x - x2, y - y2) > 30 for x2, y2 in circles[:at])


def test_states_differ_in_shape_and_the_picture_is_grey():
    states = dict(enumerate(STATES, start=1))
    picture = svg_picture("cross", 8, states=states, order=pattern.order("cross", 8))
    assert all(f">{state}</text>" in picture for state in STATES)
    for colour in re.findall(r"#([0-9a-f]{3}|[0-9a-f]{6})\b", picture):
        step = len(colour) // 3
        assert len({colour[at : at + step] for at in range(0, len(colour), step)}) == 1
    shapes = set()
    for state in STATES:
        root = ElementTree.fromstring(svg_picture("cross", 1, states={1: state}))
        drawn = [one for one in root if one.tag in (f"{SVG}circle", f"{SVG}polygon", f"{SVG}rect")][1]
        corners = len(drawn.attrib.get("points", "").split())
        shapes.add((drawn.tag, corners))
    assert len(shapes) == len(STATES)


def test_a_title_is_escaped():
    picture = svg_picture("clamp", 2, title="Gate <7> & 'north' \"side\"")
    root = ElementTree.fromstring(picture)
    assert "Gate <7> & 'north' \"side\"" in [one.text for one in root.iter(f"{SVG}text")]
    assert root.attrib["aria-label"] == "Gate <7> & 'north' \"side\""


def test_a_clamp_is_seen_from_above_with_its_first_bolt_near_on_the_left():
    """Clockwise numbers: common practice, no source."""
    where = layout("split hub", 6)
    assert where.places[0] == (0.0, 2.0)
    assert where.places[2:4] == ((0.0, 0.0), (1.0, 0.0))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"states": {9: "done"}}, "9"),
        ({"states": {1: "loose"}}, "loose"),
        ({"order": (1, 2, 3)}, "3"),
        ({"order": (1, 1, 2, 3, 4, 5, 6, 7)}, "1-1-2"),
        ({"columns": 4}, "columns"),
    ],
)
@pytest.mark.parametrize("draw", [text_picture, svg_picture])
def test_what_cannot_be_drawn_is_refused(draw, more, said: str):
    with pytest.raises(BadBolting, match=said):
        draw("cross", 8, **more)


def test_the_documents_draw_each_bolts_own_turn():
    """Twelve bolts, 1-7-4-10-2-8-5-11-3-9-6-12: bolt 7 is second, bolt 4 third; with eight, order and turns agree."""
    order = pattern.order("cross", 12)
    _, svg = docs.bolt_circle(order)
    slanted = [one for one in ElementTree.fromstring(svg).iter(f"{SVG}text") if "font-style" in one.attrib]
    turns = [int(str(each.text)) for each in slanted]
    assert turns != list(order)
    assert [turns.index(turn) + 1 for turn in range(1, 13)] == list(order)
