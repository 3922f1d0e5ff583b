"""Finds where an utterance begins and ends, by counted samples: the same events however the sound is cut."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from typing import Protocol

import numpy as np
import numpy.typing as npt

from assistant.speech.background import SMOOTH_FRAMES, Background, smooth_db
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.front_end import FrontEnd
from assistant.speech.utterance import (
    Frame,
    InputDead,
    SpeechBegan,
    SpeechEnded,
    SpeechPaused,
    SpeechResumed,
    Utterance,
    assemble,
)

Samples = npt.NDArray[np.int16]
EndpointEvent = SpeechBegan | SpeechPaused | SpeechResumed | SpeechEnded | InputDead

RATE_HZ = 16_000


class Detector(Protocol):
    """Voice activity as `ports.Activity` promises it (this room may not import the ports)."""

    frame_samples: int

    def probability(self, frame: Samples) -> float:
        """Probability of speech in one frame."""

    def reset(self) -> None:
        """Forget what was heard."""


class Endpointer:
    """Cuts a stream of 16 kHz sound into utterances.

    `feed` takes the block at once and gives events as they are asked for; between two events the caller may set
    `patience_ms`, and what follows goes by it. Events not asked for come with the next call.

    Args:
        detector: speech probability of a frame.
        settings: thresholds.
        at_sample: number of the first sample that will be fed.
    """

    def __init__(self, detector: Detector, settings: EndpointSettings | None = None, *, at_sample: int = 0) -> None:
        self.settings = settings or EndpointSettings()
        self.patience_ms: float = self.settings.patience_ms
        self._detector = detector
        self._size = detector.frame_samples
        self._front = FrontEnd(self._size)
        self._background = Background(self._size / RATE_HZ)
        self._at = at_sample  # of the first sample in _pending
        self._pending: deque[Samples] = deque()
        self._pending_samples = 0
        self._zeros = 0
        self._hole_at = -1  # where sound was lost last
        self._quiet_frames = 0
        self._forget()

    @property
    def in_speech(self) -> bool:
        """Whether an utterance is under way."""
        return self._speaking

    def under_way(self, past: int = 0) -> Samples:
        """Sound of the utterance under way, as the next `SpeechPaused` would hold it, without its first `past` samples;
        empty while nobody speaks.
        """
        if not self._speaking:
            return np.zeros(0, np.int16)
        frames, into = divmod(past, self._size)
        later = [frame.samples for frame in self._frames[self._kept_from() + frames :]]
        return np.concatenate(later)[into:] if later else np.zeros(0, np.int16)

    def feed(self, samples: Samples) -> Iterator[EndpointEvent]:
        """Take a block (int16, shape (n,), any n) and give the events that it completes, in order."""
        if samples.dtype != np.int16 or samples.ndim != 1:
            raise ValueError(f"sound is int16 of one dimension, not {samples.dtype} {samples.shape}")
        if len(samples):
            self._pending.append(samples)
            self._pending_samples += len(samples)
        return self._events()

    def finish(self) -> Iterator[EndpointEvent]:
        """The sound is over: give what is left, an utterance under way too."""
        yield from self._events()
        rest = self._pending_samples
        if rest:
            yield from self._frame(
                np.concatenate([self._pop(rest), np.zeros(self._size - rest, np.int16)]), true_samples=rest
            )
        if self._speaking:
            yield from self._end(cut=False)
        self._forget()

    def skip(self, samples: int) -> None:
        """`samples` passed that are not to be heard (our own prompt): an utterance under way is dropped, eventless."""
        self._drop_pending()
        self._at += samples
        self._forget()
        self._gate = True

    def lost(self, samples: int) -> Iterator[EndpointEvent]:
        """`samples` never arrived. A short hole becomes silence and marks its utterance, a long one ends it."""
        yield from self._events()
        self._hole_at = self._at + self._pending_samples
        if samples < self.settings.gap_s * RATE_HZ:
            yield from self.feed(np.zeros(samples, np.int16))
            return
        if self._speaking:
            yield from self._end(cut=True)
        self.skip(samples)

    def _events(self) -> Iterator[EndpointEvent]:
        while self._pending_samples >= self._size:
            yield from self._frame(self._pop(self._size), true_samples=self._size)

    def _frame(self, samples: Samples, *, true_samples: int) -> Iterator[EndpointEvent]:
        conditioned, level_db = self._front.frame(samples)
        frame = Frame(samples[:true_samples], self._at, self._detector.probability(conditioned), level_db)
        self._at += true_samples
        self._frames.append(frame)
        self._background.learn(self._frames[-SMOOTH_FRAMES:])
        yield from self._in_speech(frame) if self._speaking else self._outside(frame)
        yield from self._watch_input(samples)

    def _outside(self, frame: Frame) -> Iterator[EndpointEvent]:
        if not self._begins(frame):
            self._keep_pre_roll()
            self._quiet_frames = self._quiet_frames + 1 if frame.probability < self.settings.off else 0
            return
        first = self._first = self._first_of_speech()
        self._last = len(self._frames) - 1
        self._speaking = True
        self._paused = False
        yield SpeechBegan(self._frames[first].at_sample)

    def _in_speech(self, frame: Frame) -> Iterator[EndpointEvent]:
        settings = self.settings
        now = len(self._frames) - 1
        if self._voiced(frame):
            self._last = now
            if self._paused:
                self._paused = False
                yield SpeechResumed(frame.at_sample)
                if not self._speaking:  # the caller skipped meanwhile
                    return
        silent_ms = 1000 * (now - self._last) * self._size / RATE_HZ
        if not self._paused and silent_ms >= settings.pause_ms:
            self._paused = True
            yield SpeechPaused(self._utterance(cut=False))
            if not self._speaking:
                return
        if silent_ms >= max(self.patience_ms, settings.pause_ms):
            yield from self._end(cut=False)
        elif (now + 1 - self._first) * self._size >= settings.longest_s * RATE_HZ:
            yield from self._end(cut=True)

    def _begins(self, frame: Frame) -> bool:
        settings = self.settings
        above_db = self._background.above_db(self._frames[-SMOOTH_FRAMES:])
        if self._background.is_talk and above_db < settings.over_talk_on_db:
            return False
        recent = [one.probability for one in self._frames[-settings.on_frames :]]
        if frame.probability >= settings.on and sum(recent) >= settings.on_sum:
            return True
        longer = [min(one.probability, settings.faint_most) for one in self._frames[-settings.faint_frames :]]
        rises = settings.faint_db + self._background.swing_db <= above_db < float("inf")
        return rises and sum(longer) >= settings.faint_sum

    def _first_of_speech(self) -> int:
        """Index of the frame where it began: back over all that sounds like speech or stands above the ground."""
        first = len(self._frames) - 1
        earliest = max(0, first - round(self.settings.back_ms * RATE_HZ / 1000 / self._size))
        while first > earliest:
            above_db = self._background.above_db(self._frames[first - 1 : first])
            if self._frames[
                first - 1
            ].probability < self.settings.off and not self.settings.rise_db <= above_db < float("inf"):
                break
            first -= 1
        return first

    def _voiced(self, frame: Frame) -> bool:
        settings = self.settings
        recent = self._frames[-SMOOTH_FRAMES:]
        level_db, above_db = smooth_db(recent), self._background.above_db(recent)
        if level_db < self._usual_db() - settings.within_db or (
            self._background.is_talk and above_db < settings.over_talk_off_db
        ):
            return False
        hushed = not self._background.is_talk and above_db < settings.hush_db
        voiced = frame.probability >= (settings.hush_off if hushed else settings.off)
        if voiced:
            self._levels_db.append(level_db)
        return voiced

    def _usual_db(self) -> float:
        """What three quarters of this utterance stay below; one hammer blow must not make all speech look faint."""
        return float(np.percentile(self._levels_db, 75)) if len(self._levels_db) >= 6 else -200.0

    def _end(self, *, cut: bool) -> Iterator[EndpointEvent]:
        ended = SpeechEnded(self._utterance(cut=cut))
        rest = [] if cut else self._frames[self._last + 1 :]
        self._forget(keep=rest)
        self._continued = cut
        self._quiet_frames = len(rest)
        yield ended

    def _utterance(self, *, cut: bool) -> Utterance:
        frame_ms = 1000 * self._size / RATE_HZ
        first = self._kept_from()
        past = len(self._frames) if cut else self._last + 1 + round(self.settings.tail_ms / frame_ms)
        return assemble(
            self._frames[first:past],
            speech=(self._first - first, self._last + 1 - first),
            background_db=self._background.ground_db,
            cut=cut,
            continued=self._continued,
            holed=self._frames[first].at_sample <= self._hole_at,
            from_gate=self._gate and self._first * frame_ms <= self.settings.gate_ms,
            over_talk=self._background.is_talk,
        )

    def _kept_from(self) -> int:
        """Index of the first frame that belongs to the utterance under way, pre-roll included."""
        return max(0, self._first - round(self.settings.pre_roll_ms * RATE_HZ / 1000 / self._size))

    def _watch_input(self, samples: Samples) -> Iterator[EndpointEvent]:
        before = self._zeros
        self._zeros = 0 if samples.any() else before + len(samples)
        limit = self.settings.dead_s * RATE_HZ
        if before < limit <= self._zeros:
            yield InputDead(self._at)

    def _keep_pre_roll(self) -> None:
        most = round((self.settings.pre_roll_ms + self.settings.back_ms) * RATE_HZ / 1000 / self._size) + 1
        if len(self._frames) > most:
            del self._frames[: len(self._frames) - most]
            self._gate = False
        if self._quiet_frames * self._size * 1000 >= self.patience_ms * RATE_HZ:
            self._continued = False

    def _forget(self, keep: list[Frame] | None = None) -> None:
        self._frames: list[Frame] = list(keep or [])
        self._first = self._last = 0
        self._levels_db: list[float] = []
        self._speaking = self._paused = self._continued = self._gate = False
        self._quiet_frames = 0
        if keep is None:
            self._front.reset()
            self._detector.reset()

    def _drop_pending(self) -> None:
        self._at += self._pending_samples
        self._pending.clear()
        self._pending_samples = 0

    def _pop(self, count: int) -> Samples:
        pieces: list[Samples] = []
        missing = count
        while missing:
            head = self._pending.popleft()
            if len(head) > missing:
                self._pending.appendleft(head[missing:])
                head = head[:missing]
            pieces.append(head)
            missing -= len(head)
        self._pending_samples -= count
        return pieces[0] if len(pieces) == 1 else np.concatenate(pieces)
