"""All utterances of a whole recording, for listening to files."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from assistant.speech.background import GROUND_SHARE
from assistant.speech.endpoint import Detector, Endpointer
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.utterance import SpeechEnded, Utterance

RATE_HZ = 16_000
LIVELY_DB = 6.0  # a recording whose loud tenth stands so far above its quiet fifth holds more than a steady noise


def utterances(
    samples: npt.NDArray[np.int16], detector: Detector, settings: EndpointSettings | None = None
) -> list[Utterance]:
    """Utterances of a recording, in order.

    A short recording in which none is found, but whose level varies, is given whole as one utterance: somebody
    recorded it on purpose, and speech may be drowned. A listener that finds nothing in it answers so.

    Args:
        samples: int16, shape (n,), mono, 16 000 Hz.
        detector: voice activity; its memory is reset.
        settings: thresholds.
    """
    settings = settings or EndpointSettings()
    endpointer = Endpointer(detector, settings)
    events = [*endpointer.feed(samples), *endpointer.finish()]
    found = [event.utterance for event in events if isinstance(event, SpeechEnded)]
    if (
        not found
        and 0.1 * RATE_HZ <= len(samples) <= settings.longest_s * RATE_HZ
        and liveliness_db(samples) >= LIVELY_DB
    ):
        return [_all_of(samples)]
    return found


def liveliness_db(samples: npt.NDArray[np.int16]) -> float:
    """How far the loud tenth of the 50 ms frames stands above the quiet fifth, dB; 0 for silence."""
    size = RATE_HZ // 20
    frames = samples[: len(samples) // size * size].reshape(-1, size).astype(np.float64)
    if len(frames) < 2:
        return 0.0
    power = frames.var(axis=1)
    if not power.any():
        return 0.0
    levels = 10 * np.log10(power + 1.0)
    return float(np.percentile(levels, 90) - np.percentile(levels, GROUND_SHARE))


def _all_of(samples: npt.NDArray[np.int16]) -> Utterance:
    scaled = samples / 32768.0
    return Utterance(
        samples=samples,
        at_sample=0,
        speech_start=0,
        speech_end=len(samples),
        snr_db=None,
        level_dbfs=float(10 * np.log10(max(1e-10, float(np.mean(scaled * scaled))))),
        clipped=float(np.mean(np.abs(samples.astype(np.int32)) >= 32_700)),
        cut=False,
        continued=False,
        holed=False,
        from_gate=False,
    )
