"""Prompts rendered ahead: once each, checked when used, never in the session's way."""

from __future__ import annotations

import threading
import wave
from dataclasses import replace

import numpy as np
import pytest

from assistant.devices import prompt_cache
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.voice_settings import VoiceSettings
from assistant.errors import SpeakerFailed


class CountingRenderer:
    """Writes half a second of tone; counts."""

    name = "counting"

    def __init__(self, settings=None):
        self.settings = settings or VoiceSettings()
        self.rendered: list[str] = []
        self.closed = 0
        self.may_go = threading.Event()
        self.may_go.set()

    def render(self, text, path):
        self.may_go.wait(10)
        self.rendered.append(text)
        if text == "broken":
            raise SpeakerFailed("broken", remedy="none")
        if text == "bug":
            raise ZeroDivisionError
        path.parent.mkdir(parents=True, exist_ok=True)
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(22_050)
            file.writeframes(np.full(11_025, 1000, np.int16).tobytes())
        return path

    def close(self):
        self.closed += 1


@pytest.fixture
def renderer():
    return CountingRenderer()


@pytest.fixture
def cache(renderer, tmp_path):
    cache = PromptCache(renderer, tmp_path / "prompts")
    yield cache
    renderer.may_go.set()
    cache.close()


def test_a_prompt_is_rendered_once(cache, renderer):
    samples, rate = cache.sound("bolt five")
    assert (len(samples), rate, samples.dtype) == (11_025, 22_050, np.int16)
    cache.sound("bolt  five ")
    assert cache.file("bolt five").exists()
    assert renderer.rendered == ["bolt five"]


def test_what_was_prepared_is_there_when_wanted(cache, renderer):
    cache.prepare(["bolt five", "bolt nine"])
    assert cache.wait(10)
    assert renderer.rendered == ["bolt five", "bolt nine"]
    cache.sound("bolt nine")
    cache.prepare(["bolt five", "bolt nine"])
    assert cache.wait(10)
    assert renderer.rendered == ["bolt five", "bolt nine"]


def test_a_prompt_that_is_wanted_while_it_is_rendered_ahead_is_not_rendered_twice(cache, renderer):
    renderer.may_go.clear()
    cache.prepare(["bolt five"])
    got: list[int] = []
    speaker = threading.Thread(target=lambda: got.append(len(cache.sound("bolt five")[0])))
    speaker.start()
    renderer.may_go.set()
    speaker.join(10)
    assert got == [11_025] and cache.wait(10)
    assert renderer.rendered == ["bolt five"]


def test_one_that_fails_ahead_does_not_block_the_one_who_wants_it(cache, renderer):
    renderer.may_go.clear()
    cache.prepare(["broken"])
    failed: list[type] = []

    def speak():
        try:
            cache.sound("broken")
        except SpeakerFailed:
            failed.append(SpeakerFailed)

    speaker = threading.Thread(target=speak)
    speaker.start()
    renderer.may_go.set()
    speaker.join(10)
    assert failed == [SpeakerFailed]


def test_preparing_never_waits_and_never_raises(cache, renderer):
    renderer.may_go.clear()
    cache.prepare(["broken", "bug", "bolt five"])
    assert not cache.wait(0.05) and renderer.rendered == []
    renderer.may_go.set()
    assert cache.wait(10)
    assert renderer.rendered == ["broken", "bug", "bolt five"]
    with pytest.raises(SpeakerFailed):
        cache.sound("broken")


@pytest.mark.parametrize("damage", [b"", b"RIFF", b"not sound at all" * 10])
def test_a_damaged_file_is_rendered_again(cache, renderer, damage):
    cache.file("bolt five").write_bytes(damage)
    assert len(cache.sound("bolt five")[0]) == 11_025
    assert len(renderer.rendered) == 2


def test_other_settings_are_other_files(cache, tmp_path):
    slower = PromptCache(CountingRenderer(replace(VoiceSettings(), rate_wpm=120)), tmp_path / "prompts")
    assert slower.path_of("bolt five") != cache.path_of("bolt five")
    assert cache.path_of("bolt five") != cache.path_of("bolt nine")
    slower.close()


def test_the_oldest_are_forgotten(renderer, tmp_path, monkeypatch):
    monkeypatch.setattr(prompt_cache, "_KEPT_FILES", 3)
    cache = PromptCache(renderer, tmp_path)
    for number in range(5):
        cache.file(f"bolt {number}")
    cache.close()
    PromptCache(renderer, tmp_path).close()
    assert len(list(tmp_path.glob("*.wav"))) == 3


def test_closing_twice_and_preparing_afterwards_do_nothing(cache, renderer):
    cache.close()
    cache.close()
    cache.prepare(["bolt five"])
    assert renderer.rendered == []
