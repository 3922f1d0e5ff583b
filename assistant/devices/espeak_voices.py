"""Synthetic speakers for the rehearsal and the benches: any eSpeak NG voice, same request, same samples."""

from __future__ import annotations

import tempfile
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer, check_rendering
from assistant.devices.resampling import resampled
from assistant.devices.voice_process import VoiceProcess
from assistant.devices.voice_settings import VoiceSettings

RATE_HZ = 16_000
MEN = tuple(f"+m{number}" for number in range(1, 9))
WOMEN = tuple(f"+f{number}" for number in range(1, 6))
ACCENTS = (
    "gmw/en-us",
    "gmw/en",
    "gmw/en-gb-scotland",
    "gmw/en-gb-x-rp",
    "gmw/en-gb-x-gbclan",
    "gmw/en-gb-x-gbcwmd",
    "gmw/en-us-nyc",
    "gmw/en-029",
)
VOICES = tuple(accent + variant for accent in ACCENTS for variant in ("", *MEN, *WOMEN))  # 112 English-speaking voices

_EDGE_DB = 35.0  # below the loudest 10 ms: this is where speech begins and ends
_process = VoiceProcess()


@lru_cache(maxsize=512)
def speak(
    text: str, voice: str = "gmw/en-us", rate_wpm: int = 165, pitch: int = 50
) -> tuple[npt.NDArray[np.int16], int, int]:
    """Speak a text.

    Args:
        text: words; figures are read as numbers.
        voice: as `VoiceSettings`; VOICES lists English ones.
        rate_wpm: words per minute.
        pitch: 0 to 99.

    Returns:
        Samples (int16, shape (n,), mono, 16 000 Hz, read-only), number of the first sample with speech, and of the one
        after the last.

    Raises:
        SpeakerFailed, ModelMissing, BadSettings: as the renderer.
    """
    settings = VoiceSettings(voice, rate_wpm, 1.0, pitch)
    with tempfile.TemporaryDirectory(prefix="assistant-voice-") as folder:
        path = Pyttsx3Renderer(settings, process=_process).render(text, Path(folder) / "sentence.wav")
        rendered, rate = check_rendering(path, text, settings)
    samples = resampled(rendered, rate, RATE_HZ)
    first, past = speech_edges(samples)
    samples.setflags(write=False)
    return samples, first, past


def speech_edges(samples: npt.NDArray[np.int16], *, below_db: float = _EDGE_DB) -> tuple[int, int]:
    """First sample and the one after the last of the stretch whose 10 ms frames are within `below_db` of the loudest.

    For clean speech. (0, 0) for silence.
    """
    size = RATE_HZ // 100
    count = -(-len(samples) // size)
    padded = np.zeros(count * size)
    padded[: len(samples)] = samples
    power = (padded.reshape(count, size) ** 2).mean(axis=1) if count else np.zeros(0)
    if not power.any():
        return 0, 0
    loud = np.flatnonzero(power >= power.max() * 10 ** (-below_db / 10))
    return int(loud[0]) * size, min(len(samples), (int(loud[-1]) + 1) * size)
