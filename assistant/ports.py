"""What the session needs of the outside, as Protocols with their promises. `cli` alone joins ports and devices.

Devices and fakes name the port that they are as their base class: what not all of them can do has its default there.
What only some of them are for is a port of its own (`Follower`, `Transcriber`, `KnownSound`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

import numpy as np
import numpy.typing as npt

from assistant.speech.grammar import Grammar
from assistant.speech.heard import Reading

Samples = npt.NDArray[np.int16]  # shape (n,), mono, 16 000 Hz


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch of sound. `at_sample` is the number of its first sample, counted from the microphone's start."""

    samples: Samples
    at_sample: int


@dataclass(frozen=True, slots=True)
class Typed:
    """One typed line in place of an utterance."""

    text: str
    at_sample: int


@dataclass(frozen=True, slots=True)
class Lost:
    """Sound that never arrived (overrun, unplugged, dead): `samples` are counted so that time stays true."""

    reason: str
    at_sample: int
    samples: int


@dataclass(frozen=True, slots=True)
class Notice:
    """Something about the devices that the person should know; no sound is missing.

    Args:
        what: a key of the catalogues' `equipment`.
        detail: which device, for the record.
        at_sample: at which it was found.
    """

    what: str
    detail: str
    at_sample: int
    samples: int = 0


Piece = Block | Typed | Lost | Notice


class Microphone(Protocol):
    """Source of sound or typed lines."""

    name: str

    def read(self) -> Piece | None:
        """Next piece in order, waiting for it; None at the end of the source. Pieces have no gaps: each `at_sample` is
        the end of the one before.
        """

    def close(self) -> None:
        """Stop; further `read` answers None. May be called twice."""


@runtime_checkable
class Recogniser(Protocol):
    """An engine that reads one utterance within a grammar."""

    name: str

    def hear(self, samples: Samples, grammar: Grammar) -> Reading:
        """Read the whole utterance. Never raises for odd sound (silence, clipping, noise): then no candidates."""

    def prepare(self, grammar: Grammar) -> None:
        """Build ahead what `hear` will need for a grammar, in the thread that hears; by default there is nothing."""
        del grammar

    def unknown_words(self, grammar: Grammar) -> tuple[str, ...]:
        """Words of the grammar that this engine can never make out; by default it knows them all."""
        del grammar
        return ()


@runtime_checkable
class Transcriber(Recogniser, Protocol):
    """A recogniser that also writes down free speech."""

    def transcribe(self, samples: Samples) -> str:
        """Free speech as text; "" where nothing was made out."""


@runtime_checkable
class Follower(Recogniser, Protocol):
    """A recogniser that can also follow an utterance while it is spoken. Its partial words tell only how long to wait
    for the next one; nothing that is recorded or done may come of them.
    """

    def follow(self, grammar: Grammar) -> None:
        """An utterance begins: forget what was followed before. `prepare` has made ready what this needs."""

    def take(self, samples: Samples) -> None:
        """The next piece of it. `hear` of exactly the followed sound answers the same as if nothing had been
        followed, only sooner; it ends the following. Further sound is then ignored until `follow`.
        """

    def words_so_far(self) -> tuple[str, ...]:
        """Words in all that was taken, the newest perhaps still missing. `[unk]` stands for what is no word of the
        grammar; before the first word it is left out (breath, noise).
        """


class Activity(Protocol):
    """Voice activity: how likely is speech in each 32 ms frame."""

    frame_samples: int

    def probability(self, frame: Samples) -> float:
        """Probability of speech (0..1) in exactly `frame_samples` samples; keeps state between calls."""

    def reset(self) -> None:
        """Forget what was heard."""


class Canceller(Protocol):
    """Takes what our own loudspeaker plays out of what the microphone hears."""

    step: int

    def take(self, near: Samples, far: Samples) -> Samples:
        """Sound without the echo, in order; some of it may be held back and come with the next.

        Args:
            near: from the microphone; a multiple of `step` samples.
            far: what the loudspeaker plays at the same time on the microphone's clock, as long. The echo may come
                later (the way through the room), never earlier.
        """

    def drop(self) -> int:
        """What is held back is not wanted any more. Returns how many samples that are."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """When a prompt sounded, in samples of the microphone's clock.

    Args:
        cut_short: `interrupt` ended it, on purpose.
        whole: all of it that was not cut short sounded, without a hole; False: it was said again, and broken again.
        times: how often it was said; more than once where it was broken before.
        waited_s: for how long the loudspeaker was away before.
    """

    start_sample: int
    end_sample: int
    cut_short: bool = False
    whole: bool = True
    times: int = 1
    waited_s: float = 0.0


@runtime_checkable
class Speaker(Protocol):
    """A voice."""

    name: str

    def prepare(self, texts: Sequence[str]) -> None:
        """Render ahead, in the background; never raises, never waits."""

    def adjust(self, what: str) -> None:
        """Speak from now on one step "louder", "quieter", "slower" or "faster", within what the voice can do."""

    def say(self, text: str, at_sample: int) -> Spoken:
        """Speak now and return when the last sample has left. Raises SpeakerFailed after one retry."""

    def interrupt(self) -> None:
        """Cut short what `say` is speaking; by default a voice that cannot be cut speaks on."""
        return

    def close(self) -> None:
        """Let go of the device. May be called twice."""


@runtime_checkable
class KnownSound(Speaker, Protocol):
    """A voice that knows what it plays at any moment, so that it can be told from what is said meanwhile."""

    def playing(self, at_sample: int, samples: int) -> Samples:
        """What it plays from `at_sample` on, on the microphone's clock, so many samples; zeros where nothing."""
