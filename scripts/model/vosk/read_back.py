"""am/final.mdl, as `kaldi_files.py` writes it, read back into what training hands over: training goes on from there."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np

from scripts.model.vosk.export import Trained
from scripts.model.vosk.kaldi_files import MAGIC, STEPS
from scripts.model.vosk.network import Affine, Network
from scripts.model.vosk.phones import GARBAGE, UNITS, phone_id
from scripts.model.vosk.phones import PHONES as NAMES


class NotOurs(ValueError):
    """A final.mdl of another make; the message says where it differs."""


def read_model(path: Path) -> Trained:
    """The network, its stored weights as float64, and the probability of staying in each unit.

    Raises:
        NotOurs: the file is no network of `network.py` over the phones of `phones.py`.
    """
    data = path.read_bytes()
    if not data.startswith(MAGIC):
        raise NotOurs(f"{path}: no binary file of Kaldi's")
    logs, at = _vector(data, _after(data, b"<LogProbs> ", 0, path))
    if len(logs) != 1 + 2 * (GARBAGE - 1 + 3 * len(NAMES)):
        raise NotOurs(f"{path}: {len(logs)} transition probabilities; another set of phones")
    ids = [1, *(phone_id(name, "B") for name in NAMES)]
    stay = [float(np.exp(logs[1 + 2 * (i - 1)])) for i in ids]
    count = data.count(b"<LinearParams> ")
    layers = []
    for _ in range(count):
        weight, at = _matrix(data, _after(data, b"<LinearParams> ", at, path))
        bias, at = _vector(data, _after(data, b"<BiasParams> ", at, path))
        layers.append(Affine(weight, bias))
    if count < 5 or len(layers[-1].bias) != 2 * UNITS:
        raise NotOurs(f"{path}: {count} affine maps; need 5 or more, the last with {2 * UNITS} outputs")
    return Trained(Network(*layers[:3], tuple(layers[3:-1]), layers[-1]), stay)


def _after(data: bytes, token: bytes, at: int, path: Path) -> int:
    found = data.find(token, at)
    if found < 0:
        raise NotOurs(f"{path}: no {token.decode().strip()} after byte {at}")
    return found + len(token)


def _vector(data: bytes, at: int) -> tuple[np.ndarray, int]:
    if data[at : at + 4] != b"FV \x04":
        raise NotOurs(f"byte {at}: no vector of single precision")
    (size,) = struct.unpack_from("<i", data, at + 4)
    return np.frombuffer(data, "<f4", size, at + 8).astype(float), at + 8 + 4 * size


def _matrix(data: bytes, at: int) -> tuple[np.ndarray, int]:
    if data[at : at + 3] == b"FM ":
        rows, columns = struct.unpack_from("<xixi", data, at + 3)
        return np.frombuffer(data, "<f4", rows * columns, at + 13).reshape(rows, columns).astype(float), at + 13 + (
            4 * rows * columns
        )
    bits = {b"CM2 ": 16, b"CM3 ": 8}.get(data[at : at + 4])
    if bits is None:
        raise NotOurs(f"byte {at}: no matrix in 32, 16 or 8 bits a number")
    low, span, rows, columns = struct.unpack_from("<ffii", data, at + 4)
    steps = np.frombuffer(data, "<u2" if bits == 16 else "u1", rows * columns, at + 20)
    return low + span / STEPS[bits] * steps.reshape(rows, columns).astype(float), at + 20 + len(steps) * bits // 8
