"""The mean of several checkpoints of one ancestor, number by number.

usage: python -m scripts.model.ear.mean OUT.pt A.pt B.pt ...

Runs with different seeds from the same weights end near each other, and their mean hears a little better than each
(Wortsman et al. 2022, 'Model soups', from memory; development figures in README.md).
"""

from __future__ import annotations

import sys
from pathlib import Path

import torch


def mean(paths: list[Path]) -> dict[str, torch.Tensor]:
    """16-bit weights."""
    held = [torch.load(p, map_location="cpu")["weights"] for p in paths]
    return {k: (sum(w[k].float() for w in held) / len(held)).half() for k in held[0]}


if __name__ == "__main__":
    out, *parts = map(Path, sys.argv[1:])
    torch.save({"weights": mean(parts), "from": " ".join(p.name for p in parts)}, out)
