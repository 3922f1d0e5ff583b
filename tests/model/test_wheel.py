"""The stock wheel opens what we write and computes what we compute: a network of random numbers, no training."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scripts.model.vosk import check, phones
from scripts.model.vosk.export import Manner, Trained, write_folder
from scripts.model.vosk.features import DIM
from scripts.model.vosk.graph import UNKNOWN
from scripts.model.vosk.kept import Kept, keep, read_kept
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.listen import Ear, open_model, with_unknown
from scripts.model.vosk.network import Affine, Network

LEXICON: Lexicon = {
    "one": [["W", "AH", "N"]],
    "two": [["T", "UW"]],
    "five": [["F", "AY", "V"]],
    "oh": [["OW"]],
    "eleven": [["IH", "L", "EH", "V", "AH", "N"], ["L", "EH", "V", "N"]],
}
WIDTH, BLOCKS = 24, 2


def random_network(seed: int) -> Network:
    r = np.random.default_rng(seed)

    def affine(out: int, into: int) -> Affine:
        return Affine(r.normal(size=(out, into)) / np.sqrt(into), 0.1 * r.normal(size=out))

    first = affine(WIDTH, 5 * DIM)
    small = Affine(first.weight / 20, first.bias)  # cepstra are some tens
    blocks = tuple(affine(WIDTH, 3 * WIDTH) for _ in range(BLOCKS))
    return Network(small, affine(WIDTH, 3 * WIDTH), affine(WIDTH, 3 * WIDTH), blocks, affine(phones.PDFS, WIDTH))


def sounds(seconds: float = 1.1) -> list[check.Sound]:
    r = np.random.default_rng(5)
    n = int(16_000 * seconds)
    return [check.Sound(w, (2000 * r.normal(size=n + 37 * i)).astype(np.int16)) for i, w in enumerate(LEXICON)]


@pytest.fixture(scope="module", params=[32, 16, 8])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Trained, Manner]:
    folder, manner = tmp_path_factory.mktemp("model"), Manner(scale=0.7, bits=request.param, unknown_phone=4.0)
    trained = Trained(random_network(1), list(np.linspace(0.5, 0.8, phones.UNITS)))
    write_folder(folder, trained, LEXICON, ["one two", "five"], manner)
    return folder, trained, manner


def test_the_wheels_scores_are_ours(made: tuple[Path, Trained, Manner]):
    folder, trained, manner = made
    apart = check.drift(open_model(folder), trained, LEXICON, manner, sounds())
    assert apart <= {32: 0.02, 16: 0.03, 8: 0.5}[manner.bits]


def test_another_networks_scores_are_not_ours(made: tuple[Path, Trained, Manner]):
    folder, trained, manner = made
    other = Trained(random_network(2), trained.stay)
    assert check.drift(open_model(folder), other, LEXICON, manner, sounds()) > 1.0


def test_only_words_of_the_grammar_are_heard(made: tuple[Path, Trained, Manner]):
    model = open_model(made[0])
    for phrases in (["two"], ["one two", "five"], with_unknown(["oh"])):
        allowed = {w for p in phrases for w in p.split()}
        for sound in sounds():
            assert set(Ear(model, phrases).words(sound.samples)) <= allowed


def test_unknown_is_a_word_of_the_graph(made: tuple[Path, Trained, Manner]):
    model = open_model(made[0])
    assert model.vosk_model_find_word(UNKNOWN) >= 0
    assert model.vosk_model_find_word("kumquat") == -1


def test_a_cheap_unknown_is_heard_and_a_dear_one_is_not(tmp_path: Path):
    heard = {}
    for price in (-20.0, 40.0):
        trained = Trained(random_network(1), [0.6] * phones.UNITS)
        write_folder(tmp_path / str(price), trained, LEXICON, [], Manner(unknown_phone=price))
        ear = Ear(open_model(tmp_path / str(price)), with_unknown(["one"]))
        heard[price] = [UNKNOWN in ear.words(s.samples) for s in sounds()]
    assert all(heard[-20.0]) and not any(heard[40.0])


def test_a_model_that_lacks_a_word_of_the_product_is_refused(made: tuple[Path, Trained, Manner]):
    folder, trained, manner = made
    with pytest.raises(check.ModelFault, match="the graph lacks kumquat; give their pronunciations"):
        check.verify(folder, trained, LEXICON, manner, needed=["one", "kumquat"], digits=sounds(), talk=[])


def test_a_model_that_passes_is_described(made: tuple[Path, Trained, Manner]):
    folder, trained, manner = made
    told = check.verify(folder, trained, LEXICON, manner, needed=["one"], digits=sounds(), talk=[])
    assert "opened by the stock wheel" in told[0] and "the wheel's scores are ours" in told[-1]


def test_what_training_gave_is_kept(tmp_path: Path):
    trained = Trained(random_network(6), list(np.linspace(0.5, 0.8, phones.UNITS)))
    keep(tmp_path / "trained.npz", Kept(trained, LEXICON, ["one two"], "| a |"))
    kept, f = read_kept(tmp_path / "trained.npz"), np.random.default_rng(7).normal(size=(40, DIM))
    assert (kept.lexicon, kept.sentences, kept.data) == (LEXICON, ["one two"], "| a |")
    assert kept.trained.stay == pytest.approx(trained.stay)
    assert kept.trained.network.parameters == trained.network.parameters
    assert kept.trained.network.scores(f) == pytest.approx(trained.network.scores(f), abs=1e-4)


def test_the_network_is_shift_blind_at_its_own_frame_rate():
    """Three frames later the same sound gives the same scores one output later, away from the edges."""
    net = random_network(3)
    f = np.random.default_rng(4).normal(size=(90, DIM))
    one, later = net.scores(f), net.scores(np.concatenate([f[:3], f]))
    edge = net.context // 3 + 2
    assert np.allclose(one[edge:-edge], later[edge + 1 : 1 - edge][: len(one) - 2 * edge], atol=1e-9)
