"""The loudspeaker of a rehearsal: prompts sound on the simulated technician's clock."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from assistant.ports import Samples, Speaker, Spoken
from assistant.rehearsal.technician import Technician


@dataclass(slots=True)
class RehearsalSpeaker(Speaker):
    """ports.Speaker on the technician's clock: prompts last as long as they sound, and the technician hears them.

    Args:
        sound: the prompt as sound, rendered by the real voice.
        ahead: renders prompts ahead.
        technician: hears them.
    """

    sound: Callable[[str], Samples]
    ahead: Callable[[list[str]], None]
    technician: Technician
    prompts: list[tuple[int, Samples]] = field(default_factory=list)
    name: str = "rehearsal"

    def prepare(self, texts: Sequence[str]) -> None:
        """Render ahead."""
        self.ahead(list(texts))

    def adjust(self, what: str) -> None:
        """The simulated technician asks for no other voice."""

    def say(self, text: str, at_sample: int) -> Spoken:
        """Sounds at once on the technician's clock."""
        samples = self.sound(text)
        spoken = Spoken(at_sample, at_sample + len(samples))
        self.prompts.append((self.technician.origin + at_sample, samples))
        self.technician.hears(spoken)
        return spoken

    def close(self) -> None:
        """Nothing to let go of."""
