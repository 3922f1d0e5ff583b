"""What is said while the assistant itself speaks: 'stop' and 'pause' past its own voice, with a headset any answer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assistant.ports import Activity, Block, Canceller, Samples
from assistant.session.hearing import Hearing, alternative
from assistant.speech.endpoint import Endpointer
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard
from assistant.speech.utterance import SpeechEnded, SpeechPaused, Utterance

HALTING = frozenset({"stop", "pause"})
Far = Callable[[int, int], Samples]
"""First sample on the microphone's clock, how many -> what the loudspeaker plays there; zeros where nothing."""


@dataclass(frozen=True, slots=True)
class Caught:
    """What was said under a prompt: its sound, without the echo where there is a canceller, and what was understood."""

    utterance: Utterance
    heard: Heard


class Overhearing:
    """Listens under prompts. It has an endpointer of its own: what is said to us in silence is none of its business.

    Args:
        activity: of its own too (each keeps a memory).
        hearing: the listeners.
        grammar: what can be said now.
        canceller: takes the prompt out of the sound; None for a headset, which does not hear it.
    """

    def __init__(
        self,
        activity: Activity,
        hearing: Hearing,
        grammar: Callable[[], Grammar],
        *,
        endpoint: EndpointSettings | None = None,
        canceller: Canceller | None = None,
    ) -> None:
        self._endpointer = Endpointer(activity, endpoint)
        self._hearing, self._grammar, self._canceller = hearing, grammar, canceller
        self._at = 0  # sample up to which it was fed
        self.answers_too = False
        """Any answer counts, not only what halts: where the microphone surely does not hear the prompt."""
        self._heard_to = -1  # end of speech of what was read last
        self._rest = np.zeros(0, np.int16), np.zeros(0, np.int16)  # near and far, less than a step of the canceller

    @property
    def speaking_for(self) -> int:
        """Samples since somebody began to speak; 0 while nobody does."""
        return len(self._endpointer.under_way())

    def take(self, block: Block, far: Far | None) -> Caught | None:
        """The next sound under a prompt; what was caught, if somebody has just said it."""
        if block.at_sample != self._at:
            held = len(self._rest[0]) + (0 if self._canceller is None else self._canceller.drop())
            self._endpointer.skip(block.at_sample - self._at + held)  # between prompts the session listens itself
            self._rest = np.zeros(0, np.int16), np.zeros(0, np.int16)
        self._at = block.at_sample + len(block.samples)
        for event in self._endpointer.feed(self._without_echo(block, far)):
            if isinstance(event, SpeechPaused | SpeechEnded) and event.utterance.speech_end != self._heard_to:
                self._heard_to = event.utterance.speech_end
                heard = self._hearing.listen(event.utterance.samples, self._grammar()).heard
                if not heard.ranked or heard.decision == "reject":
                    continue
                if self.answers_too or alternative(heard.ranked[0]).command in HALTING:
                    self._endpointer.skip(0)  # it has been said; its end is nothing new
                    return Caught(event.utterance, heard)
        return None

    def cancel_echo(self, canceller: Canceller) -> None:
        """From now on the prompt is taken out of the sound first."""
        self._canceller = canceller

    def _without_echo(self, block: Block, far: Far | None) -> Samples:
        if self._canceller is None or far is None:
            return block.samples
        near = np.concatenate([self._rest[0], block.samples])
        played = np.concatenate([self._rest[1], far(block.at_sample, len(block.samples))])
        whole = len(near) // self._canceller.step * self._canceller.step
        self._rest = near[whole:], played[whole:]
        return self._canceller.take(near[:whole], played[:whole])
