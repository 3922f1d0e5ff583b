"""Our own prompts spoken by our own voice, mixed with workshop noise, and heard back by our own ear."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.noise import KINDS, make_noise, mix
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer, check_rendering
from assistant.devices.resampling import resampled
from assistant.devices.voice_settings import VoiceSettings
from assistant.speech.beam import Limits
from assistant.speech.meaning import Meaning
from scripts.bench.prompt_material import Prompt, Template, grammar

RATE_HZ = 16_000
AROUND = 6_000  # samples of noise before and behind the prompt
NOISE_S = 15
BEDS = 6  # different stretches of each kind of noise
LIMITS = Limits(longest=70)  # a prompt has several sentences, an answer of the technician one
Samples = npt.NDArray[np.int16]


@dataclass(frozen=True)
class HeardBack:
    """One prompt and what was heard.

    Args:
        prompt: what was said.
        noise: kind.
        meaning: of the likeliest wording; None for none.
        seconds: how long it sounded.
    """

    prompt: Prompt
    noise: str
    meaning: Meaning | None
    seconds: float

    @property
    def right(self) -> bool:
        """All its numbers were heard, and no others."""
        return self.meaning == self.prompt.meaning


class Voice:
    """The product's own way from text to sound; with `plain` without what makes it clearer."""

    def __init__(self, folder: Path, settings: VoiceSettings | None = None, *, plain: bool = False) -> None:
        self._settings = settings or VoiceSettings()
        self._renderer = Pyttsx3Renderer(self._settings)
        self._cache = PromptCache(self._renderer, folder)
        self._folder, self._plain = folder, plain

    def sound(self, text: str) -> Samples:
        """int16 at 16 kHz."""
        if not self._plain:
            samples, rate = self._cache.sound(text)
        else:
            path = self._renderer.render(text, self._folder / "plain.wav")
            samples, rate = check_rendering(path, text, self._settings)
            path.unlink()
        return resampled(samples, rate, RATE_HZ)

    def close(self) -> None:
        """Let go of the engine."""
        self._cache.close()


def hear_back(
    prompts: Sequence[Prompt], voice: Voice, ear: ConstrainedListener, *, snr_db: float, among: Sequence[Template] = ()
) -> Iterator[HeardBack]:
    """Each prompt in the kinds of noise in turn.

    Args:
        prompts: what to say.
        voice: who says it.
        ear: who listens.
        snr_db: of the prompt, pauses left out, against the noise.
        among: the grammar has all these templates; none: the prompt's own only, as whoever works with the assistant
            knows what kind of sentence comes.
    """
    whole = grammar(among, written=True) if among else None
    kinds = list(KINDS)
    for number, prompt in enumerate(prompts):
        kind = kinds[number % len(kinds)]
        said = voice.sound(prompt.text)
        sound = np.pad(said, AROUND)
        bed = np.roll(_bed(kind, number // len(kinds) % BEDS), -7919 * number)
        reading = ear.hear(mix(sound, bed, snr_db), whole or _own(prompt.template.name, prompt.template))
        heard = reading.candidates[0].meaning if reading.candidates else None
        yield HeardBack(prompt, kind, heard, len(said) / RATE_HZ)


@functools.lru_cache(maxsize=64)
def _bed(kind: str, seed: int) -> npt.NDArray[np.float64]:
    return make_noise(kind, NOISE_S * RATE_HZ, seed)


@functools.lru_cache(maxsize=256)
def _own(name: str, template: Template):  # type: ignore[no-untyped-def]
    del name
    return grammar([template], written=True)
