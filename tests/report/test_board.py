"""The glance board: what is due can be read from the wrench, in every state of a session."""

from __future__ import annotations

from decimal import Decimal
from io import StringIO

import pytest
from rich.console import Console

from assistant.report.board import FIGURES, ROWS, STANDING, board, large
from tests.procedure.talk import Talk, command, value


def shown(talk: Talk, width: int = 80) -> str:
    console = Console(file=StringIO(), width=width, color_system=None)
    console.print(board(talk.state, "12:00 heard one eighty"))
    return console.file.getvalue()  # type: ignore[attr-defined]


def test_bolt_and_setting_are_shown_in_large_figures():
    talk = Talk.at_pass(2)
    text = shown(talk)
    assert talk.state.bolt == 1 and "BOLT" in text and "SET TO, N·m" in text and "0 of 4 done" in text
    for row in large("180").plain.split("\n"):
        assert row.rstrip() in text


def test_a_question_is_shown_with_its_phrase():
    assert "Is the line locked out?" in shown(Talk.begun()) and "Say: locked out and tried" in shown(Talk.begun())


@pytest.mark.parametrize(("words", "sign"), [("stop", "STOPPED"), ("pause", "PAUSED")])
def test_standing_still_is_shown(words, sign):
    talk = Talk.at_pass(1)
    talk.hear(command(words))
    assert sign in shown(talk)


def test_a_doubt_is_shown_beside_the_bolt():
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), decision="ask")
    assert STANDING["asking"] in shown(talk) and "BOLT" in shown(talk)


def test_every_line_fits_a_narrow_terminal():
    assert max(map(len, shown(Talk.at_pass(2), width=40).split("\n"))) <= 40


def test_all_figures_are_five_rows_of_one_width_and_differ():
    assert len(set(FIGURES.values())) == len(FIGURES) >= 12
    for rows in FIGURES.values():
        assert len(rows) == ROWS and len(set(map(len, rows))) == 1
    assert large(str(Decimal("57.5"))).plain.count("\n") == ROWS - 1
