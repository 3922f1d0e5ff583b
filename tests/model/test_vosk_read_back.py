"""A finished am/final.mdl read back: training may go on from it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scripts.model.vosk.features import DIM
from scripts.model.vosk.kaldi_files import write_model
from scripts.model.vosk.network import Affine, Network
from scripts.model.vosk.phones import PDFS, UNITS, transition_units
from scripts.model.vosk.read_back import NotOurs, read_model

SHIPPED = Path(__file__).resolve().parents[2] / "models" / "vosk" / "am" / "final.mdl"


def network(width: int = 12, blocks: int = 3) -> Network:
    r = np.random.default_rng(3)

    def affine(out: int, into: int) -> Affine:
        return Affine(r.normal(size=(out, into)), r.normal(size=out))

    inner = [affine(width, 3 * width) for _ in range(2 + blocks)]
    return Network(affine(width, 5 * DIM), inner[0], inner[1], tuple(inner[2:]), affine(PDFS, width))


def all_layers(n: Network) -> list[Affine]:
    return [n.first, n.second, n.third, *n.blocks, n.last]


@pytest.mark.parametrize(("bits", "apart"), [(32, 1e-6), (16, 1e-4), (8, 0.03)])
def test_what_was_written_is_read_back(tmp_path: Path, bits: int, apart: float):
    stay = [float(p) for p in np.linspace(0.3, 0.8, UNITS)]
    wanted = network()
    write_model(tmp_path / "final.mdl", transition_units(stay), wanted.nnet3(bits))
    found = read_model(tmp_path / "final.mdl")
    assert found.stay == pytest.approx(stay, abs=1e-6)
    assert len(found.network.blocks) == 3
    for one, other in zip(all_layers(found.network), all_layers(wanted), strict=True):
        assert one.weight.shape == other.weight.shape
        assert np.abs(one.weight - other.weight).max() < apart
        assert np.abs(one.bias - other.bias).max() < 1e-6


def test_reading_and_writing_again_gives_the_same_bytes(tmp_path: Path):
    """Of the shipped model: nothing is lost by going on from it."""
    model = read_model(SHIPPED)
    write_model(tmp_path / "again.mdl", transition_units(model.stay), model.network.nnet3(8))
    assert (tmp_path / "again.mdl").read_bytes() == SHIPPED.read_bytes()


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data[2:],
        lambda data: data.replace(b"<LogProbs> FV", b"<LogProbs> DV"),
        lambda data: data.replace(b"<BiasParams>", b"<OtherParams>"),
        lambda data: data.replace(b"<LinearParams> CM3", b"<LinearParams> CM1"),
        lambda data: data[: data.index(b"<Nnet3>")],
    ],
)
def test_another_file_is_refused(tmp_path: Path, change):
    write_model(tmp_path / "final.mdl", transition_units([0.5] * UNITS), network().nnet3(8))
    data = (tmp_path / "final.mdl").read_bytes()
    changed = change(data)
    assert changed != data
    (tmp_path / "final.mdl").write_bytes(changed)
    with pytest.raises(NotOurs):
        read_model(tmp_path / "final.mdl")
