"""A room made of sound: a sound server of our own with a microphone and a loudspeaker that are not there.

One stereo null sink is the room. Its left channel is the air at the microphone, its right one the air at the
loudspeaker, so that one recording of it holds both on one clock. Nothing of the machine's own sound is touched: the
server has a folder and a socket of its own. It is PulseAudio, or PipeWire behind PulseAudio's protocol, which needs a
message bus of its own but no login session.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import numpy as np
import numpy.typing as npt

RATE_HZ = 48_000
BLOCK = 1536  # frames of the room, 32 ms: what the technician gives at 16 kHz
NEEDED = {
    "pulseaudio": ("pulseaudio", "pactl", "parec", "pacat"),
    "pipewire": ("pipewire", "wireplumber", "pipewire-pulse", "dbus-run-session", "pactl", "parec", "pacat"),
}
PACKAGES = {
    "pulseaudio": "pulseaudio pulseaudio-utils libasound2-plugins",
    "pipewire": "pipewire pipewire-pulse wireplumber dbus pulseaudio-utils libasound2-plugins",
}
PIPEWIRE = "pipewire & sleep 0.5; wireplumber & sleep 0.5; pipewire-pulse & wait"
MODULES = (
    "module-null-sink sink_name=room rate=48000 channels=2 sink_properties=device.description=Room",
    "module-remap-sink sink_name=air master=room channels=1 master_channel_map=front-left channel_map=mono remix=no",
    "module-remap-sink sink_name=speaker master=room channels=1 master_channel_map=front-right channel_map=mono"
    " remix=no",
    "module-remap-source source_name=headset master=room.monitor channels=1 master_channel_map=front-left"
    " channel_map=mono remix=no",
)


def missing(server: str = "pulseaudio") -> str:
    """What a room needs and this machine lacks, with the line that installs it; "" where all is there."""
    lacking = [name for name in NEEDED[server] if shutil.which(name) is None]
    plugin = any(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so"))
    if not lacking and plugin:
        return ""
    what = ", ".join(lacking) or "the ALSA plugin"
    return f"{what} missing: apt-get install {PACKAGES[server]}"


@dataclass
class Room:
    """A running server.

    Args:
        folder: for all its files; the home of whoever is in the room.
        env: the environment in which sound goes to this room, and settings and sessions to this folder.
    """

    folder: Path
    env: dict[str, str]
    server: subprocess.Popen[bytes]

    def pactl(self, *words: str) -> str:
        return subprocess.run(["pactl", *words], env=self.env, check=True, capture_output=True, text=True).stdout

    def settings(self, *lines: str) -> None:
        """Write the assistant's settings file."""
        path = self.folder / "home/.config/bolting-assistant/settings.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("\n".join([f'sessions = "{self.folder}/sessions"', *lines]) + "\n", "utf-8")

    def echo(self, below_db: float) -> None:
        """Let the microphone hear the loudspeaker, so much quieter."""
        number = self.pactl(
            "load-module", "module-loopback", "source=speaker.monitor", "sink=air", "latency_msec=40", "adjust_time=0"
        )
        inputs = self.pactl("list", "sink-inputs").split("Sink Input #")
        mine = next(text for text in inputs if f"Owner Module: {number.strip()}" in text).split()[0]
        self.pactl("set-sink-input-volume", mine, f"{-below_db}dB")

    @contextlib.contextmanager
    def streams(self) -> Iterator[tuple[IO[bytes], IO[bytes]]]:
        """The room as heard (stereo, int16, 48 kHz), and what is said and noisy in it (mono, int16, 16 kHz)."""
        raw = ["--format=s16le", "--raw"]
        ear = subprocess.Popen(
            ["parec", "--device=room.monitor", "--rate=48000", "--channels=2", "--latency-msec=20", *raw],
            env=self.env,
            stdout=subprocess.PIPE,
        )
        mouth = subprocess.Popen(
            ["pacat", "--device=air", "--rate=16000", "--channels=1", "--latency-msec=100", *raw],
            env=self.env,
            stdin=subprocess.PIPE,
        )
        assert ear.stdout is not None and mouth.stdin is not None
        try:
            yield ear.stdout, mouth.stdin
        finally:
            for process in (ear, mouth):
                process.terminate()
                process.wait()

    def close(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.server.pid, signal.SIGTERM)
        self.server.wait()


def open_room(folder: Path, server: str = "pulseaudio") -> Room:
    """Start a server, "pulseaudio" or "pipewire".

    Raises:
        RuntimeError: it did not start; the message tells why.
    """
    if missing(server):
        raise RuntimeError(missing(server))
    home, run = folder / "home", folder / "run"
    for each in (home / ".config/pulse", run, folder / "sessions"):
        each.mkdir(parents=True, exist_ok=True)
    run.chmod(0o700)
    (home / ".asoundrc").write_text("pcm.!default { type pulse }\nctl.!default { type pulse }\n")
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("XDG_", "PULSE_"))}
    socket = run / ("pulse/native" if server == "pipewire" else "native")
    env = kept | {"HOME": str(home), "XDG_RUNTIME_DIR": str(run), "PULSE_SERVER": f"unix:{socket}"}
    log = (folder / "server.log").open("wb")
    command = (
        ["dbus-run-session", "--", "sh", "-c", PIPEWIRE]
        if server == "pipewire"
        else [
            *("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--realtime=no"),
            *("-L", f"module-native-protocol-unix socket={socket} auth-anonymous=1"),
        ]
    )
    room = Room(folder, env, subprocess.Popen(command, env=env, stdout=log, stderr=log, start_new_session=True))
    for _ in range(100):
        if subprocess.run(["pactl", "info"], env=env, capture_output=True).returncode == 0:
            break
        time.sleep(0.05)
    else:
        room.close()
        raise RuntimeError(f"the sound server did not start: {(folder / 'server.log').read_text('utf-8')[-500:]}")
    for module in MODULES:
        room.pactl("load-module", *module.split())
    for kind, name in (("source", "headset"), ("sink", "speaker")):
        for _ in range(100):  # PipeWire makes a device some time after it was asked to
            if name in room.pactl("list", "short", f"{kind}s").split():
                break
            time.sleep(0.05)
        room.pactl(f"set-default-{kind}", name)
    return room


def samples(raw: bytes, channels: int) -> npt.NDArray[np.int16]:
    """Raw sound as an array, shape (n, channels)."""
    return np.frombuffer(raw, "<i2").reshape(-1, channels)
