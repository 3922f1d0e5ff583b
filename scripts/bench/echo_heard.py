"""'Stop' said under our own prompts, at several echoes of the loudspeaker: heard, and never heard where nobody said it.

    scripts/bench/echo [--echo -20 -10 0] [--stops 20] [--snr 20] [--told-ms 20] [--bends 1.5] [--bare]
        [--json FILE]

Each prompt goes through a made room (30 ms on the way, reflections, a tail of 0.25 s), the same for a whole run, and is
heard so many dB above or below the technician's speech, over a fan. When it began is known to some milliseconds only
(the microphone's clock counts blocks), and the loudspeaker bends its sound a little. What listens is the session's own
`Overhearing`. Prompts with 'stop' and 'pause' in them are among them: they are what would stop the assistant by itself.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.cli import house
from assistant.config.settings import Settings
from assistant.devices.echo import EchoCanceller
from assistant.devices.espeak_voices import VOICES, speak
from assistant.devices.noise import active_rms, make_noise
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer
from assistant.devices.resampling import resampled
from assistant.devices.voice_activity import SileroActivity
from assistant.ports import Block, Canceller, Samples
from assistant.session.hearing import Hearing
from assistant.session.overhearing import Overhearing
from assistant.speech.vocabulary import everything
from assistant.speech.wording import catalogue

SPEECH_RMS = 0.06
Floats = npt.NDArray[np.float64]
PROMPTS = (
    "Pump 2 discharge flange. Maker's instruction and site rules come first. Is pump two isolated and locked out?",
    "One recorded, one oh two. Bolt five. Torque one oh two.",
    "Twelve newton metres low. Not recorded. Tighten again, or say keep.",
    "Pass two. To one hundred and eighty newton metres. Bolt one. Torque one eighty.",
    "One eighty?",
    catalogue("en").help["guiding"],
    catalogue("en").help["helper"],
    "Bolt seven did not move. Say correction to change it. Say pause to pause.",
)


def room(seed: int) -> Floats:
    """An impulse response: 0.03 s on the way, reflections, a tail that is 30 dB down after 0.25 s."""
    chance = np.random.default_rng(seed)
    tail = chance.standard_normal(4000) * 10 ** (-30 / 20 * np.arange(4000) / 4000) * 0.15
    tail[0] = 1.0
    return np.concatenate([np.zeros(480), tail])


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """What lies between loudspeaker and microphone.

    Args:
        echo_db: level of a prompt where the microphone is, over the technician's speech.
        snr_db: of the speech over the fan.
        told_ms: by so much, at most, the prompt sounds later than it is told, each time anew.
        bends: of the loudspeaker: a full-scale sample x sounds as tanh(bends * x) / bends; 0 for a straight one.
    """

    echo_db: float
    snr_db: float
    told_ms: float
    bends: float

    def scene(self, prompt: Samples, stop_at: int | None, voice: str, seed: int) -> tuple[Samples, Samples]:
        """What the microphone hears and what the loudspeaker is told to play: 0.5 s before the prompt, 1.5 s after."""
        late = int(np.random.default_rng(seed).integers(0, round(self.told_ms * 16) + 1))
        far = np.concatenate([np.zeros(8000), prompt / 32768.0, np.zeros(24000)])
        sounds = np.tanh(far * self.bends) / self.bends if self.bends else far
        echo = np.convolve(np.concatenate([np.zeros(late), sounds]), room(1))[: len(far)]
        echo *= SPEECH_RMS * 10 ** (self.echo_db / 20) / (active_rms(np.rint(echo * 32767).astype(np.int16)) + 1e-9)
        near = echo + make_noise("fan", len(far), seed) * SPEECH_RMS * 10 ** (-self.snr_db / 20)
        if stop_at is not None:
            sound, first, past = speak("stop", voice, 150)
            said = sound[first:past] / 32768.0
            near[stop_at : stop_at + len(said)] += said * SPEECH_RMS / active_rms(sound[first:past])
        as_int = lambda x: np.rint(np.clip(x, -0.999, 0.999) * 32767).astype(np.int16)  # noqa: E731
        return as_int(near), as_int(far)


class Ears:
    """A session's ears under its prompts, one after another."""

    def __init__(self, hearing: Hearing, canceller: Canceller | None) -> None:
        self._overhearing = Overhearing(SileroActivity(), hearing, everything, canceller=canceller)
        self._at = 16_000

    def stopped(self, near: Samples, far: Samples) -> list[float]:
        """Seconds of the scene at which 'stop' or 'pause' was understood."""
        begun = self._at
        told = lambda at, count: far[at - begun : at - begun + count]  # noqa: E731
        found = [
            (at + 320) / 16_000
            for at in range(0, len(near) - 319, 320)
            if self._overhearing.take(Block(near[at : at + 320], begun + at), told) is not None
        ]
        self._at = begun + len(near) + 16_000  # between prompts the session listens by itself
        return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--echo", type=float, nargs="+", default=[-20.0, -10.0, 0.0], metavar="DB")
    parser.add_argument("--stops", type=int, default=20)
    parser.add_argument("--snr", type=float, default=20.0)
    parser.add_argument("--told-ms", type=float, default=20.0, help="how late a prompt may be against what is told")
    parser.add_argument("--bends", type=float, default=1.5, help="of the loudspeaker; 0 for a straight one")
    parser.add_argument("--bare", action="store_true", help="without the canceller, too")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    parts = house.Parts(Settings())
    hearing = parts.hearing()
    results = []
    with tempfile.TemporaryDirectory() as folder:
        cache = PromptCache(Pyttsx3Renderer(), Path(folder))
        prompts = [resampled(*cache.sound(text), 16_000) for text in PROMPTS]
        cache.close()
    for echo_db in args.echo:
        for name in ("canceller", "none") if args.bare else ("canceller",):
            false = heard = 0
            delays = []
            ears = Ears(hearing, EchoCanceller() if name == "canceller" else None)
            air = Air(echo_db=echo_db, snr_db=args.snr, told_ms=args.told_ms, bends=args.bends)
            for index, prompt in enumerate(prompts):
                false += bool(ears.stopped(*air.scene(prompt, None, "", index)))
            chance = np.random.default_rng(7)
            for index in range(args.stops):
                prompt = prompts[index % len(prompts)]
                at = 8000 + int(chance.uniform(0.15, 0.8) * len(prompt))
                voice = VOICES[int(chance.integers(len(VOICES)))]
                times = ears.stopped(*air.scene(prompt, at, voice, 100 + index))
                found = [t for t in times if at / 16_000 < t < at / 16_000 + 2.5]
                heard += bool(found)
                delays += [1000 * (found[0] - at / 16_000)] if found else []
            told = {
                "echo_db": echo_db,
                "canceller": name,
                "stopped_by_itself": f"{false} of {len(prompts)} prompts",
                "stop_heard": f"{heard} of {args.stops}",
                "after_ms": round(float(np.median(delays))) if delays else None,
            }
            results.append(told)
            print(json.dumps(told), flush=True)
    parts.close()
    if args.json:
        args.json.write_text(json.dumps(results, indent=1), "utf-8")


if __name__ == "__main__":
    main()
