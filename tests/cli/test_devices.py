"""`devices`: every part tried, a remedy for each that is missing, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from assistant.cli import start
from assistant.cli.devices import everything_tried
from assistant.cli.main import main
from assistant.config.settings import Settings, read_settings
from assistant.devices.checks import record_check, sound_checks, tried
from assistant.devices.sound_server import Place
from assistant.errors import BadSettings, DeviceMissing, ModelMissing


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    monkeypatch.chdir(tmp_path)


class FakeAudio:
    """Stands for the door to PortAudio: one microphone, no loudspeaker."""

    class Device:
        name, rate_hz = "headset", 48_000

    def device(self, name, kind):
        if kind == "output" or name not in (None, "headset"):
            raise DeviceMissing("there is no loudspeaker", remedy="plug one in")
        return self.Device()

    def devices(self, kind):
        return [self.Device()]

    class server:
        ours = staticmethod(lambda kind: None)
        places = staticmethod(lambda kind: [])

    def open_input(self, device, callback, *, block_s):
        callback(np.ones((320, 1), np.int16), 320, None, None)
        return object()

    def close(self, stream):
        pass


def test_each_device_is_opened_and_each_missing_one_has_a_remedy():
    microphone, loudspeaker = sound_checks(microphone=None, loudspeaker=None, audio=FakeAudio)  # type: ignore[arg-type]
    assert microphone.good and "48000 Hz" in microphone.message
    assert not loudspeaker.good and loudspeaker.code == "device-missing" and loudspeaker.remedy


def test_a_microphone_of_nothing_but_zeros_is_a_doubt_and_a_muted_one_is_not_there():
    class Zeros(FakeAudio):
        def open_input(self, device, callback, *, block_s):
            callback(np.zeros((320, 1), np.int16), 320, None, None)

    class Muted(FakeAudio):
        class server(FakeAudio.server):
            ours = staticmethod(lambda kind: Place("alsa_input.usb", "Headset", muted=True))

    zeros, _ = sound_checks(microphone=None, loudspeaker=None, audio=Zeros)  # type: ignore[arg-type]
    assert zeros.good and zeros.code == "only-zeros" and "muted" in zeros.remedy
    muted, _ = sound_checks(microphone=None, loudspeaker=None, audio=Muted)  # type: ignore[arg-type]
    assert not muted.good and "Headset is muted" in muted.message


def test_without_models_it_says_so_and_exits_3(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("ASSISTANT_MODELS", str(tmp_path / "nothing"))
    assert main(["devices", "--json"]) == 3
    told = {check["part"]: check for check in json.loads(capsys.readouterr().out)}
    assert not told["listening"]["good"] and told["listening"]["code"] == "model-missing"
    assert told["listener vosk"]["remedy"] and told["listener constrained"]["remedy"]
    assert told["voice"]["good"] and told["voice activity"]["good"]


def test_with_one_listener_it_says_that_more_will_be_asked(tmp_path):
    checks = {c.part: c for c in everything_tried(Settings(vosk_model=tmp_path))}
    assert checks["listening"].good and "more will be asked" in checks["listening"].message
    assert not checks["listener vosk"].good and not checks["listener vosk"].needed


def test_a_sessions_folder_that_takes_no_write_is_said(tmp_path):
    (tmp_path / "file").write_text("")
    check = record_check(tmp_path / "file" / "sessions")
    assert not check.good and check.code == "record-not-writable"


def test_a_look_leaves_no_folder_behind(tmp_path):
    assert record_check(tmp_path / "sessions").good and not (tmp_path / "sessions").exists()
    (tmp_path / "sessions").mkdir()
    assert record_check(tmp_path / "sessions").good and (tmp_path / "sessions").exists()


def test_start_opens_the_devices_before_it_says_that_they_are_there(monkeypatch):
    class Busy(FakeAudio):
        def device(self, name, kind):
            return self.Device()

        def open_output(self, device, callback, *, block_s):
            raise DeviceMissing("'headset' does not open at 48000 Hz: in use", remedy="close the other program")

    monkeypatch.setattr(
        start,
        "sound_checks",
        lambda **names: sound_checks(**names, audio=Busy),  # type: ignore[arg-type]
    )
    assert "does not open" in str(start.missing_hardware())


def test_only_our_own_errors_are_findings():
    def attempt() -> str:
        raise ModelMissing("no weights", remedy="restore them")

    assert tried("x", attempt, needed=True).code == "model-missing"
    with pytest.raises(ZeroDivisionError):
        tried("x", lambda: str(1 / 0), needed=True)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("volume = 2.0", "volume"),
        ("colour = 'red'", "colour"),
        ("rate_wpm = 'fast'", "rate_wpm"),
        ("headset = ", "not TOML"),
    ],
)
def test_settings_that_are_not_understood_are_named(tmp_path, text, told):
    file = tmp_path / "settings.toml"
    file.write_text(text)
    with pytest.raises(BadSettings) as refused:
        read_settings(file)
    assert told in refused.value.message and str(file) in refused.value.message and refused.value.remedy


def test_settings_may_be_left_out(tmp_path):
    assert read_settings() == Settings()
    file = tmp_path / "settings.toml"
    file.write_text("headset = true\nvoice = 'en-gb'\n")
    assert read_settings(file).headset
