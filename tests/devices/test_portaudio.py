"""Devices by name, and what is said when the sound library is missing."""

from __future__ import annotations

import os
import sys
import threading

import pytest

from assistant.devices import portaudio
from assistant.devices.portaudio import PortAudio
from assistant.errors import DeviceMissing
from tests.devices.fake_sound import FakeLibrary, entry


def test_devices_are_found_by_whole_name_part_and_default():
    audio = PortAudio(FakeLibrary())
    assert audio.device("Lapel microphone", "input").index == 2
    assert audio.device("lapel", "input").name == "Lapel microphone"
    assert audio.device(None, "input").name == "Headset: USB Audio"
    assert audio.device(None, "output").name == "HDMI"
    assert [device.name for device in audio.devices("input")] == ["Headset: USB Audio", "Lapel microphone"]


def test_a_whole_name_wins_over_longer_ones_and_twins_are_one():
    audio = PortAudio(
        FakeLibrary([entry("Mic 2", inputs=1), entry("Mic", inputs=1), entry("Mic", inputs=1, rate=16000)])
    )
    assert audio.device("mic", "input").index == 1


def test_a_name_of_several_is_refused_with_all_of_them():
    with pytest.raises(DeviceMissing, match="several are") as caught:
        PortAudio(FakeLibrary([entry("Mic 1", inputs=1), entry("Mic 2", inputs=1)])).device("Mic", "input")
    assert "'Mic 1', 'Mic 2'" in caught.value.remedy


def test_none_at_all_offers_what_works_without():
    with pytest.raises(DeviceMissing, match="no loudspeaker") as caught:
        PortAudio(FakeLibrary([])).device(None, "output")
    assert "--speak wav:FOLDER" in caught.value.remedy


def test_a_missing_library_is_told_with_the_line_that_installs_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(DeviceMissing) as caught:
        PortAudio()
    assert "libportaudio2" in caught.value.remedy


def test_a_list_that_cannot_be_had_is_told():
    library = FakeLibrary()
    library.query_devices = lambda kind=None: 1 / 0
    with pytest.raises(DeviceMissing, match="cannot be listed"):
        PortAudio(library).devices("input")


def test_closing_survives_streams_that_hang_or_raise(monkeypatch):
    monkeypatch.setattr(portaudio, "CLOSE_SECONDS", 0.05)
    audio = PortAudio(FakeLibrary())
    forever = threading.Event()
    hanging = audio.open_input(audio.device(None, "input"), lambda *_: None, block_s=0.02)
    hanging.abort = forever.wait
    raising = audio.open_input(audio.device(None, "input"), lambda *_: None, block_s=0.02)
    raising.abort = lambda: 1 / 0
    audio.close(hanging)
    audio.close(raising)
    assert raising.closed
    forever.set()


def test_a_restart_of_portaudio_that_hangs_is_given_up(monkeypatch):
    monkeypatch.setattr(portaudio, "CLOSE_SECONDS", 0.05)
    library = FakeLibrary()
    forever = threading.Event()
    library._terminate = forever.wait
    assert not PortAudio(library).refresh()
    forever.set()


def test_what_the_library_prints_while_a_device_is_tried_does_not_reach_the_terminal(capfd):
    library = FakeLibrary(dead=True)
    real = library._stream

    def chatty(options):
        os.write(2, b"Expression 'r' failed in 'src/hostapi/alsa/pa_linux_alsa.c'\n")
        return real(options)

    library._stream = chatty
    audio = PortAudio(library)
    with pytest.raises(DeviceMissing, match="does not open"):
        audio.open_output(audio.device(None, "output"), lambda *_: None, block_s=0.02)
    os.write(2, b"ours\n")
    assert capfd.readouterr().err == "ours\n"
