"""A real conversation through a real sound server: a few answers of one joint, judged by what the two streams held."""

from __future__ import annotations

import json
import subprocess
import sys

import numpy as np
import pytest

from assistant.devices.espeak_voices import speak
from assistant.events import PromptSpoken
from scripts.bench import live_session
from scripts.bench.sound_room import BLOCK, missing, open_room, samples

in_a_room = pytest.mark.skipif(bool(missing()), reason=missing())


@pytest.fixture
def room(tmp_path):
    room = open_room(tmp_path)
    yield room
    room.close()


def test_the_same_word_said_twice_in_the_same_samples_is_found_in_both_places():
    """'Yes' and 'yes' 2.9 s apart, from one voice: the second stands as well in the stream as the first."""
    chance = np.random.default_rng(4)
    word = chance.standard_normal(live_session.RATE_HZ // 2)
    starts = [live_session.RATE_HZ * 2, round(live_session.RATE_HZ * 4.9)]
    air = chance.standard_normal(live_session.RATE_HZ * 8) * 0.05
    for start in starts:
        air[start : start + len(word)] += word
    abouts = [start - live_session.RATE_HZ // 8 for start in starts]
    for start, about, before in zip(starts, abouts, (abouts[1], len(air)), strict=True):
        assert live_session.place(air, word, about, before) == start


def test_the_record_is_laid_over_the_recording_by_its_prompts_however_few_answers_fit():
    """A recording that began two seconds before the session's clock."""
    chance = np.random.default_rng(5)
    rate, sounds = live_session.RATE_HZ, {t: chance.standard_normal(live_session.RATE_HZ) * 9000 for t in "ab"}
    room = (chance.standard_normal((rate * 20, 2)) * 50).astype(np.int16)
    events = []
    for text, at_s in (("a", 3.0), ("b", 9.5)):
        first = round((at_s + 2.0) * rate)
        room[first : first + rate, 1] += sounds[text].astype(np.int16)
        start = round(at_s * 16_000)
        events.append(PromptSpoken(text=text, start_sample=start, end_sample=start + 16_000, cut_short=False))
    run = live_session.Run(room, events, [], [], 0.0, [0, 0], lambda text: sounds[text].astype(np.int16))
    assert live_session._offset_s(run, []) == pytest.approx(2.0, abs=0.001)


@in_a_room
def test_answers_right_after_a_prompt_are_heard_and_prompts_sound_whole(room, tmp_path):
    args = live_session.arguments(["--answers", "4", "--minutes", "2", "--reaction", "0.1", "0.6"])
    run = live_session.hold(room, args, 20.0, log=tmp_path / "guide.txt")
    found = live_session.turns(run)
    firsts = [turn for turn in found if turn.first]
    assert len(firsts) >= 3 and run.exit_code == 4, run.errors
    assert [turn.text for turn in firsts if turn.became == "unheard"] == []
    assert sum(turn.became == "taken" for turn in firsts) >= 2
    assert sum(turn.became in ("taken", "asked") for turn in firsts) >= 3
    said, cut, late_ms = live_session.prompts(run, found)
    assert said >= 3
    assert abs(np.median(late_ms)) < 30, "the record's own times are those of the sound"
    assert [each for each in cut if "whole True" in each] == [], "recorded as spoken, and did not sound"
    assert not any(event.kind == "sound-lost" for event in run.events)
    assert not any("ALSA lib" in line for line in run.errors.splitlines()), run.errors


@in_a_room
def test_the_sound_test_hears_two_numbers_and_finds_a_muted_microphone(room):
    """Two spoken numbers, as asked for; then the same with the microphone muted: it is 'there', and gives no sound."""
    sound, first, past = speak("one two", "gmw/en-us", 150)
    word = sound[first:past]
    with room.streams() as (ear, mouth):
        for muted in ("0", "1"):
            room.pactl("set-source-mute", "headset", muted)
            told = subprocess.Popen(
                [sys.executable, "-m", "assistant", "devices", "--test", "--json"],
                env=room.env, cwd=live_session.ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
            )  # fmt: skip
            sounded = quiet = 0
            while told.poll() is None:
                heard = samples(ear.read(BLOCK * 4), 2)
                loud = bool(np.abs(heard[:, 1].astype(np.int32)).max(initial=0) > live_session.SOUNDS)
                sounded, quiet = (sounded + 1, 0) if loud else (sounded, quiet + 1)
                block = np.random.default_rng(quiet).integers(-20, 20, 512).astype("<i2")
                due = (quiet - 25) * 512  # 0.8 s after the sentence
                if sounded > 20 and 0 <= due < len(word):
                    piece = word[due : due + 512]
                    block[: len(piece)] += piece
                mouth.write(block.tobytes())
                mouth.flush()
            assert told.stdout is not None
            found = {check["part"]: check for check in json.loads(told.stdout.read())}
            assert found["loudspeaker"]["good"]
            if muted == "1":
                assert "is muted" in found["microphone"]["message"] and told.returncode == 3
            else:
                assert found["microphone"]["good"]
                assert "understood one two" in found["sound test"]["message"], found["sound test"]
                assert found["sound test"]["code"] == "speaker-unheard", "this room has no echo"
