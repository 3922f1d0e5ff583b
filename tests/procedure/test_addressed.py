"""What is said among others is not answered; who speaks to the assistant is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.procedure.talk import Talk, command, value

S = 16_000
ONE, BOTH = (
    {"agreed": False, "listeners": {"constrained": "it", "vosk": ""}},
    {"agreed": True, "listeners": {"constrained": "it", "vosk": "it"}},
)


def hear(talk, start_s, seconds, *alternatives, snr_db=20.0, decision="ask", **more):
    start = talk.state.prompt_end + round(start_s * S)
    sound = {"start_sample": start, "end_sample": start + round(seconds * S), "snr_db": snr_db}
    return talk.kinds(talk.hear(*alternatives, decision=decision, **sound, **more))


def talked() -> Talk:
    """At a bolt of pass two; a sentence of 5 s to somebody else has just ended, 40 s after the prompt."""
    talk = Talk.at_pass(2)
    assert hear(talk, 35.0, 5.0, command("why", 0.01), decision="reject", free_text="the man halted", **ONE) == []
    return talk


@pytest.mark.parametrize(
    "said", [value("80", 0.6), command("help", 0.9), command("same", 0.6), command("yes", 0.6), value("180", 0.6)]
)
def test_a_word_in_running_talk_is_not_asked_about_and_after_a_pause_it_is(said):
    assert hear(talked(), 40.7, 0.6, said, **BOTH) == []
    assert hear(talked(), 42.5, 0.6, said, **BOTH) != []


def test_what_was_accepted_counts_in_talk_too_but_no_question_is_answered_there():
    assert hear(talked(), 40.7, 0.6, value("180"), decision="accept", **BOTH)[0] == "reading-accepted"
    assert hear(talked(), 40.7, 0.6, command("help"), decision="accept", **BOTH) == []
    assert hear(talked(), 42.5, 0.6, command("help"), decision="accept", **BOTH) == ["told"]


def test_what_was_not_understood_is_asked_for_soon_behind_a_prompt_and_where_it_is_said_again():
    unclear = {"decision": "reject", "free_text": "help please", "snr_db": 11.0, **BOTH}

    def at(*starts_s) -> list[list[str]]:
        talk = Talk.at_pass(2)
        hear(talk, 20.0, 0.8, value("180"), decision="accept", snr_db=12.0, **BOTH)
        return [hear(talk, start_s, 0.6, command("help", 0.2), **unclear) for start_s in starts_s]

    assert at(4.0) == [["not-understood"]]
    assert at(40.0) == [[]]
    assert at(40.0, 46.0) == [[], ["not-understood"]]
    assert at(40.0, 60.0) == [[], []]


def test_what_leads_nowhere_is_explained_only_to_whoever_speaks_to_us():
    """A far voice's 'clicked' at a wrench without a click, its 'same' at a check, a figure off the scale."""
    for said in (command("clicked"), value("2")):
        assert hear(Talk.at_pass(2), 40.0, 0.6, said, decision="accept", snr_db=3.0, **BOTH) == []
        assert hear(Talk.at_pass(2), 40.0, 0.6, said, decision="accept", snr_db=12.0, **BOTH) != []
    check = Talk.begun()
    assert hear(check, 40.0, 0.4, command("same"), decision="accept", snr_db=3.0, **BOTH) == []
    assert hear(check, 40.0, 0.4, command("same"), decision="accept", snr_db=12.0, **BOTH) == ["question-refused"]


def test_what_led_nowhere_tells_nothing_of_how_loud_answers_are():
    talk = Talk.at_pass(2)
    hear(talk, 20.0, 0.6, command("clicked"), decision="accept", snr_db=3.0, **BOTH)
    assert talk.state.usual_snr_db is None
    hear(talk, 22.0, 0.8, value("180"), decision="accept", snr_db=14.0, **BOTH)
    assert talk.state.usual_snr_db == 14.0
    assert hear(talk, 60.0, 0.6, command("why", 0.9), snr_db=3.0, **BOTH) == []
    assert hear(talk, 60.0, 0.6, command("why", 0.9), snr_db=9.0, **BOTH) == ["told"]


def test_a_note_or_another_command_is_no_answer_to_a_read_back():
    def asked() -> Talk:
        talk = Talk.at_pass(2)
        assert hear(talk, 20.0, 0.8, value("180", 0.6), snr_db=14.0, **BOTH) == ["reading-doubted"]
        return talk

    note = {"snr_db": 1.0, "free_text": "goat, not no noose", **ONE}
    assert hear(asked(), 20.0, 2.1, replace(command("note", 0.4), kind="note"), **note) == []
    assert hear(asked(), 20.0, 0.5, command("same", 0.6), snr_db=1.0, **BOTH) == []
    assert hear(asked(), 2.0, 0.5, command("yes", 0.9), snr_db=1.0, **BOTH) != []
    assert hear(asked(), 2.0, 0.5, command("yes", 0.6), snr_db=4.0, **ONE) != []
    assert hear(asked(), 200.0, 0.5, command("yes", 0.6), snr_db=4.0, **ONE) == [], "minutes after the question"


def test_a_reading_from_across_the_room_is_asked_about_however_surely_it_is_understood():
    talk = Talk.at_pass(2)
    hear(talk, 20.0, 0.8, value("180"), decision="accept", snr_db=20.0, **BOTH)
    assert hear(talk, 30.0, 0.8, value("181"), decision="accept", snr_db=8.0, **BOTH) == ["reading-doubted"]
    assert hear(talk, 2.0, 0.8, value("181"), decision="accept", snr_db=12.0, **BOTH)[0] == "reading-accepted"
    check = Talk.begun()
    far = {"decision": "accept", "snr_db": 1.8, **BOTH}
    assert hear(check, 2.0, 0.4, command("no"), **far) == ["reading-doubted"]
    assert hear(check, 300.0, 0.4, command("no"), **far) == [], (
        "nobody answers a question after five minutes, and so faintly"
    )
    assert hear(check, 300.0, 0.4, command("stop"), **far) == ["stopped"]


def test_a_sound_shorter_than_its_words_was_not_them():
    three = replace(command("yes", 0.7), text="yes it is")
    assert hear(Talk.begun(), 2.0, 0.3, three, snr_db=7.0, **ONE) == []
    assert hear(Talk.begun(), 2.0, 0.5, three, snr_db=7.0, **ONE) != []


def test_a_note_that_one_listener_alone_takes_for_one_is_not_kept():
    note = {"snr_db": 17.0, "free_text": "i should know if the position is not attached to a file"}
    opening = replace(command("note", 0.56), kind="note", text=note["free_text"])
    assert hear(Talk.at_pass(2), 20.0, 4.7, opening, **note, **ONE) == []
    assert hear(Talk.at_pass(2), 20.0, 4.7, opening, **note, **BOTH)[0] == "note-kept"


def test_an_utterance_much_longer_than_its_words_was_not_them():
    eighty = replace(value("80", 0.6), text="eighty")
    assert hear(Talk.at_pass(2), 40.0, 3.0, eighty, **BOTH) == []
    assert hear(Talk.at_pass(2), 40.0, 0.05, eighty, **BOTH) == []
    assert hear(Talk.at_pass(2), 40.0, 0.7, eighty, **BOTH)[0] == "reading-impossible"


def test_what_one_listener_made_out_and_nobody_waits_for_is_answered_where_it_is_clear_or_soon_and_as_loud_as_answers():
    def told(snr_db, said, usual=None, at_s=40.0):
        talk = Talk.at_pass(2)
        if usual is not None:
            hear(talk, 20.0, 0.8, value("180"), decision="accept", snr_db=usual, **BOTH)
        return hear(talk, at_s, 0.6, said, snr_db=snr_db, **ONE)

    for said in (value("2", 0.6), command("help", 0.9), command("louder", 0.9)):
        assert told(9.0, said) == [] and told(18.0, said) != []
        assert told(9.0, said, usual=12.0) == [] and told(16.0, said, usual=12.0) != []
        assert told(9.0, said, usual=12.0, at_s=2.0) != [] and told(2.0, said, usual=12.0, at_s=2.0) == []
    assert told(9.0, value("181", 0.6)) == ["reading-doubted"], "it is what is waited for"


@pytest.mark.parametrize("name", ["stop", "pause", "somebody is hurt"])
def test_stop_and_calls_for_help_are_asked_about_wherever_they_come_from(name):
    talk = talked()
    assert hear(talk, 40.3, 4.0, command(name, 0.5), snr_db=2.0, **ONE) == ["reading-doubted"]


def test_clear_speech_that_is_not_understood_is_answered_and_running_talk_is_not():
    unclear = {"decision": "reject", "free_text": "the wrench is slipping here", **ONE}
    assert hear(Talk.at_pass(2), 2.0, 2.5, **unclear) == ["not-understood"]
    talk = Talk.at_pass(2)
    assert hear(talk, 0.5, 3.0, snr_db=5.0, **unclear) == []
    assert hear(talk, 4.0, 1.5, **unclear) == []
    assert hear(talk, 7.5, 2.0, **unclear) == ["not-understood"], "after a pause, and still soon behind the prompt"
    sentence = unclear | {"free_text": "if they were so poor that they had hardly enough for the winter"}
    assert hear(Talk.at_pass(2), 2.0, 3.5, **sentence) == hear(Talk.at_pass(2), 2.0, 4.5, **unclear) == []


@pytest.mark.parametrize(("snr_db", "answered"), [(7.0, False), (10.5, True)])
def test_before_anything_was_understood_an_answer_in_loud_noise_is_answered(snr_db, answered):
    unclear = {"decision": "reject", "free_text": "robin marsh", "snr_db": snr_db, **ONE}
    assert bool(hear(Talk.begun(), 2.0, 0.9, **unclear)) == answered
