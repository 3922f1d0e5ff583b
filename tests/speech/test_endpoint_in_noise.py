"""The endpointer with the real network: spoken phrases in noise, noise alone, faint speech over hum."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.espeak_voices import speak
from assistant.devices.noise import make_noise, mix
from assistant.devices.voice_activity import SileroActivity
from tests.speech.test_endpoint import SECOND, ended, events_of


def _stream(snr_db, kind="fan"):
    """Four spoken phrases with gaps, in noise, with their places."""
    pieces, spots, at = [np.zeros(3 * SECOND, np.int16)], [], 3 * SECOND
    for text, voice in (
        ("three ten", "gmw/en-us+m3"),
        ("yes", "gmw/en+f2"),
        ("six", "gmw/en-us"),
        ("two seventy five point five", "gmw/en+m1"),
    ):
        said, first, past = speak(text, voice)
        spots.append((at + first, at + past))
        pieces += [said, np.zeros(2 * SECOND, np.int16)]
        at += len(said) + 2 * SECOND
    clean = np.concatenate(pieces)
    return mix(clean, make_noise(kind, len(clean), 3), snr_db), spots


@pytest.mark.parametrize(("snr_db", "kind"), [(40, "pink"), (10, "fan"), (5, "pink"), (5, "hammering"), (0, "fan")])
def test_real_network_finds_spoken_phrases_whole(snr_db, kind):
    samples, spots = _stream(snr_db, kind)
    found = ended(events_of(samples, cuts=range(320, len(samples), 320), detector=SileroActivity()))
    for first, past in spots:
        (utterance,) = [one for one in found if one.speech_start < past and one.speech_end > first]
        assert utterance.at_sample <= first and utterance.at_sample + len(utterance.samples) >= past
        assert utterance.whole
        assert utterance.snr_db == pytest.approx(snr_db, abs=4 if snr_db < 40 and kind == "pink" else 60)
    assert len(found) <= len(spots) + (snr_db <= 0), "false triggers"


def test_real_network_leaves_steady_noise_alone():
    for kind in ("fan", "brown", "hammering", "grinder"):
        noise = np.rint(make_noise(kind, 30 * SECOND, 5) * 0.05 * 32767).clip(-32768, 32767).astype(np.int16)
        assert ended(events_of(noise, detector=SileroActivity())) == [], kind


def test_real_network_hears_faint_speech_over_hum_and_offset():
    clean, spots = _stream(60)
    time = np.arange(len(clean)) / SECOND
    faint = clean * 0.01 + 600 + 2500 * np.sin(2 * np.pi * 50 * time)
    found = ended(events_of(np.rint(faint).astype(np.int16), detector=SileroActivity()))
    assert len(found) == len(spots)
