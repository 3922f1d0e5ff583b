"""Microphone, speaker and listeners of one session, as chosen on the command line."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.devices.live_microphone import SoundDeviceMicrophone
from assistant.devices.microphones import TypedMicrophone, WavMicrophone
from assistant.ports import Speaker
from assistant.session.hearing import Hearing

Clocked = SoundDeviceMicrophone | WavMicrophone | TypedMicrophone
"""Microphones that tell the sample of now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edges:
    """What a session hears with and speaks with.

    Args:
        typed: words are typed.
        real_time: the microphone runs on the clock of the world.
    """

    microphone: Clocked
    speaker: Speaker
    hearing: Hearing
    typed: bool
    real_time: bool

    @property
    def listeners(self) -> tuple[str, ...]:
        """Names of what listens."""
        return ("typed",) if self.typed else self.hearing.names
