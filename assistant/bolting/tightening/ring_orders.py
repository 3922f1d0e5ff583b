"""Orders around a circle of bolts: cross, quadrant, circular, groups of neighbours, several tools at once.

Bolts are numbered 1..n clockwise seen from the side where the worker stands, number 1 at twelve o'clock or at the
painted start mark (common practice, no source). All functions are pure, over counts only.
"""

from __future__ import annotations

from functools import lru_cache

from assistant.errors import BadBolting

MOST_BOLTS = 96
"""Largest count of one bolt group that orders are made for."""

TOOLS = (1, 2, 4, 8)
"""How many tools may pull at once."""


def checked_count(bolts: int, *, least: int = 1, divisor: int = 1, what: str = "order") -> int:
    """The bolt count itself, when an order can be made for it.

    Args:
        bolts: number of bolts, least..96.
        least: smallest count that the order makes sense for.
        divisor: the count must be a multiple of it.
        what: the order's name, for the message.

    Raises:
        BadBolting: not a whole number, outside least..96, or not a multiple of divisor.
    """
    if isinstance(bolts, bool) or not isinstance(bolts, int):
        raise BadBolting(f"{what}: bolt count is {bolts!r}", remedy=f"a whole number from {least} to {MOST_BOLTS}")
    if not least <= bolts <= MOST_BOLTS:
        raise BadBolting(f"{what}: bolt count is {bolts}", remedy=f"{least} to {MOST_BOLTS} bolts in one group")
    if bolts % divisor:
        raise BadBolting(
            f"{what}: bolt count is {bolts}, not a multiple of {divisor}",
            remedy=f"a count divisible by {divisor}, or the cross order, which takes any count",
        )
    return bolts


@lru_cache(maxsize=256)
def spread(places: int) -> tuple[int, ...]:
    """Visiting order of `places` places on a ring, 0-based, each as far as can be from those visited before.

    Start with 0. Then always the place not yet used that lies farthest around the ring from the nearest used one; on
    a tie farthest from the one used last; on a tie the lowest number.

    Args:
        places: 1..96.

    Source: three-step choice that reproduces the single-tool cross-pattern lists of ASME PCC-1 for 4 to 32 bolts
        (the lists from memory; those for 8 to 24 read as labels on a public gasket installation work sheet).
    """
    used = [0]
    nearest = [_around(0, place, places) for place in range(places)]
    while len(used) < places:
        last = used[-1]
        best = max(
            (place for place in range(places) if nearest[place] > 0),
            key=lambda place: (nearest[place], _around(last, place, places), -place),
        )
        used.append(best)
        nearest = [min(gap, _around(best, place, places)) for place, gap in enumerate(nearest)]
    return tuple(used)


def _around(first: int, second: int, places: int) -> int:
    gap = abs(first - second)
    return min(gap, places - gap)


def block(start: int, bolts: int) -> tuple[int, int, int, int]:
    """Four bolts 90 degrees apart: start, its opposite, a quarter turn on, the opposite of that.

    Args:
        start: bolt of the first quadrant, 1..bolts/4.
        bolts: count divisible by 4.

    Source: cross-pattern lists of ASME PCC-1 (from memory).
    """
    quarter = bolts // 4
    return (start, start + 2 * quarter, start + quarter, start + 3 * quarter)


def cross(bolts: int) -> tuple[int, ...]:
    """The cross (star) order: opposite pairs, blocks of four 90 degrees apart, blocks spread around the circle.

    Args:
        bolts: 1..96. Divisible by 4: blocks of four; other even counts: opposite pairs; odd counts: single bolts.

    Returns:
        Each bolt 1..n once, first is 1.

    Raises:
        BadBolting: count out of range.

    Source: rule computed; it reproduces the lists of ASME PCC-1 for 4..32 (from memory, 8..24 also read as labels on a
        public work sheet); six bolts 1-4-2-5-3-6 and the five-point star are common practice, no source.
    """
    checked_count(bolts, what="cross order")
    if bolts % 4 == 0:
        return tuple(bolt for place in spread(bolts // 4) for bolt in block(place + 1, bolts))
    if bolts % 2 == 0:
        half = bolts // 2
        return tuple(bolt for place in spread(half) for bolt in (place + 1, place + 1 + half))
    return tuple(place + 1 for place in spread(bolts))


def quadrant(bolts: int) -> tuple[int, ...]:
    """One bolt in each quadrant in turn, working round each quadrant: 1, n/2+1, n/4+1, 3n/4+1, 2, ...

    Args:
        bolts: 4..96, divisible by 4.

    Raises:
        BadBolting: count out of range or not divisible by 4.

    Source: ASME PCC-1 appendix F (that it has alternatives: read in public articles; this list: from memory).
    """
    checked_count(bolts, least=4, divisor=4, what="quadrant order")
    return tuple(bolt for place in range(bolts // 4) for bolt in block(place + 1, bolts))


def circular(bolts: int) -> tuple[int, ...]:
    """Neighbour to neighbour, clockwise from 1: for last passes and for joints without a gasket.

    Args:
        bolts: 1..96.

    Raises:
        BadBolting: count out of range.

    Source: ASME PCC-1 practice (from memory).
    """
    return tuple(range(1, checked_count(bolts, what="circular order") + 1))


def four_points(bolts: int) -> tuple[int, ...]:
    """Four bolts 90 degrees apart, then the others clockwise.

    Args:
        bolts: 4..96, divisible by 4.

    Raises:
        BadBolting: count out of range or not divisible by 4.

    Source: ASME PCC-1 appendix F (that it has alternatives: read in public articles; this list: from memory).
    """
    checked_count(bolts, least=4, divisor=4, what="four points order")
    first = block(1, bolts)
    return first + tuple(bolt for bolt in range(1, bolts + 1) if bolt not in first)


def usual_group(bolts: int) -> int:
    """How many neighbours are usually handled as one: 1 below 36 bolts, 3 from 36, 4 from 40 on.

    Source: groups of four on a 48-bolt flange read in a public article on ASME PCC-1; 3 for 36 from memory.
    """
    if bolts < 36:
        return 1
    return 3 if bolts < 40 else 4


def groups(bolts: int, group: int) -> tuple[tuple[int, ...], ...]:
    """Groups of neighbouring bolts in the cross order of the groups; inside a group the numbers rise.

    Args:
        bolts: 2..96.
        group: bolts in a group, 1..bolts/2. When it does not divide the count, the last group is smaller.

    Returns:
        One tuple a group, in the order they are visited.

    Raises:
        BadBolting: count or group out of range.

    Source: a public article on ASME PCC-1 (48 bolts: groups of four, 12 groups; after bolts 1-4 go to group 7; read).
        For 40 and 44 bolts a recalled table of the standard has another group order: open, check the document.
    """
    checked_count(bolts, least=2, what="groups")
    if isinstance(group, bool) or not isinstance(group, int) or not 1 <= group <= bolts // 2:
        raise BadBolting(f"groups: {group!r} bolts in a group of {bolts}", remedy=f"1 to {bolts // 2} bolts in a group")
    count = -(-bolts // group)
    return tuple(
        tuple(range(place * group + 1, min((place + 1) * group, bolts) + 1)) for place in (n - 1 for n in cross(count))
    )


def simultaneous(bolts: int, tools: int, *, family: str = "cross") -> tuple[tuple[int, ...], ...]:
    """Steps with several tools pulling together; each step lists its bolts in location order.

    Two tools are 180 degrees apart, four 90 degrees apart; eight work two neighbouring blocks of four (cross) or
    stand 45 degrees apart (circular). Every bolt of a step needs its own accepted value (common practice, no source).

    Args:
        bolts: 1..96, divisible by tools.
        tools: 1, 2, 4 or 8, all of one kind at one setting.
        family: 'cross' or 'circular'.

    Returns:
        One tuple of `tools` bolts a step; each bolt 1..n in exactly one step; bolt 1 is in the first step.

    Raises:
        BadBolting: tools not 1, 2, 4 or 8; count not a multiple of it; another family.

    Source: ASME PCC-1 has its own section on several tools (contents read); the steps follow from the cross order,
        common practice, no source.
    """
    if isinstance(tools, bool) or tools not in TOOLS:
        raise BadBolting(f"several tools: {tools!r} tools at once", remedy="1, 2, 4 or 8 tools of one kind")
    if family not in ("cross", "circular"):
        raise BadBolting(
            f"several tools: order is {family!r}", remedy="'cross' or 'circular' for several tools at once"
        )
    checked_count(bolts, divisor=tools, what=f"{tools} tools at once")
    if family == "circular":
        apart = bolts // tools
        return tuple(tuple(bolt + apart * tool for tool in range(tools)) for bolt in range(1, apart + 1))
    if tools == 8:
        pairs = (place * 2 + 1 for place in spread(bolts // 8))
        return tuple(tuple(sorted(block(first, bolts) + block(first + 1, bolts))) for first in pairs)
    turns = cross(bolts)
    return tuple(tuple(sorted(turns[at : at + tools])) for at in range(0, bolts, tools))
