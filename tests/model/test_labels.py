"""Cepstra, labels of frames, and chains of phones: what training compares."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from scripts.model.sound.bank import Bank, Plan, joined
from scripts.model.vosk.chains import BEGIN, NEVER, SILENCE_PRICE, chain_of, stacked, trigram, unit_sequences
from scripts.model.vosk.export import staying
from scripts.model.vosk.features import DIM, frames_of, mfcc, with_edges
from scripts.model.vosk.labels import frame_labels, output_times, plan_labels
from scripts.model.vosk.phones import PDFS, unit_of

LEXICON = {"two": [["T", "UW"]], "oh": [["OW"]], "a": [["AH"], ["EY"]]}


@pytest.mark.parametrize(("samples", "frames"), [(399, 0), (400, 1), (559, 1), (560, 2), (16_000, 98)])
def test_only_whole_frames_count(samples: int, frames: int):
    assert frames_of(samples) == frames
    assert mfcc(np.ones(samples)).shape == (frames, DIM)


def test_louder_sound_changes_the_first_cepstrum_alone():
    x = np.random.default_rng(1).normal(size=4000) * 1000
    change = mfcc(10 * x) - mfcc(x)
    assert change[:, 0] == pytest.approx(np.sqrt(DIM) * 2 * np.log(10), rel=1e-3)
    assert np.abs(change[:, 1:]).max() < 0.01


@pytest.mark.parametrize("frames", [1, 2, 3, 4, 50])
def test_edges_are_repeated_so_that_every_third_frame_has_its_context(frames: int):
    f = np.arange(frames)[:, None] * np.ones(DIM)
    context = 7
    padded = with_edges(f, context)
    outputs = (frames + 2) // 3
    assert len(padded) == 3 * (outputs - 1) + 1 + 2 * context
    assert (padded[context::3][:outputs, 0] == np.arange(0, frames, 3)).all()
    assert (padded[:context] == f[0]).all() and (padded[-1] == f[min(frames - 1, 3 * (outputs - 1) + context)]).all()


def test_a_phones_first_frame_enters_and_the_next_ones_stay():
    labels = frame_labels([(3, 0.1, 0.2), (3, 0.2, 0.25), (5, 0.4, 0.5)], np.arange(0.0, 0.6, 0.05))
    assert labels.tolist() == [0, 1, 6, 7, 6, 0, 1, 1, 10, 11, 0, 1]


def test_no_phones_are_silence():
    assert frame_labels([], np.arange(3.0)).tolist() == [0, 1, 1]


def test_an_alignment_moves_with_its_clip_and_its_speed():
    """A clip read from its 0.1 s on, at double speed, sounding 1 s into the row."""
    r = np.random.default_rng(0)
    sounds = [r.integers(-9, 9, 16_000).astype(np.int16) for _ in range(2)]
    bank = Bank(joined(sounds), joined(sounds), ["", "two"], np.ones(2), ["a", "a"], ["x", "x"], np.zeros(2))
    pieces = np.array([[1, 16_000 + 1600, 9600, 16_000, 2.0, 1.0]])
    plan = Plan(32_000, 2, pieces, np.array([1]), [[], ["two"]], [0, 2])
    labels = plan_labels(plan, bank, [None, [(7, 0.3, 0.5), (9, 0.6, 0.9)]])
    times = output_times(32_000)
    assert labels.shape == (2, len(times)) and (labels[0, 1:] == 1).all()
    first, second = times[labels[1] // 2 == 7], times[labels[1] // 2 == 9]
    assert first.min() >= 1.1 and first.max() < 1.2 and len(first) == 3
    assert second.min() >= 1.25 and second.max() < 1.3  # the rest of it lies behind the piece's end
    assert (times >= 1.1)[np.flatnonzero(labels[1] == 14)].all() and (labels[1] == 14).sum() == 1


def ways(chain) -> set[tuple[tuple[int, ...], float]]:
    """Every (units, price) through a chain, by walking it backwards."""
    found, todo = set(), [((), 0.0, end) for end in chain.ends if end != BEGIN]
    while todo:
        line, price, node = todo.pop()
        line, price = (chain.units[node], *line), price + chain.price[node]
        for back in chain.before[node]:
            if back == BEGIN:
                found.add((line, round(price, 6)))
            else:
                todo.append((line, price, back))
    return found


def test_a_chain_holds_every_pronunciation_with_pauses_as_an_option():
    t, uw, ah, ey = (unit_of(p) for p in ("T", "UW", "AH", "EY"))
    expected = set()
    for first, between, last, vowel in itertools.product((0, 1), (0, 1), (0, 1), (ah, ey)):
        line = [0] * first + [t, uw] + [0] * between + [vowel] + [0] * last
        expected.add((tuple(line), round(between * SILENCE_PRICE, 6)))
    assert ways(chain_of(["two", "a"], LEXICON)) == expected


def test_nothing_said_is_silence():
    assert ways(chain_of([], LEXICON)) == {((0,), 0.0)}


def test_a_word_without_a_pronunciation_is_refused():
    with pytest.raises(KeyError, match="moor"):
        chain_of(["moor"], LEXICON)


def test_a_batch_pads_chains_with_what_can_never_be_reached():
    chains = [chain_of(["oh"], LEXICON), chain_of(["two", "a"], LEXICON)]
    batch = stacked(chains)
    rows, n, k = batch.before.shape
    assert (rows, n) == (2, len(chains[1].units)) and batch.unit.shape == batch.price.shape == (2, n)
    assert (batch.before[0, len(chains[0].units) :] == n + 1).all()
    for i, c in enumerate(chains):
        assert set(np.flatnonzero(batch.last[i] == 0)) == set(c.ends) - {BEGIN}
        assert (batch.last[i][batch.last[i] != 0] == np.float32(NEVER)).all()
    assert batch.before[1, 0].tolist() == [n] + [n + 1] * (k - 1)


def test_a_trigram_is_a_probability_after_every_pair():
    phones = trigram([[0, 1, 2, 0], [1, 2], [0, 2, 1, 1, 0], [0]], 3)
    after = phones.next.transpose(1, 0, 2).sum(2) + phones.end
    assert phones.start.shape == (3,) and 0.9 < phones.start.sum() < 1
    assert after == pytest.approx(np.ones((4, 3)))
    assert phones.start[0] > phones.start[2]
    assert phones.next[1, 0, 2] > phones.next[1, 0, 0]  # 0 1 was followed by 2


def test_sequences_leave_out_sentences_that_cannot_be_said():
    said = unit_sequences(["two oh", "moor", ""], LEXICON, seed=1)
    assert len(said) == 1 and [u for u in said[0] if u] == [unit_of(p) for p in ("T", "UW", "OW")]


def test_staying_follows_the_counts_within_bounds():
    counts = np.ones(PDFS)
    counts[2:4] = 10, 30
    counts[4:6] = 0, 900
    stay = staying(counts)
    assert stay[1] == pytest.approx(0.75) and stay[2] == 0.95 and math.isclose(stay[3], 0.5)
