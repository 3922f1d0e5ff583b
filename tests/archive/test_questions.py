"""The ready questions on sessions whose answers are known."""

from __future__ import annotations

from datetime import datetime, timezone

import pytest

pytest.importorskip("duckdb", reason="DuckDB is not installed: pip install 'duckdb>=1.1'")

from assistant.archive.answer_html import answer_csv, answer_html, answer_text
from assistant.archive.questions import QUESTIONS, Answer
from assistant.archive.statistics import BASE
from assistant.archive.store import Archive
from tests.archive.simulated import session

NOW = datetime(2026, 12, 1, tzinfo=timezone.utc)
DRIFTING = "NS-TW-1"


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    """120 sessions with three wrenches; one reads ever higher from the 32nd of its sessions on."""
    made = Archive(tmp_path_factory.mktemp("archive") / "a")
    made.add([session(n, offset=max(0, n // 3 - 31) * 0.6 if n % 3 == 1 else 0.0) for n in range(120)])
    made.add([session(500, how="rehearsal", offset=40.0)])
    return made


def asked(archive: Archive, name: str) -> Answer:
    with archive.connection() as found:
        return QUESTIONS[name](found, NOW)


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_has_an_answer_in_every_form(archive, name):
    answer = asked(archive, name)
    assert all(len(row) == len(answer.heads) for row in answer.rows)
    assert answer.title in answer_text(answer) and answer.title in answer_html(answer)
    assert answer_csv(answer).count("\r\n") == len(answer.rows) + 1


@pytest.mark.parametrize("name", QUESTIONS)
def test_an_empty_archive_has_no_answer_and_no_fault(tmp_path, name):
    assert asked(Archive(tmp_path / "none"), name).rows == ()


def test_a_planted_drift_is_found_soon_and_clean_wrenches_are_not_accused(archive):
    answer = asked(archive, "drift")
    stands = {row[0]: row[5] for row in answer.rows}
    assert stands[DRIFTING].startswith("OUT") and answer.rows[0][0] == DRIFTING
    assert [stands[name] for name in ("NS-TW-0", "NS-TW-2")] == ["in control"] * 2
    _, _, drawn = answer.charts[DRIFTING]
    first = next(at for at in drawn.out if at >= BASE)
    assert 32 <= first <= 36, "found within four sessions of its beginning"
    assert answer_html(answer).count("<rect") > 2


def test_calibrations_that_ended_are_told_with_the_work_done_after(archive):
    rows = {row[1]: row for row in asked(archive, "calibration").rows}
    assert rows["NS-TW-0"][0] == "ended"
    # 120 sessions, seven hours apart from 5 January; each third is of this wrench; the second of March is 56 days on
    late = sum(1 for n in range(0, 120, 3) if n * 7 + 8 > 56 * 24)
    assert late == 0 or rows["NS-TW-0"][5] == late


def test_pace_is_told_by_kind(archive):
    assert {row[0]: (row[2], row[4]) for row in asked(archive, "pace").rows} == {
        "gasketed flange": (480, 20.0),
        "machine base": (480, 20.0),
    }


def test_formulas_from_a_name_stay_text_in_a_spreadsheet():
    answer = Answer(title="t", heads=("a",), rows=(("=1+1",), ("@x",), ("-2",), (-2,)))
    assert answer_csv(answer).split("\r\n")[1:5] == ["'=1+1", "'@x", "'-2", "-2"]


def test_markup_from_a_name_stays_text_on_the_page():
    page = answer_html(Answer(title="<b>", heads=("<i>",), rows=(("<script>",),), notes=("<u>",)))
    assert not any(tag in page for tag in ("<b>", "<i>", "<script>", "<u>"))
