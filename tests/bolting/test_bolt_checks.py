"""Every row of checks.csv on units, threads, strength, torque, friction, scatter and tools; its source is in the id."""

from __future__ import annotations

import re

import pytest

from tests.bolting import solve_strength, solve_tools, solve_torque, solve_vdi
from tests.bolting.joint_rows import Row, all_rows, name
from tests.bolting.solvers import SOLVERS, solver_of

PREFIXES = (
    *("UNIT", "ASM", "ASF", "AUC", "AUF", "A8U", "A8R", "SISO", "SSAE", "SAST", "SSS", "PRF", "UTL", "AISC", "EN1090"),
    *("KFAC", "TQ", "TQF", "IFI", "VDI", "STR", "FAA", "LUB", "SCAT", "CROW", "MULT", "TOOL"),
)
# Rows of these topics that no function of ours can compute, with the reason; a row that is computed may not stand here.
NOT_COMPUTED: dict[str, str] = {
    "TOOL-12": "a definition in words (range starts at the lowest marked value); Wrench.lowest is that value",
    "TQ-20": "mean of ten test bolts whose size the row does not state: an observation, no formula gives it",
    "TQ-21": "standard deviation over mean of the same ten test bolts: arithmetic on an observation",
}
FILLED_BY = (solve_strength, solve_torque, solve_vdi, solve_tools)  # importing them fills SOLVERS
WARM_STEEL = ("mean expansion from 70 degF",)  # the other CTE rows are about joints
MINE = [row for row in all_rows() if row.id.split("-")[0] in PREFIXES or row.topic in WARM_STEEL]
COMPUTED = [row for row in MINE if row.id not in NOT_COMPUTED]


def numbers(text: str) -> list[float]:
    """'0.18-0.27', '+/-4', '0.75 / 0.90', '14.7/39.1/46.2' -> numbers."""
    return [float(part) for part in re.findall(r"\d+(?:\.\d+)?", text)]


@pytest.mark.parametrize("row", COMPUTED, ids=name)
def test_our_figure_agrees_with_the_published_one(row: Row) -> None:
    solver = solver_of(row)
    assert solver is not None, f"{row.id}: no function of ours, and no reason in NOT_COMPUTED"
    got = solver(row)
    if isinstance(got, str):
        assert got == row.expected
        return
    found = got if isinstance(got, tuple) else (got,)
    expected = numbers(row.expected)
    assert len(found) == len(expected)
    for value, wanted in zip(found, expected, strict=True):
        assert value == pytest.approx(wanted, abs=allowed(row, wanted), rel=0)


def allowed(row: Row, wanted: float) -> float:
    """The row's tolerance in its unit; rows without a figure (exact, range, typical, approx) must be met exactly."""
    kind, _, size = row.tolerance.partition(" ")
    if kind == "abs":
        return float(size) * (1 + 1e-9)
    if kind == "rel":
        return (1 + 1e-9) * abs(wanted) * (float(size[:-1]) / 100 if size.endswith("%") else float(size))
    assert kind in ("exact", "range", "typical", "approx"), row.tolerance
    return 1e-9 * max(1.0, abs(wanted))


def test_a_row_is_left_out_only_if_it_has_no_solver() -> None:
    for row_id, reason in NOT_COMPUTED.items():
        row = next(row for row in MINE if row.id == row_id)
        assert reason
        assert row_id not in SOLVERS
        assert row.source


def test_more_than_four_hundred_rows_are_checked_here() -> None:
    assert len(COMPUTED) > 400
