"""am/final.mdl as the stock Vosk wheel reads it: Kaldi's TransitionModel and nnet3 network, with numpy and struct
alone.

Kaldi's binary files begin with 00 42. A token is its text and a blank; an int32 is 04 and four bytes, a float 04 and
four, a double 08 and eight, all little-endian. Vector: `FV `, count, float32. Matrix: `FM `, rows, columns, float32;
compressed ones are taken wherever a matrix is: `CM2 ` (16 bits) or `CM3 ` (8 bits), smallest value and range as bare
floats, rows and columns as bare ints, then the steps. Source: Kaldi's sources (transition-model, hmm-topology, nnet3),
read; tried with the wheel vosk 0.3.45.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from scripts.model.vosk.phones import Unit

MAGIC = b"\x00B"
STEPS = {16: 65535, 8: 255}
FORMS = {32: "FM", 16: "CM2", 8: "CM3"}


def token(text: str) -> bytes:
    """A word of the format."""
    return text.encode() + b" "


def int32(value: int) -> bytes:
    """Sized integer."""
    return b"\x04" + struct.pack("<i", value)


def float32(value: float) -> bytes:
    """Sized single-precision number."""
    return b"\x04" + struct.pack("<f", value)


def float64(value: float) -> bytes:
    """Sized double-precision number."""
    return b"\x08" + struct.pack("<d", value)


def int_vector(values: Sequence[int]) -> bytes:
    """Integer vector: size of one, bare count, numbers."""
    return b"\x04" + struct.pack("<i", len(values)) + np.asarray(values, "<i4").tobytes()


def vector(values: Sequence[float] | np.ndarray) -> bytes:
    """Vector of float32."""
    v = np.asarray(values, "<f4")
    return token("FV") + int32(len(v)) + v.tobytes()


def matrix(values: np.ndarray, bits: int) -> bytes:
    """Matrix in 32, 16 or 8 bits a number; values: shape (rows, columns).

    Raises:
        ValueError: another number of bits, or a value that is not finite.
    """
    m = np.ascontiguousarray(values, "<f4")
    if bits not in FORMS:
        raise ValueError(f"a matrix has 32, 16 or 8 bits, not {bits}")
    if not np.isfinite(m).all():
        raise ValueError("a matrix holds a number that is not finite; the training went wrong")
    rows, columns = m.shape
    if bits == 32:
        return token(FORMS[bits]) + int32(rows) + int32(columns) + m.tobytes()
    low = float(m.min())
    span = float(m.max()) - low or 1e-5
    steps = np.rint((m - low) * (STEPS[bits] / span)).clip(0, STEPS[bits]).astype("<u2" if bits == 16 else "u1")
    return token(FORMS[bits]) + struct.pack("<ffii", low, span, rows, columns) + steps.tobytes()


def loop_id(unit: int) -> int:
    """Transition id of staying in a unit (units count from 1)."""
    return 2 * unit - 1


def enter_id(unit: int) -> int:
    """Transition id of entering a unit; Kaldi's "reorder" convention puts it on the arc into the state."""
    return 2 * unit


def transition_model(units: Sequence[Unit]) -> bytes:
    """The transition model of one-state phones.

    Raises:
        ValueError: the units are not sorted, or their phone ids have a gap.
    """
    last = units[-1][0]
    if list(units) != sorted(units) or sorted({u[0] for u in units}) != list(range(1, last + 1)):
        raise ValueError("transition units must be sorted, with phone ids from 1 without a gap")
    out = token("<TransitionModel>") + token("<Topology>")
    out += int_vector(range(1, last + 1)) + int_vector([-1] + [0] * last)  # the phones, their entry of the topology
    out += int32(-1) + int32(1) + int32(2)  # separate pdfs of staying; one entry; two states, the second final
    out += int32(0) + int32(1) + int32(2) + int32(0) + float32(0.5) + int32(1) + float32(0.5)
    out += int32(-1) + int32(-1) + int32(0)
    out += token("</Topology>") + token("<Tuples>") + int32(len(units))
    for phone, enter, hold, _ in units:
        out += int32(phone) + int32(0) + int32(enter) + int32(hold)
    logs = [0.0, *(float(np.log(p)) for *_, stay in units for p in (stay, 1 - stay))]
    return (
        out
        + token("</Tuples>")
        + token("<LogProbs>")
        + vector(logs)
        + token("</LogProbs>")
        + token("</TransitionModel>")
    )


class Nnet3:
    """Collects nodes and components. Weights: rows are outputs, columns are ordered [offset][input]."""

    def __init__(self, dim: int, bits: int) -> None:
        """dim: numbers of one input frame; bits: of the weights, where `affine` does not say otherwise."""
        self.lines, self.bits = [f"input-node name=input dim={dim}"], bits
        self.parts: list[tuple[str, bytes]] = []

    def _node(self, name: str, source: str, body: bytes) -> str:
        self.lines.append(f"component-node name={name} component={name} input={source}")
        self.parts.append((name, body))
        return name

    def affine(
        self, name: str, source: str, offsets: Sequence[int], weight: np.ndarray, bias: np.ndarray, bits: int = 0
    ) -> str:
        """Affine map of the source at these offsets in frames."""
        seen = [source if o == 0 else f"Offset({source}, {o})" for o in offsets]
        body = token("<AffineComponent>") + token("<LearningRate>") + float32(0.001)
        body += token("<LinearParams>") + matrix(weight, bits or self.bits)
        body += token("<BiasParams>") + vector(bias) + token("</AffineComponent>")
        return self._node(name, seen[0] if len(seen) == 1 else f"Append({', '.join(seen)})", body)

    def relu(self, name: str, source: str, dim: int) -> str:
        """Negative numbers become 0."""
        body = token("<RectifiedLinearComponent>") + token("<Dim>") + int32(dim)
        body += token("<ValueAvg>") + vector([]) + token("<DerivAvg>") + vector([])
        return self._node(name, source, body + token("<Count>") + float64(0) + token("</RectifiedLinearComponent>"))

    def total(self, name: str, one: str, other: str, dim: int) -> str:
        """Sum of two nodes."""
        body = token("<NoOpComponent>") + token("<Dim>") + int32(dim) + token("<BackpropScale>") + float32(1.0)
        return self._node(name, f"Sum({one}, {other})", body + token("</NoOpComponent>"))

    def binary(self, output: str) -> bytes:
        """The network whose result is the node `output`; no priors (they are in its bias)."""
        lines = [*self.lines, f"output-node name=output input={output} objective=linear"]
        out = token("<Nnet3>") + b"\n" + ("\n".join(lines) + "\n\n").encode()
        out += token("<NumComponents>") + int32(len(self.parts))
        for name, body in self.parts:
            out += token("<ComponentName>") + token(name) + body
        out += token("</Nnet3>") + token("<LeftContext>") + int32(0) + token("<RightContext>") + int32(0)
        return out + token("<Priors>") + vector([])


def write_model(path: Path, units: Sequence[Unit], network: bytes) -> None:
    """Write am/final.mdl."""
    path.write_bytes(MAGIC + transition_model(units) + network)
