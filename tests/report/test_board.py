"""The glance board: one state fills the screen, in every state of a session and on every size of terminal."""

from __future__ import annotations

import json
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.events import SpeechAdjusted
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.report.board import FONT, GERMAN, ROWS, board, draw, glance, large
from assistant.report.board_page import FILES, page_file, picture
from tests.procedure.demo_walks import COUPLING, FLANGE, begun, demo_work, right, step, walk_on
from tests.procedure.talk import Talk, command, value, work


def drawn(state: State, width: int = 80, height: int = 24, last: str = "12:00 heard one eighty") -> str:
    return "\n".join(draw(glance(state, last), width=width, height=height))


def blocks_of(figure: str, scale: int) -> list[str]:
    return [row.rstrip() for row in large(figure, scale)]


def holds_large(text: str, figure: str, scale: int) -> bool:
    """In blocks of this scale or larger."""
    lines = text.split("\n")
    tall = [blocks_of(figure, each) for each in range(scale, 9)]
    return any(
        all(row in lines[at + n] for n, row in enumerate(rows))
        for rows in tall
        for at in range(len(lines) - len(rows) + 1)
    )


def test_bolt_and_setting_stand_side_by_side_in_large_figures():
    seen = drawn(Talk.at_pass(2).state)
    assert "NEXT BOLT" in seen and "PULL TO, N·m" in seen and "0 of 4 done" in seen
    assert holds_large(seen, "180", 2)


def test_figures_grow_with_the_terminal():
    state = Talk.at_pass(2).state
    assert holds_large(drawn(state, 200, 60), "180", 5) and not holds_large(drawn(state, 80, 24), "180", 3)


def test_stopped_fills_the_screen_and_shows_no_bolt_to_pull():
    talk = Talk.at_pass(2)
    talk.hear(command("stop"))
    seen = drawn(talk.state, 120, 40)
    assert holds_large(seen, "STOPPED", 2) and "Say: resume" in seen and "NEXT BOLT" not in seen
    assert "bolt 1" in seen, "where it stands is told in small letters"


def test_outside_shows_the_figure_that_was_heard_and_what_to_pull_to():
    talk = Talk.at_pass(2)
    talk.hear(value("150"))
    seen = drawn(talk.state)
    assert "OUTSIDE" in seen and holds_large(seen, "150", 2) and "Pull again to 180" in seen
    talk = Talk.at_pass(2)
    talk.hear(value("200"))
    assert "Do not back off" in drawn(talk.state)


def test_a_circular_pass_and_a_recheck_show_their_torque_and_what_to_say():
    seen = drawn(Talk.at_pass(3).state)
    assert holds_large(seen, "180", 1) and "Say: it moved, or did not move" in seen
    work = demo_work(FLANGE)
    last = max(n for n, item in enumerate(work.items, start=1) if getattr(item, "kind", "") == "circular")
    _, state = walk_on(begun(work), lambda s: s.stage == last and s.dialogue == "guiding")
    seen = drawn(state)
    assert "RE-CHECK" in seen and "170" in glance(state).figures[1] and holds_large(seen, "170", 1)


def test_a_hold_point_shows_its_phrase_large_and_a_name_shows_no_phrase():
    work = demo_work(FLANGE)
    _, state = walk_on(begun(work), lambda s: getattr(s.item, "name", "") == "lock-out")
    assert glance(state).heading == "SAY" and holds_large(drawn(state, 160, 50), "LOCKED OUT", 2)
    _, state = walk_on(state, lambda s: s.dialogue == "naming")
    assert "NAME" in glance(state).heading and "locked" not in drawn(state)


def test_a_wait_shows_the_time_that_is_left_now():
    work = demo_work(FLANGE)
    _, state = walk_on(begun(work), lambda s: s.dialogue == "waiting")
    assert glance(state).figures == (("HOURS:MINUTES LEFT", "4:00"),)
    assert glance(state, left_s=3540).figures[0][1] == "0:59" and glance(state, left_s=1).figures[0][1] == "0:01"


def test_a_doubt_shows_the_figure_as_a_question():
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), decision="ask")
    assert glance(talk.state).figures == (("HEARD", "88?"),)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 90), st.integers(16, 220), st.integers(4, 70), st.sampled_from([FLANGE, COUPLING]), st.data())
def test_no_line_is_ever_cut_and_what_must_be_seen_is_there(steps, width, height, stem, data):
    state = begun(demo_work(stem))
    for _ in range(steps):
        if state.left or state.closed:
            break
        state = step(state, right(state))[1]
    if data.draw(st.booleans()) and not (state.left or state.closed):
        talk = Talk(state=state)
        talk.hear(command("stop"))
        state = talk.state
    seen = glance(state, "12:00 heard something long that has no room in a small window at all")
    lines = draw(seen, width=width, height=height)
    assert lines and len(lines) <= height and max(map(len, lines)) <= width
    words = " ".join(" ".join(lines).split())
    if width >= 30 and height >= 12:
        if seen.kind == "stopped":
            assert "resume" in words
        elif seen.kind not in ("say", "bolt"):
            assert all(part in words for part in seen.say.split())
    shown = board(seen, width=width, height=height).plain.split("\n")
    assert len(shown) == height and {len(line) for line in shown} == {width}, "from edge to edge"


def test_all_signs_are_five_rows_of_one_width_and_differ():
    assert len(set(FONT.values())) >= len(FONT) - 2  # 0 and O, 5 and S are the same sign
    for rows in FONT.values():
        assert len(rows) == ROWS and len(set(map(len, rows))) == 1
    assert set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.:? ") == set(FONT)


def test_the_board_speaks_german_and_keeps_what_must_be_said_english():
    work = demo_work(FLANGE)
    talk = Talk(state=fold(State(), (SpeechAdjusted(what="brief"),)))
    german = type(work)(**{**{f: getattr(work, f) for f in work.__slots__}, "language": "de"})
    _, state = walk_on(begun(german), lambda s: s.current_pass is not None and s.current_pass.number == 1)
    seen = glance(state)
    assert (seen.heading, [label for label, _ in seen.figures]) == ("STUFE 1", ["SCHRAUBE", "AUF N·m"])
    talk.state = state
    talk.hear(command("stop"))
    seen = glance(talk.state)
    assert seen.heading == GERMAN["STOPPED"] and seen.say == "resume"


def test_the_page_gets_the_same_picture_and_loads_nothing_from_elsewhere():
    told = json.loads(picture(glance(Talk.at_pass(2).state, "heard")))
    assert told["figures"] == [{"label": "NEXT BOLT", "figure": "1"}, {"label": "PULL TO, N·m", "figure": "180"}]
    assert "\n" not in picture(glance(Talk.begun().state))
    for path in FILES:
        found = page_file(path)
        assert found is not None and b"http://" not in found[0] and b"https://" not in found[0]
    assert page_file("/../journal.jsonl") is None


def test_what_is_asked_for_in_words_is_named_and_a_name_is_shown_as_it_was_heard():
    talk = Talk.begun(replace(work(), asks_who=True))
    assert glance(talk.state).heading == "NAME?"
    talk.hear(decision="reject", free_text="robin marsh")
    assert (glance(talk.state).heading, glance(talk.state).text) == ("YES OR NO?", "robin marsh")
    talk.hear(command("yes"))
    talk.hear(command("no"))
    assert glance(talk.state).heading == "WHAT?"


def test_on_a_small_terminal_the_figure_goes_before_the_place():
    talk = Talk.at_pass(2)
    talk.hear(value("150"))
    lines = draw(glance(talk.state), width=50, height=14)
    assert sum("█" in line for line in lines) == 5
