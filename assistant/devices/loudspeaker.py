"""ports.Speaker through sounddevice: plays prompts and says when they sounded on the microphone's clock."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.devices.portaudio import Device, PortAudio
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.resampling import resampled
from assistant.devices.speaker import RATE_HZ, clock_samples
from assistant.errors import DeviceMissing, SpeakerFailed
from assistant.ports import Spoken

BLOCK_SECONDS = 0.02
PATIENCE_SECONDS = 3.0  # beyond a prompt's own length; then the loudspeaker is taken for dead
SWALLOWED_SECONDS = 0.06  # taken sooner by this than it can have sounded: a short syllable is gone
STALLED_SECONDS = 0.25  # taken later by this: a hole in the middle of a number
UNDERRUNS = 2  # that the library tells of: each is a click, one alone is understood
TRIES = 2
EARLY_SAMPLES = 640  # 40 ms: what the device's own figure for its buffer may be wrong by
RETRY_SECONDS = 2.0  # between attempts while it is away
GIVE_UP_SECONDS = 600.0  # a person who plugs it in again, or a server that starts anew, takes less
REFRESH_SECONDS = 5.0


class LoudSpeaker:
    """Plays on a stream that never stops between prompts, so that no first syllable is lost while a device wakes up.

    Args:
        prompts: gives the sound of a text.
        clock: the microphone's clock now, in samples at 16 000 Hz; called from the thread that speaks.
        device: name of the loudspeaker; None is the system's own choice.
        audio: the door to PortAudio.
        patience_s: how long beyond a prompt's length to wait for its end.
        give_up_s: for how long to wait for a loudspeaker that is away.
        now: a steady clock in seconds, by which the device is watched.

    Raises:
        DeviceMissing: no such loudspeaker, or it does not open.
    """

    name = "loudspeaker"

    def __init__(
        self,
        prompts: PromptCache,
        *,
        clock: Callable[[], int],
        device: str | None = None,
        audio: PortAudio | None = None,
        patience_s: float = PATIENCE_SECONDS,
        give_up_s: float = GIVE_UP_SECONDS,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._prompts = prompts
        self._clock = clock
        self._wanted = device
        self._audio = audio or PortAudio()
        self._patience_s = patience_s
        self._give_up_s = give_up_s
        self._now = now
        self._closed = threading.Event()
        self._playing: _Playing | None = None
        self._sounding = 0, np.zeros(0, np.int16)  # first sample on the microphone's clock, sound at 16 000 Hz
        self._stream: Any = None
        self._generation = -1
        self.device = self._open()

    def prepare(self, texts: Sequence[str]) -> None:
        """Render ahead, in the background."""
        self._prompts.prepare(texts)

    def adjust(self, what: str) -> None:
        """As ports.Speaker."""
        self._prompts.adjust(what)

    def say(self, text: str, at_sample: int) -> Spoken:
        """Play now; return when the last sample has left, or `interrupt` cut it short.

        A loudspeaker that takes no sound, or is gone, is opened anew until it comes back; how long that took is told in
        `waited_s`. A prompt with a piece missing or a hole in it, by the time that the device took for it, is said once
        more; what comes of that is told in `whole` and `times`.

        Raises:
            SpeakerFailed: the loudspeaker stayed away for `give_up_s`, the speaker was closed meanwhile, or nothing
                could be rendered.
            ModelMissing: there is no such voice.
        """
        samples, rate = self._prompts.sound(text)
        faults: list[str] = []
        first: int | None = None
        times, begun = 0, time.monotonic()
        while True:
            waited_s = time.monotonic() - begun if faults else 0.0
            try:
                if self._stream is None or self._generation != self._audio.generation:
                    self.device = self._open()
                spoken = self._play(samples, rate, at_sample)
            except DeviceMissing as error:
                faults.append(error.message)
            else:
                if spoken is not None:
                    times += 1
                    first = spoken.start_sample if first is None else first
                    if spoken.whole or spoken.cut_short or times == TRIES:
                        return replace(spoken, start_sample=first, times=times, waited_s=waited_s)
                    continue
                faults.append(f"{self.device.name!r} took no sound")
            self._let_go()
            if len(faults) < TRIES:
                continue
            if time.monotonic() - begun >= self._give_up_s or self._closed.wait(RETRY_SECONDS):
                break
            self._audio.refresh(at_most_every_s=REFRESH_SECONDS)
        raise SpeakerFailed(
            f"could not speak {text[:60]!r}: " + "; then: ".join(dict.fromkeys(faults)),
            remedy="Plug the loudspeaker in again or name another; the session is stored and resumes at the same bolt.",
        )

    def playing(self, at_sample: int, samples: int) -> npt.NDArray[np.int16]:
        """What sounds at these samples of the microphone's clock, at 16 000 Hz; zeros where nothing does. Any thread.

        The prompt that sounds, or sounded last, is known; it is told a little early, for a canceller can wait for an
        echo but not foresee it.
        """
        out = np.zeros(samples, np.int16)
        first, sound = self._sounding
        begin, end = max(at_sample, first), min(at_sample + samples, first + len(sound))
        if begin < end:
            out[begin - at_sample : end - at_sample] = sound[begin - first : end - first]
        return out

    def interrupt(self) -> None:
        """Cut the prompt that is playing, if one is; for 'stop' said into a headset. Any thread may call it."""
        playing = self._playing
        if playing is not None:
            playing.cut.set()

    def close(self) -> None:
        """Let go of the device; whoever waits for a prompt waits no longer. May be called twice."""
        self._closed.set()
        playing = self._playing
        if playing is not None:
            playing.cut.set()
            playing.started.set()
            playing.finished.set()
        self._let_go()
        self._prompts.close()

    def _play(self, samples: npt.NDArray[np.int16], rate: int, at_sample: int) -> Spoken | None:
        fitted = resampled(samples, rate, self.device.rate_hz)
        latency_s = float(self._stream.latency)
        playing = _Playing(fitted, self.device.rate_hz, self._now, self._clock)
        limit_s = len(fitted) / self.device.rate_hz + latency_s + self._patience_s
        self._playing = playing
        try:
            if not playing.started.wait(self._patience_s):
                return None
            start = max(at_sample, playing.first_at) + round(latency_s * RATE_HZ)
            self._sounding = start - EARLY_SAMPLES, resampled(samples, rate, RATE_HZ)
            if not playing.finished.wait(limit_s):
                return None
        finally:
            self._playing = None
        time.sleep(latency_s)  # what was handed over has yet to sound
        last = playing.last_at + round(latency_s * RATE_HZ)
        end = max(last, start + clock_samples(playing.position, self.device.rate_hz))
        return Spoken(start, end, cut_short=playing.cut.is_set(), whole=playing.whole(latency_s))

    def _fill(self, outdata: npt.NDArray[np.int16], frames: int, _time: object, status: Any) -> None:
        outdata.fill(0)
        playing = self._playing
        if playing is not None:
            playing.fill(outdata, frames, underran=bool(status and getattr(status, "output_underflow", False)))

    def _open(self) -> Device:
        device = self._audio.device(self._wanted, "output")
        self._stream = self._audio.open_output(device, self._fill, block_s=BLOCK_SECONDS)
        self._generation = self._audio.generation
        return device

    def _let_go(self) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            self._audio.close(stream)


class _Playing:
    """One prompt on its way out; filled from PortAudio's thread.

    Args:
        samples: at the device's rate.
        rate_hz: of the device.
        now: a steady clock in seconds.
        clock: the microphone's, asked where sound is handed over: who waits for that may wake much later.
    """

    def __init__(
        self, samples: npt.NDArray[np.int16], rate_hz: int, now: Callable[[], float], clock: Callable[[], int]
    ) -> None:
        self.samples = samples
        self.position = 0
        self.first_at = self.last_at = 0  # on the microphone's clock, of the first block's start and the last one's end
        self._rate_hz, self._now, self._clock = rate_hz, now, clock
        self._times: list[tuple[float, int]] = []  # when a block was asked for, and how much had been given before
        self._underruns = 0
        self.started = threading.Event()
        self.finished = threading.Event()
        self.cut = threading.Event()

    def fill(self, outdata: npt.NDArray[np.int16], frames: int, *, underran: bool) -> None:
        if self.finished.is_set():
            return
        self._underruns += underran and self.position > 0
        self._times.append((self._now(), self.position))
        if self.cut.is_set():
            self.started.set()
            self.finished.set()
            return
        piece = self.samples[self.position : self.position + frames]
        outdata[: len(piece)] = piece[:, None]
        at = self._clock()
        if not self.position:
            self.first_at = at
        self.position += len(piece)
        self.last_at = at + clock_samples(len(piece), self._rate_hz)
        self.started.set()
        if self.position >= len(self.samples):
            self.finished.set()

    def whole(self, buffer_s: float) -> bool:
        """Whether all of it sounded, by when the device asked for each block.

        A device that plays takes sound as fast as it sounds, ahead by no more than its buffer. After an underrun the
        library asks for more than that at once, and what it threw away never sounds; where it asks for nothing for a
        while, there was a hole.
        """
        if not self._times:
            return False  # closed before it began
        start = self._times[0][0]
        ahead = [given / self._rate_hz - (at - start) for at, given in self._times]
        swallowed = max(ahead) - buffer_s > SWALLOWED_SECONDS
        stalled = max(ahead[0] - each for each in ahead) > STALLED_SECONDS
        return not (swallowed or stalled or self._underruns >= UNDERRUNS)
