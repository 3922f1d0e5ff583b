"""ports.Speaker through sounddevice: plays prompts and says when they sounded on the microphone's clock."""

from __future__ import annotations

import contextlib
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
from assistant.ports import Speaker, Spoken

BLOCK_SECONDS = 0.02
PATIENCE_SECONDS = 3.0  # beyond a prompt's own length; then the loudspeaker is taken for dead
SWALLOWED_SECONDS = 0.06  # taken sooner by this than it can have sounded: a short syllable is gone
HOLE_SECONDS = 0.15  # of silence in the middle of a number
START_SECONDS = 1.0  # to open and start a stream: 1 to 20 ms; a busy machine needs more
BEGINS_SECONDS = 0.02  # from the start of a prompt's own stream until it sounds (22 ms by a sound server, measured)
UNDERRUNS = 2  # that the library tells of: each is a click, one alone is understood
TRIES = 2
EARLY_SAMPLES = 640  # 40 ms: what the device's own figure for its buffer may be wrong by
RETRY_SECONDS = 2.0  # between attempts while it is away
GIVE_UP_SECONDS = 600.0  # a person who plugs it in again, or a server that starts anew, takes less
REFRESH_SECONDS = 5.0


class LoudSpeaker(Speaker):
    """Keeps a stream running between prompts, so that no first syllable is lost while a device wakes up, and opens one
    more for each prompt: it begins at once and not behind a buffer full of silence (22 ms after it was asked for, not
    160). It is opened anew each time, in a millisecond or two: one that was kept ready and whose place at the sound
    server has gone never comes back from being started. A device that takes one stream alone plays on the running one.

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
        self._shared = False  # the device takes a second stream
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
                    self.device = self._open(anywhere=bool(self.device.place) and len(faults) >= TRIES)
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
        at_16_khz = resampled(samples, rate, RATE_HZ)
        buffer_s = float(self._stream.latency)
        playing = _Playing(fitted, self.device.rate_hz, self._now, self._clock, buffer_s)
        limit_s = len(fitted) / self.device.rate_hz + buffer_s + self._patience_s
        own: Any = None
        try:
            playing.at_once = self._shared
            self._playing = playing  # before it sounds: a 'stop' may come at once
            own = self._begin(playing)
            if not playing.started.wait(self._patience_s):
                return None
            start = max(at_sample, playing.first_at) + round(playing.begins_s * RATE_HZ)
            self._sounding = start - EARLY_SAMPLES, at_16_khz
            if not playing.finished.wait(limit_s):
                return None
            if not playing.cut.is_set():
                self._closed.wait(playing.still_sounds_s())
        finally:
            self._playing = None
            if own is not None:
                self._audio.close(own)
        end = start + clock_samples(playing.position, self.device.rate_hz) + round(playing.hole_s() * RATE_HZ)
        if playing.cut.is_set():
            end = min(end, max(start, self._clock()) + round(playing.begins_s * RATE_HZ))
        return Spoken(start, end, cut_short=playing.cut.is_set(), whole=playing.whole())

    def _begin(self, playing: _Playing) -> Any:
        """A stream of its own for a prompt, started; None where the running one has to play it."""
        if not self._shared:
            return None
        begun: list[Any] = []

        def callback(outdata: npt.NDArray[np.int16], frames: int, _time: object, status: Any) -> None:
            self._fill_with(playing if playing.at_once else None, outdata, frames, status)

        def begin() -> None:
            stream = self._audio.open_output(self.device, callback, block_s=BLOCK_SECONDS, standing_by=True)
            begun.append(stream)
            stream.start()

        if _in_time(begin):
            return begun[0]
        playing.at_once = False  # its place at the server is gone, say: the server has moved the running one
        for stream in begun:
            self._audio.leave(stream)
        return None

    def _fill(self, outdata: npt.NDArray[np.int16], frames: int, _time: object, status: Any) -> None:
        """The running stream's callback: silence, or the prompt where no other stream plays it."""
        playing = self._playing
        self._fill_with(playing if playing is not None and not playing.at_once else None, outdata, frames, status)

    def _fill_with(self, playing: _Playing | None, outdata: npt.NDArray[np.int16], frames: int, status: Any) -> None:
        outdata.fill(0)
        if playing is not None:
            playing.fill(outdata, frames, underran=bool(status and getattr(status, "output_underflow", False)))

    def _open(self, *, anywhere: bool = False) -> Device:
        """Open the device that is wanted; `anywhere`: where the sound server lacks it, the one that it would take."""
        try:
            device = self._audio.device(self._wanted, "output")
        except DeviceMissing:
            if not anywhere:
                raise
            device = replace(self._audio.device(None, "output"), place=self.device.place)
        self._stream = self._audio.open_output(device, self._fill, block_s=BLOCK_SECONDS)
        self._generation = self._audio.generation
        self._shared = False
        with contextlib.suppress(DeviceMissing):
            self._audio.close(self._audio.open_output(device, self._fill, block_s=BLOCK_SECONDS, standing_by=True))
            self._shared = True
        return device

    def _let_go(self) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            self._audio.close(stream)


def _in_time(step: Callable[[], None]) -> bool:
    """Whether a step of the sound library was done within START_SECONDS, without a fault."""
    done = threading.Event()

    def run() -> None:
        with contextlib.suppress(Exception):  # sounddevice's own, and ours
            step()
            good.set()
        done.set()

    good = threading.Event()
    threading.Thread(target=run, daemon=True, name="sound-library").start()
    return done.wait(START_SECONDS) and good.is_set()


class _Playing:
    """One prompt on its way out; filled from PortAudio's thread.

    Args:
        samples: at the device's rate.
        rate_hz: of the device.
        now: a steady clock in seconds.
        clock: the microphone's, asked where sound is handed over: who waits for that may wake much later.
        buffer_s: between the callback and the sound.
    """

    def __init__(
        self,
        samples: npt.NDArray[np.int16],
        rate_hz: int,
        now: Callable[[], float],
        clock: Callable[[], int],
        buffer_s: float,
    ) -> None:
        self.samples = samples
        self.position = 0
        self.first_at = 0  # when the first block was handed over, on the microphone's clock
        self.at_once = False  # on a stream whose buffer held nothing before it
        self._rate_hz, self._now, self._clock, self._buffer_s = rate_hz, now, clock, buffer_s
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
        if not self.position:
            self.first_at = self._clock()
        self.position += len(piece)
        self.started.set()
        if self.position >= len(self.samples):
            self.finished.set()

    @property
    def begins_s(self) -> float:
        """From the first block's handing over until it sounds."""
        return BEGINS_SECONDS if self.at_once else self._buffer_s

    def hole_s(self) -> float:
        """The silence that came about because the device asked too late: its buffer had run dry by then."""
        late = [-ahead for ahead in self._ahead()]
        return max(0.0, max(late, default=0.0) - (0.0 if self.at_once else self._buffer_s))

    def still_sounds_s(self) -> float:
        """How long what was handed over has yet to sound."""
        if not self._times:
            return 0.0
        over = self._times[0][0] + self.begins_s + self.position / self._rate_hz + self.hole_s()
        return max(0.0, min(over - self._now(), self.begins_s + self._buffer_s + HOLE_SECONDS))

    def whole(self) -> bool:
        """Whether all of it sounded, by when the device asked for each block.

        A device that plays takes sound as fast as it sounds, ahead by no more than its buffer. After an underrun the
        library asks for more than that at once, and what it threw away never sounds; where it asks for nothing for a
        while, there was a hole.
        """
        if not self._times:
            return False  # closed before it began
        swallowed = max(self._ahead()) - self._buffer_s > SWALLOWED_SECONDS
        return not (swallowed or self.hole_s() > HOLE_SECONDS or self._underruns >= UNDERRUNS)

    def _ahead(self) -> list[float]:
        """How far ahead of its sounding each block was asked for, seconds, against the first."""
        return [given / self._rate_hz - (at - self._times[0][0]) for at, given in self._times]
