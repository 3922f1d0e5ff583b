"""The Vosk listener while somebody speaks: partial words, and a reading that is nearly ready at the pause (`Follower`).

Each grammar has a recogniser object of its own, made by `prepare`; a grammar is never changed within one. What is
followed goes to the engine in the steps in which it cuts a whole utterance itself, so that `hear` has only the rest
left to decode and answers what it would have answered without following.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from assistant.devices.vosk_listener import UNKNOWN, Hypothesis, VoskListener
from assistant.errors import ModelMissing
from assistant.ports import Samples
from assistant.speech.grammar import Grammar

STEP_SAMPLES = 3_200
"""0.2 s: the engine decodes a long block in steps of this length (source of vosk 0.3.45, `AcceptWaveform`, from
memory), and compacts its lattice after each. Other steps could give other scores."""


class VoskFollower(VoskListener):
    """`VoskListener` that can follow. Not for several threads at once, as all listeners."""

    def __init__(self, model_folder: Path, *, grammars: Iterable[Grammar] | None = None) -> None:
        """See `VoskListener`."""
        super().__init__(model_folder, grammars=grammars)
        self._followed: _Followed | None = None

    def follow(self, grammar: Grammar) -> None:
        """See `ports.Follower.follow`."""
        self._stop()
        self._followed = _Followed(self._recogniser(grammar))

    def take(self, samples: Samples) -> None:
        """See `ports.Follower.take`."""
        if self._followed is not None:
            self._followed.take(samples)

    def words_so_far(self) -> tuple[str, ...]:
        """See `ports.Follower.words_so_far`. The newest words lag: the engine decodes 0.2 s of sound at a time."""
        return () if self._followed is None else self._followed.words()

    def _alternatives(self, recogniser: Any, samples: Samples) -> list[Hypothesis]:
        if self._followed is None or self._followed.recogniser is not recogniser:
            return super()._alternatives(recogniser, samples)
        rest = self._followed.rest_of(samples)
        if rest is None:
            self._stop()
            return super()._alternatives(recogniser, samples)
        self._followed = None
        return super()._alternatives(recogniser, rest)

    def _stop(self) -> None:
        if self._followed is not None:
            self._followed.stop()
            self._followed = None


class _Followed:
    """One utterance as far as it was followed."""

    def __init__(self, recogniser: Any) -> None:
        self.recogniser = recogniser
        self._taken: list[Samples] = []  # all pieces
        self._fed = 0  # samples that the engine has
        self._in_step = True  # each piece but the last one was a whole step
        self._waiting = np.zeros(0, np.int16)  # less than a step

    def take(self, samples: Samples) -> None:
        self._taken.append(samples)
        waiting = np.concatenate([self._waiting, samples])
        whole = len(waiting) // STEP_SAMPLES * STEP_SAMPLES
        for at in range(0, whole, STEP_SAMPLES):
            self._feed(waiting[at : at + STEP_SAMPLES])
        self._waiting = waiting[whole:]

    def words(self) -> tuple[str, ...]:
        if len(self._waiting):
            self._feed(self._waiting)
            self._waiting = self._waiting[:0]
        if not self._fed:
            return ()
        words = read_partial(self.recogniser.PartialResult())
        while words and words[0] == UNKNOWN:
            words = words[1:]
        return words

    def rest_of(self, samples: Samples) -> Samples | None:
        """What of these samples the engine still lacks; None where it was fed others, or not in its own steps."""
        fed = self._fed
        goes_on_in_step = self._in_step and (fed % STEP_SAMPLES == 0 or fed == len(samples))
        if not goes_on_in_step or fed > len(samples):
            return None
        taken = np.concatenate([np.zeros(0, np.int16), *self._taken])[:fed]
        return samples[fed:] if np.array_equal(taken, samples[:fed]) else None

    def stop(self) -> None:
        """Let the engine forget: only a final result clears its front end too, `Reset` alone does not."""
        if self._fed:
            self.recogniser.FinalResult()
        self.recogniser.Reset()

    def _feed(self, samples: Samples) -> None:
        self.recogniser.AcceptWaveform(np.ascontiguousarray(samples, np.int16).tobytes())
        self._in_step = self._in_step and self._fed % STEP_SAMPLES == 0
        self._fed += len(samples)


def read_partial(text: str) -> tuple[str, ...]:
    """Read a partial result of Vosk, strictly.

    Raises:
        ModelMissing: another shape, as another version of the library might give.
    """
    try:
        answer = json.loads(text)
        if set(answer) != {"partial"} or not isinstance(answer["partial"], str):
            raise ValueError(f"keys {sorted(answer)}")
        return tuple(answer["partial"].split())
    except (ValueError, TypeError) as error:
        raise ModelMissing(
            f"the Vosk library answered in an unknown shape ({error})",
            remedy="Install vosk==0.3.45: run scripts/setup.",
        ) from error
