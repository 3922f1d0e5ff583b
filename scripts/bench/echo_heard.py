"""'Stop' said under our own prompts, at several echoes of the loudspeaker: heard, and never heard where nobody said it.

    scripts/bench/echo [--echo -20 -10 0] [--stops 20] [--snr 20] [--json FILE]

Each prompt goes through a made room (30 ms on the way, reflections, a tail of 0.25 s), the same for a whole run, and is
heard so many dB above or below the technician's speech, over a fan. Endpointer and listeners are the session's. Prompts
with 'stop' and 'pause' in them are among them: they are what would stop the assistant by itself.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Callable
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
from assistant.session.hearing import Hearing, alternative
from assistant.speech.endpoint import Endpointer
from assistant.speech.utterance import SpeechEnded, SpeechPaused
from assistant.speech.vocabulary import everything
from assistant.speech.wording import catalogue

SPEECH_RMS = 0.06
Floats = npt.NDArray[np.float64]
Cancel = Callable[[npt.NDArray[np.int16], npt.NDArray[np.int16]], npt.NDArray[np.int16]]
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


def scene(
    prompt: npt.NDArray[np.int16], echo_db: float, stop_at: int | None, voice: str, snr_db: float, seed: int
) -> tuple[npt.NDArray[np.int16], npt.NDArray[np.int16]]:
    """What the microphone hears and what the loudspeaker plays: 0.5 s before the prompt, 1.5 s after it."""
    far = np.concatenate([np.zeros(8000), prompt / 32768.0, np.zeros(24000)])
    echo = np.convolve(far, room(1))[: len(far)]
    echo *= SPEECH_RMS * 10 ** (echo_db / 20) / (active_rms(np.rint(echo * 32767).astype(np.int16)) + 1e-9)
    near = echo + make_noise("fan", len(far), seed) * SPEECH_RMS * 10 ** (-snr_db / 20)
    if stop_at is not None:
        sound, first, past = speak("stop", voice, 150)
        said = sound[first:past] / 32768.0
        said = said * SPEECH_RMS / active_rms(sound[first:past])
        near[stop_at : stop_at + len(said)] += said
    as_int = lambda x: np.rint(np.clip(x, -0.999, 0.999) * 32767).astype(np.int16)  # noqa: E731
    return as_int(near), as_int(far)


def stops(near: npt.NDArray[np.int16], far: npt.NDArray[np.int16], cancel: Cancel, hearing: Hearing) -> list[float]:
    """Seconds at which 'stop' or 'pause' was understood, as under a prompt of the session."""
    endpointer, found = Endpointer(SileroActivity()), []
    for at in range(0, len(near) - 319, 320):
        for event in endpointer.feed(cancel(near[at : at + 320], far[at : at + 320])):
            if isinstance(event, SpeechPaused | SpeechEnded):
                heard = hearing.listen(event.utterance.samples, everything()).heard
                best = alternative(heard.ranked[0]).command if heard.ranked else None
                if best in ("stop", "pause") and heard.decision != "reject":
                    found.append((at + 320) / 16_000)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--echo", type=float, nargs="+", default=[-20.0, -10.0, 0.0], metavar="DB")
    parser.add_argument("--stops", type=int, default=20)
    parser.add_argument("--snr", type=float, default=20.0)
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
        for name in ("none", "canceller"):
            false = heard = 0
            delays = []
            canceller = EchoCanceller() if name == "canceller" else None
            cancel: Cancel = canceller.take if canceller is not None else (lambda near, _far: near)
            for index, prompt in enumerate(prompts):
                near, far = scene(prompt, echo_db, None, "", args.snr, index)
                false += bool(stops(near, far, cancel, hearing))
            chance = np.random.default_rng(7)
            for index in range(args.stops):
                prompt = prompts[index % len(prompts)]
                at = 8000 + int(chance.uniform(0.15, 0.8) * len(prompt))
                voice = VOICES[int(chance.integers(len(VOICES)))]
                near, far = scene(prompt, echo_db, at, voice, args.snr, 100 + index)
                found = [t for t in stops(near, far, cancel, hearing) if at / 16_000 < t < at / 16_000 + 2.5]
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
