"""The tightening order of a bolt group: one door to all order families, and what can be said of an order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from assistant.bolting.tightening import ring_orders, row_orders
from assistant.errors import BadBolting

FAMILIES: dict[str, str] = {
    "cross": "opposite pairs, blocks of four 90 degrees apart, spread around the circle; any count",
    "modified cross": "the cross order; in the first pass the load steps up from block to block; counts divisible by 4",
    "four points": "four bolts 90 degrees apart at rising steps, then circular passes; counts divisible by 4",
    "quadrant": "one bolt in each quadrant in turn, round each quadrant; counts divisible by 4",
    "circular": "neighbour to neighbour, clockwise; not for the first pass on a gasket",
    "groups": "neighbouring bolts as one, the groups in the cross order; usual from 36 bolts on",
    "line": "centre outward, alternating sides; also a hinged clamp with all bolts on one side",
    "rectangle": "nearest to the centre first, then its opposite through the centre; columns x rows on the edge",
    "clamp": "two bolts alternately, or four in diagonals; numbered clockwise seen from above",
    "split hub": "pairs through the centre of a split hub, from the middle of each side outward; even counts",
}
"""Order families by the trade's names, each with what it does and which counts it takes."""

ROUND = ("cross", "modified cross", "four points", "quadrant", "circular", "groups")
"""Families for bolts on a circle; their first bolt is always 1."""


def family_name(family: str) -> str:
    """The family's own name; 'star' is the other word for 'cross'.

    Raises:
        BadBolting: no such family.
    """
    name = " ".join(str(family).lower().replace("-", " ").replace("_", " ").split())
    name = "cross" if name == "star" else name
    if name not in FAMILIES:
        raise BadBolting(f"order family is {family!r}", remedy="one of: " + ", ".join(FAMILIES))
    return name


def order(
    family: str, bolts: int, *, columns: int | None = None, rows: int | None = None, group: int | None = None
) -> tuple[int, ...]:
    """The order in which the bolts of a group are visited in one full pass.

    Args:
        family: a key of FAMILIES (or 'star').
        bolts: number of bolts, 1..96 as the family allows.
        columns: bolts along the top edge, for 'rectangle' only; with rows they must give the bolt count.
        rows: bolts down a side, for 'rectangle' only.
        group: neighbours taken as one, for 'groups' only; left out, the usual size for the count.

    Returns:
        Bolt numbers from 1, each once, in order of visiting.

    Raises:
        BadBolting: unknown family, a count that the family does not take, or arguments that do not belong to it.

    Source: see each order in `ring_orders` and `row_orders`.
    """
    name = family_name(family)
    _only_for(name, "rectangle", columns=columns, rows=rows)
    _only_for(name, "groups", group=group)
    if name == "rectangle":
        return _rectangle(bolts, columns, rows)
    if name == "groups":
        ring_orders.checked_count(bolts, least=2, what="groups")
        size = ring_orders.usual_group(bolts) if group is None else group
        return tuple(bolt for members in ring_orders.groups(bolts, size) for bolt in members)
    if name == "modified cross":
        ring_orders.checked_count(bolts, least=4, divisor=4, what="modified cross order")
    return {
        "cross": ring_orders.cross,
        "modified cross": ring_orders.cross,
        "four points": ring_orders.four_points,
        "quadrant": ring_orders.quadrant,
        "circular": ring_orders.circular,
        "line": row_orders.line,
        "clamp": row_orders.clamp,
        "split hub": row_orders.split_hub,
    }[name](bolts)


def _only_for(name: str, owner: str, **given: int | None) -> None:
    for argument, value in given.items():
        if value is not None and name != owner:
            raise BadBolting(
                f"{argument} is {value} for the {name} order", remedy=f"{argument} belongs to '{owner}' only"
            )


def _rectangle(bolts: int, columns: int | None, rows: int | None) -> tuple[int, ...]:
    if columns is None or rows is None:
        raise BadBolting("rectangle: columns or rows missing", remedy="say both: bolts along the top and down a side")
    edge = row_orders.edge_count(columns, rows)
    if isinstance(bolts, bool) or bolts != edge:
        raise BadBolting(
            f"rectangle: {columns} x {rows} on the edge makes {edge} bolts, not {bolts!r}",
            remedy="a bolt count equal to 2 x (columns + rows) - 4",
        )
    return row_orders.rectangle(columns, rows)


def labels(visits: Sequence[int]) -> tuple[int, ...]:
    """Order labels: at place k of the result stands the turn of bolt k+1 (the inverse permutation).

    Location numbers and order labels must never be mixed on one joint: which of the two is painted is agreed before
    work starts. They happen to be the same list for 4, 8, 16 and 32 bolts in the cross order, not for 12, 20, 24, 28.

    Args:
        visits: an order, each bolt 1..n once.

    Raises:
        BadBolting: a bolt is missing or comes twice.

    Source: both systems in use: read in a public article quoting ASME PCC-1-2019.
    """
    _checked(visits)
    result = [0] * len(visits)
    for turn, bolt in enumerate(visits, start=1):
        result[bolt - 1] = turn
    return tuple(result)


def imbalance(visits: Sequence[int]) -> float:
    """Largest length of the sum of unit vectors to the bolts done so far, over all steps; no unit.

    For bolts on a circle: 1.0 is the best that any order can do; a circular pass over n bolts reaches about n/pi.

    Args:
        visits: an order, each bolt 1..n once.

    Raises:
        BadBolting: a bolt is missing or comes twice.

    Source: computed.
    """
    _checked(visits)
    angle = 2 * math.pi / len(visits)
    across = along = worst = 0.0
    for bolt in visits:
        across += math.sin(angle * (bolt - 1))
        along += math.cos(angle * (bolt - 1))
        worst = max(worst, math.hypot(across, along))
    return worst


def walk(visits: Sequence[int]) -> int:
    """Way walked in one pass around a circle, in bolt pitches, the shorter way round each time.

    Args:
        visits: an order, each bolt 1..n once.

    Raises:
        BadBolting: a bolt is missing or comes twice.

    Source: computed.
    """
    _checked(visits)
    count = len(visits)
    ways = (abs(there - here) for here, there in pairwise(visits))
    return sum(min(way, count - way) for way in ways)


def _checked(visits: Sequence[int]) -> None:
    if not visits or sorted(visits) != list(range(1, len(visits) + 1)):
        raise BadBolting(f"order {'-'.join(map(str, visits))}", remedy="each bolt from 1 to n exactly once")


@dataclass(frozen=True, slots=True)
class Precaution:
    """What to watch with an order: which precaution, in words for the plan, and whether it is about the bolt count."""

    name: str
    text: str
    counts: bool = False


def precautions(family: str, *, gasketed: bool, bolts: int | None = None) -> tuple[Precaution, ...]:
    """What to watch with an order, in words for the plan; empty when nothing is to be said.

    Args:
        family: a key of FAMILIES.
        gasketed: whether a gasket is compressed by these bolts.
        bolts: the count, where there may be something to say about it.

    Raises:
        BadBolting: no such family.

    Source: the precautions are those named for every alternative pattern of ASME PCC-1 appendix F (read in public
        articles); the rule on a circular first pass: common practice, no source.
    """
    name = family_name(family)
    if not gasketed:
        return ()
    watch = Precaution(
        "watch",
        "watch for local over-compression of the gasket, uneven seating, load cycling of the gasket and flanges out of "
        "parallel; measure the gap between passes",
    )
    if name == "circular":
        text = "a circular order is not for the first pass of a gasketed joint: use the cross order first"
        return (Precaution("circular", text),)
    if name == "four points":
        text = "only for gaskets and flanges that tolerate four-point loading; check the gap after that stage"
        return (Precaution("four points", text), watch)
    if name == "groups":
        text = "check for gasket damage and misalignment when neighbouring bolts are taken as one"
        known = Precaution("groups", text)
        if bolts in (40, 44):
            text = f"for {bolts} bolts the standard may list another group order: compare with the document"
            return (known, Precaution("other", text, counts=True), watch)
        return (known, watch)
    return (watch,) if name in ("modified cross", "quadrant") else ()
