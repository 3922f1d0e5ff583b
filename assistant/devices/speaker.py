"""ports.Speaker without a loudspeaker: prompts as files, or silence."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from pathlib import Path

import soundfile

from assistant.devices.prompt_cache import PromptCache
from assistant.errors import BadSettings, SpeakerFailed
from assistant.ports import Speaker, Spoken

RATE_HZ = 16_000  # of the microphone's clock
INDEX = "prompts.tsv"


def clock_samples(samples: int, rate_hz: int) -> int:
    """How long `samples` at `rate_hz` last, in samples of the microphone's clock, rounded up."""
    return -(-samples * RATE_HZ // rate_hz)


class WavSpeaker(Speaker):
    """Writes each prompt to `NNNN-first-words.wav` in a folder, and a line to `prompts.tsv`: file, start s, end s,
    text.

    Numbers go on where the folder's own left off, so that a resumed session adds to it.

    Raises:
        BadSettings: the folder cannot be made or written.
    """

    name = "wav"

    def __init__(self, prompts: PromptCache, folder: Path) -> None:
        self._prompts = prompts
        self._folder = folder
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with (folder / INDEX).open("a", encoding="utf-8"):
                pass
            numbers = [int(path.name[:4]) for path in folder.glob("[0-9][0-9][0-9][0-9]-*.wav")]
        except OSError as error:
            raise BadSettings(
                f"prompts cannot be written to {folder}: {error.strerror}",
                remedy="Name a folder that may be written: --speak wav:FOLDER.",
            ) from error
        self._number = max(numbers, default=0)

    def prepare(self, texts: Sequence[str]) -> None:
        """Render ahead, in the background."""
        self._prompts.prepare(texts)

    def adjust(self, what: str) -> None:
        """As ports.Speaker."""
        self._prompts.adjust(what)

    def say(self, text: str, at_sample: int) -> Spoken:
        """Write the prompt's file; lasts as long as the prompt would.

        Raises:
            SpeakerFailed, ModelMissing: it cannot be rendered or written.
        """
        samples, rate = self._prompts.sound(text)
        spoken = Spoken(at_sample, at_sample + clock_samples(len(samples), rate))
        name = f"{self._number + 1:04d}-{slug(text)}.wav"
        line = "\t".join(
            (name, f"{spoken.start_sample / RATE_HZ:.3f}", f"{spoken.end_sample / RATE_HZ:.3f}", " ".join(text.split()))
        )
        try:
            soundfile.write(self._folder / name, samples, rate, subtype="PCM_16")
            with (self._folder / INDEX).open("a", encoding="utf-8", newline="\n") as index:
                index.write(line + "\n")
        except (OSError, soundfile.SoundFileError) as error:
            raise SpeakerFailed(
                f"{self._folder / name}: {error}",
                remedy="Check that the folder can be written and has space; the session is stored.",
            ) from error
        self._number += 1
        return spoken

    def close(self) -> None:
        """Stop rendering ahead. May be called twice."""
        self._prompts.close()


class SilentSpeaker(Speaker):
    """Says nothing.

    Args:
        prompts: where given, each prompt lasts as long as it would aloud (it is rendered for that); else no time at
            all.
    """

    name = "silent"

    def __init__(self, prompts: PromptCache | None = None) -> None:
        self._prompts = prompts

    def prepare(self, texts: Sequence[str]) -> None:
        """Render ahead where durations are wanted."""
        if self._prompts is not None:
            self._prompts.prepare(texts)

    def adjust(self, what: str) -> None:
        """As ports.Speaker; it changes how long prompts last where durations are wanted."""
        if self._prompts is not None:
            self._prompts.adjust(what)

    def say(self, text: str, at_sample: int) -> Spoken:
        """Return at once.

        Raises:
            SpeakerFailed, ModelMissing: durations are wanted and it cannot be rendered.
        """
        if self._prompts is None:
            return Spoken(at_sample, at_sample)
        samples, rate = self._prompts.sound(text)
        return Spoken(at_sample, at_sample + clock_samples(len(samples), rate))

    def close(self) -> None:
        """Stop rendering ahead. May be called twice."""
        if self._prompts is not None:
            self._prompts.close()


def slug(text: str) -> str:
    """The first words of a text as part of a file name: a-z, 0-9 and hyphens, at most 40 characters."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].rstrip("-") or "prompt"
