"""Around the bolts: several tools, figures that are no torque, a competent person, a hand-over, an apprentice."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.events import AnsweredBack, Pass
from tests.procedure.demo_walks import COOLER, at_bolt, demo_work, step
from tests.procedure.small_works import BACK, HEIGHT, HOT, LOCK_OUT, REST, said, snug, torqued, work
from tests.procedure.talk import Talk, command, value

PULLS = [n for n, item in enumerate(demo_work(COOLER).items, start=1) if isinstance(item, Pass) and item.tools == 4]


@settings(max_examples=40)
@given(st.sampled_from(PULLS), st.integers(0, 23), st.integers(1, 24))
def test_any_open_bolt_of_the_pull_may_be_named_first_and_no_other(stage, visited, named):
    laid_out = demo_work(COOLER)
    item = laid_out.items[stage - 1]
    before = at_bolt(laid_out, stage, visited)
    pull = item.bolts[visited // 4 * 4 : visited // 4 * 4 + 4]
    heard = command("did not move", bolt=named) if item.goes_round else value(str(item.setting.value), bolt=named)
    events, after = step(before, said("named", heard))
    kinds = [e.kind for e in events]
    if named in pull and named not in before.done(stage, before.round):
        assert ("bolt-taken-up" in kinds) == (named != before.bolt)
        assert named in after.done(stage, before.round) or after.stage > stage
    else:
        assert "other-bolt-named" in kinds and after.entries == before.entries


def measure(item, figure: str, unit: str | None) -> Talk:
    talk = Talk.begun(work(item))
    talk.hear(value(figure, unit=unit))
    if talk.state.dialogue == "asking":
        talk.hear(command("yes"))
    return talk


@given(st.integers(0, 300))
def test_degrees_fahrenheit_are_held_against_limits_in_celsius(fahrenheit):
    talk = measure(HOT, str(fahrenheit), "degF")
    celsius = (Decimal(fahrenheit) - 32) * 5 / 9
    kinds = [e.kind for e in talk.events]
    assert ("measurement-kept" in kinds) == (0 <= celsius <= 100)
    assert ("measurement-refused" in kinds) == (not 0 <= celsius <= 100)
    kept = [e for e in talk.events if e.kind == "measurement-kept"]
    assert [(e.value, e.unit) for e in kept] == [(fahrenheit, "degF")] * len(kept)  # as it was said


@pytest.mark.parametrize(
    ("figure", "unit", "kept"), [("100", None, True), ("101", None, False), ("3.9", "in", True), ("4", "in", False)]
)
def test_a_length_in_inches_is_held_against_limits_in_millimetres(figure, unit, kept):
    assert any(e.kind == "measurement-kept" for e in measure(HEIGHT, figure, unit).events) == kept


@pytest.mark.parametrize(("item", "unit"), [(HOT, "N*m"), (HOT, "mm"), (HEIGHT, "degC"), (torqued(1), "degF")])
def test_a_figure_of_another_kind_is_asked_for_again_and_raises_nothing(item, unit):
    talk = Talk.begun(work(item))
    talk.hear(value("90", unit=unit))
    assert talk.state.stage == 1 and not talk.state.entries and talk.said


def test_after_the_last_round_a_named_competent_person_allows_one_more():
    talk = Talk.begun(work(torqued(1, kind="seat", last_round=2, tap="Tap it.")))
    talk.hear(command("moved"))
    assert talk.kinds(talk.hear(command("moved"))) == ["bolt-moved", "stage-finished", "competent-person-asked"]
    assert talk.state.dialogue == "stopped"
    assert talk.kinds(talk.hear(command("resume"))) == ["resumed", "name-asked"] and talk.state.purpose == "competent"
    talk.hear(command("did not move"))  # no command is a name
    assert talk.state.dialogue == "naming"
    talk.name("Robin Marsh, fitter")
    assert (talk.state.round, talk.state.bolt) == (3, 1)
    assert talk.kinds(talk.hear(command("moved")))[-1] == "competent-person-asked"  # and again for each further round
    talk.hear(command("resume"))
    talk.name("Robin Marsh, fitter")
    talk.hear(command("did not move"))
    assert talk.state.question is not None


def test_whoever_takes_over_is_asked_for_the_name():
    talk = Talk.begun(work(snug(1, 2)))
    talk.hear(command("hand over"))
    talk.hear(command("resume"))
    assert talk.state.dialogue == "naming" and talk.state.purpose == "takes-over"
    events = talk.name("Kim Weir")
    assert talk.kinds(events) == ["name-kept", "item-announced"] and events[0].text == "Kim Weir"
    assert events[0].entry == 0 and not talk.state.entries  # no answer to anything


def test_a_hand_over_does_not_let_the_competent_person_be_forgotten():
    talk = Talk.begun(work(torqued(1, kind="seat", last_round=1)))
    for name in ("moved", "resume", "hand over", "resume"):
        talk.hear(command(name))
    asked = []
    for _ in range(2):
        asked.append(talk.state.purpose)
        talk.name("Robin Marsh")
    assert sorted(asked) == ["competent", "takes-over"] and talk.state.round == 2


def test_a_nut_that_moved_stays_in_the_round_when_its_bolt_is_gone_back_to():
    talk = Talk.begun(work(torqued(1, 2, kind="circular", last_round=5)))
    talk.hear(command("moved"))
    talk.hear(command("go back"))
    talk.hear(value("90"))
    talk.hear(command("did not move"))  # of course: it was tightened a moment ago
    talk.hear(command("did not move"))
    assert (talk.state.round, talk.state.bolt) == (2, 1)


def test_a_bolt_skipped_while_something_is_asked_is_skipped():
    talk = Talk.begun(work(torqued(1, 2)))
    talk.hear(value("90", 0.8), decision="ask")
    talk.hear(replace(command("skip"), kind="note", text="socket slips"))
    assert talk.state.bolt == 2 and talk.state.dialogue == "guiding"


def test_a_pause_does_not_spare_an_apprentice_the_question():
    talk = Talk.begun(work(replace(LOCK_OUT, lesson=BACK), apprentice=True))
    talk.hear(command("pause"))
    talk.hear(command("resume"))
    assert talk.state.dialogue == "asked-back"
    talk.hear(command("begin work"))  # wrong: said so, and the work goes on
    assert talk.state.dialogue == "guiding" and [event for event, _, _ in talk.state.lessons] == [AnsweredBack]
    talk.hear(command("pause"))
    talk.hear(command("resume"))
    assert talk.state.dialogue == "guiding"


@pytest.mark.parametrize("purpose", ["skip", "keep", "cut-short"])
def test_an_apprentice_needs_the_supervisors_phrase(purpose):
    talk = Talk.begun(work(REST if purpose == "cut-short" else torqued(1, 2), apprentice=True))
    if purpose == "keep":
        talk.hear(value("80"))
    talk.hear(command("keep" if purpose == "keep" else "skip"))
    assert talk.state.dialogue == "supervisor" and talk.state.purpose == purpose
    talk.hear(decision="reject", free_text="because I want to")
    talk.hear(command("yes"))
    talk.hear(command("supervisor agrees", 0.7), decision="ask")
    assert talk.state.dialogue == "supervisor" and not talk.state.entries and not talk.state.skipped
    talk.hear(command("supervisor agrees"))
    assert talk.state.dialogue == "naming" and talk.state.purpose == "supervisor"
    talk.name("Kim Weir")
    assert talk.state.dialogue == "reasoning" and talk.state.purpose == purpose
    talk.hear(decision="reject", free_text="nut face is damaged")
    assert talk.state.entries or talk.state.skipped


@pytest.mark.parametrize("standing", ["pause", "stop"])
def test_while_nothing_is_guided_a_note_is_kept_and_the_work_asks_for_resume(standing):
    talk = Talk.begun(work(torqued(1, 2)))
    talk.hear(command(standing))
    assert talk.kinds(talk.hear(replace(command("note"), kind="note", text="crane is late"))) == ["note-kept"]
    assert talk.said and talk.state.dialogue in ("paused", "stopped") and talk.state.notes == 1
    for name in ("go back", "note", "correction", "skip"):
        talk.hear(command(name))
        assert talk.said == "Still stopped. Say resume."
    assert talk.hear(value("90")) == [] and talk.said == ""  # talk to others


def test_while_time_passes_nothing_is_gone_back_to_and_it_is_said():
    talk = Talk.begun(work(REST))
    for name in ("go back", "correction"):
        talk.hear(command(name))
        assert talk.said and talk.state.dialogue == "waiting"


def test_a_name_that_is_read_back_is_asked_for_again_by_a_no_that_is_not_sure():
    talk = Talk.at_pass(1)
    talk.hear(command("hand over"))
    talk.hear(command("resume"))
    talk.hear(decision="reject", free_text="noah")
    asked = talk.hear(command("no", 0.6), decision="ask", agreed=False, free_text="noah")
    assert talk.kinds(asked) == ["name-asked"] and not talk.state.name_heard
