"""The plan as people read it in a terminal or a file."""

import io

import pytest
from rich.console import Console

from assistant.bolting.planning.plan import plan
from assistant.bolting.remark import Remark
from assistant.config.joint_file import read_joint
from assistant.report.plan_content import plan_content
from assistant.report.plan_text import WIDTH, plan_text, print_plan
from tests.bolting.joint_samples import DEMOS, FLANGE, TODAY, joint

ALL_DEMOS = sorted(DEMOS.glob("*.toml"))


def made(path=FLANGE):
    return plan(read_joint(path, today=TODAY), today=TODAY)


@pytest.mark.parametrize("path", ALL_DEMOS, ids=lambda path: path.stem)
def test_it_is_plain_text_that_fits(path):
    text = plan_text(made(path))
    assert "\x1b" not in text and text.isascii()
    assert max(map(len, text.splitlines())) <= WIDTH
    assert all(line == line.rstrip() for line in text.splitlines())


def test_the_table_carries_target_setting_and_window_of_every_pass():
    rows = [line.split() for line in plan_text(made()).splitlines() if line.strip()[:1] in "1234" and " % " in line]
    assert [row[:2] for row in rows[:4]] == [["1", "pattern"], ["2", "pattern"], ["3", "pattern"], ["4", "circular"]]
    assert " ".join(rows[0][4:]) == "51.15 N*m 48.59 to 53.71 N*m 52 N*m 48.59 to 53.71 N*m"
    assert " ".join(rows[3][4:]) == "170.5 N*m 162 to 179 N*m 170 N*m 162 to 179 N*m"


def test_orders_are_told_once_for_the_passes_that_share_them():
    text = plan_text(made())
    assert "Passes 1 to 3  1-5-3-7-2-6-4-8" in text
    assert "Pass 4         1-2-3-4-5-6-7-8, until no nut moves, 5 rounds at most" in text


@pytest.mark.parametrize("path", ALL_DEMOS, ids=lambda path: path.stem)
def test_safety_lines_questions_reasons_and_remarks_are_all_there(path):
    """Whatever the sheet holds is printed: compared without line breaks and column gaps."""
    whole = made(path)
    text = "".join(plan_text(whole, width=400).split())
    content = plan_content(whole)
    wanted = [*content.safety, *(text for _, text in content.questions), *(each.text for each in content.remarks)]
    for group in content.groups:
        wanted += [each.result for each in group.reasons] + [each.source for each in group.reasons]
        wanted += [cell for row in group.rows for cell in row] + [each.text for each in group.remarks]
    for words in wanted:
        assert "".join(words.split()) in text, words


def test_a_click_wrench_has_no_reading_window():
    (group,) = plan_content(plan(joint(wrenches__0__kind="click"), today=TODAY)).groups
    assert {row[-1] for row in group.rows} == {"clicks, no reading"}


def test_colours_only_where_the_console_has_them():
    whole = plan(joint(groups__0__condition="unknown"), today=TODAY)
    out = io.StringIO()
    print_plan(whole, Console(file=out, force_terminal=True, color_system="standard", width=WIDTH))
    assert "\x1b[1;31mstop" in out.getvalue() or "\x1b[1;31m  stop" in out.getvalue()
    assert "\x1b" not in plan_text(whole)


def test_square_brackets_are_text_and_no_markup():
    whole = plan(joint(name="Joint [bold]seven[/bold]"), today=TODAY)
    assert "Joint [bold]seven[/bold]" in plan_text(whole)


def test_the_gravest_remark_comes_first():
    whole = plan(joint(groups__0__condition="unknown", tightening__dwell="4 h"), today=TODAY)
    grades = [remark.grade for remark in whole.groups[0].remarks]
    assert grades == sorted(grades, key=["stop", "caution", "note"].index) and len(set(grades)) > 1
    assert isinstance(whole.groups[0].remarks[0], Remark)


@pytest.mark.parametrize("bolts", [36, 40, 96])
def test_every_bolt_of_a_large_joint_stands_in_its_order(bolts):
    whole = plan(joint(groups__0__count=bolts), today=TODAY)
    text = plan_text(whole)
    order = text.split("Passes 1 to 3")[1].split("Pass 4")[0]
    assert "…" not in text
    assert tuple(int(bolt) for bolt in "".join(order.split()).split("-")) == whole.groups[0].order


def test_a_stop_stands_on_the_sheet_with_its_name_and_what_became_of_it():
    text = plan_text(plan(joint(groups__0__nut="5"), today=TODAY))
    assert "STOPS BEFORE THE FIRST BOLT" in text and "Stop: nut too weak" in text and "Not released" in text
    released = {"stop": "nut too weak", "by": "lead", "reason": "nuts of class 8 marked wrongly on the list"}
    text = " ".join(plan_text(plan(joint(groups__0__nut="5", releases=[released]), today=TODAY)).split())
    assert "Released by lead: nuts of class 8 marked wrongly on the list" in text and "Not released" not in text
