"""Rows of checks.csv for the joint, pattern and temperature tests, each read with its source."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path


@dataclass(frozen=True)
class Row:
    id: str
    topic: str
    given: dict[str, str]
    expected: str
    unit: str
    tolerance: str
    source: str
    how: str
    note: str

    def number(self, name: str) -> float:
        return float(self.given[name])

    def allowed(self) -> float:
        """The row's tolerance as a size in the unit of the row."""
        kind, _, size = self.tolerance.partition(" ")
        if kind == "exact":
            return 1e-9 * max(1.0, abs(float(self.expected)))
        if kind == "abs":
            return float(size)
        assert kind == "rel", self.tolerance
        share = float(size[:-1]) / 100 if size.endswith("%") else float(size)
        return share * abs(float(self.expected))


USED: set[str] = set()
"""Ids of the rows that some test has asked for by id; filled when the test modules are imported."""


@cache
def all_rows() -> tuple[Row, ...]:
    with Path(__file__).with_name("checks.csv").open(newline="", encoding="utf-8") as lines:
        return tuple(
            Row(
                id=line["id"],
                topic=line["topic"],
                given=dict(part.split("=", 1) for part in line["inputs"].split(";") if "=" in part),
                expected=line["expected"],
                unit=line["unit"],
                tolerance=line["tolerance"],
                source=line["source"],
                how=line["how"],
                note=line["note"],
            )
            for line in csv.DictReader(lines)
        )


def rows(*ids: str) -> tuple[Row, ...]:
    """Rows whose id is listed, or begins with a listed prefix such as 'SEQ'; with a span 'SEQ-14..29'."""
    found = []
    for wanted in ids:
        prefix, _, span = wanted.partition("-")
        low, _, high = span.partition("..")
        for row in all_rows():
            kind, _, number = row.id.partition("-")
            if kind == prefix and (not span or int(low) <= int(number) <= int(high or low)):
                found.append(row)
    assert found, ids
    USED.update(row.id for row in found)
    return tuple(found)


def name(row: Row) -> str:
    return f"{row.id} [{row.source}; {row.how}]"
