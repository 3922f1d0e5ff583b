"""What training needs, packed into a folder and read again; and plans, chains and cepstra of the fast training."""

from __future__ import annotations

import json
import random
from pathlib import Path

import numpy as np
import pytest

from scripts.model.sound.bank import RATE, Bank, joined, plan
from scripts.model.sound.packed import read_bank
from scripts.model.vosk.chains import chain_of, stacked
from scripts.model.vosk.features import DIM, FFT, KNEE_HZ, triangles, warped
from scripts.model.vosk.material import FACTS, Material, read_material, write_material

LEXICON = {"two": [["T", "UW"]], "oh": [["OW"]], "a": [["AH"], ["EY"]]}
SOURCES = ["FSDD", "kokoro", "AN4", "kokoro"]
TEXTS = ["two", "oh", "a two", "two two"]


def tone(hertz: float, samples: int) -> np.ndarray:
    return (3000 * np.sin(2 * np.pi * hertz * np.arange(samples) / RATE)).astype(np.int16)


@pytest.fixture
def material() -> Material:
    speech = joined([tone(300.0 + 200 * i, 9000 + 777 * i) for i in range(4)])
    noise = joined([tone(2000.0, 16_000), tone(2500.0, 20_000)])
    doubt = np.array([0.0, 0.0, 0.3, 0.0])
    bank = Bank(speech, noise, list(TEXTS), np.array([2, 2, 0, 2]), list(SOURCES), list("abcb"), doubt)
    bank.share = bank.share | {"kokoro": 0.5}
    for who in "abc":
        bank.friends[who] = np.array([i for i in range(4) if bank.speaker[i] == who])
    bank.sort_sources()
    alignments = [[(3, 0.1, 0.2), (5, 0.2, 0.5)], None, [(7, 0.0, 0.1)], [(9, 0.25, 0.5)]]
    return Material(bank, np.array([True, True, False, True]), alignments, LEXICON, ["oh two"], "a table")


def test_clips_come_back_in_place_and_the_unused_stay_behind(material: Material, tmp_path: Path):
    told = write_material(tmp_path / "m", material)
    assert told.startswith("3 clips, 2 noises")
    found = read_material(tmp_path / "m")
    _, order = read_bank(tmp_path / "m")
    assert sorted(order) == [0, 1, 3]
    for new, old in enumerate(order):
        assert found.bank.text[new] == TEXTS[old]
        assert found.bank.source[new] == SOURCES[old]
        assert found.alignments[new] == material.alignments[old]
        length = material.bank.speech.length[old]
        assert found.bank.speech.length[new] == length
        start, begin = found.bank.speech.start[new], material.bank.speech.start[old]
        sound = found.bank.speech.sound[start : start + length].astype(float)
        wanted = material.bank.speech.sound[begin : begin + length].astype(float)
        alike = (sound * wanted).sum() / np.sqrt((sound**2).sum() * (wanted**2).sum())
        assert alike > 0.9, "another clip, or one out of its place"
    assert found.bank.noise.length.tolist() == [16_000, 20_000]
    assert found.bank.share["kokoro"] == 0.5
    assert (found.lexicon, found.sentences, found.data) == (LEXICON, ["oh two"], "a table")
    assert found.used.all() and len(found.used) == 3


def test_the_quiet_around_a_voice_is_found_again(material: Material, tmp_path: Path):
    """Figures of one person are put together without it, whether or not the clips travelled."""
    voice = np.concatenate([np.zeros(4800, np.int16), tone(400.0, 8000), np.zeros(3200, np.int16)])
    material.bank.speech = joined([voice] * 4)
    write_material(tmp_path / "m", material)
    bank, _ = read_bank(tmp_path / "m")
    assert bank.quiet is not None
    assert np.abs(bank.quiet - [4800, 3200]).max() <= 480  # Opus smears an onset by some 10 ms


def test_all_clips_that_came_back_may_be_drawn(material: Material, tmp_path: Path):
    write_material(tmp_path / "m", material)
    bank = read_material(tmp_path / "m").bank
    drawn = {int(c) for seed in range(30) for c in plan(bank, random.Random(seed), 60).clips}
    assert drawn == {0, 1, 2}


def test_a_folder_that_lacks_sound_is_refused(material: Material, tmp_path: Path):
    write_material(tmp_path / "m", material)
    table = json.loads((tmp_path / "m" / "bank.json").read_text())
    table["files"][0]["length"][0] += RATE
    (tmp_path / "m" / "bank.json").write_text(json.dumps(table))
    with pytest.raises(ValueError, match="the table wants"):
        read_material(tmp_path / "m")
    (tmp_path / "m" / FACTS).unlink()
    with pytest.raises(OSError):
        read_material(tmp_path / "m")


def test_rows_have_the_lengths_that_are_allowed_and_no_other(material: Material):
    lengths = (1.5, 2.75, 5.0)
    found = {plan(material.bank, random.Random(seed), 30, lengths=lengths).samples for seed in range(60)}
    assert found == {int(x * RATE) for x in lengths}


def test_padding_adds_only_nodes_that_nothing_leads_to():
    chains = [chain_of(["two", "a"], LEXICON), chain_of([], LEXICON)]
    small, wide = stacked(chains), stacked(chains, 20, 5)
    n = small.unit.shape[1]
    assert wide.unit.shape == (2, 20) and wide.before.shape == (2, 20, 5)
    assert (wide.unit[:, :n] == small.unit).all() and (wide.last[:, :n] == small.last).all()
    assert (wide.last[:, n:] < -1e29).all(), "no row may end in a padded node"
    for row in range(2):
        for node in range(n):
            real = {int(x) for x in small.before[row, node] if x < n}
            assert {int(x) for x in wide.before[row, node] if x < 20} == real
        assert (wide.before[row, n:] == 21).all(), "21 stands for: never reached"
    begins = (small.before == n).sum(2), (wide.before[:, :n] == 20).sum(2)
    assert (begins[0] == begins[1]).all()


@pytest.mark.parametrize("warp", [0.88, 1.0, 1.12])
def test_a_warp_moves_frequencies_and_keeps_their_order_and_ends(warp: float):
    f = np.linspace(0, RATE / 2, 400)
    g = warped(f, warp)
    assert g[0] == 0 and g[-1] == pytest.approx(RATE / 2)
    assert (np.diff(g) > 0).all()
    low = f <= KNEE_HZ / max(1, warp)
    assert g[low] == pytest.approx(warp * f[low])
    bands = triangles(warp)
    assert bands.shape == (FFT // 2 + 1, DIM)
    assert (bands.sum(0) > 0).all(), "no band may hear nothing"


def test_without_a_warp_the_bands_are_those_of_the_wheel():
    assert (triangles(1.0) == triangles()).all()
