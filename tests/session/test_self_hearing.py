"""A headset that hears the loudspeaker: found by what it hears, said once; one that does not lets answers in."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.espeak_voices import speak
from assistant.events import UtteranceHeard
from assistant.session.hearing import Hearing
from assistant.session.manner import Manner
from assistant.session.self_hearing import SelfHearing
from assistant.speech.meaning import Command
from tests.procedure.talk import work
from tests.session.house import OPENED, LoudIsSpeech, events_of, session
from tests.session.test_loop import Hears, quiet, speech, sure
from tests.session.test_overhearing import Nothing, Open

PROMPT = speak("Pass two. To one hundred and eighty newton metres. Bolt one. Torque one eighty.")[0]
OTHER = speak("Three hundred and ten newton metres, and the next one is three hundred and twelve.", "gmw/en+f2")[0]


def heard(*, echo_db: float | None, delay_ms: int = 60, talk: bool = False) -> np.ndarray:
    """The microphone under PROMPT: noise, the prompt so much quieter and later, and somebody who talks meanwhile."""
    sound = np.random.default_rng(1).normal(0, 30, len(PROMPT))
    if echo_db is not None:
        late = np.concatenate([np.zeros(16 * delay_ms), PROMPT])[: len(PROMPT)]
        sound += late * 10 ** (echo_db / 20)
    if talk:
        sound += np.resize(OTHER, len(PROMPT))
    return np.rint(np.clip(sound, -32768, 32767)).astype(np.int16)


@pytest.mark.parametrize("echo_db", [0, -10, -20, -30])
def test_a_microphone_that_hears_the_prompt_is_found_with_level_and_delay(echo_db):
    looks = SelfHearing()
    level_db, late_ms = looks.under_prompt(heard(echo_db=echo_db), PROMPT)
    assert late_ms == pytest.approx(60, abs=1) and not looks.clean
    usual = 20 * np.log10(np.sqrt(np.mean(PROMPT.astype(float) ** 2)) / 32768)
    assert level_db == pytest.approx(usual + echo_db, abs=4)


def test_one_that_does_not_is_clean_also_while_somebody_talks():
    for talk in (False, True):
        looks = SelfHearing()
        assert not looks.clean
        assert looks.under_prompt(heard(echo_db=None, talk=talk), PROMPT) is None and looks.clean


def test_silence_under_silence_tells_nothing():
    looks = SelfHearing()
    assert looks.under_prompt(np.zeros(64_000, np.int16), np.zeros(64_000, np.int16)) is None and not looks.clean


class Worn(Open):
    """A headset: what is played is known; `heard_back` puts it into what the microphone hears."""

    def __init__(self, *pieces, prompt: int, played: np.ndarray) -> None:
        super().__init__(*pieces, prompt=prompt)
        self.played = played

    def playing(self, at_sample: int, samples: int) -> np.ndarray:
        return np.resize(self.played, at_sample + samples)[at_sample:]


def held(device):
    made = session(
        device,
        speaker=device,
        hearing=Hearing([Hears(Command("locked out and tried"))], sure),
        manner=Manner(headset=True, real_time=True),
        overhearing=LoudIsSpeech(),
        canceller=Nothing(),
    )
    made.run((OPENED, work()))
    return made, [e for e in events_of(made) if isinstance(e, UtteranceHeard)]


def test_an_answer_under_a_prompt_is_taken_once_the_headset_is_known_to_be_one():
    played = np.random.default_rng(3).integers(-9, 10, 16_000 * 40).astype(np.int16)
    device = Worn(quiet(7.0), speech(0.4), quiet(2.5), speech(0.4), quiet(8.0), prompt=6 * 16_000, played=played)
    made, utterances = held(device)
    assert [u.while_speaking for u in utterances] == [False, True]
    assert any(e.kind == "question-answered" for e in events_of(made))
    assert len(device.cuts) == 1 and device.cuts[0] < 11 * 16_000, "the prompt goes on though it was answered"


def test_under_the_first_prompt_it_is_taken_afterwards_and_the_prompt_goes_on():
    """What was heard meanwhile shows that the headset is one; before that nothing is cut for it."""
    played = np.random.default_rng(3).integers(-9, 10, 16_000 * 40).astype(np.int16)
    device = Worn(quiet(2.0), speech(0.4), quiet(8.0), prompt=6 * 16_000, played=played)
    made, utterances = held(device)
    assert [(u.while_speaking, u.decision) for u in utterances] == [(True, "accept")] and device.cuts == []
    assert any(e.kind == "question-answered" for e in events_of(made))


def test_under_a_prompt_too_short_to_show_it_nothing_is_an_answer():
    played = np.random.default_rng(3).integers(-9, 10, 16_000 * 40).astype(np.int16)
    made, utterances = held(Worn(quiet(0.2), speech(0.3), quiet(8.0), prompt=16_000, played=played))
    assert [(u.while_speaking, u.decision) for u in utterances] == [(True, "reject")]
    assert not any(e.kind in ("question-answered", "not-understood") for e in events_of(made))


def test_an_answer_that_may_belong_to_what_was_before_is_asked():
    played = np.random.default_rng(3).integers(-9, 10, 16_000 * 40).astype(np.int16)
    _, utterances = held(
        Worn(quiet(7.0), speech(0.4), quiet(0.7), speech(0.4), quiet(8.0), prompt=6 * 16_000, played=played)
    )
    assert [(u.while_speaking, u.decision) for u in utterances][:2] == [(False, "accept"), (True, "ask")]


def test_a_headset_that_hears_us_is_said_once_and_the_microphone_closes_under_prompts():
    played = np.random.default_rng(3).integers(-300, 301, 16_000 * 40).astype(np.int16)
    pieces = [played[: 16_000 * 12], quiet(14.0)]
    device = Worn(*pieces, prompt=6 * 16_000, played=played)
    made, utterances = held(device)
    (told,) = [e for e in events_of(made) if e.kind == "trouble-found"]
    assert told.what == "hears-itself" and "dBFS" in told.detail and not made.manner.headset
    assert not any(e.kind == "question-answered" for e in events_of(made)) and not utterances
