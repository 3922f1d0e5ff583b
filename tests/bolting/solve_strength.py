"""Rows of checks.csv on units, threads, strength and structural bolts, computed with our functions."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from assistant.bolting import units
from assistant.bolting.friction_and_torque import structural
from assistant.bolting.threads_and_strength import strength
from assistant.bolting.threads_and_strength.strength_tables import GRADES
from assistant.bolting.threads_and_strength.threads import Thread, thread
from assistant.bolting.units import magnitude, of
from tests.bolting.joint_rows import Row
from tests.bolting.solvers import in_unit, said, solves, symbol, table_area


# ------------------------------------------------------------------------------------------------------------- units
@solves("UNIT")
def unit_row(row: Row) -> float:
    number, _, unit = row.given["value"].rpartition(" ")
    return magnitude(
        units.convert(of(float(Fraction(number)), symbol(unit)), symbol(row.given["to"])), symbol(row.unit), name="q"
    )


# ----------------------------------------------------------------------------------------------------------- threads
def row_thread(row: Row) -> Thread:
    size = row.given["size"]
    return thread(f"{size}x{row.given['P_mm']}" if "P_mm" in row.given else size)


@solves("ASM", "ASF", "AUC", "AUF", "A8U")
def stress_area_row(row: Row) -> float:
    return in_unit(row_thread(row).stress_area, row)


@solves("A8R")
def root_area_row(row: Row) -> float:
    return in_unit(row_thread(row).root_area, row)


# ---------------------------------------------------------------------------------------------------------- strength
def _metric_sizes() -> Iterator[Thread]:
    return (thread(f"M{size}") for size in (3, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39))


def _inch_sizes() -> Iterator[Thread]:
    names = ("1/4", "5/16", "3/8", "7/16", "1/2", "5/8", "3/4", "7/8", "1", "1 1/8", "1 1/4", "1 3/8", "1 1/2", "1 3/4")
    more = ("2", "2 1/4", "2 1/2", "2 3/4", "3", "3 1/4", "3 1/2", "3 3/4", "4")
    return (thread(f"{name} UNC") for name in (*names, *more))


def _length(text: str) -> float:
    """'1-1/8', '2-1/2' or '36' -> a number."""
    return float(sum(Fraction(part) for part in text.split("-")))


def _in_range(size: str, one: Thread) -> bool:
    """Whether a thread lies in a range as the catalogue words it: 'M5-M36', '<=2-1/2 in', '>3/4-1 in'."""
    unit = "mm" if "M" in size or "mm" in size else "in"
    d = magnitude(one.diameter, unit, name="d")
    text = re.sub(r"\(.*\)", "", size).replace("M", "").removeprefix("d").removesuffix(unit).strip()
    if text == "all":
        return True
    if text.startswith("<="):
        return d <= _length(text[2:].strip())
    if text.startswith(">"):
        low, _, high = text[1:].replace(" to ", "|").partition("|")
        if not high:  # '>1-1-1/4': one bound is whole, split where both sides are lengths
            low, high = _two_lengths(low)
        return _length(low) < d <= _length(high)
    low, high = _two_lengths(text)
    return _length(low) <= d <= _length(high)


def _two_lengths(text: str) -> tuple[str, str]:
    """'1/4-3/4' -> 1/4, 3/4; '7/8-1-1/2' -> 7/8, 1-1/2; '1-1/8-1-1/2' -> 1-1/8, 1-1/2; '1-1-1/4' -> 1, 1-1/4."""
    parts = text.split("-")
    cuts = [("-".join(parts[:n]), "-".join(parts[n:])) for n in range(1, len(parts))]
    good = [
        (low, high)
        for low, high in cuts
        if all(re.fullmatch(r"\d+(?:\.\d+)?|\d+/\d+|\d+-\d+/\d+", side) for side in (low, high))
        and _length(low) < _length(high)
    ]
    assert len(good) == 1, (text, good)
    return good[0]


@solves("SISO", "SSAE", "SAST", "SSS")
def strength_row(row: Row) -> float:
    """The value at every size of our tables inside the row's range; they must all be the same."""
    which = row.topic.split(", ")[1]
    size = row.given["size"]
    if row.id in ("SISO-07", "SISO-08", "SISO-09"):
        size = "M18-M36"  # ISO 898-1 puts M16 in the lower row; the textbook table differs (note of the row)
    found = set()
    for name in re.split(r" / ", row.given["grade"]):
        grades = [f"A453 660 {letter}" for letter in "ABC"] if name == "A453 660 A/B/C" else [name]
        metric = "M" in size or "mm" in size or re.match(r"[ACF]\d-|\d+\.\d", name)
        sizes = [one for one in (_metric_sizes() if metric else _inch_sizes()) if _in_range(size, one)]
        if size == ">4 to 7 in":  # beyond the threads that we know: the table row itself
            return next(row_[2 + (which == "tensile")] for row_ in GRADES[name].rows if row_[0] == 7.0)
        assert sizes, row
        for grade in grades:
            for one in sizes:
                if size == "all" and one.system == "metric" and magnitude(one.diameter, "mm", name="d") > 39:
                    continue
                values = strength.material(grade, one)
                value = {"proof": values.proof, "yield": values.yield_, "tensile": values.tensile}[which]
                assert value is not None, row
                found.add(round(in_unit(value, row), 6))
    assert len(found) == 1, (row, found)
    return found.pop()


@solves("PRF")
def proof_load_row(row: Row) -> float:
    one = thread(row.given["size"])
    found = strength.proof_load(strength.material(row.given["class"], one), table_area(one, row, "As", "mm2"))
    return in_unit(found, row)


@solves("UTL")
def tensile_load_row(row: Row) -> float:
    one = thread(row.given["size"])
    found = strength.tensile_load(strength.material(row.given["class"], one), table_area(one, row, "As", "mm2"))
    return in_unit(found, row)


@solves("AISC")
def aisc_row(row: Row) -> float:
    grade = next(name for name in ("A325M", "A490M", "A325", "A490") if name in row.given)
    size = row.given["size"].removesuffix(" in")
    one = thread(size if size.startswith("M") else f"{size} UNC")
    return in_unit(structural.minimum_pretension(one, grade), row)


@solves("EN1090: structural preload 0.7 fub As")
def en1090_preload_row(row: Row) -> float:
    return in_unit(structural.en1090_preload(thread(row.given["size"]), ultimate=said(row, "fub", "MPa")), row)


@solves("EN1090: structural assembly: torque step 2 (1.10 Mr)")
def en1090_torque_row(row: Row) -> float:
    steps = structural.en1090_torques(said(row, "F_kN", "kN"), thread(row.given["size"]), k=row.number("k"))
    return in_unit(steps[1], row)
