"""Bolting lists: what is read of a table, and that nothing unclear is taken. Invented figures throughout."""

from __future__ import annotations

import builtins
from datetime import date

import openpyxl
import pytest

from assistant.config.bolting_list import lacking, read_list
from assistant.errors import BadSettings, PackageMissing

HEAD = "Joint,Kind,Bolts,Thread,Grade,Length (mm),Condition,Torque (N*m),Published for"
ROW = "Feed pump,plain pattern,8,M16,8.8,70,oiled,150,oiled"


def listed(tmp_path, *lines, **options):
    path = tmp_path / "list.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return read_list(path, **options)


def troubles(tmp_path, heading, value, **options):
    (row,) = listed(tmp_path, f"Name;{heading}", f'A;"{value}"', **options).rows
    return row.facts, " ".join(row.troubles)


def test_a_row_gives_facts_with_the_heading_s_unit(tmp_path):
    (row,) = listed(tmp_path, HEAD, ROW, ",,,,,,,,").rows
    assert row.number == 2 and row.troubles == () and lacking(row.facts) == ()
    assert (row.facts["name"], row.facts["torque"], row.facts["length"]) == ("Feed pump", "150 N*m", "70 mm")


@pytest.mark.parametrize("delimiter", [";", "\t", ","])
def test_the_delimiter_is_the_one_the_headings_are_parted_by(tmp_path, delimiter):
    (row,) = listed(tmp_path, HEAD.replace(",", delimiter), ROW.replace(",", delimiter)).rows
    assert row.facts["torque"] == "150 N*m"


@pytest.mark.parametrize(
    ("heading", "value", "why"),
    [
        ("Torque", "95", "unit is missing"),
        ("Torque (N*m)", "95 lbf*ft", "heading says N*m"),
        ("Torque (N*m)", "95,5", "a point marks decimals"),
        ("Torque (N*m)", "about 95", "not a number"),
        ("Bolts", "8.5", "whole number"),
        ("Bolts", "8\nkind = 1", "whole number"),
        ("Calibrated until", "31.12.2027", "year-month-day"),
        ("Kind", "flange", "one of"),
        ("Elastomer", "perhaps", "true or false"),
    ],
)
def test_what_is_unclear_is_said_with_column_and_value_and_is_no_fact(tmp_path, heading, value, why):
    facts, told = troubles(tmp_path, heading, value)
    assert why in told and heading in told and list(facts) == ["name"]


@pytest.mark.parametrize(("value", "read"), [("95,5", "95.5 N*m"), ("1.200,5", None), ("1.200", "1.200 N*m")])
def test_a_decimal_comma_is_read_where_it_is_asked_for_and_never_a_thousands_mark(tmp_path, value, read):
    facts, told = troubles(tmp_path, "Torque (N*m)", value, decimal_comma=True)
    assert facts.get("torque") == read and bool(told) == (read is None)


def test_rows_of_one_name_are_not_taken(tmp_path):
    rows = listed(tmp_path, HEAD, ROW, ROW.replace("Feed pump", "feed PUMP"), ROW.replace("Feed", "Other")).rows
    assert ["one name" in " ".join(row.troubles) for row in rows] == [True, True, False]


def test_columns_that_say_nothing_are_told_and_one_can_be_named(tmp_path):
    found = listed(tmp_path, "Name,Md [N*m],Remarks", "A,95,x", named={"torque": "Md [N*m]"})
    assert found.passed_over == ("Remarks",) and found.rows[0].facts["torque"] == "95 N*m"


def test_what_a_row_lacks_is_named_and_a_standard_flange_needs_no_count(tmp_path):
    (row,) = listed(tmp_path, "Name,Standard,Size,Rating", "A,EN 1092-1,DN 80,PN 40").rows
    assert set(lacking(row.facts)) == {"kind", "grade", "length", "condition", "torque", "published_for"}


@pytest.mark.parametrize(
    ("text", "options", "why"),
    [
        ("", {}, "no table"),
        ("Nothing,Known\n1,2", {}, "none of its columns"),
        ("Torque (N*m),Target torque\n1,2", {}, "all say 'torque'"),
        ('Name,"Torque\n', {}, "no CSV"),
        ("Name\nA", {"named": {"torque": "Md"}}, "no column 'Md'"),
        ("Name\nA", {"named": {"weight": "Name"}}, "'weight'"),
    ],
)
def test_a_list_that_is_none_is_bad_input(tmp_path, text, options, why):
    with pytest.raises(BadSettings, match=why):
        listed(tmp_path, text, **options)
    with pytest.raises(BadSettings, match="cannot be read"):
        read_list(tmp_path / "nowhere.csv")
    (tmp_path / "old.csv").write_bytes("Name\nK\xfchler".encode("latin-1"))
    with pytest.raises(BadSettings, match="UTF-8"):
        read_list(tmp_path / "old.csv")


# ---------------------------------------------------------------------------------------------------------- workbooks
def workbook(tmp_path, *rows):
    book = openpyxl.Workbook()
    book.active.title = "Flanges"
    for row in rows:
        book.active.append(row)
    book.create_sheet("Old").append(["Name"])
    book.save(tmp_path / "list.xlsx")
    return tmp_path / "list.xlsx"


def test_a_workbook_reads_like_the_same_csv(tmp_path):
    row = ["Feed pump", "plain pattern", 8, "M16", 8.8, 70.0, "oiled", 150, "oiled"]
    found = read_list(workbook(tmp_path, HEAD.split(","), row))
    assert found.rows == listed(tmp_path, HEAD, ROW).rows and found.other_sheets == ("Old",)


def test_what_a_spreadsheet_made_of_a_cell_is_not_taken(tmp_path):
    path = workbook(tmp_path, ["Name", "Thread", "Torque (N*m)"], ["A", date(2026, 4, 3), "=10*15"])
    (row,) = read_list(path).rows
    assert row.facts == {"name": "A"}
    assert "made a date of it" in row.troubles[0] and "formula" in row.troubles[1]


def test_a_calibration_date_may_be_a_date(tmp_path):
    (row,) = read_list(workbook(tmp_path, ["Name", "Calibrated until"], ["A", date(2027, 4, 3)])).rows
    assert row.facts["calibrated_until"] == "2027-04-03"


def test_a_workbook_that_is_none_a_sheet_that_is_none_and_no_reader(tmp_path, monkeypatch):
    with pytest.raises(BadSettings, match="no sheet 'New'"):
        read_list(workbook(tmp_path, ["Name"]), sheet="New")
    (tmp_path / "no.xlsx").write_bytes(b"PK\x03\x04 no more")
    with pytest.raises(BadSettings, match="no workbook"):
        read_list(tmp_path / "no.xlsx")
    real = builtins.__import__

    def without(name, *rest):
        if name == "openpyxl":
            raise ImportError(name)
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(PackageMissing, match="openpyxl"):
        read_list(tmp_path / "list.xlsx")
