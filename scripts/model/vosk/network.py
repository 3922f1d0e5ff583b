"""The acoustic network as plain arrays: what training hands over, what am/final.mdl holds, and how to run it with
numpy.

Layers of affine map and rectifier: five frames around, then three, then three at every third frame; blocks of three
frames of the slow rate with the input added to the output; a last map to one number for each pdf. Weights are ordered
[offset][input]. The result is the log-likelihood of each pdf up to a constant of the frame.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scripts.model.vosk.features import DIM, with_edges
from scripts.model.vosk.kaldi_files import Nnet3


@dataclass(frozen=True)
class Affine:
    """weight: shape (outputs, offsets x inputs); bias: shape (outputs,)."""

    weight: np.ndarray
    bias: np.ndarray

    def at(self, x: np.ndarray, taps: int) -> np.ndarray:
        """Of `taps` neighbouring rows each; x: (rows, inputs) -> (rows - taps + 1, outputs)."""
        rows = len(x) - taps + 1
        seen = np.concatenate([x[i : i + rows] for i in range(taps)], 1)
        return seen @ self.weight.T + self.bias


@dataclass(frozen=True)
class Network:
    """`first` reads raw features (their mean and spread are in its weights); `last` has the log priors in its bias."""

    first: Affine
    second: Affine
    third: Affine
    blocks: tuple[Affine, ...]
    last: Affine

    @property
    def context(self) -> int:
        """Frames that an output sees on each side: 2 + 1 + 1, then 3 for every block."""
        return 4 + 3 * len(self.blocks)

    @property
    def parameters(self) -> int:
        """Numbers in all layers."""
        layers = (self.first, self.second, self.third, *self.blocks, self.last)
        return sum(layer.weight.size + layer.bias.size for layer in layers)

    def scores(self, features: np.ndarray) -> np.ndarray:
        """features: float32, (frames, DIM), one at least -> (ceil(frames / 3), pdfs)."""
        x = with_edges(features, self.context)
        x = np.maximum(self.second.at(np.maximum(self.first.at(x, 5), 0), 3), 0)
        x = np.maximum(self.third.at(x, 3)[::3], 0)
        for block in self.blocks:
            x = x[1:-1] + np.maximum(block.at(x, 3), 0)
        return self.last.at(x, 1)

    def nnet3(self, bits: int) -> bytes:
        """The network in Kaldi's binary form; the maps between in this number of bits, first and last in 32."""
        net, width = Nnet3(DIM, bits), len(self.first.bias)
        x = net.affine("affine1", "input", range(-2, 3), self.first.weight, self.first.bias, 32)
        x = net.relu("relu1", x, width)
        for number, layer in ((2, self.second), (3, self.third)):
            x = net.affine(f"affine{number}", x, (-1, 0, 1), layer.weight, layer.bias)
            x = net.relu(f"relu{number}", x, width)
        for number, layer in enumerate(self.blocks, 4):
            y = net.affine(f"affine{number}", x, (-3, 0, 3), layer.weight, layer.bias)
            x = net.total(f"sum{number}", x, net.relu(f"relu{number}", y, width), width)
        return net.binary(net.affine("final", x, (0,), self.last.weight, self.last.bias, 32))
