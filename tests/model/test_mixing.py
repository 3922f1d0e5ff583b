"""A mix has the signal-to-noise ratio that it says, and plans keep their clips inside their rows."""

from __future__ import annotations

import random

import numpy as np
import pytest

from scripts.model.sound.bank import RATE, SHARE, Bank, joined, looped, plan
from scripts.model.sound.ratio import at_ratio, evened, speaking_level


def spoken(r: np.random.Generator, loud: float) -> np.ndarray:
    """Two seconds, the second half of it silent."""
    x = loud * r.normal(size=(1, 2 * RATE))
    x[:, RATE:] = 0
    return x


@pytest.mark.parametrize("snr_db", [-8.0, 0.0, 10.0, 30.0])
@pytest.mark.parametrize("loud", [0.001, 0.3])
def test_the_ratio_is_that_of_speaking_level_over_background(snr_db: float, loud: float):
    r = np.random.default_rng(3)
    x = spoken(r, loud)
    y = at_ratio(x, 7 * r.normal(size=x.shape), snr_db, np)
    under = y[:, RATE:]
    over = y[:, :RATE]
    noise = (under**2).mean()
    assert 10 * np.log10(((over**2).mean() - noise) / noise) == pytest.approx(snr_db, abs=0.6)


def test_each_row_has_its_own_ratio():
    r = np.random.default_rng(4)
    x = np.repeat(spoken(r, 0.1), 2, 0)
    y = at_ratio(x, r.normal(size=x.shape), np.array([[0.0], [20.0]]), np)
    quiet = (y[:, RATE:] ** 2).mean(1)
    assert quiet[0] / quiet[1] == pytest.approx(100, rel=0.05)


def test_silence_does_not_lower_the_speaking_level():
    r = np.random.default_rng(5)
    x = spoken(r, 0.2)
    assert speaking_level(x, np)[0, 0] == pytest.approx(0.2, rel=0.03)
    assert speaking_level(x[:, :RATE], np)[0, 0] == pytest.approx(speaking_level(x, np)[0, 0], rel=0.01)


def test_a_silent_background_stays_silent():
    assert np.isfinite(evened(np.zeros((1, 640)))).all()


@pytest.mark.parametrize("n", [500, 5000, 20_000])
def test_a_looped_noise_is_long_enough_and_has_no_jump(n: int):
    x = np.sin(np.linspace(0, 7, 6000)).astype(np.float32)
    y = looped(x, n)
    assert len(y) >= n
    assert np.abs(np.diff(y)).max() < 0.01


@pytest.fixture
def bank() -> Bank:
    r = np.random.default_rng(1)
    sounds = [r.integers(-900, 900, n).astype(np.int16) for n in (4000, 9000, 30_000, 70_000)]
    who = ["AN4 a", "AN4 a", "AN4 b", "AN4 b"]
    made = Bank(
        joined(sounds), joined(sounds), ["one", "two", "three", "four"], np.full(4, 2), ["AN4"] * 4, who, np.zeros(4)
    )
    made.friends = {"AN4 a": np.array([0, 1]), "AN4 b": np.array([2, 3])}
    made.sort_sources()
    return made


@pytest.mark.parametrize("seed", range(8))
def test_clips_of_a_plan_lie_inside_their_row_and_their_clip(bank: Bank, seed: int):
    p = plan(bank, random.Random(seed), 60)
    for (row, start, size, at, speed, _), clip in zip(p.pieces, p.clips, strict=True):
        assert 0 <= row < p.rows
        assert at + size / speed <= p.samples
        assert bank.speech.start[clip] <= start
        assert start + size <= bank.speech.start[clip] + bank.speech.length[clip] + 1


def test_the_same_seed_gives_the_same_plan(bank: Bank):
    one, other = (plan(bank, random.Random(9), 60) for _ in range(2))
    assert (one.pieces == other.pieces).all() and one.texts == other.texts
    assert (plan(bank, random.Random(10), 60).pieces.shape, one.samples) != (one.pieces.shape, -1)


def test_clips_that_may_not_be_drawn_never_are(bank: Bank):
    bank.sort_sources(np.array([True, True, True, False]))
    drawn = {int(c) for seed in range(20) for c in plan(bank, random.Random(seed), 60).clips}
    assert drawn == {0, 1, 2}


def test_a_row_whose_clip_was_cut_has_no_text(bank: Bank):
    bank.sort_sources(np.array([False, False, False, True]))
    p = plan(bank, random.Random(2), 60, longest=2.0)
    assert len(p.pieces) and all(texts == [] for texts in p.texts)


def test_the_shares_of_the_sources_are_a_whole():
    assert sum(SHARE.values()) == pytest.approx(1, abs=0.05)
