"""What is there to hear, speak and record with: each part tried, and a remedy for each that is missing."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from assistant.devices.portaudio import PortAudio
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer
from assistant.devices.voice_activity import SileroActivity
from assistant.devices.voice_settings import VoiceSettings
from assistant.errors import AssistantError
from assistant.journal.disk import Disk, check_free_space, write_new_file


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One part.

    Args:
        part: what it is.
        good: it works.
        needed: the hands-free session cannot do without it.
        message: what was found, or what is wrong.
        code, remedy: of what is wrong; "" where it works.
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
    """Microphone and loudspeaker, by name or the system's own choice, each opened for a moment."""
    yield tried("microphone", lambda: _opens(audio(), microphone, "input"), needed=True)
    yield tried("loudspeaker", lambda: _opens(audio(), loudspeaker, "output"), needed=True)


def _opens(audio: PortAudio, name: str | None, kind: str) -> str:
    device = audio.device(name, kind)
    opener = audio.open_input if kind == "input" else audio.open_output
    audio.close(opener(device, _nothing, block_s=0.02))
    others = sorted({d.name for d in audio.devices(kind)} - {device.name})
    return f"{device.name}, {device.rate_hz} Hz" + (f" (also: {', '.join(others)})" if others else "")


def _nothing(*_arguments: object) -> None:
    """Takes a block and does nothing with it."""


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
