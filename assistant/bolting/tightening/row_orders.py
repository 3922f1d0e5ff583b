"""Orders for bolts that do not stand in a circle: lines, rectangular covers, split clamps.

Lines are numbered 1..m from one end; rectangles clockwise along the edge from the top left corner; clamps clockwise
seen from above: side A from the near end to the far end, then side B from the far end back.
All of this is common practice, no source.
"""

from __future__ import annotations

from assistant.bolting.tightening.ring_orders import MOST_BOLTS, checked_count
from assistant.errors import BadBolting


def line(bolts: int) -> tuple[int, ...]:
    """Centre outward, alternating sides; on a tie the lower number first.

    Args:
        bolts: 1..96.

    Raises:
        BadBolting: count out of range.

    Source: from the most rigid part to the free edges: read, an AISC answer on the RCSC specification and a state
        bridge instruction; from the middle outward on cylinder heads: read on a public answer page. For clamps with
        all bolts on one side: read in a repair clamp instruction. The rule itself is computed.
    """
    checked_count(bolts, what="line order")
    return tuple(sorted(range(1, bolts + 1), key=lambda bolt: (abs(2 * bolt - bolts - 1), bolt)))


def edge_count(columns: int, rows: int) -> int:
    """Bolts along the edge of a cover with columns x rows bolts, corners counted once.

    Args:
        columns: bolts along the top edge, 2 or more.
        rows: bolts down a side, 2 or more.

    Raises:
        BadBolting: fewer than two columns or rows, or more than 96 bolts.
    """
    for name, value in (("columns", columns), ("rows", rows)):
        if isinstance(value, bool) or not isinstance(value, int) or value < 2:
            raise BadBolting(f"rectangle: {name} is {value!r}", remedy="2 or more; one row alone is a line")
    bolts = 2 * (columns + rows) - 4
    if bolts > MOST_BOLTS:
        raise BadBolting(f"rectangle: {columns} x {rows} has {bolts} bolts", remedy=f"at most {MOST_BOLTS} bolts")
    return bolts


def edge_places(columns: int, rows: int) -> tuple[tuple[int, int], ...]:
    """Column and row, from 0 at the top left, of each bolt 1..n clockwise along the edge.

    Raises:
        BadBolting: as `edge_count`.
    """
    edge_count(columns, rows)
    top = [(column, 0) for column in range(columns)]
    right = [(columns - 1, row) for row in range(1, rows)]
    bottom = [(column, rows - 1) for column in range(columns - 2, -1, -1)]
    left = [(0, row) for row in range(rows - 2, 0, -1)]
    return tuple(top + right + bottom + left)


def rectangle(columns: int, rows: int) -> tuple[int, ...]:
    """Rectangular cover: always the bolt nearest to the centre, then its opposite through the centre.

    Equal pitch in both directions is taken; on a tie the lower number comes first.

    Args:
        columns: bolts along the top edge, 2 or more.
        rows: bolts down a side, 2 or more.

    Raises:
        BadBolting: as `edge_count`.

    Source: computed rule; four feet of a machine 1-3-2-4 is common practice, no source.
    """
    places = edge_places(columns, rows)
    half = len(places) // 2

    def from_centre(bolt: int) -> tuple[int, int]:
        column, row = places[bolt - 1]
        return (2 * column - columns + 1) ** 2 + (2 * row - rows + 1) ** 2, bolt

    firsts = sorted(range(1, half + 1), key=from_centre)
    return tuple(bolt for first in firsts for bolt in (first, first + half))


def clamp(bolts: int) -> tuple[int, ...]:
    """Clamp with one or two bolts a side: 1-2, or one diagonal then the other: A1-B2-B1-A2.

    Args:
        bolts: 2 (one each side) or 4 (two each side: 1 = A near, 2 = A far, 3 = B far, 4 = B near).

    Raises:
        BadBolting: another count; `split_hub` takes more bolts a side.

    Source: two bolts alternately: read in an installation instruction for clamp connectors (maker not named; its
        sequence drawing was not read); four bolts: common practice, no source.
    """
    if bolts == 2:
        return (1, 2)
    if bolts == 4 and not isinstance(bolts, bool):
        return (1, 3, 4, 2)
    raise BadBolting(f"clamp order: bolt count is {bolts!r}", remedy="2 or 4 bolts; 'split hub' takes more a side")


def split_hub(bolts: int) -> tuple[int, ...]:
    """Split hub with bolts on both sides: pairs through the centre, from the middle outward, sides alternating.

    Position i of side A is paired with position m+1-i of side B, m bolts a side; in clockwise numbers that is i, i+m.

    Args:
        bolts: 2..96, even.

    Raises:
        BadBolting: count out of range or odd.

    Source: common practice, no source.
    """
    checked_count(bolts, least=2, divisor=2, what="split hub order")
    side = bolts // 2
    return tuple(bolt for first in line(side) for bolt in (first, first + side))


def clamp_position(bolt: int, bolts: int) -> str:
    """Name of a clamp bolt by side and place: 'A1' is side A at the near end.

    Args:
        bolt: clockwise number, 1..bolts.
        bolts: 2..96, even.

    Raises:
        BadBolting: count odd or out of range, or no such bolt.
    """
    checked_count(bolts, least=2, divisor=2, what="clamp")
    if isinstance(bolt, bool) or not isinstance(bolt, int) or not 1 <= bolt <= bolts:
        raise BadBolting(f"clamp: there is no bolt {bolt!r}", remedy=f"bolts 1 to {bolts}")
    side = bolts // 2
    return f"A{bolt}" if bolt <= side else f"B{bolts + 1 - bolt}"
