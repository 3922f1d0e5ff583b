"""Sound at another rate, block by block: in its place, soon, and without what the new rate cannot hold."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.resampling import Resampler


def streamed(sound: np.ndarray, rate_hz: int) -> np.ndarray:
    resampler, size = Resampler(rate_hz, 16_000), rate_hz // 50
    return np.concatenate([resampler.take(sound[at : at + size]) for at in range(0, len(sound), size)])


@pytest.mark.parametrize("rate_hz", [32_000, 48_000, 96_000])
def test_from_a_multiple_of_the_rate_sound_is_in_its_place_and_3_ms_late(rate_hz):
    sound = np.zeros(rate_hz // 2, np.int16)
    sound[rate_hz // 4] = 20_000
    heard = streamed(sound, rate_hz)
    assert int(np.abs(heard).argmax()) == 4_000
    assert 8_000 - len(heard) <= 3 * 16
    assert not streamed(np.zeros(rate_hz, np.int16), rate_hz).any(), "silence stays silence"


@pytest.mark.parametrize(("hertz", "least_db", "most_db"), [(300, -0.1, 0.1), (7_500, -0.5, 0.1), (8_500, -200, -80)])
def test_what_the_new_rate_can_hold_passes_and_the_rest_does_not_fold_back(hertz, least_db, most_db):
    tone = np.rint(20_000 * np.sin(2 * np.pi * hertz * np.arange(48_000) / 48_000)).astype(np.int16)
    heard = streamed(tone, 48_000)[800:-800].astype(float)
    assert least_db <= 20 * np.log10(heard.std() * np.sqrt(2) / 20_000 + 1e-9) <= most_db
