"""Published pass plans: shares of the target, final rounds and waiting times, each with its source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PassPlan:
    """A published way to come up to the target.

    percents: share of the target in each pattern pass, in percent, rising.
    final_circular: whether rounds at the last share follow until no nut moves.
    bands: the range in percent that the source allows for each pass; empty where it gives single values.
    snug_percent: what snug may reach at most, in percent of the target; None where the source does not say.
    dwell_h: hours to wait before a circular retightening round; None where the source asks for none.
    fewest_bolts: smallest bolt count that the source gives the plan for.
    note: what else the source says.
    source: where the figures come from, and whether they were read.
    """

    name: str
    percents: tuple[float, ...]
    final_circular: bool
    bands: tuple[tuple[float, float], ...] = ()
    snug_percent: float | None = None
    dwell_h: float | None = None
    fewest_bolts: int = 1
    note: str = ""
    source: str


_LIKE = 0.5  # percent of the target: 33 is a third
PLANS: tuple[PassPlan, ...] = (
    PassPlan(
        name="three thirds",
        percents=(100 / 3, 200 / 3, 100.0),
        final_circular=True,
        note="the torque page adds one final clockwise pass",
        source="Pressure Vessel Design Manual p. 62 (read); a public torque page (read)",
    ),
    PassPlan(
        name="30/60/100",
        percents=(30.0, 60.0, 100.0),
        final_circular=True,
        source="typical, no citable source: public flange articles, there for 4 and 8 bolts (read)",
    ),
    PassPlan(
        name="20/40/80/100",
        percents=(20.0, 40.0, 80.0, 100.0),
        final_circular=True,
        fewest_bolts=12,
        note="then one rotational pass",
        source="typical, no citable source: a public flange article, for 12 bolts and more (read)",
    ),
    PassPlan(
        name="25/50/100",
        percents=(25.0, 50.0, 100.0),
        final_circular=True,
        snug_percent=20.0,
        note="gap measured between rounds at every other bolt",
        source="a gasket installation work sheet (read)",
    ),
    PassPlan(
        name="sealing trade bands",
        percents=(40.0, 65.0, 100.0),
        bands=((30.0, 50.0), (60.0, 70.0), (90.0, 100.0)),
        final_circular=True,
        note="the shares are the middle of the first two bands and the top of the last",
        source="article of a sealing trade body, 2012 (bands read)",
    ),
    PassPlan(
        name="cross pattern bands",
        percents=(25.0, 60.0, 100.0),
        bands=((20.0, 30.0), (50.0, 70.0), (100.0, 100.0)),
        final_circular=True,
        dwell_h=4.0,
        note="the shares are the middle of the bands",
        source="ASME PCC-1 cross pattern: percentages from memory; no further rotation read in a public article; "
        "4 h read in the abstract of an ASME PVP2021 paper",
    ),
    PassPlan(
        name="clamp 25/50/75/100",
        percents=(25.0, 50.0, 75.0, 100.0),
        final_circular=True,
        dwell_h=24.0,
        note="snug first; keep both gaps even; repeat until no nut moves; again after 24 h if possible",
        source="installation instruction for clamp connectors, maker not named (read)",
    ),
    PassPlan(
        name="structural 75/110",
        percents=(75.0, 110.0),
        final_circular=False,
        note="shares of the reference torque; all bolts in the first step before any in the second",
        source="EN 1090-2 torque method as quoted in public product data (read)",
    ),
    PassPlan(
        name="one pull",
        percents=(100.0,),
        final_circular=False,
        note="aircraft hardware: one smooth pull to the value plus the running torque",
        source="FAA AC 43.13-1B (read)",
    ),
)


def published_as(percents: Sequence[float]) -> PassPlan | None:
    """The published plan whose shares these are, within half a percent; None where there is none.

    Args:
        percents: share of the target in each pattern pass.

    Source: each plan carries its own.
    """
    for plan in PLANS:
        if len(plan.percents) == len(percents) and all(
            abs(one - other) <= _LIKE for one, other in zip(plan.percents, percents, strict=True)
        ):
            return plan
    return None
