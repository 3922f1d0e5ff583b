"""'Off the record': no sound is kept, and of talk no words either, until 'on the record'; what is recorded goes on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from assistant.events import NameKept, OffTheRecord, UtteranceHeard, stage_of
from assistant.journal.verify_lines import examine_lines
from assistant.ports import Block, Typed
from assistant.replay.facts import read_facts
from assistant.session.manner import Manner
from assistant.speech.heard import Heard
from tests.procedure.talk import LOCK_OUT
from tests.session.house import OPENED, events_of, session, work

SECOND = 16_000
TALK = Heard((), "reject", None, "did you see the match", {"one": "did you see the match"}, True)


class Scene:
    """ports.Microphone: typed words, and stretches of loud talk with silence behind."""

    name = "scene"

    def __init__(self, *pieces: str | float) -> None:
        self.pieces, self.at = list(pieces), 0

    def read(self) -> Block | Typed | None:
        if not self.pieces:
            return None
        piece = self.pieces.pop(0)
        if isinstance(piece, str):
            return Typed(piece, self.at)
        loud = np.random.default_rng(1).integers(-9000, 9000, int(piece * SECOND), dtype=np.int16)
        quiet = np.random.default_rng(2).integers(-20, 20, 3 * SECOND, dtype=np.int16)
        samples = np.concatenate([quiet[:SECOND], loud, quiet])
        self.at += len(samples)
        return Block(samples, self.at - len(samples))

    def now_sample(self) -> int:
        return self.at

    def close(self) -> None:
        pass


def held(*pieces, **more):
    made = session(Scene(*pieces), combine=lambda _readings, _samples: TALK, **more)
    made.run((OPENED, work()))
    return made


def utterances(made):
    return [e for e in events_of(made) if e.kind == "utterance-heard" and e.listeners.keys() != {"typed"}]


def test_between_off_and_on_no_sound_and_no_word_of_talk_is_kept():
    made = held(1.0, "off the record", 1.0, 1.0, "on the record", 1.0)
    sounds = [event.audio_sha256 is not None for event in utterances(made)]
    assert sounds == [True, False, False, True]
    assert [event.free_text for event in utterances(made)] == [TALK.free_text, "", "", TALK.free_text]
    assert [event.listeners for event in utterances(made)][1] == {}
    assert not any(event.typed for event in utterances(made))  # spoken without sound kept is not typed
    assert all(e.typed for e in events_of(made) if e.kind == "utterance-heard" and e not in utterances(made))
    kinds = [e.kind for e in events_of(made)]
    assert kinds.count("off-the-record") == kinds.count("on-the-record") == 1
    said = [e.text for e in events_of(made) if e.kind == "prompt-spoken"]
    assert any("no sound is kept" in text for text in said)
    assert len(made.recording.audio.files) == 2
    assert examine_lines(bytes(made.recording.tape.content)).gapless


@pytest.mark.parametrize("standing", ["stop", "pause"])
def test_it_is_understood_while_nothing_is_guided_and_lasts_over_a_break(standing):
    made = held(standing, "off the record", 1.0, "resume")
    assert made.state.off_the_record and made.state.dialogue == "guiding"
    assert [event.audio_sha256 for event in utterances(made)] == [None]


def test_entries_are_made_as_ever():
    made = held("off the record", "dry", "on the record")
    kinds = [e.kind for e in events_of(made)]
    assert "utterance-heard" in kinds and not made.state.off_the_record


NAME = Heard((), "reject", None, "Ada Bright", {"one": "Ada Bright"}, True)


def name_given_off_the_record():
    """A hold point is released by a spoken name, off the record. The grammar holds no names, so it rejects it."""
    question = replace(LOCK_OUT, witness=True)
    laid_out = replace(work(), stages=(stage_of(question), *work().stages[1:]))
    scene = Scene("locked out and tried", "off the record", 1.0, "yes")
    made = session(scene, combine=lambda _readings, _samples: NAME)
    made.run((OPENED, laid_out))
    return made


def test_a_name_that_was_spoken_off_the_record_says_who_heard_it():
    made = name_given_off_the_record()
    kept = next(event for event in events_of(made) if isinstance(event, NameKept))
    (heard,) = (event for event in utterances(made) if event.utterance == kept.utterance)
    assert kept.text == "Ada Bright"
    assert (heard.audio_sha256, heard.listeners, heard.typed) == (None, {"one": "Ada Bright"}, False)
    assert not read_facts(made.recording.entries).typed(kept.utterance)


def changed(made, utterance, *, away=()):
    """The session's lines without some kinds of event, and the utterance without its listeners."""
    return [
        replace(line, event=replace(line.event, listeners={}, free_text=""))
        if isinstance(line.event, UtteranceHeard) and line.event.utterance == utterance
        else line
        for line in made.recording.entries
        if not isinstance(line.event, away)
    ]


def test_a_name_that_nobody_heard_counts_as_typed_unless_an_earlier_version_kept_it_off_the_record():
    made = name_given_off_the_record()
    kept = next(event for event in events_of(made) if isinstance(event, NameKept))
    assert not read_facts(changed(made, kept.utterance)).typed(kept.utterance)
    assert read_facts(changed(made, kept.utterance, away=(OffTheRecord,))).typed(kept.utterance)


def test_where_only_doubtful_sound_is_kept_talk_is_kept_and_what_was_taken_at_once_is_not():
    made = held(1.0, manner=Manner(real_time=False, keeps="doubtful"))
    assert [event.audio_sha256 is not None for event in utterances(made)] == [True]  # refused: worth hearing again
