"""The sound of a page: outlines, states of recordings, prompts rendered again."""

from __future__ import annotations

import base64
import io
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import ModelMissing, SpeakerFailed
from assistant.journal.disk import read_regular
from assistant.replay.story import Story
from assistant.report.page_sound import BINS, collect, outline
from tests.replay.telling import story_of
from tests.report.sessions_made import unfinished_session


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return unfinished_session(tmp_path_factory.mktemp("unfinished"))


@pytest.fixture(scope="module")
def story(folder: Path) -> Story:
    return story_of(folder)


def hum(_text: str) -> tuple[np.ndarray, int]:
    return (3000 * np.sin(np.arange(11_025) / 9)).astype(np.int16), 22_050


def test_an_outline_is_low_where_it_is_quiet_and_high_where_it_is_loud():
    quiet, loud = np.zeros(8000, np.int16), np.full(8000, 32767, np.int16)
    shape = outline(np.concatenate([quiet, loud]))
    assert shape == "0" * (BINS // 2) + "z" * (BINS // 2)
    assert outline(np.concatenate([loud // 4, loud // 2])) == "h" * (BINS // 2) + "z" * (BINS // 2)
    assert outline(np.full(8000, 100, np.int16)) == "4" * BINS  # next to nothing is not blown up
    assert outline(np.zeros(0, np.int16)) == "0" * BINS


@given(st.lists(st.integers(-32768, 32767), min_size=1, max_size=300))
def test_an_outline_has_its_length_whatever_the_sound(samples: list[int]):
    shape = outline(np.array(samples, np.int16))
    assert len(shape) == BINS and set(shape) <= set("0123456789abcdefghijklmnopqrstuvwxyz")
    assert shape == outline(-np.maximum(np.array(samples, np.int16), -32767)) or -32768 in samples


def test_recordings_go_in_as_they_are_on_disk(folder: Path, story: Story):
    sounds = collect(story.moments, lambda name: read_regular(folder / "audio" / f"{name}.flac"))
    assert set(sounds.states.values()) == {"kept"} and not sounds.missing()
    for name, text in sounds.embedded.items():
        assert base64.b64decode(text) == (folder / "audio" / f"{name}.flac").read_bytes()
    assert sounds.silent and not sounds.prompts


def test_beside_the_page_the_same_files_are_kept_and_nothing_is_embedded(folder: Path, story: Story):
    kept: dict[str, bytes] = {}
    load = lambda name: read_regular(folder / "audio" / f"{name}.flac")  # noqa: E731
    sounds = collect(story.moments, load, render=hum, keep=kept.__setitem__)
    assert not sounds.embedded
    assert {name for name in kept if name.endswith(".flac")} == {f"{name}.flac" for name in sounds.states}
    assert len(kept) == len(sounds.states) + len(sounds.prompts)


def test_a_prompt_is_rendered_once_and_can_be_decoded(story: Story):
    asked: list[str] = []

    def render(text: str) -> tuple[np.ndarray, int]:
        asked.append(text)
        return hum(text)

    sounds = collect([*story.moments, *story.moments], lambda name: b"", render=render)
    assert sorted(asked) == sorted({moment.text for moment in story.moments if moment.who == "assistant"})
    samples, rate = soundfile.read(io.BytesIO(base64.b64decode(sounds.embedded["p1"])))
    assert rate == 22_050 and abs(samples).max() > 0.05
    assert sounds.silent == ""


def test_a_prompt_that_fails_is_silent_and_the_others_are_not(story: Story):
    def render(text: str) -> tuple[np.ndarray, int]:
        if "Bolt" in text:
            raise SpeakerFailed("no", remedy="none")
        return hum(text)

    sounds = collect(story.moments, lambda name: b"", render=render)
    assert sounds.prompts and not any("Bolt" in text for text in sounds.prompts) and sounds.silent == ""


def test_without_a_voice_all_prompts_are_silent_and_it_is_said(story: Story):
    asked: list[str] = []

    def render(text: str) -> tuple[np.ndarray, int]:
        asked.append(text)
        raise ModelMissing("there is no voice 'x'", remedy="none")

    sounds = collect(story.moments, lambda name: b"", render=render)
    assert len(asked) == 1 and not sounds.prompts and "no voice" in sounds.silent
