"""ports.Microphone without a microphone: a sound file, or typed lines."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TextIO

from assistant.devices.audio_file import RATE_HZ, Recording, read_audio
from assistant.errors import BadSettings
from assistant.ports import Block, Typed

BLOCK_SAMPLES = 320  # 20 ms
LINE_SAMPLES = RATE_HZ  # a typed line counts as a second, so that time moves on, always the same


class WavMicrophone:
    """Plays a sound file into the house as if it were spoken.

    Args:
        path: any file that `read_audio` reads.
        pace: "fast" gives blocks as they are asked for, "real" no sooner than they would sound.
        now, sleep: the clock that "real" goes by.

    Raises:
        BadAudio: the file cannot be read.
        BadSettings: another pace.
    """

    name = "wav"

    def __init__(
        self,
        path: Path,
        *,
        pace: str = "fast",
        now: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        if pace not in ("fast", "real"):
            raise BadSettings(f"pace is {pace!r}", remedy="Choose fast or real.")
        self.recording: Recording = read_audio(path)
        self._real = pace == "real"
        self._now = now
        self._sleep = sleep
        self._started: float | None = None
        self._at = 0
        self._closed = False

    def read(self) -> Block | None:
        """Next 20 ms (the last block may be shorter); None at the end of the file."""
        samples = self.recording.samples[self._at : self._at + BLOCK_SAMPLES]
        if self._closed or not len(samples):
            return None
        if self._real:
            if self._started is None:
                self._started = self._now()
            wait = self._started + (self._at + len(samples)) / RATE_HZ - self._now()
            if wait > 0:
                self._sleep(wait)
        block = Block(samples, self._at)
        self._at += len(samples)
        return block

    def now_sample(self) -> int:
        """The clock: samples given so far."""
        return self._at

    def close(self) -> None:
        """Stop. May be called twice."""
        self._closed = True


class TypedMicrophone:
    """Gives typed lines in place of utterances; empty lines are passed over.

    Args:
        stream: where lines come from, standard input or a file.
    """

    name = "typed"

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._at = 0
        self._closed = False

    def read(self) -> Typed | None:
        """Next line, waiting for it; None at the end of the stream."""
        while not self._closed:
            line = self._stream.readline()
            if not line:
                return None
            text = " ".join(line.split())
            if text:
                typed = Typed(text, self._at)
                self._at += LINE_SAMPLES
                return typed
        return None

    def now_sample(self) -> int:
        """The clock: a second for each line given so far."""
        return self._at

    def close(self) -> None:
        """Stop. May be called twice."""
        self._closed = True
