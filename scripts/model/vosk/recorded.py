"""Both sums of the sequence loss, recorded once for each shape as CUDA graphs.

The sums go frame by frame, some thousand tiny kernels each: a GPU waits for Python most of the time. A recorded graph
is started as one. On a CPU, and where recording fails (which is told once), the same sums are done the plain way.
"""

from __future__ import annotations

from collections.abc import Callable

import torch

from scripts.model.vosk.sequence import AnySpeech, Graphs, said

MOST = 16  # shapes that are recorded; further ones are done the plain way
Sum = Callable[..., torch.Tensor]


class Sums:
    """(what was said, what could have been said): log probabilities, shape (rows,) each; differentiable."""

    def __init__(self, any_speech: AnySpeech, record: bool) -> None:
        self.any_speech, self.record = any_speech, record
        self.recorded: dict[tuple[object, ...], Sum] = {}
        self.plain = 0  # sums done the plain way

    def __call__(self, scores: torch.Tensor, graphs: Graphs) -> tuple[torch.Tensor, torch.Tensor]:
        """Scores: rows x frames x pdfs."""
        parts = (graphs.unit, graphs.before, graphs.price, graphs.last)
        return self._sum("said", _said, scores, *parts), self._sum("any", self.any_speech, scores)

    def _sum(self, name: str, plain: Sum, scores: torch.Tensor, *rest: torch.Tensor) -> torch.Tensor:
        if not self.record or scores.device.type != "cuda":
            return plain(scores, *rest)
        key = (name, *scores.shape, *(tuple(x.shape) for x in rest))
        if key not in self.recorded:
            if len(self.recorded) >= 2 * MOST:
                self.plain += 1
                return plain(scores, *rest)
            self.recorded[key] = self._recorded(plain, scores, *rest)
        return self.recorded[key](scores, *rest)

    def _recorded(self, plain: Sum, scores: torch.Tensor, *rest: torch.Tensor) -> Sum:
        sample = (torch.randn_like(scores).requires_grad_(True), *(x.clone() for x in rest))
        try:
            made: Sum = torch.cuda.make_graphed_callables(plain, sample)
        except RuntimeError as problem:
            print(f"  not recorded, so slower: {str(problem)[:200]}", flush=True)
            self.record = False
            return plain
        return made


def _said(scores: torch.Tensor, *parts: torch.Tensor) -> torch.Tensor:
    return said(scores, Graphs(*parts))
