"""am/final.mdl, read back by a small reader of our own; the wheel itself reads it in test_wheel.py."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from scripts.model.vosk import kaldi_files, phones


class Reader:
    """Reads Kaldi's binary form."""

    def __init__(self, data: bytes) -> None:
        self.data, self.at = data, 0

    def take(self, count: int) -> bytes:
        part = self.data[self.at : self.at + count]
        assert len(part) == count
        self.at += count
        return part

    def token(self) -> str:
        end = self.data.index(b" ", self.at)
        return self.take(end + 1 - self.at)[:-1].decode()

    def int32(self) -> int:
        size, value = struct.unpack("<bi", self.take(5))
        assert size == 4
        return value

    def ints(self) -> list[int]:
        size, count = struct.unpack("<bi", self.take(5))
        assert size == 4
        return list(struct.unpack(f"<{count}i", self.take(4 * count)))

    def vector(self) -> np.ndarray:
        assert self.token() == "FV"
        return np.frombuffer(self.take(4 * self.int32()), "<f4")

    def matrix(self) -> np.ndarray:
        kind = self.token()
        if kind == "FM":
            rows, columns = self.int32(), self.int32()
            return np.frombuffer(self.take(4 * rows * columns), "<f4").reshape(rows, columns)
        form, top = {"CM2": ("<u2", 65535), "CM3": ("<u1", 255)}[kind]
        low, span, rows, columns = struct.unpack("<ffii", self.take(16))
        steps = np.frombuffer(self.take(rows * columns * np.dtype(form).itemsize), form)
        return (low + span / top * steps.astype(np.float64)).reshape(rows, columns)


@pytest.mark.parametrize(("bits", "largest"), [(32, 0.0), (16, 1 / 65535), (8, 1 / 255)])
def test_a_matrix_comes_back_to_half_a_step(bits: int, largest: float):
    m = np.random.default_rng(bits).normal(size=(7, 5)).astype("<f4")
    reader = Reader(kaldi_files.matrix(m, bits))
    found = reader.matrix()
    assert reader.at == len(reader.data)
    assert np.abs(found - m).max() <= 0.51 * largest * (m.max() - m.min())


@pytest.mark.parametrize("bits", [16, 8])
def test_a_matrix_of_one_value_keeps_it(bits: int):
    assert Reader(kaldi_files.matrix(np.full((2, 3), 0.25), bits)).matrix() == pytest.approx(0.25)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_matrix_that_is_not_finite_is_refused(bad: float):
    with pytest.raises(ValueError, match="not finite"):
        kaldi_files.matrix(np.array([[0.0, bad]]), 8)


def test_a_matrix_of_odd_bits_is_refused():
    with pytest.raises(ValueError, match="32, 16 or 8 bits, not 4"):
        kaldi_files.matrix(np.zeros((1, 1)), 4)


def test_the_transition_model_comes_back():
    stay = list(np.linspace(0.2, 0.9, phones.UNITS))
    units = phones.transition_units(stay)
    reader = Reader(kaldi_files.transition_model(units))
    assert [reader.token(), reader.token()] == ["<TransitionModel>", "<Topology>"]
    last = units[-1][0]
    assert reader.ints() == list(range(1, last + 1))
    assert reader.ints() == [-1] + [0] * last
    reader.at = reader.data.index(b"<Tuples>")
    assert reader.token() == "<Tuples>"
    found = [[reader.int32() for _ in range(4)] for _ in range(reader.int32())]
    assert found == [[phone, 0, enter, hold] for phone, enter, hold, _ in units]
    assert [reader.token(), reader.token()] == ["</Tuples>", "<LogProbs>"]
    logs = reader.vector()
    for number, (*_, p) in enumerate(units, 1):
        assert logs[kaldi_files.loop_id(number)] == pytest.approx(np.log(p), abs=1e-6)
        assert logs[kaldi_files.enter_id(number)] == pytest.approx(np.log(1 - p), abs=1e-6)


@pytest.mark.parametrize(
    "units", [[(2, 2, 3, 0.5)], [(1, 0, 1, 0.5), (3, 2, 3, 0.5)], [(2, 2, 3, 0.5), (1, 0, 1, 0.5)]]
)
def test_units_with_a_gap_or_out_of_order_are_refused(units: list[phones.Unit]):
    with pytest.raises(ValueError, match="sorted"):
        kaldi_files.transition_model(units)


def test_a_network_names_every_node_that_it_uses():
    net = kaldi_files.Nnet3(2, 32)
    x = net.affine("a", "input", (-1, 0, 1), np.ones((3, 6)), np.zeros(3))
    y = net.relu("b", x, 3)
    data = net.binary(net.total("c", x, y, 3))
    lines = data[: data.index(b"\n\n")].decode().split("\n")[1:]
    assert lines == [
        "input-node name=input dim=2",
        "component-node name=a component=a input=Append(Offset(input, -1), input, Offset(input, 1))",
        "component-node name=b component=b input=a",
        "component-node name=c component=c input=Sum(a, b)",
        "output-node name=output input=c objective=linear",
    ]
    reader = Reader(data[data.index(b"<LinearParams>") :])
    assert reader.token() == "<LinearParams>" and (reader.matrix() == 1).all()
    assert reader.token() == "<BiasParams>" and len(reader.vector()) == 3
