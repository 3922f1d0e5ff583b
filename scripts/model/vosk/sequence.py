"""Sequence loss (lattice-free maximum mutual information) and forced alignment over the chains of `chains.py`, in
PyTorch.

A unit's first frame gives its entering pdf, every further frame its staying pdf. Scores: rows x frames x pdfs, log
domain.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import torch

from scripts.model.sound.bank import RATE, UNIT, Bank
from scripts.model.vosk.chains import NEVER, Chains, Trigram, chain_of, stacked
from scripts.model.vosk.labels import SLOW, Alignment
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.tdnn import Mfcc, Tdnn, outputs

OUTPUT_S, CENTRE_S = 0.01 * SLOW, 0.0125  # between outputs; centre of what the first one hears first
QUIET_S = 0.3  # before and after a clip that is aligned


class Graphs:
    """A batch of chains as tensors."""

    def __init__(self, unit: torch.Tensor, before: torch.Tensor, price: torch.Tensor, last: torch.Tensor) -> None:
        """Shapes: see `chains.Chains`."""
        self.unit, self.before, self.price, self.last = unit, before, price, last

    @classmethod
    def on(cls, device: str, chains: Chains) -> Graphs:
        """The arrays on a device."""
        return cls(*(torch.from_numpy(x).to(device) for x in (chains.unit, chains.before, chains.price, chains.last)))

    def emissions(self, scores: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """Scores of entering and of staying in each node: rows x frames x nodes, twice."""
        u = self.unit[:, None].expand(-1, scores.shape[1], -1)
        return scores.gather(2, 2 * u) - self.price[:, None], scores.gather(2, 2 * u + 1)

    def edges(self) -> tuple[torch.Tensor, torch.Tensor]:
        """Columns of the node that can never be reached and of the beginning."""
        rows = (len(self.unit), 1)
        dead = torch.full(rows, NEVER, device=self.unit.device)
        return dead, torch.zeros(rows, device=self.unit.device)


def said(scores: torch.Tensor, graphs: Graphs) -> torch.Tensor:
    """Log of the summed probability of all ways through each graph, shape (rows,); differentiable."""
    enter, stay = graphs.emissions(scores)
    rows, frames, n = enter.shape
    k = graphs.before.shape[2]
    flat = graphs.before.reshape(rows, n * k)
    dead, source = graphs.edges()
    at = torch.full((rows, n), NEVER, device=scores.device)
    for i in range(frames):
        come = torch.cat([at, source, dead], 1).gather(1, flat).view(rows, n, k)
        at = torch.logaddexp(torch.logsumexp(come, 2) + enter[:, i], at + stay[:, i]).clamp_min(NEVER)
        source = dead
    return torch.logsumexp(at + graphs.last, 1)


class AnySpeech:
    """What could have been said instead: every sequence of units, by its trigram."""

    def __init__(self, phones: Trigram, device: str) -> None:
        as_tensor = [torch.from_numpy(x).float().to(device) for x in (phones.start, phones.next, phones.end)]
        self.start, self.next, self.end = as_tensor

    def __call__(self, scores: torch.Tensor) -> torch.Tensor:
        """Log of the summed probability of all unit sequences, shape (rows,); differentiable."""
        rows, frames, _ = scores.shape
        u = len(self.start)
        top = scores.max(2, keepdim=True).values.detach()
        p = (scores - top).exp().view(rows, frames, u, 2)
        enter, stay = p[..., 0], p[..., 1]
        # rows x [one before, or none] x [last]: probabilities, kept near 1 by `total`
        at = torch.cat([torch.zeros(rows, u, u, device=scores.device), (self.start * enter[:, 0])[:, None]], 1)
        total = top.sum((1, 2))
        for i in range(1, frames):
            new = torch.bmm(at.permute(2, 0, 1), self.next).permute(1, 0, 2)  # rows x [last] x [new]
            at = at * stay[:, i, None]
            at = torch.cat([at[:, :u] + new * enter[:, i, None], at[:, u:]], 1)
            size = at.sum((1, 2), keepdim=True)
            at = at / size
            total = total + size.log().view(rows)
        return total + ((at * self.end).sum((1, 2)) + 1e-30).log()


@torch.no_grad()
def best_path(scores: torch.Tensor, graphs: Graphs) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(node, whether it is entered there: rows x frames each; score of the path: rows)."""
    enter, stay = graphs.emissions(scores)
    rows, frames, n = enter.shape
    k = graphs.before.shape[2]
    flat = graphs.before.reshape(rows, n * k)
    dead, source = graphs.edges()
    at, back = torch.full((rows, n), NEVER, device=scores.device), []
    for i in range(frames):
        come, way = torch.cat([at, source, dead], 1).gather(1, flat).view(rows, n, k).max(2)
        come, held = come + enter[:, i], at + stay[:, i]
        back.append(torch.where(held >= come, torch.full_like(way, k), way).to(torch.int8))
        at = torch.maximum(come, held).clamp_min(NEVER)
        source = dead
    score, end = (at + graphs.last).max(1)
    ways, before = torch.stack(back, 1).cpu().numpy(), graphs.before.cpu().numpy()
    node, new = np.zeros((rows, frames), np.int64), np.zeros((rows, frames), bool)
    for r, s in enumerate(end.cpu().numpy()):
        for i in range(frames - 1, -1, -1):
            node[r, i] = s
            if ways[r, i, s] < k:
                new[r, i] = True
                s = before[r, s, ways[r, i, s]]
                if s >= n:
                    break
    return node, new, score.cpu().numpy()


@torch.no_grad()
def align(
    net: Tdnn,
    bank: Bank,
    clips: Sequence[int],
    lexicon: Lexicon,
    log_prior: torch.Tensor | None,
    device: str,
    *,
    batch: int = 32,
) -> list[Alignment | None]:
    """Alignments by a network; shape and None as in `align.py`.

    Args:
        log_prior: of each pdf, for a network that the frame loss trained; None: one that the sequence loss trained.
    """
    out: list[Alignment | None] = [None] * len(bank.text)
    quiet, mfcc = int(QUIET_S * RATE), Mfcc().to(device)
    g = torch.Generator().manual_seed(1)
    net.eval()
    by_length = sorted(clips, key=lambda i: int(bank.speech.length[i]))
    for at in range(0, len(by_length), batch):
        part = by_length[at : at + batch]
        x = np.zeros((len(part), int(bank.speech.length[part].max()) + 2 * quiet), np.float32)
        for row, i in enumerate(part):
            start, length = bank.speech.start[i], bank.speech.length[i]
            x[row, quiet : quiet + length] = bank.speech.sound[start : start + length] * (2000 / UNIT)
        noisy = (torch.from_numpy(x) + 6 * torch.randn(x.shape, generator=g)).to(device)
        chain, frame = outputs(net, mfcc(noisy))
        scores = chain if log_prior is None else frame.log_softmax(2) - log_prior
        chains = stacked([chain_of(bank.text[i].split(), lexicon) for i in part])
        node, new, score = best_path(scores, Graphs.on(device, chains))
        for row, i in enumerate(part):
            if score[row] > NEVER / 1e10:
                out[i] = _segments(node[row], new[row], chains.unit[row], bank.speech.length[i] / RATE)
    net.train()
    return out


def _segments(node: np.ndarray, new: np.ndarray, unit: np.ndarray, length_s: float) -> Alignment:
    cuts = [*np.flatnonzero(new), len(node)]
    out = []
    for a, b in pairwise(cuts):
        start, end = ((c - 0.5) * OUTPUT_S + CENTRE_S - QUIET_S for c in (a, b))
        if unit[node[a]] and start < length_s and end > 0:
            out.append((int(unit[node[a]]), max(0.0, start), min(end, length_s)))
    return out
