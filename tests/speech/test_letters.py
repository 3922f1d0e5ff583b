"""The letters against brute force over every alignment (Graves et al. 2006: the sum over all paths that collapse to the
wording), and properties.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.letters import BLANK, COUNT, GAP, NEVER, best_letters, log_probabilities, spelt, written


def collapsed(path: tuple[int, ...]) -> tuple[int, ...]:
    kept = [i for k, i in enumerate(path) if k == 0 or i != path[k - 1]]
    return tuple(i for i in kept if i != BLANK)


def scores(seed: int, frames: int) -> np.ndarray:
    raw = np.random.default_rng(seed).normal(0, 2, (frames, COUNT))
    return (raw - np.log(np.exp(raw).sum(axis=1, keepdims=True))).astype(np.float32)


def sure(ids: list[int]) -> np.ndarray:
    """Frames in which one letter each is all but certain."""
    table = np.full((len(ids), COUNT), -12.0, np.float32)
    table[np.arange(len(ids)), ids] = 0.0
    return table


@pytest.mark.parametrize("wording", [(2,), (2, 3), (2, 2), (2, GAP, 2), (3, 2, 3)])
def test_the_sum_is_that_over_every_alignment(wording: tuple[int, ...]) -> None:
    table, used = scores(7, 5), (BLANK, GAP, 2, 3)
    paths = (p for p in itertools.product(used, repeat=5) if collapsed(p) == wording)
    wanted = np.logaddexp.reduce([sum(float(table[i, c]) for i, c in enumerate(p)) for p in paths])
    assert log_probabilities(table, [wording])[0] == pytest.approx(wanted, abs=1e-6)


def test_wordings_do_not_disturb_each_other() -> None:
    table = scores(3, 40)
    many = [spelt(t) for t in ("nine", "three hundred and ten newton metres", "snug", "double eight")]
    together = log_probabilities(table, many)
    assert together == pytest.approx([log_probabilities(table, [w])[0] for w in many])


def test_a_wording_that_does_not_fit_is_all_but_impossible() -> None:
    found = log_probabilities(scores(1, 3), [spelt("three hundred"), spelt("no")])
    assert NEVER <= found[0] < -600 < found[1]


def test_what_is_certain_has_no_price() -> None:
    n, o = spelt("no")
    table = sure([BLANK, n, n, BLANK, o, o, BLANK])
    assert written(best_letters(table)) == "no"
    assert log_probabilities(table, [spelt("no")])[0] == pytest.approx(0.0, abs=0.01)
    assert log_probabilities(table, [spelt("on")])[0] < -10


def test_a_doubled_letter_needs_a_blank_between() -> None:
    t, e = spelt("te")
    assert written(best_letters(sure([t, e, e]))) == "te"
    assert written(best_letters(sure([t, e, BLANK, e]))) == "tee"


@given(st.text(alphabet="abcxyz' ", min_size=1, max_size=20))
def test_spelling_comes_back(text: str) -> None:
    words = text.split()
    if not words:
        with pytest.raises(ValueError, match="letters"):
            spelt(text)
    else:
        assert written(spelt(text)) == " ".join(words)


def test_spellings_of_one_sound_are_one() -> None:
    assert spelt("newton meters") == spelt("Newton metres!")


@pytest.mark.parametrize("text", ["310", "bolt 7 snug", "", "..."])
def test_figures_and_nothing_cannot_be_spelt(text: str) -> None:
    with pytest.raises(ValueError, match="letters"):
        spelt(text)


@given(st.integers(0, 10_000), st.lists(st.sampled_from(["nine", "five", "nineteen", "stop", "three ten"]), min_size=1))
def test_probabilities_of_wordings_are_at_most_one(seed: int, texts: list[str]) -> None:
    assert (log_probabilities(scores(seed, 30), [spelt(t) for t in texts]) <= 1e-9).all()


def test_no_wordings_no_probabilities() -> None:
    assert log_probabilities(scores(1, 4), []).shape == (0,)
