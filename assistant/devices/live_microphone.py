"""ports.Microphone through sounddevice: the device's own rate in, counted 16 kHz blocks out, every loss told."""

from __future__ import annotations

import contextlib
import queue
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.devices.portaudio import Device, PortAudio
from assistant.devices.resampling import Resampler
from assistant.devices.sound_server import CALLED, Kind, StreamWatch
from assistant.errors import DeviceMissing
from assistant.ports import Block, Lost, Notice

RATE_HZ = 16_000
BLOCK_SECONDS = 0.02
QUEUE_BLOCKS = 3000  # a minute; what is under a prompt is read and thrown away, so only a stalled machine fills it
STOPPED_SECONDS = 1.0  # no block for fifty block lengths: pulled or dead, PortAudio does not say so
FIRST_BLOCK = 3.0  # times as long for the first block after opening
LONGEST_WAIT_SECONDS = 10.0  # between two attempts to open a lost microphone
SILENT_SECONDS = 3.0  # all-zero samples for so long: muted or dead; a live converter always has some noise
GATED_SECONDS = 120.0  # the same for one whose zeros have ended by themselves: a headset with a noise gate
GATE_LEAST_SECONDS = 0.3  # zeros between sound, from so long up to SILENT_SECONDS: that is a gate
REFRESH_SECONDS = 5.0
REOPENS_BEFORE_REFRESH = 3  # then the device list is read anew, which closes the loudspeaker too for a moment

STOPPED = "microphone stopped"
REOPENED = "sound system started anew"
SILENT = "microphone silent"
OVERRUN = "overrun"


@dataclass(frozen=True, slots=True)
class _Chunk:
    """What the callback copied: samples int16 (n, channels), and device frames that were lost before it."""

    samples: npt.NDArray[np.int16]
    lost: int


class _Feed:
    """One opening of the device, filled from PortAudio's thread. A later opening has its own: nothing stale mixes in.

    Args:
        rate_hz: of the device.
    """

    def __init__(self, rate_hz: int) -> None:
        self.chunks: queue.Queue[_Chunk] = queue.Queue(maxsize=QUEUE_BLOCKS)
        self.frames = 0  # that passed since the opening, heard or lost: the one clock
        self._rate_hz = rate_hz
        self._dropped = 0
        self._expected_adc = 0.0

    def arrived(self, indata: npt.NDArray[np.int16], frames: int, time_info: Any, status: Any) -> None:
        """PortAudio's callback: copy, queue, count; lets no exception out."""
        lost = self._dropped
        if status and getattr(status, "input_overflow", False):
            skipped = self._skipped(time_info)
            lost += skipped
            self.frames += skipped
        self.frames += frames
        try:
            self.chunks.put_nowait(_Chunk(indata.copy(), lost))
            self._dropped = 0
        except Exception:  # queue.Full, or a fault that would leave through C; the next block tells of it
            self._dropped = lost + frames
        self._expected_adc = _adc_time(time_info) + frames / self._rate_hz

    def _skipped(self, time_info: Any) -> int:
        """Device frames that an overflow swallowed, by the converter's own clock; at least one: something is gone."""
        adc = _adc_time(time_info)
        if adc <= 0 or self._expected_adc <= 0:
            return 1
        return max(1, round((adc - self._expected_adc) * self._rate_hz))


class SoundDeviceMicrophone:
    """Records from a microphone known by name.

    `read` answers `Lost` for sound that never came: "overrun" (device or queue too full), "microphone stopped" (no
    block for a second; it is then opened anew, by name, until it comes back, at growing intervals), "sound system
    started anew" (the same, because the loudspeaker was looked for). `Lost("microphone silent", ..., 0)` is a notice,
    once a spell: blocks go on coming but hold nothing but zeros, and no noise gate has been seen to do that.

    Args:
        device: name of the microphone; None is the system's own choice.
        audio: the door to PortAudio.
        now: wall clock in seconds, for the watchdog only.
        stopped_s: how long without a block is too long.

    Raises:
        DeviceMissing: no such microphone, or it does not open at its own rate.
    """

    def __init__(
        self,
        *,
        device: str | None = None,
        audio: PortAudio | None = None,
        now: Callable[[], float] = time.monotonic,
        stopped_s: float = STOPPED_SECONDS,
    ) -> None:
        self._audio = audio or PortAudio()
        self._wanted = device
        self._watch: StreamWatch | None = None
        self._now = now
        self._stopped_s = stopped_s
        self._at = 0
        self._closed = False
        self._waiting: list[Block | Lost | Notice] = []
        self._zeros = 0
        self._gated = False
        self._failed_reopens = 0
        self._stream: Any = None
        self._open()
        self.name = self.device.name

    def read(self) -> Block | Lost | Notice | None:
        """Next 20 ms or so, waiting for it; None once closed."""
        while not self._waiting:
            if self._closed:
                return None
            for news in self._watch.news() if self._watch is not None else ():
                detail = f"{CALLED[news.kind]}: now {news.to.description}"
                self._waiting.append(Notice(news.what, detail, self._end()))
            try:
                self._take(self._feed.chunks.get(timeout=self._limit_s()))
            except queue.Empty:
                if not self._closed:
                    self._stopped()
        piece = self._waiting.pop(0)
        self._at = piece.at_sample + (len(piece.samples) if isinstance(piece, Block) else piece.samples)
        return piece

    def now_sample(self) -> int:
        """The microphone's clock: samples that have passed since its start, those not yet read too. Any thread may ask.

        It is counted by the callback alone, so that it stays in step with the sound whatever is read, late or lost.
        """
        return self._opened_at + self._feed.frames * RATE_HZ // self.device.rate_hz

    def watch_streams(self, wanted: Mapping[Kind, str]) -> None:
        """Tell from now on, as a `Notice`, when the sound server moves a stream of ours.

        Args:
            wanted: the server's name of the place that was named, by kind; "" where nobody named one.
        """
        self._watch = StreamWatch(self._audio.server, {kind: name for kind, name in wanted.items() if name})
        self._watch.start()

    def close(self) -> None:
        """Stop; further `read` answers None. May be called twice."""
        self._closed = True
        if self._watch is not None:
            self._watch.close()
        stream, self._stream = self._stream, None
        if stream is not None:
            self._audio.close(stream)

    def _limit_s(self) -> float:
        """How long to wait for a block: longer after opening (radio headsets wake slowly) and while it stays away."""
        patience = FIRST_BLOCK if not self._heard_since_open else 1.0
        return min(LONGEST_WAIT_SECONDS, self._stopped_s * max(patience, 2.0**self._failed_reopens))

    def _take(self, chunk: _Chunk) -> None:
        self._failed_reopens = 0
        self._heard_since_open = True
        self._last_heard = self._now()
        if chunk.lost:
            self._lost_frames += chunk.lost
            whole = self._lost_frames * RATE_HZ // self.device.rate_hz  # of all together, so that no rounding adds up
            missing = max(1, whole - self._lost_samples)
            self._lost_samples += missing
            self._waiting.append(Lost(OVERRUN, self._end(), missing))
        mono = (
            chunk.samples[:, 0]
            if chunk.samples.shape[1] == 1
            else chunk.samples.astype(np.int32).mean(axis=1).astype(np.int16)
        )
        fitted = self._fit.take(mono)
        if not len(fitted):
            return
        self._watch_for_zeros(fitted)
        self._waiting.append(Block(fitted, self._end()))

    def _watch_for_zeros(self, samples: npt.NDArray[np.int16]) -> None:
        if samples.any():
            heard_before = self._at > self._zeros
            spell_s = self._zeros / RATE_HZ
            self._gated = self._gated or (heard_before and GATE_LEAST_SECONDS <= spell_s < SILENT_SECONDS)
            self._zeros = 0
            return
        before = self._zeros
        self._zeros += len(samples)
        limit = round((GATED_SECONDS if self._gated else SILENT_SECONDS) * RATE_HZ)
        if before < limit <= self._zeros:
            self._waiting.append(Lost(SILENT, self._end(), 0))

    def _stopped(self) -> None:
        """No block for too long: say how much is missing and try to open the device anew."""
        now = self._now()
        missing = max(1, round((now - self._last_heard) * RATE_HZ))
        ours = self._generation != self._audio.generation  # the loudspeaker was lost, and the device list read anew
        self._waiting.append(Lost(REOPENED if ours else STOPPED, self._end(), missing))
        self._last_heard = now
        stream, self._stream = self._stream, None
        if stream is not None:
            self._audio.close(stream)
        with contextlib.suppress(DeviceMissing):
            if self._failed_reopens >= REOPENS_BEFORE_REFRESH:
                self._audio.refresh(at_most_every_s=REFRESH_SECONDS)
            self._open()
        self._failed_reopens += 1  # even an opened device may be dead; a block that arrives clears this

    def _open(self) -> None:
        self.device: Device = self._audio.device(self._wanted, "input")
        self._fit = Resampler(self.device.rate_hz, RATE_HZ)
        self._lost_frames = self._lost_samples = 0  # told since the opening, at the device's rate and at ours
        self._opened_at = self._end()
        self._last_heard = self._now()
        self._heard_since_open = False
        self._generation = self._audio.generation
        self._feed = _Feed(self.device.rate_hz)
        self._stream = self._audio.open_input(self.device, self._feed.arrived, block_s=BLOCK_SECONDS)

    def _end(self) -> int:
        """Number of the sample after all that was read or waits to be read."""
        if not self._waiting:
            return self._at
        last = self._waiting[-1]
        return last.at_sample + (len(last.samples) if isinstance(last, Block) else last.samples)


def _adc_time(time_info: Any) -> float:
    try:
        return float(time_info.inputBufferAdcTime)
    except (AttributeError, TypeError, ValueError):
        return 0.0
