"""Every kind of device: telephone and studio rates, one channel and many."""

from __future__ import annotations

import subprocess
import threading
import time

import numpy as np
import pytest

from assistant.devices.live_microphone import SoundDeviceMicrophone
from assistant.devices.loudspeaker import LoudSpeaker
from assistant.devices.portaudio import PortAudio
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer
from assistant.ports import Block
from scripts.bench.sound_room import missing, open_room
from tests.devices.fake_sound import FakeLibrary, entry

RATES = [8_000, 11_025, 22_050, 44_100, 48_000, 96_000, 192_000]


@pytest.fixture(scope="module")
def prompts(tmp_path_factory):
    renderer = Pyttsx3Renderer()
    yield PromptCache(renderer, tmp_path_factory.mktemp("prompts"))
    renderer.close()


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("stereo_only", [False, True])
def test_a_microphone_of_any_rate_gives_16_khz_of_the_same_sound(rate_hz, stereo_only):
    library = FakeLibrary([entry("Mic", inputs=2 if stereo_only else 1, rate=float(rate_hz))], stereo_only=stereo_only)
    microphone = SoundDeviceMicrophone(audio=PortAudio(library))
    tone = np.rint(8000 * np.sin(2 * np.pi * 440 * np.arange(rate_hz) / rate_hz)).astype(np.int16)
    size = rate_hz // 50
    for at in range(0, len(tone), size):
        library.streams[0].deliver(tone[at : at + size])
    blocks = []
    while sum(len(b.samples) for b in blocks) < 14_000:
        blocks.append(microphone.read())
    heard = np.concatenate([b.samples for b in blocks if isinstance(b, Block)])
    assert [b.at_sample for b in blocks] == list(np.cumsum([0] + [len(b.samples) for b in blocks[:-1]]))
    spectrum = np.abs(np.fft.rfft(heard[1000:9000]))
    assert np.argmax(spectrum) * 2 == pytest.approx(440, abs=3)
    assert microphone.now_sample() == 16_000
    microphone.close()


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("channels", [1, 2])
def test_a_prompt_is_as_long_on_a_loudspeaker_of_any_rate(rate_hz, channels, prompts):
    library = FakeLibrary([entry("Out", outputs=channels, rate=float(rate_hz))], stereo_only=channels == 2)
    clock = {"s": 0.0}
    speaker = LoudSpeaker(prompts, clock=lambda: 0, audio=PortAudio(library), now=lambda: clock["s"])
    said = []
    voice = threading.Thread(target=lambda: said.append(speaker.say("Bolt five.", 0)))
    voice.start()
    stream, frames, heard = library.streams[0], max(1, rate_hz // 50), []
    while voice.is_alive():
        heard.append(stream.play(frames))
        clock["s"] += frames / rate_hz
        voice.join(0.001)
    samples, rate = prompts.sound("Bolt five.")
    loud = np.flatnonzero(np.abs(np.concatenate(heard)[:, 0].astype(int)) > 30)
    meant = np.flatnonzero(np.abs(samples.astype(int)) > 30)
    assert said[0].whole and (said[0].end_sample - said[0].start_sample) / 16_000 == pytest.approx(
        len(samples) / rate, abs=0.01
    )
    assert (loud[-1] - loud[0]) / rate_hz == pytest.approx((meant[-1] - meant[0]) / rate, abs=0.02)
    speaker.close()


@pytest.mark.skipif(bool(missing()), reason=missing())
def test_by_a_real_server_a_telephone_and_a_studio_loudspeaker_play_by_name(tmp_path, monkeypatch, prompts):
    room = open_room(tmp_path)
    for name in ("HOME", "XDG_RUNTIME_DIR", "PULSE_SERVER"):
        monkeypatch.setenv(name, room.env[name])
    began = time.monotonic()
    try:
        audio = PortAudio()
        assert audio.refresh(), "whatever loaded the library before this server ran had its list of devices frozen"
        for name, rate, channels in (("phone", 8000, 1), ("studio", 96_000, 2)):
            room.pactl("load-module", "module-null-sink", f"sink_name={name}", f"rate={rate}", f"channels={channels}")
            clock = lambda: int(16_000 * (time.monotonic() - began))  # noqa: E731
            speaker = LoudSpeaker(prompts, clock=clock, device=name, audio=audio)
            assert audio.server.ours("output").name == name
            assert not speaker.say("Bolt five.", 0).cut_short
            speaker.close()
    finally:
        room.close()


@pytest.mark.skipif(bool(missing()), reason=missing())
def test_by_a_real_server_a_telephone_and_a_studio_microphone_are_heard_by_name(tmp_path, monkeypatch):
    """A tone of 440 Hz lies in a room of its own for each; the server's rate is the microphone's."""
    room = open_room(tmp_path)
    for name in ("HOME", "XDG_RUNTIME_DIR", "PULSE_SERVER"):
        monkeypatch.setenv(name, room.env[name])
    tone = np.rint(8000 * np.sin(2 * np.pi * 440 * np.arange(16_000) / 16_000)).astype("<i2")
    (tmp_path / "tone").write_bytes(np.tile(tone, 20).tobytes())
    try:
        audio = PortAudio()
        assert audio.refresh(), "whatever loaded the library before this server ran had its list of devices frozen"
        for name, rate, channels in (("phone", 8000, 1), ("studio", 96_000, 2)):
            room.pactl(
                "load-module", "module-null-sink", f"sink_name={name}-air", f"rate={rate}", f"channels={channels}"
            )
            room.pactl("load-module", "module-remap-source", f"source_name={name}", f"master={name}-air.monitor")
            raw = ["--raw", "--format=s16le", "--rate=16000", "--channels=1", f"--device={name}-air"]
            with subprocess.Popen(["pacat", *raw, "--latency-msec=50", str(tmp_path / "tone")], env=room.env) as mouth:
                microphone = SoundDeviceMicrophone(device=name, audio=audio)
                assert audio.server.ours("input").name == name
                assert tone_heard(microphone)
                microphone.close()
                mouth.kill()
    finally:
        room.close()


def tone_heard(microphone) -> bool:
    """Whether half a second of 440 Hz comes within 5 s."""
    heard = np.zeros(0)
    for _ in range(250):
        piece = microphone.read()
        heard = np.concatenate([heard, piece.samples.astype(float)]) if isinstance(piece, Block) else heard
        spectrum = np.abs(np.fft.rfft(heard[-8000:] * np.hanning(len(heard[-8000:])), 16_000))
        if len(heard) >= 8000 and spectrum[430:450].max() > 0.5 * spectrum.sum() / 3:
            return abs(int(spectrum.argmax()) - 440) <= 3
    return False
