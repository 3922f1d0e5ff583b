"""The dialogue, situation by situation: what was heard, what is recorded, what is said."""

from dataclasses import replace
from decimal import Decimal

import pytest

from assistant.events import Measured, Measurement, Pass, Question, WorkLaidOut
from assistant.procedure.effects import expecting
from tests.procedure.talk import CLOSE, LOCK_OUT, THREADS, Talk, command, newton_metres, stages, value, work


def test_a_session_begins_with_the_deference_line_and_the_lock_out():
    talk = Talk.begun()
    assert talk.said.startswith("Test flange. Maker's instruction and site rules come first.")
    assert talk.said.endswith("Is the line locked out? Say: locked out and tried.")


def test_yes_alone_passes_no_hold_point():
    talk = Talk.begun()
    events = talk.hear(command("yes"))
    assert talk.kinds(events) == ["question-refused"]
    assert talk.said == "I need the whole phrase: locked out and tried."
    assert talk.state.question is not None and talk.state.question.name == "lock-out"


def test_a_hold_phrase_that_is_not_sure_is_asked_for_once_more():
    talk = Talk.begun()
    assert talk.kinds(talk.hear(command("locked out and tried", 0.7), decision="ask")) == ["reading-doubted"]
    assert talk.said == "Once more, please: locked out and tried."
    assert talk.state.stage == 1
    assert talk.kinds(talk.hear(command("yes"))) == ["question-refused"]  # yes passes no hold point, here neither
    talk.hear(command("locked out and tried", 0.9), decision="ask")
    events = talk.hear(command("locked out and tried", 0.9), decision="ask")  # twice the same: sure enough
    assert talk.kinds(events)[0] == "question-answered"


def test_a_weak_hold_phrase_heard_twice_passes_nothing():
    talk = Talk.begun()
    for _ in range(2):
        talk.hear(command("locked out and tried", 0.6), decision="ask")
    assert talk.state.stage == 1


def test_a_wrong_thread_condition_stops_the_work():
    talk = Talk.begun()
    talk.hear(command("locked out and tried"))
    talk.hear(command("dry"))
    assert talk.said.startswith("Dry: the torque is not made for that. Stop, and get the lead.")
    assert talk.state.dialogue == "reasoning" and talk.state.findings[-1].what == "dry"
    talk.hear(command("no"))
    assert talk.state.question is not None and talk.state.question.name == "thread condition"


def test_a_sure_reading_inside_the_window_is_recorded_read_back_and_the_next_bolt_named():
    talk = Talk.at_pass(1)
    assert talk.said == "Snug. Pass one. Bolt one, to ninety newton metres."
    events = talk.hear(value("92"))
    assert talk.kinds(events) == ["reading-accepted", "item-announced"]
    assert talk.state.last_entry is not None and talk.state.last_entry.reading == newton_metres("92")
    assert talk.said == "Ninety two. Bolt three."


def test_a_reading_that_is_not_sure_is_asked_and_a_yes_records_it():
    talk = Talk.at_pass(2)
    assert talk.kinds(talk.hear(value("180", 0.8), decision="ask")) == ["reading-doubted"]
    assert talk.said == "One, eight, zero?"  # eighty and eighteen are easily confused: spelled
    events = talk.hear(command("yes"))
    assert talk.kinds(events)[0] == "reading-accepted"
    assert talk.state.last_entry is not None and talk.state.last_entry.reading == newton_metres("180")


def test_a_no_records_nothing_and_asks_again():
    talk = Talk.at_pass(1)
    talk.hear(value("95", 0.8), decision="ask")
    entries = talk.state.entries
    talk.hear(command("no"))
    assert talk.state.entries == entries
    assert talk.said == "Bolt one."


def test_a_yes_that_is_not_sure_is_asked_for_again():
    talk = Talk.at_pass(1)
    talk.hear(value("90", 0.7), decision="ask")
    assert talk.kinds(talk.hear(command("yes", 0.6), decision="ask")) == ["confirmation-doubted"]
    assert talk.state.dialogue == "asking" and talk.said == "Say yes, or say it again."
    assert talk.kinds(talk.hear(command("yes", 0.7), decision="ask")) == ["confirmation-doubted"]
    assert talk.said == "Yes, or no? Or say the thing itself."
    assert talk.kinds(talk.hear(command("yes", 0.98), decision="ask"))[0] == "reading-accepted"


def test_an_unsure_yes_to_a_nearly_sure_value_counts():
    talk = Talk.at_pass(1)
    talk.hear(value("90", 0.95), decision="ask", accept_at=1.0)
    assert talk.kinds(talk.hear(command("yes", 0.8), decision="ask"))[0] == "reading-accepted"


def test_an_unsure_no_is_a_no():
    talk = Talk.at_pass(1)
    talk.hear(value("90", 0.8), decision="ask")
    assert talk.kinds(talk.hear(command("no", 0.5), decision="ask"))[0] == "reading-taken-back"


def test_the_same_value_again_is_new_evidence():
    talk = Talk.at_pass(1)
    talk.hear(value("90", 0.82), decision="ask")
    events = talk.hear(value("90", 0.82), decision="ask")
    assert talk.kinds(events)[0] == "reading-accepted"


def test_a_weak_repetition_is_asked_in_other_words():
    talk = Talk.at_pass(1)
    talk.hear(value("90", 0.6), decision="ask")
    first = talk.said
    talk.hear(value("90", 0.6), decision="ask")
    assert talk.state.dialogue == "asking" and talk.said != first


def test_a_fresh_value_in_answer_to_a_question_is_judged_anew():
    talk = Talk.at_pass(1)
    talk.hear(value("90", 0.8), decision="ask")
    talk.hear(value("92"))
    assert talk.state.last_entry is not None and talk.state.last_entry.reading == newton_metres("92")


def test_outside_the_window_is_never_recorded_by_itself():
    talk = Talk.at_pass(2)
    entries = talk.state.entries
    assert talk.kinds(talk.hear(value("150"))) == ["reading-outside"]
    assert talk.said == "I heard one fifty, low by twenty one. Say keep, or pull again, to one eighty newton metres."
    assert talk.state.entries == entries
    talk.hear(value("180"))
    assert talk.state.last_entry is not None and talk.state.last_entry.reading == newton_metres("180")


def test_above_the_window_nothing_is_backed_off():
    talk = Talk.at_pass(2)
    talk.hear(value("210"))
    assert talk.said == "I heard two ten, high by twenty one. Don't back off. Read it again, or say keep."


def test_keeping_a_reading_needs_a_reason_in_words():
    talk = Talk.at_pass(2)
    talk.hear(value("165"))
    talk.hear(command("keep"))
    assert talk.said == "Keeping it out of tolerance. Why?"
    events = talk.hear(decision="reject", free_text="nut face is damaged, lead agreed")
    assert talk.kinds(events)[0] == "reading-kept"
    assert talk.state.bolt == 3


def test_the_setting_of_the_last_pass_is_pointed_out():
    talk = Talk.at_pass(2)
    talk.hear(value("90.5", unit="N*m"))
    assert "last pass" not in talk.said
    talk.hear(value("170"))
    assert "low by one." in talk.said


@pytest.mark.parametrize(
    ("number", "reason"),
    [("18", "tool-range"), ("1800", "tool-range"), ("66", "far-off"), ("133", "unit")],
)
def test_impossible_values_are_never_recorded(number: str, reason: str):
    talk = Talk.at_pass(2)
    entries = talk.state.entries
    for decision in ("accept", "ask"):
        events = talk.hear(value(number), decision=decision)
        wrong = events[0]
        assert wrong.kind == "reading-impossible" and wrong.reason == reason  # type: ignore[attr-defined]
        assert talk.state.entries == entries


def test_foot_pounds_without_the_unit_are_recognised_and_with_it_honoured():
    talk = Talk.at_pass(2)
    talk.hear(value("133"))
    assert talk.said == "One thirty three would fit foot pounds. Read the newton metres again."
    talk.hear(value("133", unit="lbf*ft"))
    assert talk.said == "You said foot pounds. This wrench reads newton metres. Read it again."
    two = replace(
        work(), stages=stages(*(replace(i, scales=("lbf*ft",)) if isinstance(i, Pass) else i for i in work().items))
    )
    talk = Talk.at_pass(2, laid_out=two)
    talk.hear(value("133"))
    assert talk.said == "I heard one thirty three. Is that foot pounds? Say the value with its unit."
    events = talk.hear(value("133", unit="lbf*ft"))
    assert talk.kinds(events)[0] == "reading-accepted"
    assert talk.state.last_entry is not None
    assert talk.state.last_entry.reading == Measured(Decimal("133"), "lbf*ft")
    assert "foot pounds, that is one eighty point three newton metres." in talk.said


def test_another_bolt_is_not_recorded():
    talk = Talk.at_pass(1)
    entries = talk.state.entries
    talk.hear(value("90", bolt=2))
    assert talk.said == "You said bolt two. Now it's bolt one."
    assert talk.state.entries == entries
    talk.hear(value("90", bolt=1))
    assert talk.state.bolt == 3


def test_correction_takes_the_last_entry_back_and_says_which():
    talk = Talk.at_pass(1)
    talk.hear(value("90"))
    talk.hear(command("correction"))
    assert talk.said == "Taken back: bolt one, ninety. Bolt one."
    assert talk.state.bolt == 1


def test_correction_with_a_value_replaces_the_last_entry():
    talk = Talk.at_pass(1)
    talk.hear(value("90"))
    events = talk.hear(value("93", corrected=True))
    assert talk.kinds(events) == ["entry-taken-back", "reading-accepted", "item-announced"]
    assert talk.state.bolt == 3
    assert [e.reading for e in talk.state.entries if e.valid and e.reading] == [newton_metres("93")]


def test_a_correction_with_a_value_after_a_correction_is_for_the_same_bolt():
    talk = Talk.at_pass(1)
    talk.hear(value("90"))
    talk.hear(value("91"))
    talk.hear(command("correction"))
    talk.hear(value("93", corrected=True))
    readings = [(e.bolt, str(e.reading.value)) for e in talk.state.entries if e.valid and e.reading]
    assert readings == [(1, "90"), (3, "93")]


def test_a_correction_that_is_not_sure_takes_nothing_back():
    talk = Talk.at_pass(1)
    talk.hear(value("90"))
    talk.hear(command("correction", 0.7), decision="ask")
    assert talk.said == "Take back bolt one, ninety?"
    talk.hear(command("no"))
    assert talk.state.bolt == 3


def test_correction_reaches_back_over_the_end_of_a_pass():
    talk = Talk.at_pass(2)
    talk.hear(command("correction"))
    assert talk.state.current_pass is not None and talk.state.current_pass.number == 1
    assert talk.state.bolt == 4
    talk.hear(value("91"))
    assert talk.state.current_pass is not None and talk.state.current_pass.number == 2


def test_a_skipped_bolt_comes_back_at_the_end_of_its_pass():
    talk = Talk.at_pass(1)
    talk.hear(command("skip"))
    talk.hear(decision="reject", free_text="socket does not fit")
    assert talk.state.skipped[0][1:] == (1, "socket does not fit")
    for _ in range(3):
        talk.hear(value("90"))
    assert talk.state.current_pass is not None and talk.state.current_pass.number == 1
    assert talk.state.bolt == 1


def test_a_hold_point_cannot_be_skipped():
    talk = Talk.begun()
    talk.hear(command("skip"))
    assert talk.said == "This step can't be skipped."


def test_a_note_is_never_a_value():
    talk = Talk.at_pass(1)
    entries = talk.state.entries
    talk.hear(command("note"))
    talk.hear(value("90"), free_text="ninety")
    assert talk.state.entries == entries and talk.state.notes == 1
    assert talk.said.startswith("Noted.")


def test_stop_needs_no_certainty_and_resume_does():
    talk = Talk.at_pass(1)
    talk.hear(command("stop", 0.6), decision="ask")
    assert talk.state.dialogue == "stopped"
    talk.hear(value("90"))
    assert talk.state.last_entry is None or talk.state.last_entry.reading is None
    talk.hear(command("resume", 0.6), decision="ask")
    assert talk.state.dialogue == "stopped"
    talk.hear(command("resume"))
    assert talk.said == "Going on. Pass one. Bolt one, to ninety newton metres."


def test_resume_that_both_listeners_made_out_needs_no_certainty() -> None:
    both = {"constrained": "resume", "vosk": "resume"}
    for probability, listeners, agreed, kinds in (
        (0.9, both, True, ["resumed"]),
        (0.8, both, True, ["told"]),
        (0.9, both, False, ["told"]),
        (0.9, {"constrained": "resume"}, True, ["told"]),
    ):
        talk = Talk.at_pass(1)
        talk.hear(command("stop"))
        heard = talk.hear(command("resume", probability), decision="ask", listeners=listeners, agreed=agreed)
        assert talk.kinds(heard)[:1] == kinds


def test_a_stop_on_which_the_listeners_differ_is_asked_and_nothing_advances():
    talk = Talk.at_pass(1)
    assert talk.kinds(talk.hear(command("stop", 0.6), decision="ask", agreed=False)) == ["reading-doubted"]
    assert talk.said == "Did you say: stop?"
    talk.hear(command("yes"))
    assert talk.state.dialogue == "stopped"


def test_a_doubt_that_is_interrupted_is_dropped():
    talk = Talk.at_pass(1)
    talk.hear(value("95", 0.8), decision="ask")
    talk.hear(command("pause"))
    talk.hear(command("resume"))
    talk.hear(command("yes"))
    assert talk.state.bolt == 1 and not any(e.reading for e in talk.state.entries)


def test_what_is_said_while_the_assistant_speaks_is_an_answer_or_nothing():
    talk = Talk.at_pass(1)
    assert talk.hear(value("90"), while_speaking=True, decision="reject") == []
    assert "reading-accepted" in talk.kinds(talk.hear(value("90"), while_speaking=True))
    assert talk.kinds(talk.hear(command("stop"), while_speaking=True)) == ["stopped"]


def test_after_three_failures_the_figures_are_asked_for_then_choices_then_a_helper():
    talk = Talk.at_pass(2)
    asked = []
    for _ in range(3):
        talk.hear(value("390"))
        asked.append(talk.state.dialogue)
    for _ in range(2):
        talk.hear(value("210", 0.5), value("180", 0.4), decision="ask")
        asked.append(talk.state.dialogue)
    assert asked == ["guiding", "guiding", "figures", "choosing", "helper"]
    talk.hear(value("180", by_figures=True))
    assert talk.state.bolt == 3 and talk.state.misses == 0


def test_a_numbered_choice_is_judged_like_a_sure_reading():
    talk = Talk.at_pass(2)
    for _ in range(3):
        talk.hear(value("390"))
    talk.hear(value("210", 0.5), value("180", 0.3), decision="ask")
    assert talk.state.dialogue == "choosing"
    assert talk.said == "Say one for two, one, zero. Say two for one, eight, zero."
    assert talk.kinds(talk.hear(value("2", 0.7), decision="ask")) == ["confirmation-doubted"]
    events = talk.hear(value("180"))
    assert talk.kinds(events)[0] == "reading-accepted"
    assert talk.state.last_entry is not None and talk.state.last_entry.reading == newton_metres("180")


def test_a_sure_choice_is_recorded():
    talk = Talk.at_pass(2)
    for _ in range(3):
        talk.hear(value("390"))
    talk.hear(value("210", 0.5), value("180", 0.3), decision="ask")
    events = talk.hear(value("2"))
    assert talk.kinds(events)[0] == "reading-accepted"


def test_noise_is_kept_and_answered_with_silence():
    talk = Talk.at_pass(1)
    assert talk.hear(decision="reject") == []
    assert talk.said == "" and talk.state.misses == 0


def test_what_both_listeners_heard_alike_is_asked_for_and_then_asked_about():
    talk = Talk.at_pass(3)
    both = {"constrained": "moved", "vosk": "moved"}
    assert talk.kinds(talk.hear(command("moved", 0.06), decision="reject", listeners=both)) == ["not-understood"]
    assert talk.said == "Say again." or talk.said == "Not understood. Say it once more."
    talk.hear(command("moved", 0.06), decision="reject", listeners=both)
    assert talk.said == "Did you say: moved?"


def test_did_not_move_is_asked_about_where_the_listeners_differ():
    talk = Talk.at_pass(3)
    two = {"constrained": "did not move", "vosk": "it moved"}
    assert talk.kinds(talk.hear(command("did not move"), agreed=False, listeners=two)) == ["reading-doubted"]
    assert talk.said == "Did you say: did not move?"


def test_a_click_is_recorded_as_a_click_and_only_with_a_click_wrench():
    talk = Talk.at_pass(1, clicks=True)
    assert talk.kinds(talk.hear(command("clicked")))[0] == "clicked-at-setting"
    assert talk.said.startswith("Clicked. Bolt three.")
    dial = Talk.at_pass(1)
    dial.hear(command("clicked"))
    assert dial.said == "This wrench has no click. Read its scale."
    assert dial.state.bolt == 1


def test_one_answer_never_counts_for_all_bolts():
    talk = Talk.at_pass(1)
    talk.hear(command("all"))
    assert talk.said == "One bolt at a time. Say this bolt's reading."
    assert talk.state.bolt == 1


def test_go_back_takes_the_bolt_before_and_keeps_its_entry_until_a_new_one():
    talk = Talk.at_pass(1)
    talk.hear(value("90"))
    talk.hear(command("go back"))
    assert talk.state.bolt == 1 and talk.said == "Bolt one."
    talk.hear(command("next"))
    assert talk.state.bolt == 3
    talk.hear(command("go back"))
    events = talk.hear(value("88"))
    assert talk.kinds(events) == ["entry-taken-back", "reading-accepted", "item-announced"]
    assert talk.state.bolt == 3


def circular() -> Talk:
    return Talk.at_pass(3)


def test_circular_rounds_repeat_until_no_nut_moves():
    talk = circular()
    assert talk.said.endswith("All round. Say: it moved, or: did not move. Bolt one, to one eighty newton metres.")
    talk.hear(command("moved"))
    for _ in range(3):
        talk.hear(command("did not move"))
    assert talk.state.round == 2 and "round two" in talk.said
    for _ in range(4):
        talk.hear(command("did not move"))
    assert talk.state.question is not None and talk.state.question.name == "close"


def test_a_circular_reading_still_needs_the_movement():
    talk = circular()
    talk.hear(value("180"))
    assert talk.said == "One eight zero. Did the nut move on bolt one?"
    talk.hear(command("did not move"))
    assert talk.state.bolt == 2


def test_after_the_last_round_a_competent_person_is_asked_for():
    talk = circular()
    for _ in range(2):
        for _ in range(4):
            talk.hear(command("moved"))
    assert talk.state.dialogue == "stopped"
    assert talk.said.endswith("Stop. Nuts still move. Get somebody to find the cause. Rounds done: two.")


def test_the_joint_closes_only_by_its_phrase():
    talk = circular()
    for _ in range(4):
        talk.hear(command("did not move"))
    talk.hear(command("yes"))
    assert not talk.state.closed
    events = talk.hear(command("close the joint"))
    assert talk.kinds(events) == ["question-answered", "stage-finished", "session-closed"]
    assert talk.state.closed and talk.said.endswith("Joint closed and sealed.")


def test_same_repeats_the_last_reading_of_this_pass_only():
    talk = Talk.at_pass(2)
    talk.hear(command("same"))
    assert talk.said == "No reading yet to repeat."
    talk.hear(value("178"))
    talk.hear(command("same"))
    assert [e.reading for e in talk.state.entries if e.valid][-1] == newton_metres("178")


def test_questions_of_the_person_change_nothing():
    talk = Talk.at_pass(2)
    before = talk.state
    for name, said in {
        "status": "Pass two, bolt one. Done zero of four.",
        "target": "Pull to one eighty newton metres.",
        "why": "Half of the full value.",
        "help": "Say the reading. Or: say again, correction, skip, note, pause, stop.",
    }.items():
        talk.hear(command(name))
        assert talk.said == said
    assert talk.state == before


def test_a_value_that_was_denied_is_asked_about_again_however_sure():
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), decision="ask")
    talk.hear(command("no"))
    assert [e.kind for e in talk.hear(value("88"))] == ["reading-doubted"]
    assert talk.kinds(talk.hear(command("yes")))[:1] == ["reading-accepted"]
    assert talk.state.denied == ()
    assert talk.kinds(talk.hear(value("88")))[:1] == ["reading-accepted"]  # the next bolt's is another reading


def test_a_check_that_is_not_understood_may_be_answered_by_yes_to_its_own_words():
    talk = Talk.begun()
    talk.hear(command("locked out and tried"))
    for _ in range(3):
        talk.hear(command("anti seize", 0.4), decision="reject")
    assert talk.state.dialogue == "asking" and talk.said == "Did you say: anti seize?"
    assert talk.kinds(talk.hear(command("yes")))[:1] == ["question-answered"]


def test_a_hold_point_that_is_not_understood_is_never_passed_by_yes():
    talk = Talk.begun()
    for _ in range(12):
        talk.hear(command("locked out and tried", 0.4), decision="reject")
        assert "question-answered" not in talk.kinds(talk.hear(command("yes")))
    assert any(event.kind == "helper-asked" for event in talk.events)


def test_after_a_no_the_next_likely_value_is_asked_about():
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), value("86", 0.2), decision="ask")
    talk.hear(command("no"))
    talk.hear(value("88", 0.9), value("86", 0.05))
    assert talk.state.dialogue == "asking" and talk.state.pending.heard.value == Decimal("86")
    assert talk.kinds(talk.hear(command("yes")))[:1] == ["reading-accepted"]
    assert talk.state.entries[-1].reading.value == Decimal("86")


def test_a_measured_figure_that_is_not_understood_is_asked_for_figure_by_figure():
    heat = Measurement(name="temperature", phase="re-check", ask="How warm?", quantity="temperature", unit="degC")
    talk = Talk.begun(WorkLaidOut(joint="Test flange", stages=stages(heat, CLOSE)))
    talk.hear(value("22", 0.7), decision="ask")
    talk.hear(command("no"))
    assert talk.state.dialogue == "figures" and "figures" in talk.said
    assert not expecting(talk.state).figures_only  # read anew, it is said in any form
    talk.hear(value("32"))
    assert talk.kinds(talk.hear(command("yes")))[:1] == ["measurement-kept"]


def test_what_one_listener_alone_heard_in_noise_is_answered_soon_behind_a_prompt_and_twice_at_most():
    def noise(talk, start, **listeners):
        sound = {"start_sample": start, "end_sample": start + 16_000, "snr_db": 16.0}
        sound |= {"agreed": False, "listeners": listeners}
        return talk.kinds(talk.hear(command("yes", 0.4), decision="reject", **sound))

    talk = Talk.begun()
    soon, late = talk.state.prompt_end + 16_000, talk.state.prompt_end + 20 * 16_000
    assert noise(talk, late, constrained="yeah", vosk="") == []
    assert noise(talk, late, constrained="yeah", vosk="yes") != []  # two that heard something: somebody spoke
    talk = Talk.begun()
    answered = [noise(talk, talk.state.prompt_end + 16_000, constrained="yeah", vosk="") for _ in range(6)]
    assert answered[0] == ["not-understood"] and soon < late
    assert answered[2:] == [[]] * 4


def test_degrees_are_those_of_the_scale_that_was_asked_for():
    heat = Measurement(name="temperature", phase="re-check", ask="How warm?", quantity="temperature", unit="degF")
    talk = Talk.begun(WorkLaidOut(joint="Test flange", stages=stages(heat, CLOSE)))
    talk.hear(replace(value("280", 0.9, unit="degC"), text="two eighty degrees"), decision="ask")
    assert "Fahrenheit" in talk.said
    events = talk.hear(command("yes"))
    assert (events[0].kind, events[0].value, events[0].unit) == ("measurement-kept", Decimal("280"), "degF")


def test_a_figure_denied_for_its_unit_may_be_said_again_and_nonsense_is_never_asked_in_its_place():
    heat = Measurement(name="temperature", phase="re-check", ask="How warm?", quantity="temperature", unit="degF")
    talk = Talk.begun(WorkLaidOut(joint="Test flange", stages=stages(heat, CLOSE)))
    talk.hear(replace(value("280", 0.9, unit="degC"), text="two eighty degrees celsius"), decision="ask")
    assert "Celsius" in talk.said
    talk.hear(command("no"))
    talk.hear(value("280", 0.99), value("2", 0.004))
    assert talk.state.pending.heard.value == Decimal("280")
    talk.hear(command("no"))  # now the figure itself is denied
    talk.hear(value("280", 0.99), value("2", 0.004))
    assert talk.state.pending.heard.value == Decimal("280")  # asked once more, and not about two


def test_a_phrase_out_of_order_is_answered_with_what_is_due_and_passes_nothing():
    talk = Talk.begun()
    early = talk.hear(command("close the joint"))
    assert talk.kinds(early) == ["question-refused", "item-announced"] or talk.kinds(early) == ["question-refused"]
    assert talk.said == "Not yet. Is the line locked out? Say: locked out and tried."
    talk = Talk.at_pass(2)
    assert talk.kinds(talk.hear(command("locked out and tried"))) == ["told"]
    assert talk.said == "Not yet. Bolt one, to one eighty newton metres."
    assert "close the joint" in expecting(talk.state).phrases


TWO = {"constrained": "it moved", "vosk": "it moved"}


def at_the_circular_pass() -> Talk:
    talk = Talk.at_pass(3)
    assert talk.state.current_pass.kind == "circular"
    return talk


def test_a_movement_that_both_listeners_heard_is_taken_and_one_that_they_did_not_is_asked():
    for agreed, kinds in ((True, "bolt-moved"), (False, "reading-doubted")):
        talk = at_the_circular_pass()
        events = talk.hear(command("moved", 0.9), decision="ask", agreed=agreed, listeners=TWO)
        assert talk.kinds(events)[:1] == [kinds]


def test_that_a_nut_held_is_never_taken_more_easily():
    talk = at_the_circular_pass()
    events = talk.hear(command("did not move", 0.97), decision="ask", agreed=True, listeners=TWO)
    assert talk.kinds(events) == ["reading-doubted"]


def test_a_snug_report_that_both_heard_is_taken_but_only_while_snugging():
    talk = Talk.begun()
    talk.hear(command("locked out and tried"))
    talk.hear(command("anti seize"))
    assert talk.kinds(talk.hear(command("done", 0.9), decision="ask", listeners=TWO))[:1] == ["bolt-snugged"]
    assert talk.kinds(talk.hear(command("done", 0.8), decision="ask", listeners=TWO)) == ["reading-doubted"]


def test_after_a_no_the_next_value_that_can_be_is_asked_about_first():
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), decision="ask")
    talk.hear(command("no"))
    talk.hear(value("88", 0.9), value("880", 0.06), value("86", 0.02))
    assert talk.state.pending.heard.value == Decimal("86")


# ------------------------------------------------------------------------------------------------ answers in own words
def test_a_no_in_other_words_is_asked_about_and_then_a_finding():
    for question in (LOCK_OUT, THREADS):
        talk = Talk.begun(replace(work(), stages=stages(question)))
        talk.hear(decision="reject", free_text="it isn't there, somebody took it", listeners={"typed": "it isn't"})
        assert talk.said == "Did you say: no?"
        talk.hear(command("yes"))
        assert talk.said == "All right, not yet. What is missing?"
        assert [finding.what for finding in talk.state.findings] == ["no"]


def test_yes_to_the_agreed_phrase_still_passes_no_hold_point():
    talk = Talk.begun()
    talk.hear(command("locked out and tried", 0.7), decision="ask")
    talk.hear(command("yes"))
    assert talk.said == "I need the whole phrase: locked out and tried."


def test_another_wrench_is_told_against_the_plan_and_a_state_against_nothing():
    wrench = Question(
        name="tool wrench 14",
        phase="prepare",
        ask="Which wrench?",
        phrase="wrench 14",
        hold=False,
        refused=("wrench 12",),
    )
    talk = Talk.begun(replace(work(), stages=stages(wrench)))
    talk.hear(command("wrench 12"))
    assert talk.said == "Wrench 12? The plan is for wrench 14. Get that one, or the lead. Why that one?"
    gap = replace(THREADS, name="gap", refused=("the gap is different",))
    talk = Talk.begun(replace(work(), stages=stages(gap)))
    talk.hear(command("the gap is different"))
    assert talk.said == "The gap is different. Then stop here, and get the lead. Tell me what you found."


def test_a_reading_on_the_wrenchs_other_scale_is_judged_and_said_in_both():
    laid_out = work()
    scaled = tuple(
        replace(stage, bolts=replace(stage.bolts, scales=("lbf*ft",))) if stage.bolts is not None else stage
        for stage in laid_out.stages
    )
    talk = Talk.at_pass(1, laid_out=replace(laid_out, stages=scaled))
    talk.hear(value("90", unit="lbf*ft"))
    assert talk.said.startswith("I heard ninety foot pounds, that is one twenty two newton metres, high by")


def test_help_while_words_are_awaited_says_what_is_asked():
    talk = Talk.begun()
    talk.hear(command("no"))
    talk.hear(command("help"))
    assert talk.said == "What is missing? One sentence is enough."


def test_the_answers_of_a_check_are_told_without_those_that_only_deny_one():
    test = Question(
        name="test",
        phase="restore",
        ask="Pressure test: how was it?",
        phrase="the test was good",
        hold=False,
        refused=("the test was bad", "the test was not good"),
    )
    talk = Talk.begun(replace(work(), stages=stages(test)))
    assert talk.said.endswith("Pressure test: how was it? Say: the test was bad, or the test was good.")
    talk.hear(command("the test was not good"))
    assert [finding.what for finding in talk.state.findings] == ["the test was not good"]


# ---------------------------------------------------------------------------------------------- findings at hold points
def held_up(question: Question) -> Talk:
    """A hold point that failed, and what has been done about it."""
    talk = Talk.begun(replace(work(), stages=stages(question, THREADS)))
    talk.hear(command("no"))
    talk.hear(decision="reject", free_text="the valve is still open")
    talk.hear(command(question.phrase))
    talk.hear(decision="reject", free_text="we closed it")
    return talk


def test_a_hold_point_that_failed_asks_the_leads_name_once_and_that_name_settles_the_finding():
    talk = held_up(replace(LOCK_OUT, witness=True))
    assert talk.said.startswith("Written down. Now once more.") and talk.state.dialogue == "guiding"
    talk.hear(command(LOCK_OUT.phrase))
    settled = next(e for e in talk.name("Robin Marsh") if e.kind == "finding-settled")
    assert (settled.by, settled.changed) == ("Robin Marsh", "we closed it")
    assert [e.purpose for e in talk.events if e.kind == "name-asked"] == ["witness"]
    assert talk.state.stage == 2 and not [f for f in talk.state.findings if f.open]


def test_a_hold_point_that_names_nobody_still_asks_who_releases_the_finding():
    talk = held_up(LOCK_OUT)
    assert talk.said == "Who releases it?"
    talk.name("Robin Marsh")
    talk.hear(command(LOCK_OUT.phrase))
    assert talk.state.stage == 2 and not [f for f in talk.state.findings if f.open]


def test_what_fails_again_while_the_name_is_asked_is_a_finding_of_its_own_and_its_change_is_asked_for():
    talk = held_up(replace(LOCK_OUT, witness=True, refused=("not locked out",)))
    talk.hear(command(LOCK_OUT.phrase))
    assert "finding-made" in talk.kinds(talk.hear(command("not locked out")))
    talk.hear(decision="reject", free_text="somebody opened it again")
    talk.hear(command(LOCK_OUT.phrase))
    assert talk.said == "You said: not locked out. What has been done about it?"
    talk.hear(decision="reject", free_text="closed once more")
    talk.hear(command(LOCK_OUT.phrase))
    assert [e.kind for e in talk.name("Robin Marsh")].count("finding-settled") == 2
    assert talk.state.stage == 2 and not [f for f in talk.state.findings if f.open]


# ---------------------------------------------------------------------------------------- a yes that may have been a no
MAYBE_NO = (command("yes", 0.9896), command("no", 0.01))


def test_a_yes_beside_a_near_no_confirms_nothing_until_it_is_said_twice():
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), decision="ask")
    assert talk.kinds(talk.hear(*MAYBE_NO)) == ["confirmation-doubted"]
    assert "reading-accepted" in talk.kinds(talk.hear(*MAYBE_NO))


def test_a_yes_beside_a_near_no_passes_no_check_and_keeps_no_name_at_once():
    check = replace(THREADS, phrase="yes", refused=())
    talk = Talk.begun(replace(work(), stages=stages(check, replace(LOCK_OUT, witness=True))))
    assert "question-answered" not in talk.kinds(talk.hear(*MAYBE_NO))
    assert "question-answered" in talk.kinds(talk.hear(command("yes")))
    talk.hear(command(LOCK_OUT.phrase))
    talk.hear(decision="reject", free_text="Robin Marsh")
    assert talk.kinds(talk.hear(*MAYBE_NO)) == ["confirmation-doubted"]
    assert "name-kept" in talk.kinds(talk.hear(command("yes")))


def test_a_plain_yes_still_needs_no_second_one():
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), decision="ask")
    assert "reading-accepted" in talk.kinds(talk.hear(command("yes", 0.99), command("no", 0.001)))


@pytest.mark.parametrize(("snr_db", "first"), [(7.0, "confirmation-doubted"), (10.7, "reading-accepted")])
def test_a_yes_in_noise_nearly_as_loud_confirms_nothing_until_it_is_said_twice(snr_db: float, first: str):
    talk = Talk.at_pass(1)
    talk.hear(value("88", 0.7), decision="ask")
    said = talk.kinds(talk.hear(command("yes", 0.998), snr_db=snr_db))
    assert first in said
    if first == "confirmation-doubted":
        assert "reading-accepted" in talk.kinds(talk.hear(command("yes", 0.998), snr_db=snr_db))
