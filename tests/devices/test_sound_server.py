"""Devices of a sound server by name, and streams that it moves: with a made server, and with a real one where it is."""

from __future__ import annotations

import os
from types import SimpleNamespace

import pytest

from assistant.devices.portaudio import PortAudio
from assistant.devices.sound_server import News, Place, SoundServer, StreamWatch, opening_at
from assistant.errors import DeviceMissing
from scripts.bench.sound_room import missing, open_room
from tests.devices.fake_sound import FakeLibrary, entry


class FakeServer:
    """A PulseAudio connection: sources, sinks, and our streams at one of each."""

    def __init__(self):
        self.here = True
        self.source_list_ = [self.made(0, "speaker.monitor", "Monitor of Speaker"), self.made(1, "usb", "USB headset")]
        self.source_list_.append(self.made(2, "lap", "Laptop microphone", mute=1))
        self.sinks = [self.made(5, "hdmi", "Screen"), self.made(6, "usb-out", "USB headset")]
        self.at = {"source": 1, "sink": 6}

    def made(self, index, name, description, *, mute=0, volume=1.0):
        volume = SimpleNamespace(values=[volume])
        return SimpleNamespace(index=index, name=name, description=description, mute=mute, volume=volume)

    def __call__(self):
        if not self.here:
            raise OSError("connection refused")
        return self

    def close(self):
        pass

    def source_list(self):
        return self.source_list_

    def sink_list(self):
        return self.sinks

    def server_info(self):
        return SimpleNamespace(default_source_name="lap", default_sink_name="hdmi")

    def _stream(self, **at):
        other = SimpleNamespace(index=1, proplist={"application.process.id": "1"}, source=0, sink=5)
        return [SimpleNamespace(index=9, proplist={"application.process.id": "77"}, **at), other]

    def source_output_list(self):
        return self._stream(source=self.at["source"])

    def sink_input_list(self):
        return self._stream(sink=self.at["sink"])

    def source_output_move(self, index, to):
        assert index == 9
        self.at["source"] = to

    def sink_input_move(self, index, to):
        assert index == 9
        self.at["sink"] = to


@pytest.fixture
def fake():
    return FakeServer()


@pytest.fixture
def server(fake):
    return SoundServer(fake, process=77)


def library():
    return FakeLibrary([entry("USB Audio: - (hw:1,0)", inputs=1, outputs=2), entry("pulse", inputs=32, outputs=32)])


def test_what_listens_to_a_loudspeaker_is_no_microphone_and_a_muted_one_is_told(server):
    assert [p.name for p in server.places("input")] == ["usb", "lap"]
    assert server.usual("input") == Place("lap", "Laptop microphone", muted=True)
    assert server.ours("output") == Place("usb-out", "USB headset")


def test_without_a_server_nothing_is_known_and_nothing_raises(fake, server):
    fake.here = False
    assert server.places("input") == [] and server.usual("output") is None and server.ours("input") is None
    server.move("input", "usb")


@pytest.mark.parametrize("name", ["usb", "USB headset", "usb head"])
def test_a_device_of_the_server_is_found_by_its_name_or_description_behind_portaudios_door(server, name):
    device = PortAudio(library(), server).device(name, "input")
    assert (device.index, device.name, device.place) == (1, "USB headset", "usb")


def test_portaudios_own_names_still_count_and_an_unknown_one_lists_all(server):
    audio = PortAudio(library(), server)
    assert audio.device("pulse", "input").place == ""
    assert audio.device("hw:1", "input").index == 0
    with pytest.raises(DeviceMissing) as refused:
        audio.device("Bluetooth", "input")
    for name in ("'USB headset'", "'Laptop microphone'", "'pulse'"):
        assert name in refused.value.remedy


def test_two_of_the_same_description_are_refused_by_the_servers_own_names(fake, server):
    fake.source_list_.append(fake.made(3, "usb-2", "USB headset"))
    with pytest.raises(DeviceMissing) as refused:
        PortAudio(library(), server).device("USB headset", "input")
    assert "several" in refused.value.message and "'usb', 'usb-2'" in refused.value.remedy


def test_the_place_is_told_to_the_server_while_the_stream_opens_and_only_then(server):
    made = library()
    seen = []
    made.opened = lambda _stream: seen.append((os.environ.get("PULSE_SOURCE"), os.environ.get("PULSE_SINK")))
    audio = PortAudio(made, server)
    audio.open_input(audio.device("usb", "input"), lambda *_: None, block_s=0.02)
    audio.open_output(audio.device("usb-out", "output"), lambda *_: None, block_s=0.02)
    audio.open_input(audio.device(None, "input"), lambda *_: None, block_s=0.02)
    assert seen == [("usb", None), (None, "usb-out"), (None, None)]
    os.environ["PULSE_SINK"] = "mine"
    with opening_at("output", "other"):
        assert os.environ["PULSE_SINK"] == "other"
    assert os.environ.pop("PULSE_SINK") == "mine"


def test_a_stream_that_the_server_moves_is_told_once(fake, server):
    watch = StreamWatch(server, {})
    watch.look()
    fake.at["source"] = 2
    watch.look()
    watch.look()
    (news,) = watch.news()
    assert news == News("input", Place("lap", "Laptop microphone", muted=True), back=False)
    assert news.what == "microphone-moved" and not list(watch.news())


def test_one_that_was_named_is_moved_back_as_soon_as_its_place_is_there_again(fake, server):
    watch = StreamWatch(server, {"output": "usb-out"})
    watch.look()
    unplugged = fake.sinks.pop()
    fake.at["sink"] = 5
    watch.look()
    fake.here = False
    watch.look()
    fake.here = True
    fake.sinks.append(unplugged)
    watch.look()
    assert [n.what for n in watch.news()] == ["loudspeaker-moved", "loudspeaker-back"] and fake.at["sink"] == 6


@pytest.mark.skipif(bool(missing()), reason=missing())
def test_a_real_server_lists_its_devices_and_its_muted_one(tmp_path, monkeypatch):
    room = open_room(tmp_path)
    monkeypatch.setenv("PULSE_SERVER", room.env["PULSE_SERVER"])
    try:
        room.pactl("set-source-mute", "headset", "1")
        server = SoundServer()
        assert [(p.name, p.muted) for p in server.places("input")] == [("headset", True)]
        assert {p.name for p in server.places("output")} == {"room", "air", "speaker"}
        assert server.usual("output").name == "speaker" and server.ours("input") is None
    finally:
        room.close()
    assert server.places("input") == []
