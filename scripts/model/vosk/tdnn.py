"""The network in PyTorch, the cepstra in PyTorch, and how both become the plain arrays of `network.py`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

from scripts.model.vosk import features
from scripts.model.vosk.network import Affine, Network
from scripts.model.vosk.phones import PDFS

FRESH = 0.1  # gain of a block that is added to a finished network
WARPS = (1.0, 0.88, 0.91, 0.94, 0.97, 1.03, 1.06, 1.09, 1.12)  # of other vocal tracts; the first is one's own


class Mfcc(nn.Module):
    """rows x samples on the 16-bit scale -> rows x frames x DIM; the numbers of `features.mfcc`."""

    def __init__(self) -> None:
        super().__init__()
        for name in ("window", "cosines"):
            self.register_buffer(name, torch.from_numpy(getattr(features, name)()))
        self.register_buffer("triangles", torch.from_numpy(np.stack([features.triangles(w) for w in WARPS])))

    def forward(self, x: torch.Tensor, warp: torch.Tensor | None = None) -> torch.Tensor:
        """`warp`: for training, which of `WARPS` each row gets, int64, shape (rows,); None: the row as it is."""
        f = x.unfold(-1, features.FRAME, features.HOP)
        f = f - f.mean(-1, keepdim=True)
        f = torch.cat([f[..., :1] * 0.03, f[..., 1:] - 0.97 * f[..., :-1]], -1) * self.window
        power = torch.fft.rfft(f, features.FFT).abs().square()
        bands = power @ (self.triangles[0] if warp is None else self.triangles[warp])
        return torch.log(bands.clamp_min(features.FLOOR)) @ self.cosines


class Tdnn(nn.Module):
    """The layers of `network.py`, each with batch normalisation, and two last maps.

    `chain` serves the sequence loss and is what the model keeps; `frame` serves the frame loss.
    """

    def __init__(self, width: int, blocks: int, dropout: float = 0.05) -> None:
        super().__init__()
        self.width = width
        self.register_buffer("mean", torch.zeros(features.DIM))
        self.register_buffer("spread", torch.ones(features.DIM))
        self.first = nn.Conv1d(features.DIM, width, 5)
        self.second = nn.Conv1d(width, width, 3)
        self.third = nn.Conv1d(width, width, 3, stride=3)
        self.blocks = nn.ModuleList(nn.Conv1d(width, width, 3) for _ in range(blocks))
        self.norms = nn.ModuleList(nn.BatchNorm1d(width) for _ in range(blocks + 3))
        self.chain, self.frame = nn.Conv1d(width, PDFS, 1), nn.Conv1d(width, PDFS, 1)
        self.drop = nn.Dropout(dropout)

    @property
    def context(self) -> int:
        """See `network.Network.context`."""
        return 4 + 3 * len(self.blocks)

    def forward(self, x: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """Rows x frames with context x DIM -> what `chain` and `frame` give, rows x outputs x PDFS each."""
        x = ((x - self.mean) / self.spread).transpose(1, 2)
        for layer, norm in zip((self.first, self.second, self.third), self.norms[:3], strict=True):
            x = F.relu(norm(layer(x)))
        for layer, norm in zip(self.blocks, self.norms[3:], strict=True):
            x = x[:, :, 1:-1] + self.drop(F.relu(norm(layer(x))))
        return self.chain(x).transpose(1, 2), self.frame(x).transpose(1, 2)

    def start_chain(self, log_prior: torch.Tensor) -> None:
        """Let `chain` begin with what `frame` has learnt, as likelihoods: log posterior - log prior, shape (PDFS,)."""
        with torch.no_grad():
            self.chain.weight.copy_(self.frame.weight)
            self.chain.bias.copy_(self.frame.bias - log_prior)

    @torch.no_grad()
    def start_from(self, network: Network, seen: torch.Tensor) -> None:
        """Take over a finished network, normalisations put back; further blocks of ours begin as a small addition.

        Args:
            network: no wider and no deeper; its width must be ours.
            seen: cepstra to normalise with, rows x frames x DIM.
        """
        if len(network.first.bias) != self.width or len(network.blocks) > len(self.blocks):
            told = f"{len(network.first.bias)} wide, {len(network.blocks)} blocks"
            raise ValueError(f"the network to start from is {told}; ours {self.width} wide, {len(self.blocks)} blocks")
        self.mean.copy_(seen.flatten(0, 1).mean(0))
        self.spread.copy_(seen.flatten(0, 1).std(0) + 1e-3)
        mean, spread = (v.double().cpu().numpy() for v in (self.mean, self.spread))
        weight = network.first.weight * np.tile(spread, 5)
        first = Affine(weight, network.first.bias + network.first.weight @ np.tile(mean, 5))
        ours = [self.first, self.second, self.third, *self.blocks]
        theirs = [first, network.second, network.third, *network.blocks]
        for layer, norm, a in zip(ours, self.norms, theirs, strict=False):
            layer.weight.copy_(torch.from_numpy(a.weight).view(len(a.bias), -1, layer.in_channels).permute(0, 2, 1))
            layer.bias.copy_(torch.from_numpy(a.bias))
            norm.running_var.fill_(1 - norm.eps)  # so that it changes nothing yet
        for norm in self.norms[len(theirs) :]:
            norm.weight.fill_(FRESH)
        for last in (self.chain, self.frame):
            last.weight.copy_(torch.from_numpy(network.last.weight)[:, :, None])
            last.bias.copy_(torch.from_numpy(network.last.bias))
        self._measure(self.norms[: len(theirs)], seen)

    def _measure(self, norms: Sequence[nn.BatchNorm1d], seen: torch.Tensor) -> None:
        """Let these normalisations, which change nothing yet, know what they see, and undo what that would change."""
        found: dict[nn.Module, tuple[torch.Tensor, torch.Tensor]] = {}

        def measure(norm: nn.Module, inputs: tuple[torch.Tensor]) -> None:
            found[norm] = inputs[0].mean((0, 2)), inputs[0].var((0, 2))

        hooks = [norm.register_forward_pre_hook(measure) for norm in norms]
        training = self.training
        self.eval()
        outputs(self, seen)
        self.train(training)
        for hook, norm in zip(hooks, norms, strict=True):
            hook.remove()
            mean, var = found[norm]
            norm.running_mean.copy_(mean)
            norm.running_var.copy_(var)
            norm.bias.copy_(mean)
            norm.weight.copy_((var + norm.eps).sqrt())

    def plain(self) -> Network:
        """The network with `chain` as last map and every normalisation in the weights before it."""
        layers = [self.first, self.second, self.third, *self.blocks]
        folded = [_folded(layer, norm) for layer, norm in zip(layers, self.norms, strict=True)]
        mean, spread = (np.tile(v.double().cpu().numpy(), 5) for v in (self.mean, self.spread))
        weight = folded[0].weight / spread
        first = Affine(weight, folded[0].bias - weight @ mean)
        last = Affine(*(p.detach().double().cpu().numpy() for p in (self.chain.weight[:, :, 0], self.chain.bias)))
        return Network(first, folded[1], folded[2], tuple(folded[3:]), last)


def _folded(layer: nn.Conv1d, norm: nn.BatchNorm1d) -> Affine:
    gain = norm.weight.detach().double() / torch.sqrt(norm.running_var.double() + norm.eps)
    weight = layer.weight.detach().double() * gain[:, None, None]
    bias = (layer.bias.detach().double() - norm.running_mean.double()) * gain + norm.bias.detach().double()
    return Affine(weight.permute(0, 2, 1).reshape(len(weight), -1).cpu().numpy(), bias.cpu().numpy())


def outputs(net: Tdnn, x: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
    """Cepstra, rows x frames x DIM, without context -> as `Tdnn.forward`, ceil(frames / 3) outputs."""
    count, context = (x.shape[1] + 2) // 3, net.context
    right = max(0, 3 * (count - 1) + 1 + context - x.shape[1])
    x = torch.cat([x[:, :1].expand(-1, context, -1), x, x[:, -1:].expand(-1, right, -1)], 1)
    return net(x[:, : 3 * (count - 1) + 1 + 2 * context])
