"""Passes: at which share of the target the bolts are visited, in which steps, and when the rounds are done."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from assistant.bolting.tightening import pattern, ring_orders
from assistant.errors import BadBolting

HIGHEST_PERCENT = 110.0
"""Highest share of a pass; more than 100 only where the plan's reference torque is below its target (EN 1090-2)."""

ROUNDS_EXPECTED = 2
"""Circular rounds that are typical before no nut moves. Source: read in public flange articles."""

ROUNDS_BEFORE_CAUSE = 5
"""Circular rounds after which one stops and looks for a cause. Common practice, no source."""

LOOSENING_PERCENT = 70.0
"""Share to which all bolts are released in the order before any is freed. From memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One visit to the bolts.

    number: from 1, through the whole plan.
    kind: 'pattern' (the family's order), 'four points' (that stage only), 'circular' (the final rounds), 'loosening'.
    steps: bolts of each step in order; one bolt a step with one tool, 2, 4 or 8 bolts with several.
    percents: share of the target in percent, one for each step.
    until_still: repeat whole rounds until one whole round moves no nut.
    """

    number: int
    kind: str
    steps: tuple[tuple[int, ...], ...]
    percents: tuple[float, ...]
    until_still: bool = False

    @property
    def order(self) -> tuple[int, ...]:
        """The bolts of the pass, one after the other."""
        return tuple(bolt for step in self.steps for bolt in step)


def passes(
    family: str,
    bolts: int,
    *,
    percents: Sequence[float],
    final_circular: bool,
    tools: int = 1,
    columns: int | None = None,
    rows: int | None = None,
    group: int | None = None,
) -> tuple[Pass, ...]:
    """All passes of a bolt group up to the last share, with the final circular pass where wanted.

    Args:
        family: a key of `pattern.FAMILIES`. 'modified cross' runs its first pass with the shares stepping up from
            block to block, then the whole pattern at the shares not yet reached, at least the last; 'four points'
            visits four bolts at each share and then all bolts in circular passes; every other family visits all
            bolts in its order at each share.
        bolts: 1..96 as the family allows.
        percents: share of the target of each pass in percent, 0 < p <= 110, never falling.
        final_circular: whether rounds at the last share follow until no nut moves. Around a circle or a cover they go
            neighbour to neighbour, on lines and clamps in the family's own order. 'four points' always ends so.
        tools: 1, 2, 4 or 8 tools pulling together; more than one for 'cross' and 'circular' only.
        columns: as for `pattern.order`.
        rows: as for `pattern.order`.
        group: as for `pattern.order`.

    Returns:
        Passes numbered from 1. In each, every bolt comes once, except in the stage 'four points' (four bolts).

    Raises:
        BadBolting: unknown family, count not taken by it, shares empty, falling or out of range.

    Source: pass plans as in PLANS; modified cross and four points from ASME PCC-1 appendix F (from memory).
    """
    name = pattern.family_name(family)
    shares = checked_percents(percents)
    last = shares[-1]
    turns = pattern.order(name, bolts, columns=columns, rows=rows, group=group)
    singles = tuple((bolt,) for bolt in turns)
    steps = singles if tools == 1 else ring_orders.simultaneous(bolts, tools, family=name)
    stages: list[tuple[str, tuple[tuple[int, ...], ...], tuple[float, ...]]]
    if name == "modified cross":
        whole = shares[bolts // 4 :] or (last,)
        stages = [("pattern", steps, _stepping_up(bolts, shares))]
        stages += [("pattern", steps, (share,) * len(steps)) for share in whole]
    elif name == "four points":
        stages = [("four points", steps[:4], (share,) * 4) for share in shares]
    else:
        stages = [("pattern", steps, (share,) * len(steps)) for share in shares]
    result = [Pass(number=n, kind=kind, steps=s, percents=p) for n, (kind, s, p) in enumerate(stages, start=1)]
    if final_circular or name == "four points":
        rounds = _final_steps(name, bolts, tools=tools, steps=steps)
        result.append(
            Pass(
                number=len(result) + 1,
                kind="circular",
                steps=rounds,
                percents=(last,) * len(rounds),
                until_still=True,
            )
        )
    return tuple(result)


def checked_percents(percents: Sequence[float]) -> tuple[float, ...]:
    """The shares as floats, when they can be the passes of a plan.

    Raises:
        BadBolting: none given, one not above 0 and up to 110, or one lower than the one before.
    """
    shares = tuple(float(percent) for percent in percents)
    if not shares:
        raise BadBolting("passes: no share given", remedy="at least one share in percent, the last is usually 100")
    for share in shares:
        if not (math.isfinite(share) and 0 < share <= HIGHEST_PERCENT):
            raise BadBolting(f"passes: share is {share:g} %", remedy=f"above 0 and up to {HIGHEST_PERCENT:g} %")
    if any(later < earlier for earlier, later in pairwise(shares)):
        listed = ", ".join(f"{share:g}" for share in shares)
        raise BadBolting(f"passes: shares {listed} % fall", remedy="shares that rise from pass to pass")
    return shares


def _stepping_up(bolts: int, shares: tuple[float, ...]) -> tuple[float, ...]:
    """First pass of the modified cross: block k at the k-th share, all following blocks at the last."""
    blocks = bolts // 4
    return tuple(shares[min(block, len(shares) - 1)] for block in range(blocks) for _ in range(4))


def _final_steps(
    name: str, bolts: int, *, tools: int, steps: tuple[tuple[int, ...], ...]
) -> tuple[tuple[int, ...], ...]:
    if tools != 1:
        return ring_orders.simultaneous(bolts, tools, family="circular")
    if name in pattern.ROUND or name == "rectangle":
        return tuple((bolt,) for bolt in ring_orders.circular(bolts))
    return steps


def loosening(
    family: str, bolts: int, *, columns: int | None = None, rows: int | None = None, group: int | None = None
) -> tuple[Pass, ...]:
    """Release in the family's order: first all bolts to 70 %, then free; nuts stay on until the joint is proved empty.

    Args:
        family: a key of `pattern.FAMILIES`.
        bolts: 1..96 as the family allows.
        columns: as for `pattern.order`.
        rows: as for `pattern.order`.
        group: as for `pattern.order`.

    Returns:
        Two passes of kind 'loosening' at 70 % and 0 %.

    Raises:
        BadBolting: as `pattern.order`.

    Source: from memory; never one side first. Breakout torque may be well above the tightening torque: read.
    """
    steps = tuple((bolt,) for bolt in pattern.order(family, bolts, columns=columns, rows=rows, group=group))
    return tuple(
        Pass(number=number, kind="loosening", steps=steps, percents=(share,) * len(steps))
        for number, share in enumerate((LOOSENING_PERCENT, 0.0), start=1)
    )
