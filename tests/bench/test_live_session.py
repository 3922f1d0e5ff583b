"""A real conversation through a real sound server: a few answers of one joint, judged by what the two streams held."""

from __future__ import annotations

import pytest

from scripts.bench import live_session
from scripts.bench.sound_room import missing, open_room

pytestmark = pytest.mark.skipif(bool(missing()), reason=missing())


@pytest.fixture
def room(tmp_path):
    room = open_room(tmp_path)
    yield room
    room.close()


def test_answers_right_after_a_prompt_are_heard_and_prompts_sound_whole(room, tmp_path):
    args = live_session.arguments(["--answers", "4", "--minutes", "2", "--reaction", "0.1", "0.6"])
    run = live_session.hold(room, args, 20.0, log=tmp_path / "guide.txt")
    found = live_session.turns(run)
    firsts = [turn for turn in found if turn.first]
    assert len(firsts) >= 3 and run.exit_code == 4, run.errors
    assert [turn.text for turn in firsts if turn.became == "unheard"] == []
    assert sum(turn.became == "taken" for turn in firsts) >= 2
    said, cut = live_session.prompts(run, found)
    assert said >= 3
    assert [each for each in cut if "whole True" in each] == [], "recorded as spoken, and did not sound"
    assert not any(event.kind == "sound-lost" for event in run.events)
    assert not any("ALSA lib" in line for line in run.errors.splitlines()), run.errors
