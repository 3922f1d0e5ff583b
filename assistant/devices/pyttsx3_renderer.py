"""ports.Renderer by pyttsx3 and eSpeak NG in a child process: one sentence into one new, checked WAV file."""

from __future__ import annotations

import contextlib
import difflib
import itertools
import os
import threading
import wave
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.devices.two_voices import pieces, write_joined
from assistant.devices.voice_process import ChildFault, VoiceProcess
from assistant.devices.voice_settings import LONGEST_TEXT, VoiceSettings, plausible_seconds
from assistant.errors import ModelMissing, SpeakerFailed

_VOICE_REMEDY = "Install the package's own voice again: pip install --force-reinstall espeakng-loader pyttsx3"


class Pyttsx3Renderer:
    """Renders prompts; thread-safe.

    Args:
        settings: voice, rate, volume, pitch.
        process: where the children come from (tests give one whose children misbehave).
    """

    name = "pyttsx3"

    def __init__(self, settings: VoiceSettings | None = None, *, process: VoiceProcess | None = None) -> None:
        self.settings = settings or VoiceSettings()
        self._process = process or VoiceProcess()
        self._process.warm()
        self._numbers = itertools.count()
        self._number_lock = threading.Lock()

    def render(self, text: str, path: Path) -> Path:
        """Write a new WAV file at `path` (16-bit mono 22 050 Hz) and return it; it appears whole or not at all.

        Raises:
            SpeakerFailed: twice without a plausible file (child dead, hung, folder not writable), or nothing to say.
            ModelMissing: the engine has no such voice.
        """
        sentence = " ".join(text.split())
        if not any(character.isalnum() for character in sentence) or len(sentence) > LONGEST_TEXT:
            raise SpeakerFailed(
                f"cannot speak {sentence[:40]!r}: it has {len(sentence)} characters",
                remedy=f"A prompt has words or figures and at most {LONGEST_TEXT} characters.",
            )
        faults: list[str] = []
        for _attempt in (1, 2):
            part = self._part_of(path)
            try:
                return self._render_once(sentence, part, path)
            except ChildFault as fault:
                faults.append(str(fault))
            except OSError as error:
                faults.append(f"{path.name}: {error}")
            finally:
                with contextlib.suppress(OSError):
                    part.unlink(missing_ok=True)
        raise SpeakerFailed(
            f"could not render {sentence[:60]!r} to {path}: " + "; then: ".join(dict.fromkeys(faults)),
            remedy="Check that the folder takes a file and has space, then run 'assistant devices'.",
        )

    def voices(self) -> list[str]:
        """Names of all voices that the engine has, sorted (variants such as +m3 and +f2 go with each).

        Raises:
            ModelMissing: the engine does not start.
        """
        try:
            answer = self._process.ask({"list": True})
        except ChildFault as fault:
            raise ModelMissing(f"the voice engine does not start: {fault}", remedy=_VOICE_REMEDY) from fault
        if not answer["ok"]:
            raise ModelMissing(f"the voice engine does not start: {answer['message']}", remedy=_VOICE_REMEDY)
        return [str(voice) for voice in answer["voices"]]

    def close(self) -> None:
        """End the spare child. May be called twice."""
        self._process.close()

    def _part_of(self, path: Path) -> Path:
        with self._number_lock:
            number = next(self._numbers)
        return path.with_name(f".{path.stem[:40]}.{os.getpid()}-{number}.part.wav")

    def _render_once(self, sentence: str, part: Path, path: Path) -> Path:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.touch()  # an unwritable folder shows here, with the system's own words
        sounds = []
        for text, voice in pieces(sentence, self.settings):
            self._speak(text, voice, part)
            sounds.append(check_rendering(part, text, self.settings))
        if len(sounds) > 1:
            write_joined(part, [samples for samples, _ in sounds], sounds[0][1])
            check_rendering(part, sentence, self.settings)
        part.replace(path)
        return path

    def _speak(self, text: str, voice: str, part: Path) -> None:
        """One text by one voice into the file."""
        answer = self._process.ask(
            {
                "text": text,
                "path": str(part),
                "voice": voice,
                "rate": self.settings.rate_wpm,
                "volume": self.settings.volume,
                "pitch": self.settings.pitch,
            }
        )
        if not answer["ok"]:
            self._raise_fault(answer, voice)

    def _raise_fault(self, answer: dict[str, Any], voice: str) -> None:
        message = str(answer.get("message", ""))
        if answer.get("fault") == "voice":
            near = difflib.get_close_matches(voice, self.voices(), n=3, cutoff=0.3)
            raise ModelMissing(
                f"there is no voice {voice!r}: {message}",
                remedy=f"Choose one that 'assistant devices' lists, for example {', '.join(near) or 'gmw/en-us'}.",
            )
        if "eSpeak" in message or "espeak" in message:
            raise ModelMissing(f"the voice engine does not start: {message}", remedy=_VOICE_REMEDY)
        raise ChildFault(f"the voice engine failed: {message}")


def check_rendering(path: Path, text: str, settings: VoiceSettings) -> tuple[npt.NDArray[np.int16], int]:
    """Samples (int16, shape (n,), mono) and rate in hertz of a rendered file.

    Raises:
        ChildFault: no whole WAV file, not of the expected format, of an implausible duration, or silent.
    """
    try:
        with wave.open(str(path), "rb") as reader:
            rate, frames, form = (
                reader.getframerate(),
                reader.getnframes(),
                (reader.getnchannels(), reader.getsampwidth()),
            )
            data = reader.readframes(frames)
    except (OSError, EOFError, wave.Error) as error:
        raise ChildFault(f"the rendered file is not a WAV file: {error}") from error
    if form != (1, 2) or rate <= 0 or len(data) != 2 * frames:
        raise ChildFault(
            f"the rendered file is not whole 16-bit mono: {form}, {rate} Hz, {len(data)} bytes for {frames} samples"
        )
    seconds = frames / rate
    shortest, longest = plausible_seconds(text, settings.rate_wpm)
    if not shortest <= seconds <= longest:
        raise ChildFault(
            f"the rendered file lasts {seconds:.2f} s where {shortest:.2f} to {longest:.2f} s are plausible"
        )
    samples = np.frombuffer(data, dtype="<i2").astype(np.int16)
    if settings.volume > 0 and not samples.any():
        raise ChildFault("the rendered file is silent")
    return samples, rate
