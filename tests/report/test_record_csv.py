"""The record as a table: rectangular, units in the headings, nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from datetime import datetime, timezone

import pytest

from assistant.replay.record_work import Happening
from assistant.report.record_csv import FORMULA_STARTS, record_csv
from tests.replay.telling import record_of

NOW = datetime(2026, 11, 25, 12, tzinfo=timezone.utc)


def table(record) -> list[dict[str, str]]:
    text = record_csv(record)
    assert text.count("\r\n") >= 2 and "\n" not in text.replace("\r\n", "")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert all(None not in row and None not in row.values() for row in rows)  # rectangular
    return rows


def test_every_bolt_of_every_pass_has_its_row_with_figures_under_their_unit(done_session):
    record = record_of(done_session)
    rows = [row for row in table(record) if row["Row"] == "bolt"]
    assert len(rows) == sum(len(p.bolts) for p in record.passes) == 80
    five = next(row for row in rows if row["Pass"] == "3" and row["Bolt"] == "5")
    assert (five["Setting (N·m)"], five["Target (N·m)"]) == ("170", "170.5")
    assert float(five["Low (N·m)"]) <= float(five["Achieved on scale (N·m)"]) <= float(five["High (N·m)"])
    assert five["Inside window"] == "yes" and five["How"] == "reading spoken" and five["Status"] == "done"
    assert datetime.strptime(five["Time (UTC)"], "%Y-%m-%d %H:%M:%S")
    assert {row["Session"] for row in rows} == {done_session.name} and {row["Tag"] for row in rows} == {"NS-P2-F03"}


def test_two_units_have_two_columns_and_never_one(demo_sessions, repairs_session):
    rows = table(record_of(demo_sessions["north-sluice-conveying-pipe-coupling"]))
    assert "Setting (lbf·ft)" in rows[0] and "Setting (N·m)" not in rows[0]
    five = next(
        row
        for row in table(record_of(repairs_session))
        if row["Row"] == "bolt" and row["Pass"] == "1" and row["Bolt"] == "5"
    )
    assert five["Achieved as said"] == "38 lbf*ft" and five["Achieved on scale (N·m)"] == "51.52"


def test_a_click_has_no_achieved_figure(demo_sessions):
    rows = table(record_of(demo_sessions["north-sluice-conveying-pipe-coupling"]))
    clicked = [row for row in rows if row["How"] == "clicked at setting"]
    assert clicked and all(row["Achieved on scale (lbf·ft)"] == row["Inside window"] == "" for row in clicked)


def test_deviations_corrections_notes_breaks_and_open_points_have_rows(repairs_session):
    kinds = {row["Row"] for row in table(record_of(repairs_session))}
    assert kinds == {
        *("hold point", "check", "bolt", "deviation", "correction", "note", "break", "open"),
        *("wait", "measurement", "name", "caution", "to be decided"),
    }


def test_waits_measurements_names_and_an_apprentices_questions_have_rows(apprentice_folder):
    rows = table(record_of(apprentice_folder))
    by_kind = {kind: [row for row in rows if row["Row"] == kind] for kind in {row["Row"] for row in rows}}
    assert by_kind.keys() > {"wait", "measurement", "name", "re-check", "done over", "asked back", "supervisor"}
    figure = by_kind["measurement"][-1]
    assert figure["Achieved as said"] == "120 degF" and "at most 350 deg F" in figure["Text"]
    cut = next(row for row in by_kind["wait"] if row["Status"] == "cut short")
    assert "planned 86400 s" in cut["Text"] and cut["Reason"] == "only a trial"
    assert {row["Text"] for row in by_kind["name"]} >= {"Hold point: lock-out: Robin Marsh"}
    assert [row["Bolt"] for row in by_kind["done over"]] == ["1", ""]
    assert [row["Status"] for row in by_kind["asked back"]].count("wrong") == 2


@pytest.mark.parametrize(
    "text",
    [f"{start}cmd|' /C calc'!A0" for start in FORMULA_STARTS] + ["  =1+1", "\u00a0=1", "=1\r\n=2", '"=1"', "\u200b=1"],
)
def test_text_that_a_spreadsheet_would_run_is_disarmed(repairs_session, text):
    record = record_of(repairs_session)
    note = Happening(line=1, utc=NOW, kind="note", text=text, reason=text)
    joint = record.joint.model_copy(update={"name": text})
    rows = table(record.model_copy(update={"notes": (note,), "joint": joint}))
    for row in rows:
        for column, value in row.items():
            bare = value.lstrip(" \u00a0")
            assert not bare.startswith(("=", "+", "-", "@", "|", "%", "\uff1d", "\uff0b", "\uff0d", "\uff20")), (
                column,
                value,
            )
            assert "\n" not in value and "\r" not in value and "\t" not in value
    assert any(row["Row"] == "note" for row in rows)
