"""Every row of the check catalogue on patterns, passes, gaskets, flanges and heat is tested, or says why not."""

from __future__ import annotations

import pytest

from assistant.bolting.friction_and_torque.turn_of_nut import SNUG_HIGHEST_PERCENT
from assistant.bolting.units import magnitude, of
from tests.bolting.joint import test_clamp, test_flanges, test_gasket, test_stiffness, test_thermal
from tests.bolting.joint_rows import USED, Row, all_rows, name, rows
from tests.bolting.tightening import test_passes, test_pattern
from tests.procedure import test_plausibility_checks
from tests.speech import test_spoken_checks

ASKED_BY = (  # importing them fills USED
    *(test_clamp, test_flanges, test_gasket, test_passes, test_pattern, test_stiffness, test_thermal),
    *(test_plausibility_checks, test_spoken_checks),
)
PREFIXES = ("SEQ", "PASS", "GSK", "FLG", "ELON", "CLMP", "PLAU", "SPK", "JOBS")
JOINT_HEAT = ("CTE-13", "CTE-14", "CTE-15")  # the other CTE rows are steel tables: test_bolt_checks

_ABOVE = "spoken values end at 5000 (no torque of ours is above): outside what the listeners' grammar takes"
_NOT_SAID = "a way to pronounce or name a figure that the assistant neither says nor asks for"
_GUIDE = "guidance for loudness, signals or message length: no function computes it"
NOT_COMPUTED: dict[str, str] = {
    "PLAU-18": "a rule of conduct at a re-check (a higher reading without motion is held, not over-tight)",
    **dict.fromkeys(("SPK-03", "SPK-04", "SPK-08"), _ABOVE),
    **dict.fromkeys(("SPK-13", "SPK-16", "SPK-17", "SPK-18", "SPK-19", "SPK-20", "SPK-21"), _NOT_SAID),
    **dict.fromkeys((f"SPK-{number}" for number in (*range(23, 33), 34, 35, *range(37, 42))), _GUIDE),
}
MINE = [row for row in all_rows() if row.id.split("-")[0] in PREFIXES or row.id in JOINT_HEAT]


@pytest.mark.parametrize("row", rows("JOBS-1"), ids=name)
def test_check_row_soft_foot(row: Row):
    mils = float(row.given["limit"].removesuffix(" mil"))
    assert magnitude(of(mils / 1000, "in"), "mm", name="soft foot") == pytest.approx(
        float(row.expected), abs=row.allowed()
    )


@pytest.mark.parametrize("row", rows("JOBS-2"), ids=name)
def test_check_row_snug_limit(row: Row):
    assert float(row.expected) == SNUG_HIGHEST_PERCENT


@pytest.mark.parametrize("row", MINE, ids=lambda row: row.id)
def test_a_row_is_tested_or_says_why_not(row: Row):
    assert row.source
    assert (row.id in USED) != (row.id in NOT_COMPUTED)


def test_no_reason_is_given_for_a_row_that_is_not_there():
    assert set(NOT_COMPUTED) <= {row.id for row in MINE}


def test_more_than_190_rows_are_tested_here():
    assert len([row for row in MINE if row.id in USED]) > 190
