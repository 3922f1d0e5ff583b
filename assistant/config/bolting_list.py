"""Bolting lists: a CSV or XLSX table with a joint in each row, read as the facts that make a joint file.

Nothing is guessed. A figure without a unit, a decimal comma, a date that a spreadsheet program made of a thread, a
formula without a stored value, two rows of one name: each is reported with row and column, and the row is not taken.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from assistant.config.joint_template import FACTS, FLANGE_FACTS, KINDS, QUANTITIES
from assistant.errors import BadSettings, PackageMissing

MOST_BYTES = 20_000_000
MOST_ROWS = 5_000
COLUMNS = {"kind": f"kind of joint: {', '.join(KINDS)}"} | FACTS
"""What a column may say."""
NEEDED = ("name", "kind", "bolts", "thread", "grade", "length", "condition", "torque", "published_for")
"""What a row must say: an example in place of one of these would be a figure for the wrong joint."""
OF_EACH_ROW = ("name", "bolts", "thread", "length", "torque", "published_for")
"""What no option may say for all rows at once."""
OTHER_HEADINGS = {
    "joint": "name",
    "joint name": "name",
    "location": "place",
    "number of bolts": "bolts",
    "bolt count": "bolts",
    "bolt size": "thread",
    "bolt grade": "grade",
    "bolt length": "length",
    "thread condition": "condition",
    "target torque": "torque",
    "design pressure": "pressure",
}
_HEADING = re.compile(r"(?P<name>.*?)\s*(?:[(\[](?P<unit>[^()\[\]]*)[)\]])?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of a list.

    Args:
        number: as the spreadsheet counts, the heading is row 1.
        facts: by the keys of COLUMNS, without those that the row leaves empty.
        troubles: why it cannot be taken; each names the column and the value.
    """

    number: int
    facts: Mapping[str, str]
    troubles: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltingList:
    """What was read.

    Args:
        rows: those that are not empty.
        passed_over: headings of columns that a joint file has no use for.
        other_sheets: of the workbook, that were not read.
    """

    rows: tuple[Row, ...]
    passed_over: tuple[str, ...]
    other_sheets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Cell:
    text: str
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class _Column:
    at: int
    fact: str
    heading: str
    unit: str


def read_list(
    path: Path, *, sheet: str | None = None, named: Mapping[str, str] | None = None, decimal_comma: bool = False
) -> BoltingList:
    """Read a list.

    Args:
        path: a file that ends in .csv or .xlsx.
        sheet: of the workbook; None for its first.
        named: fact -> heading, for headings that are none of ours.
        decimal_comma: "95,5" is ninety-five and a half.

    Raises:
        BadSettings: no such file, no table, a heading twice, or no known column.
        PackageMissing: a workbook, and the library that reads it is not installed.
    """
    cells, other_sheets = _workbook(path, sheet) if path.suffix.lower() == ".xlsx" else (_comma_separated(path), ())
    if not cells:
        raise BadSettings(f"{path} holds no table", remedy="its first row names the columns, then one joint a row")
    columns, passed_over = _columns([cell.text for cell in cells[0]], named or {}, path)
    rows = [_row(number, row, columns, decimal_comma) for number, row in enumerate(cells[1:], start=2) if _full(row)]
    if len(rows) > MOST_ROWS:
        raise BadSettings(f"{path} has {len(rows)} rows", remedy=f"{MOST_ROWS} at most; split it")
    return BoltingList(rows=_alone(rows), passed_over=passed_over, other_sheets=other_sheets)


def lacking(facts: Mapping[str, str]) -> tuple[str, ...]:
    """Facts of `NEEDED` that are missing. Bolts and thread may be left to the flange standard."""
    drilled = all(facts.get(fact) for fact in FLANGE_FACTS)
    return tuple(f for f in NEEDED if not facts.get(f) and not (drilled and f in ("bolts", "thread")))


# ----------------------------------------------------------------------------------------------------------- reading
def _comma_separated(path: Path) -> list[list[_Cell]]:
    try:
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
        if len(raw) > MOST_BYTES:
            raise BadSettings(f"{path} is larger than {MOST_BYTES} bytes", remedy="a bolting list is a table of text")
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadSettings(
            f"{path}: byte {error.start + 1} is not UTF-8 text", remedy="save it as CSV in UTF-8, or as XLSX"
        ) from None
    except OSError as error:
        raise BadSettings(f"{path} cannot be read: {error.strerror}", remedy="name a .csv or .xlsx file") from None
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise BadSettings(f"{path} is no CSV: {error}", remedy="quotes must be closed; or save it as XLSX") from None
    return [[_Cell(value.strip()) for value in row] for row in rows]


def _workbook(path: Path, sheet: str | None) -> tuple[list[list[_Cell]], tuple[str, ...]]:
    try:
        import openpyxl
    except ImportError:
        raise PackageMissing(
            f"{path} is a workbook, and openpyxl, which reads it, is not installed",
            remedy='pip install "bolting-assistant[lists]"; or save the list as CSV',
        ) from None
    if not path.is_file():
        raise BadSettings(f"{path} is not there", remedy="name a .csv or .xlsx file")
    if path.stat().st_size > MOST_BYTES:
        raise BadSettings(f"{path} is larger than {MOST_BYTES} bytes", remedy="a bolting list is a table of text")
    try:
        shown, typed = (openpyxl.load_workbook(path, data_only=values) for values in (True, False))
    except Exception as error:  # readers of damaged archives and XML raise errors of many kinds
        raise BadSettings(f"{path} is no workbook: {error}", remedy="save it anew as XLSX, or as CSV") from None
    names = [each.title for each in shown.worksheets]
    name = sheet or names[0]
    if name not in names:
        raise BadSettings(f"{path} has no sheet {name!r}", remedy=f"one of {', '.join(names)}")
    values = shown[name].iter_rows(values_only=True, max_row=MOST_ROWS + 2)
    formulas = typed[name].iter_rows(values_only=True, max_row=MOST_ROWS + 2)
    cells = [
        [_cell(v, f) for v, f in zip(row, other, strict=True)] for row, other in zip(values, formulas, strict=True)
    ]
    return cells, tuple(each for each in names if each != name)


def _cell(value: object, formula: object) -> _Cell:
    if value is None:
        lost = isinstance(formula, str) and formula.startswith("=")
        return (
            _Cell(str(formula), "a formula without a stored value; open and save it, or write the value")
            if lost
            else _Cell("")
        )
    if isinstance(value, bool):
        return _Cell("true" if value else "false")
    if isinstance(value, int | float):
        return _Cell(f"{value:.10g}")
    if isinstance(value, datetime.datetime | datetime.date):
        day = value.date() if isinstance(value, datetime.datetime) else value
        return _Cell(day.isoformat(), "a date")
    text = str(value).strip()
    return _Cell(text, "an error of the spreadsheet" if text.startswith("#") else "")


def _full(row: Sequence[_Cell]) -> bool:
    return any(cell.text for cell in row)


# ---------------------------------------------------------------------------------------------------------- headings
def _columns(headings: Sequence[str], named: Mapping[str, str], path: Path) -> tuple[list[_Column], tuple[str, ...]]:
    given = {heading.strip().lower(): fact for fact, heading in named.items()}
    for fact, heading in named.items():
        if fact not in COLUMNS:
            raise BadSettings(f"--column names {fact!r}", remedy=f"one of {', '.join(COLUMNS)}")
        if heading.strip().lower() not in [each.strip().lower() for each in headings]:
            raise BadSettings(f"{path} has no column {heading!r}", remedy=f"its columns: {', '.join(headings)}")
    found, passed_over = [], []
    for at, heading in enumerate(headings):
        match = _HEADING.fullmatch(heading.strip())
        assert match is not None  # the pattern fits any one line, and headings are stripped of their ends
        plain = " ".join(match["name"].replace("_", " ").lower().split())
        fact = given.get(heading.strip().lower()) or OTHER_HEADINGS.get(plain, plain.replace(" ", "_"))
        if fact in COLUMNS and not (fact in named and heading.strip().lower() not in given):
            found.append(_Column(at, fact, heading, (match["unit"] or "").strip()))
        elif heading.strip():
            passed_over.append(heading)
    twice = [fact for fact, count in Counter(column.fact for column in found).items() if count > 1]
    if twice:
        both = ", ".join(column.heading for column in found if column.fact == twice[0])
        raise BadSettings(
            f"{path}: these columns all say {twice[0]!r}: {both}", remedy="say which: --column FACT=HEADING"
        )
    if not found:
        raise BadSettings(
            f"{path}: none of its columns is known: {', '.join(headings)}",
            remedy=f"columns: {', '.join(COLUMNS)}; or --column FACT=HEADING",
        )
    return found, tuple(passed_over)


# -------------------------------------------------------------------------------------------------------------- rows
def _row(number: int, cells: Sequence[_Cell], columns: Iterable[_Column], decimal_comma: bool) -> Row:
    facts: dict[str, str] = {}
    troubles: list[str] = []
    for column in columns:
        cell = cells[column.at] if column.at < len(cells) else _Cell("")
        if not cell.text:
            continue
        text, trouble = _read(cell, column, decimal_comma)
        if trouble:
            troubles.append(f"{column.heading} is {cell.text!r}: {trouble}")
        else:
            facts[column.fact] = text
    return Row(number=number, facts=facts, troubles=tuple(troubles))


def _read(cell: _Cell, column: _Column, decimal_comma: bool) -> tuple[str, str]:
    """The value as a joint file has it, and what is wrong with it."""
    fact, text = column.fact, " ".join(cell.text.split())
    if cell.trouble and not (cell.trouble == "a date" and fact == "calibrated_until"):
        made = "the spreadsheet program made a date of it; format the column as text and type it anew"
        return text, made if cell.trouble == "a date" else cell.trouble
    if fact in QUANTITIES:
        return _quantity(text, column, decimal_comma)
    if fact == "bolts" and not re.fullmatch(r"[1-9][0-9]{0,2}", text):
        return text, "not a whole number of bolts"
    if fact == "calibrated_until" and not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return text, "not a date as year-month-day"
    if fact == "elastomer":
        text = {"yes": "true", "no": "false"}.get(text.lower(), text.lower())
        return text, "" if text in ("true", "false") else "true or false"
    if fact == "kind":
        text = text.lower()
        return text, "" if text in KINDS else f"one of {', '.join(KINDS)}"
    return text, ""


def _quantity(text: str, column: _Column, decimal_comma: bool) -> tuple[str, str]:
    match = re.fullmatch(r"([+-]?[0-9][0-9.,]*)\s*(.*)", text)
    if match is None:
        return text, "not a number with a unit"
    number, unit = match[1], match[2]
    if "," in number:
        if not decimal_comma:
            return text, "a point marks decimals; --decimal-comma reads a comma as one"
        if not re.fullmatch(r"[+-]?[0-9]+,[0-9]+", number):
            return text, "not a plain number: no thousands mark"
        number = number.replace(",", ".")
    if unit and column.unit and unit != column.unit:
        return text, f"the heading says {column.unit}; one unit, in the cell or in the heading"
    if not (unit or column.unit):
        return text, f"the unit is missing; write it in the cell, or in the heading: {column.heading} (UNIT)"
    return f"{number} {unit or column.unit}", ""


def _alone(rows: Sequence[Row]) -> tuple[Row, ...]:
    """The rows. Those that share a name are not taken: each holds at best a part of that joint."""
    by_name: dict[str, list[int]] = {}
    for row in rows:
        by_name.setdefault(row.facts.get("name", "").lower(), []).append(row.number)
    shared = {name: numbers for name, numbers in by_name.items() if name and len(numbers) > 1}
    found = []
    for row in rows:
        numbers = shared.get(row.facts.get("name", "").lower())
        if numbers:
            said = (
                f"rows {', '.join(map(str, numbers))} have one name; a joint of several bolt groups is written by hand"
            )
            row = replace(row, troubles=(*row.troubles, said))
        found.append(row)
    return tuple(found)
