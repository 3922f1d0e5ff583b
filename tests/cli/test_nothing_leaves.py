"""Nothing leaves the machine, seen from below Python: what the process asks of the kernel.

pytest-socket sees Python's sockets only; the engines are C and C++ and open their own. Here whole commands run under
strace. Allowed: sockets within the machine, files in the folders that README names, and the temporary folder as long as
nothing stays there.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.cli.test_guide import DEMO, LINES, ROOT

STRACE = shutil.which("strace")
TRACED = (
    "trace=%network,open,openat,openat2,creat,mkdir,mkdirat,mknod,mknodat,rename,renameat,renameat2,link,linkat,symlink,"
    "symlinkat,truncate"
)
INSIDE = re.compile(r"AF_UNIX|\bAF_INET6?\b.*(127\.\d+\.\d+\.\d+|\"::1\")")
"""Addresses within the machine."""
LOOK_UP = re.compile(r'"(/etc/(resolv\.conf|hosts)|/(var/)?run/(nscd/socket|systemd/resolve/.*|avahi-daemon/socket))"')
"""What the C library touches to turn a name into an address."""
WRITES = re.compile(r"^(mkdir|mknod|rename|link|symlink|truncate|creat)|O_WRONLY|O_RDWR|O_CREAT|O_TRUNC")
PATH = re.compile(r'(?:<(?P<at>[^>"]*)>, )?"(?P<name>(?:[^"\\]|\\.)*)"')

pytestmark = pytest.mark.skipif(STRACE is None, reason="strace is not installed: apt-get install strace")


@dataclass(frozen=True)
class Place:
    """A machine of our own, as far as the folders go."""

    root: Path

    @property
    def own(self) -> tuple[Path, ...]:
        home = self.root / "home"
        folders = (home / ".cache/bolting-assistant", home / ".local/share/bolting-assistant")
        return (*folders, self.root / "sessions", self.root / "prompts", self.root / "tmp", Path("/dev/null"))

    def allows(self, path: Path) -> bool:
        return any(path == own or own in path.parents or path in own.parents for own in self.own)


@pytest.fixture
def place(tmp_path: Path) -> Place:
    for name in ("home", "tmp", "trace"):
        (tmp_path / name).mkdir()
    return Place(tmp_path)


def calls(place: Place, *command: str, typed: str = "") -> Iterator[str]:
    """Run a command under strace; the system calls of all its processes and threads that did not fail."""
    assert STRACE is not None
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("XDG_", "ORT_", "PULSE_", "PYTEST_"))}
    mine = {"HOME": str(place.root / "home"), "TMPDIR": str(place.root / "tmp"), "PYTHONDONTWRITEBYTECODE": "1"}
    strace = [STRACE, "-ff", "--seccomp-bpf", "-qq", "-y", "-s", "4096", "-e", TRACED, "-o", f"{place.root}/trace/t"]
    done = subprocess.run(
        [*strace, *command], cwd=ROOT, env=kept | mine, input=typed, text=True, capture_output=True, timeout=500
    )
    if "PTRACE" in done.stderr or "ptrace" in done.stderr:
        pytest.skip(f"strace may not trace here: {done.stderr[:200]}")
    assert done.returncode in (0, 1), done.stderr
    for trace in sorted((place.root / "trace").iterdir()):
        yield from (line for line in trace.read_text("utf-8", "replace").splitlines() if " = -1 " not in line)


def faults(place: Place, traced: Iterator[str]) -> list[str]:
    """Calls that reach out of the machine or write outside our own folders."""
    found, seen = [], 0
    for call in traced:
        seen += 1
        name = call.partition("(")[0]
        if name in ("connect", "sendto", "sendmsg", "sendmmsg", "bind"):
            outside = re.search(r"sa_family=|<(TCP|UDP|RAW|NETLINK)", call) and not INSIDE.search(call)
            found += [call] if outside else []
        elif name == "socket":
            found += [] if re.search(r"AF_UNIX|AF_INET6?, SOCK_STREAM", call) else [call]
        elif LOOK_UP.search(call):
            found.append(call)
        elif WRITES.search(call):
            paths = [Path(m["at"] or "") / m["name"] for m in PATH.finditer(call)]
            target = paths[-1] if name.startswith(("rename", "link", "symlink")) else paths[0]
            found += [] if place.allows(ROOT / target) else [call]
    assert seen > 50, "nothing was traced"
    return found


def left_behind(place: Place) -> list[str]:
    return sorted(str(p.relative_to(place.root)) for p in (place.root / "tmp").rglob("*"))


def assistant(*arguments: str) -> tuple[str, ...]:
    return (sys.executable, "-m", "assistant", *arguments)


def test_hearing_a_recording(place):
    sounds = [str(ROOT / "tests/audio" / name) for name in ("stop.flac", "ninety-five.flac")]
    assert faults(place, calls(place, *assistant("hear", *sounds))) == []
    assert left_behind(place) == []


def test_a_typed_session_with_prompts_aloud(place):
    options = ["--listen", "typed", "--speak", f"wav:{place.root}/prompts", "--sessions", str(place.root / "sessions")]
    traced = calls(place, *assistant("guide", str(DEMO), *options), typed="\n".join(LINES[:6]) + "\n")
    assert faults(place, traced) == []
    assert left_behind(place) == []
    assert len(list((place.root / "prompts").glob("*.wav"))) > 3, "the voice was not traced"


def test_a_rehearsal_by_voice(place, one_day_joint):
    options = ["--fast", "--snr", "20", "--slips", "none", "--sessions", str(place.root / "sessions")]
    assert faults(place, calls(place, *assistant("rehearse", str(one_day_joint), *options))) == []
    assert left_behind(place) == []


SOUND_SERVER = re.compile(r'/dev/shm/(jack|pulse)|/\.config(/pulse|")')
"""Shared memory and the cookie of the sound servers, which their client libraries touch."""


def test_looking_for_devices(place):
    """No server runs here: one that the library starts would bring files of its own."""
    program = "from assistant.devices.portaudio import PortAudio as P; P().devices('input')"
    traced = calls(place, "/usr/bin/env", f"PULSE_SERVER=unix:{place.root}/none", sys.executable, "-c", program)
    assert [call for call in faults(place, traced) if not SOUND_SERVER.search(call)] == []


def test_what_reaches_out_is_found(place):
    """A datagram, a name looked up, a file beside our folders."""
    program = (
        "import contextlib, os, pathlib, socket\n"
        "socket.socket(socket.AF_INET, socket.SOCK_DGRAM).connect(('192.0.2.1', 9))\n"
        "with contextlib.suppress(OSError): socket.getaddrinfo('north-sluice.invalid', 443)\n"
        "pathlib.Path(os.environ['HOME'], '.cache', 'else').mkdir(parents=True)"
    )
    found = "\n".join(faults(place, calls(place, sys.executable, "-c", program)))
    assert "192.0.2.1" in found and "/etc/" in found and "/.cache/else" in found


def test_every_script_keeps_the_telemetry_off():
    told = subprocess.run(
        [sys.executable, "-c", "import os, scripts; print(os.environ['ORT_DISABLE_TELEMETRY'])"],
        cwd=ROOT,
        env={**os.environ, "ORT_DISABLE_TELEMETRY": "0"},
        text=True,
        capture_output=True,
    )
    assert told.stdout == "1\n"
