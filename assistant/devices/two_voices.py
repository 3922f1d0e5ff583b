"""A prompt in two languages: what stands between „ and “ is said by another voice, so that it is recognised as said."""

from __future__ import annotations

import re
import wave
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.voice_settings import VoiceSettings

GAP_S = 0.06
"""Silence between two voices; each rendering brings its own short run-out."""
_QUOTED = re.compile("„([^“]*)“")


def pieces(sentence: str, settings: VoiceSettings) -> tuple[tuple[str, str], ...]:
    """The sentence cut into texts with the engine's name of the voice for each; the whole of it where one voice says
    all. Pieces without a letter or figure (a stop behind a phrase) are left out.
    """
    if not settings.quoted_voice:
        return ((sentence, settings.engine_voice),)
    cut = _QUOTED.split(sentence)  # plain, quoted, plain, ...
    voices = (settings.engine_voice, settings.engine_quoted_voice)
    spoken = ((text.strip(" ,;:").lstrip(".?! "), voices[n % 2]) for n, text in enumerate(cut))
    return tuple((text, voice) for text, voice in spoken if any(character.isalnum() for character in text))


def write_joined(path: Path, sounds: Sequence[npt.NDArray[np.int16]], rate_hz: int) -> None:
    """Write the sounds one after the other as one WAV file (16-bit, mono) over what is there.

    Args:
        sounds: int16, shape (n,), all at `rate_hz`.
    """
    gap = np.zeros(round(GAP_S * rate_hz), np.int16)
    parts = [part for sound in sounds for part in (sound, gap)][:-1]
    with wave.open(str(path), "wb") as writer:
        writer.setnchannels(1)
        writer.setsampwidth(2)
        writer.setframerate(rate_hz)
        writer.writeframes(np.concatenate(parts).astype("<i2").tobytes())
