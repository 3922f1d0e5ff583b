"""The ready questions on sessions whose answers are known."""

from __future__ import annotations

from datetime import date, datetime, timezone
from xml.etree import ElementTree

import pytest

pytest.importorskip("duckdb", reason="DuckDB is not installed: pip install 'duckdb>=1.1'")

from assistant.archive.answer_pages import answer_csv, answer_html, answer_svg, answer_text
from assistant.archive.postgres import Database
from assistant.archive.questions import QUESTIONS, Answer, _marks
from assistant.archive.statistics import BASE
from assistant.archive.store import Archive
from assistant.archive.tables import Gathered
from tests.archive.simulated import session

NOW = datetime(2026, 12, 1, tzinfo=timezone.utc)
DRIFTING = "NS-TW-1"


def drifting(number: int) -> Gathered:
    return session(number, offset=max(0, number // 3 - 31) * 0.6 if number % 3 == 1 else 0.0)


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    """120 sessions with three wrenches; one reads ever higher from the 32nd of its sessions on."""
    made = Archive(tmp_path_factory.mktemp("archive") / "a")
    made.add([drifting(n) for n in range(120)])
    made.add([session(500, how="rehearsal", offset=40.0)])
    return made


@pytest.fixture(scope="module")
def both(archive, server):
    """The same sessions in a folder and in a database."""
    database = Database(server.database())
    database.add([drifting(n) for n in range(120)])
    database.add([session(500, how="rehearsal", offset=40.0)])
    for each in (archive, database):
        heard = {"last": f"{drifting(6).content}-last", "models": "m", "line": 9, "probability_now": 0.99}
        told = {"recorded": "100", "now": "110", "sound_seconds": 1.0, "verdict": "another meaning", "grave": True}
        each.add_relistened([{"session": drifting(6).session, "utterance": "0004", **heard, **told}])
    return archive, database


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_folder_and_a_database_give_the_same_answer(both, name):
    one, two = (asked(each, name) for each in both)
    assert len(one.rows) == len(two.rows) > 0 and one.notes == two.notes
    for mine, theirs in zip(one.rows, two.rows, strict=True):
        assert [str(value) for value in mine] == [str(value) for value in theirs] or mine == pytest.approx(theirs)


def asked(archive: Archive, name: str) -> Answer:
    with archive.connection() as found:
        return QUESTIONS[name](found, NOW)


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_has_an_answer_in_every_form(archive, name):
    answer = asked(archive, name)
    assert all(len(row) == len(answer.heads) for row in answer.rows)
    assert answer.title in answer_text(answer) and answer.title in answer_html(answer)
    assert answer_csv(answer).count("\r\n") == len(answer.rows) + 1
    picture = ElementTree.fromstring(answer_svg(answer))
    assert picture.tag.endswith("svg") and answer.title in "".join(picture.itertext())


@pytest.mark.parametrize("name", QUESTIONS)
def test_an_empty_archive_has_no_answer_and_no_fault(tmp_path, name):
    assert asked(Archive(tmp_path / "none"), name).rows == ()


def test_a_planted_drift_is_found_soon_and_clean_wrenches_are_not_accused(archive):
    answer = asked(archive, "drift")
    stands = {row[0]: row[5] for row in answer.rows}
    assert stands[DRIFTING].startswith("OUT") and answer.rows[0][0] == DRIFTING
    assert [stands[name] for name in ("NS-TW-0", "NS-TW-2")] == ["in control"] * 2
    first = next(at for at in answer.charts[DRIFTING].chart.out if at >= BASE)
    assert 32 <= first <= 36, "found within four sessions of its beginning"
    assert answer_html(answer).count("<rect") > 2


def test_calibration_dates_stand_at_the_sessions_that_they_belong_to():
    days = [datetime(2026, 3, day) for day in range(1, 11)]
    points = [("w", day) for day in days]
    periods = [(date(2026, 3, 4), days[0]), (date(2027, 3, 4), days[7])]
    assert _marks(points, periods) == ((4, "calibration ended 2026-03-04"), (7, "calibrated until 2027-03-04"))
    assert _marks(points, []) == _marks(points, [(date(2030, 1, 1), days[0])]) == ()


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


def test_what_is_overdue_comes_first_and_rehearsals_never(archive):
    rows = asked(archive, "due").rows
    assert len(rows) == 20 and {row[0] for row in rows} == {"overdue"}
    assert [row[7] for row in rows] == sorted(row[7] for row in rows)


def test_joints_to_be_decided_are_told_with_what_for(archive):
    rows = asked(archive, "decisions").rows
    assert len(rows) == 20 and all(row[4] == 2 and "bolt 1 was kept" in row[6] for row in rows)


def test_shares_are_of_what_they_say(archive):
    skipped = {row[0]: row for row in asked(archive, "repeats").rows}
    assert skipped["gasketed flange"][2:5] == (20, 20, 720), "60 sessions of 8 bolts, 30 of them with a re-check"
    moved = {row[1]: row for row in asked(archive, "relaxation").rows}
    assert moved["all"][2:5] == (30, 30, 240) and moved["all"][5] == 12.5
    assert moved["bolts bolt 3, all joints"][3:6] == (30, 30, 100.0)
    asks = {row[0]: row for row in asked(archive, "questions").rows if row[0] in ("all", "noise", "microphone")}
    assert asks["all"][2:5] == (120, 600, 20.0) and asks["noise"][1] == "5 to 15 dB"
    assert asks["microphone"][1] == "not recorded"


def test_rounds_are_told_by_kind(archive):
    assert [tuple(row) for row in asked(archive, "rounds").rows] == [("machine base", 30, 2, 2, 2, 2)]


def test_figures_of_people_are_those_of_whoever_agreed(archive):
    assert [row[:4] for row in asked(archive, "people").rows] == [("Toni Vale", "technician", 20, 160)]


def test_formulas_from_a_name_stay_text_in_a_spreadsheet():
    answer = Answer(title="t", heads=("a",), rows=(("=1+1",), ("@x",), ("-2",), (-2,)))
    assert answer_csv(answer).split("\r\n")[1:5] == ["'=1+1", "'@x", "'-2", "-2"]


def test_markup_from_a_name_stays_text_on_the_page():
    page = answer_html(Answer(title="<b>", heads=("<i>",), rows=(("<script>",),), notes=("<u>",)))
    assert not any(tag in page for tag in ("<b>", "<i>", "<script>", "<u>"))


def test_a_column_of_figures_stands_at_its_right():
    page = answer_html(
        Answer(title="t", heads=("of", "moved", "date"), rows=(("bolt 3", 87, "1"), ("bolt 4", None, 2)))
    )
    assert page.count('class="figure"') == 3 and '<th scope="col" class="figure">moved</th>' in page
