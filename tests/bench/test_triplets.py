"""Triplets and their noise: the SNR that they say, the spectrum of the speaker, the same each time."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from assistant.speech.meaning import Value
from scripts.bench.corpus import RATE_HZ, active_level
from scripts.bench.srt import Result, document, threshold_run
from scripts.bench.staircase import Rules
from scripts.bench.triplets import AROUND_S, Talker, in_noise, speech_noise, triplets


def talker() -> Talker:
    """Each digit is a tone of its own, 0.3 s, between 300 and 1200 Hz."""
    t = np.arange(round(0.3 * RATE_HZ)) / RATE_HZ
    tones = {n: (np.sqrt(2) * np.sin(2 * np.pi * (300 + 100 * n) * t)).astype(np.float32) for n in range(10)}
    return Talker("nobody", "synthetic", {n: (x,) for n, x in tones.items()})


@pytest.mark.parametrize("snr_db", [-10.0, 0.0, 10.0])
def test_a_triplet_has_the_snr_it_says(snr_db):
    triplet = triplets(talker(), 1, seed="a")[0]
    mixed = in_noise(triplet, talker(), snr_db, seed="a").astype(float)
    around = round(AROUND_S * RATE_HZ)
    noise = np.concatenate([mixed[:around], mixed[-around:]])
    speech = np.pad(triplet.sound, around)
    gain = (mixed @ speech) / (speech @ speech)  # least squares: the noise knows nothing of the speech
    told = 20 * np.log10(gain * active_level(triplet.sound) / np.sqrt((noise**2).mean()))
    assert told == pytest.approx(snr_db, abs=1.0)


def test_the_noise_lies_where_the_digits_lie():
    power = np.abs(np.fft.rfft(speech_noise(talker(), RATE_HZ, seed="a"))) ** 2  # a point a hertz
    assert power[280:1230].sum() > 0.9 * power.sum()
    assert power.sum() > 0


def test_digits_come_equally_often_and_none_begins_with_a_nought():
    made = triplets(talker(), 90, seed="a")
    texts = [f"{t.number:03d}" for t in made]
    assert all(text[0] != "0" and len(text) == 3 for text in texts)
    assert set(Counter(text[0] for text in texts).values()) == {10}
    assert set(Counter(text[2] for text in texts).values()) == {9}


def test_the_same_seed_gives_the_same_sound_and_another_another():
    one, again, other = (in_noise(triplets(talker(), 1, seed=s)[0], talker(), 0.0, seed=s) for s in ("a", "a", "b"))
    assert np.array_equal(one, again)
    assert len(one) != len(other) or not np.array_equal(one, other)


def test_a_wrong_value_that_would_be_accepted_is_counted():
    result = Result()
    rules = Rules(triplets=6, counted_from=2)
    right = iter([True, False] * 3)
    numbers = iter(t.number for t in triplets(talker(), 6, seed="x"))

    def listen(samples):
        number = next(numbers)
        return (Value(number), "accept") if next(right) else (Value(number + 1), "accept")

    track = threshold_run(talker(), listen, seed="x", rules=rules, result=result)
    assert (result.presented, result.wrong_accepted) == (6, 3)
    assert track.right == (True, False) * 3
    told = document({"synthetic": {"the pair": result}}, {}, "")["groups"]["synthetic"]["the pair"]
    assert told["srt_db"] == round(track.srt_db, 2) and told["speakers"]["nobody"]["tracks"][0]["snrs_db"][0] == 0.0
