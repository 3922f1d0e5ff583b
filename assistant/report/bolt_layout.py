"""Where the bolts of a group stand, for drawing: a circle, a line, the edge of a cover, the two sides of a clamp."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.bolting.tightening import pattern, row_orders
from assistant.errors import BadBolting

STATES = ("pending", "current", "done", "skipped", "out of window")
"""What a drawn bolt can be; a bolt without a state is pending."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Bolt places of one group.

    shape: 'circle', 'line', 'rectangle' or 'sides'.
    places: (x, y) of bolts 1..n; x to the right, y downwards. On a circle of radius 1 around (0, 0); otherwise in
        pitches from (0, 0) at the top left.
    caption: how the bolts are numbered, one sentence.
    """

    shape: str
    places: tuple[tuple[float, float], ...]
    caption: str


def layout(family: str, bolts: int, *, columns: int | None = None, rows: int | None = None) -> Layout:
    """The places of a group's bolts as they are chalked.

    Args:
        family: a key of `pattern.FAMILIES`.
        bolts: 1..96 as the family allows.
        columns: as for `pattern.order`.
        rows: as for `pattern.order`.

    Raises:
        BadBolting: as `pattern.order`.

    Source: numbering is common practice, no source.
    """
    name = pattern.family_name(family)
    pattern.order(name, bolts, columns=columns, rows=rows)
    if name == "rectangle":
        assert columns is not None and rows is not None
        places = tuple((float(x), float(y)) for x, y in row_orders.edge_places(columns, rows))
        return Layout("rectangle", places, "Bolt 1 at the top left corner, numbers run clockwise along the edge.")
    if name == "line":
        return Layout("line", tuple((float(at), 0.0) for at in range(bolts)), "Numbers run from one end to the other.")
    if name in ("clamp", "split hub"):
        side = bolts // 2
        left = [(0.0, float(side - at)) for at in range(1, side + 1)]
        right = [(1.0, float(at)) for at in range(side)]
        caption = "Seen from above: side A left from the near end (below), then side B right from the far end back."
        return Layout("sides", tuple(left + right), caption)
    angles = [2 * math.pi * at / bolts for at in range(bolts)]
    round_places = tuple((math.sin(angle), -math.cos(angle)) for angle in angles)
    caption = "Bolt 1 at twelve o'clock or the painted mark, numbers run clockwise seen from the worker's side."
    return Layout("circle", round_places, caption)


def checked_states(states: Mapping[int, str] | None, bolts: int) -> dict[int, str]:
    """State of every bolt 1..n, pending where none is given.

    Raises:
        BadBolting: a bolt that is not there or a state that is not one of STATES.
    """
    result = dict.fromkeys(range(1, bolts + 1), "pending")
    for bolt, state in (states or {}).items():
        if bolt not in result:
            raise BadBolting(f"picture: there is no bolt {bolt!r}", remedy=f"bolts 1 to {bolts}")
        if state not in STATES:
            raise BadBolting(f"picture: bolt {bolt} is {state!r}", remedy="one of: " + ", ".join(STATES))
        result[bolt] = state
    return result


def checked_turns(order: Sequence[int] | None, bolts: int) -> tuple[int, ...] | None:
    """For bolts 1..n the turn in which each is visited; None when no order is to be drawn.

    Raises:
        BadBolting: the order does not hold each bolt 1..n once.
    """
    if order is None:
        return None
    if len(order) != bolts:
        raise BadBolting(f"picture: the order has {len(order)} bolts, the group {bolts}", remedy="one turn a bolt")
    return pattern.labels(order)
