"""Registry of solvers: how a row of checks.csv is computed with our functions, in the unit of the row."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of
from tests.bolting.joint_rows import Row

Answer = float | str | tuple[float, ...]
Solver = Callable[[Row], Answer]
SOLVERS: dict[str, Solver] = {}


def solves(*ids: str) -> Callable[[Solver], Solver]:
    def keep(solver: Solver) -> Solver:
        for one in ids:
            assert one not in SOLVERS, one
            SOLVERS[one] = solver
        return solver

    return keep


def solver_of(row: Row) -> Solver | None:
    """By id, by prefix and topic ('STR: preload as share of proof'), or by prefix."""
    prefix = row.id.split("-")[0]
    topic = row.topic.split(",")[0].strip()
    return next((SOLVERS[key] for key in (row.id, f"{prefix}: {topic}", prefix) if key in SOLVERS), None)


def symbol(unit: str) -> str:
    """Our unit symbol for the way the catalogue writes it: N.m -> N*m."""
    return unit.replace(".", "*")


def said(row: Row, name: str, unit: str) -> Quantity:
    return of(row.number(name), unit)


def in_unit(value: Quantity, row: Row) -> float:
    return magnitude(value, symbol(row.unit), name=row.id)


def table_area(one: Thread, row: Row, field: str, unit: str) -> Quantity:
    """The area that the row's table rounded, after making sure that ours rounds to it."""
    digits = Decimal(row.given[field])
    ours = Decimal(repr(magnitude(one.stress_area, unit, name="As")))
    assert abs(ours - digits) <= Decimal(1).scaleb(int(digits.as_tuple().exponent)) * Decimal("0.51"), (row, ours)
    return said(row, field, unit)
