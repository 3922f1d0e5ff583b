"""Prompts rendered ahead and made clear: text and settings -> a checked WAV file, filled by a background thread."""

from __future__ import annotations

import contextlib
import hashlib
import itertools
import json
import logging
import os
import queue
import threading
import wave
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt

from assistant.devices.prompt_clarity import clearer
from assistant.devices.pyttsx3_renderer import check_rendering
from assistant.devices.voice_process import ChildFault
from assistant.devices.voice_settings import VoiceSettings
from assistant.errors import AssistantError, SpeakerFailed

_LOG = logging.getLogger(__name__)
_FORMAT = "2"  # a new figure here forgets all files rendered before
_KEPT_FILES = 2000  # about 200 MB of sentences; the oldest go first


class SettledRenderer(Protocol):
    """Turns text into sound, by settings of its own."""

    name: str
    settings: VoiceSettings

    def render(self, text: str, path: Path) -> Path:
        """Write a new WAV file at `path` and return it. Raises SpeakerFailed, ModelMissing."""

    def close(self) -> None:
        """Let go."""


class PromptCache:
    """Gives the WAV file of a prompt, rendered before if possible.

    Any thread may ask. The folder may be shared by several processes: files appear whole, under a name made of text
    and settings.
    """

    def __init__(self, renderer: SettledRenderer, folder: Path) -> None:
        self._renderer = renderer
        self._folder = folder
        self._wanted: queue.Queue[str | None] = queue.Queue()
        self._worker: threading.Thread | None = None
        self._closed = threading.Event()
        self._numbers = itertools.count()
        self._under_way: set[Path] = set()
        self._turn = threading.Condition()
        self._forget_oldest()

    def adjust(self, what: str) -> None:
        """Speak from now on one step "louder", "quieter", "slower" or "faster"."""
        self._renderer.settings = self._renderer.settings.adjusted(what)

    def path_of(self, text: str) -> Path:
        """Where the prompt is or would be."""
        key = json.dumps([_FORMAT, self._renderer.name, asdict(self._renderer.settings), " ".join(text.split())])
        return self._folder / f"{hashlib.sha256(key.encode()).hexdigest()[:32]}.wav"

    def file(self, text: str) -> Path:
        """The prompt's WAV file, from the folder or rendered now. A damaged file is rendered again.

        Raises:
            SpeakerFailed, ModelMissing: as the renderer.
        """
        self.sound(text)
        return self.path_of(text)

    def sound(self, text: str) -> tuple[npt.NDArray[np.int16], int]:
        """The prompt's samples (int16, shape (n,), mono) and their rate in hertz.

        Raises:
            SpeakerFailed, ModelMissing: as the renderer.
        """
        path = self.path_of(text)
        with self._turn:
            self._turn.wait_for(lambda: path not in self._under_way)  # one that was begun ahead is sooner done
        if path.exists():
            try:
                return check_rendering(path, text, self._renderer.settings)
            except ChildFault as fault:
                _LOG.warning("prompt %s is rendered again: %s", path.name, fault)
        self._render(text)
        try:
            return check_rendering(path, text, self._renderer.settings)
        except ChildFault as fault:  # swept away between rendering and reading
            raise SpeakerFailed(
                f"{path}: {fault}", remedy="Check the cache folder and its disk; the session is stored."
            ) from fault

    def prepare(self, texts: Sequence[str]) -> None:
        """Render ahead in the background; never raises, never waits. What fails is tried again when it is needed."""
        if self._closed.is_set():
            return
        for text in texts:
            self._wanted.put(text)
        if self._worker is None:
            self._worker = threading.Thread(target=self._work, daemon=True, name="prompts-ahead")
            self._worker.start()

    def wait(self, seconds: float) -> bool:
        """Wait until all that was asked for ahead is rendered; False when that took longer than `seconds`."""
        waiter = threading.Thread(target=self._wanted.join, daemon=True, name="prompts-done")
        waiter.start()
        waiter.join(seconds)
        return not waiter.is_alive()

    def close(self) -> None:
        """Stop rendering ahead, let go of the renderer. May be called twice."""
        self._closed.set()
        self._wanted.put(None)
        self._renderer.close()

    def _render(self, text: str) -> None:
        """Render, make clear, put in its place whole. If it is under way already: wait for that instead."""
        path = self.path_of(text)
        with self._turn:
            if path in self._under_way:
                self._turn.wait_for(lambda: path not in self._under_way)
                if path.exists():
                    return
            self._under_way.add(path)
            number = next(self._numbers)
        try:
            self._render_to(path, text, path.with_name(f".{path.stem}.{os.getpid()}-{number}.raw.wav"))
        finally:
            with self._turn:
                self._under_way.discard(path)
                self._turn.notify_all()

    def _render_to(self, path: Path, text: str, raw: Path) -> None:
        try:
            self._renderer.render(text, raw)
            samples, rate = check_rendering(raw, text, self._renderer.settings)
            with wave.open(str(raw), "wb") as file:
                file.setnchannels(1)
                file.setsampwidth(2)
                file.setframerate(rate)
                file.writeframes(clearer(samples, rate).astype("<i2").tobytes())
            raw.replace(path)
        except (OSError, ChildFault) as error:
            raise SpeakerFailed(
                f"{path}: {error}", remedy="Check the cache folder and its disk; the session is stored."
            ) from error
        finally:
            with contextlib.suppress(OSError):
                raw.unlink(missing_ok=True)

    def _work(self) -> None:
        while True:
            text = self._wanted.get()
            try:
                if text is None:
                    return
                if not self._closed.is_set() and not self.path_of(text).exists():
                    self._render(text)
            except AssistantError as error:
                _LOG.warning("prompt %r could not be rendered ahead: %s", text, error.message)
            except Exception:  # a fault here must never reach the session
                _LOG.exception("prompt %r could not be rendered ahead", text)
            finally:
                self._wanted.task_done()

    def _forget_oldest(self) -> None:
        with contextlib.suppress(OSError):
            files = sorted(self._folder.glob("*.wav"), key=lambda path: path.stat().st_mtime, reverse=True)
            for path in files[_KEPT_FILES:]:
                path.unlink(missing_ok=True)
