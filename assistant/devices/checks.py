"""What is there to hear, speak and record with: each part tried, and a remedy for each that is missing."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.portaudio import PortAudio
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer
from assistant.devices.sound_server import Kind
from assistant.devices.voice_activity import SileroActivity
from assistant.devices.voice_settings import VoiceSettings
from assistant.errors import AssistantError, DeviceMissing
from assistant.journal.disk import Disk, check_free_space, write_new_file


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One part.

    Args:
        part: what it is.
        good: it works.
        needed: the hands-free session cannot do without it.
        message: what was found, or what is wrong.
        code, remedy: of what is wrong, or may be; "" where it surely works.
    """

    part: str
    good: bool
    needed: bool
    message: str
    code: str = ""
    remedy: str = ""

    def document(self) -> dict[str, object]:
        """For JSON."""
        return {
            "part": self.part,
            "good": self.good,
            "needed": self.needed,
            "message": self.message,
            "code": self.code,
            "remedy": self.remedy,
        }


def tried(part: str, attempt: Callable[[], str], *, needed: bool) -> Check:
    """Try a part: `attempt` says what it found, or raises one of our errors."""
    try:
        return Check(part=part, good=True, needed=needed, message=attempt())
    except AssistantError as error:
        return Check(part=part, good=False, needed=needed, message=error.message, code=error.code, remedy=error.remedy)


def sound_checks(
    *, microphone: str | None, loudspeaker: str | None, audio: Callable[[], PortAudio] = PortAudio
) -> Iterator[Check]:
    """Microphone and loudspeaker, by name or the system's own choice, each opened for a moment. One that the sound
    server has muted is not there; a microphone that gives nothing but zeros is there with a doubt.
    """
    zeros = _Zeros()
    found = tried("microphone", lambda: _opens(audio(), microphone, "input", zeros.take), needed=True)
    if found.good and zeros.only:
        found = replace(found, code="only-zeros", remedy=ONLY_ZEROS)
    yield found
    yield tried("loudspeaker", lambda: _opens(audio(), loudspeaker, "output", _silence), needed=True)


ONLY_ZEROS = "It gives no sound at all: muted, or a noise gate in quiet. `assistant devices --test` tells which."
FIRST_SOUND_SECONDS = 0.4


def _opens(audio: PortAudio, name: str | None, kind: Kind, callback: Callable[..., None]) -> str:
    device = audio.device(name, kind)
    opener = audio.open_input if kind == "input" else audio.open_output
    stream = opener(device, callback, block_s=0.02)
    place = audio.server.ours(kind)
    if kind == "input":
        time.sleep(FIRST_SOUND_SECONDS)
    audio.close(stream)
    if place is not None and place.muted:
        raise DeviceMissing(f"{place.description} is muted", remedy="Turn it on in the system's sound settings.")
    described = {p.description for p in audio.server.places(kind)}
    others = sorted((described or {d.name for d in audio.devices(kind)}) - {device.name, place and place.description})
    at = f" at {place.description}" if place is not None and place.description != device.name else ""
    return f"{device.name}{at}, {device.rate_hz} Hz" + (f" (also: {', '.join(others)})" if others else "")


class _Zeros:
    """Whether all sound that came was exact zeros, and some came."""

    def __init__(self) -> None:
        self._blocks = 0
        self._sound = False

    @property
    def only(self) -> bool:
        return self._blocks > 0 and not self._sound

    def take(self, indata: npt.NDArray[np.int16], *_rest: object) -> None:
        self._blocks += 1
        self._sound = self._sound or bool(indata.any())


def _silence(outdata: npt.NDArray[np.int16], *_rest: object) -> None:
    outdata.fill(0)


def voice_checks(voice: VoiceSettings) -> Iterator[Check]:
    """One sentence rendered in a child process, and the detector of speech."""
    yield tried("voice", lambda: _renders(voice), needed=True)
    yield tried("voice activity", _detects, needed=True)


def _renders(voice: VoiceSettings) -> str:
    renderer = Pyttsx3Renderer(voice)
    try:
        with tempfile.TemporaryDirectory(prefix="assistant-voice-") as folder:
            renderer.render("Bolt five. One eighty.", Path(folder) / "try.wav")
        english = [name for name in renderer.voices() if "/en" in name]
    finally:
        renderer.close()
    return f"{voice.voice}, {voice.rate_wpm} words a minute (English voices: {', '.join(english)})"


def _detects() -> str:
    SileroActivity()
    return "silero, 32 ms frames"


def record_check(sessions: Path) -> Check:
    """The sessions folder takes a synced write and has room for a shift."""
    return tried("record", lambda: _writes(sessions), needed=True)


def _writes(sessions: Path) -> str:
    from assistant.journal.disk import make_folders, not_writable

    disk = Disk()
    place = sessions / ".try"
    made = not sessions.exists()
    try:
        make_folders(disk, sessions)
        check_free_space(disk, sessions)
        place.unlink(missing_ok=True)
        write_new_file(disk, place, b"try\n")
        place.unlink()
        if made:
            sessions.rmdir()  # a look leaves nothing behind
    except OSError as error:
        raise not_writable(sessions, error) from None
    return f"{sessions.resolve()} takes a synced write"
