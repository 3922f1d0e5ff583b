"""The mean of two trained networks that began from the same one: often as good as the better on what both know, and
better on what only one has met (Wortsman et al. 2022, 'Model soups').

usage: python -m scripts.model.vosk.mean ONE OTHER OUT.mdl

ONE and OTHER: each a trained.npz of a build, or an am/final.mdl (which has 8 bits).
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from scripts.model.vosk.export import Trained
from scripts.model.vosk.kaldi_files import write_model
from scripts.model.vosk.kept import read_kept
from scripts.model.vosk.phones import transition_units
from scripts.model.vosk.read_back import NotOurs, read_model

BITS = 8


def mean(one: Any, other: Any) -> Any:
    """The same structure with every array the mean of both; what is no array is `one`'s.

    Raises:
        NotOurs: an array has another shape in the other, or a list another length.
    """
    if isinstance(one, np.ndarray):
        if one.shape != other.shape:
            raise NotOurs(f"an array is {one.shape} in one and {other.shape} in the other")
        return ((one.astype(np.float64) + other) / 2).astype(one.dtype)
    if is_dataclass(one) and not isinstance(one, type):
        kept = [f.name for f in fields(one) if f.init]
        return replace(one, **{name: mean(getattr(one, name), getattr(other, name)) for name in kept})
    if isinstance(one, list | tuple):
        if len(one) != len(other):
            raise NotOurs(f"{len(one)} parts in one and {len(other)} in the other")
        return type(one)(mean(a, b) for a, b in zip(one, other, strict=True))
    return one


def trained(path: Path) -> Trained:
    """What a file holds. Raises NotOurs and OSError where it holds none."""
    return read_kept(path).trained if path.suffix == ".npz" else read_model(path)


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("one", type=Path)
    p.add_argument("other", type=Path)
    p.add_argument("out", type=Path)
    a = p.parse_args()
    try:
        one, other = trained(a.one), trained(a.other)
        write_model(a.out, transition_units(one.stay), mean(one.network, other.network).nnet3(BITS))
    except (OSError, NotOurs) as problem:
        sys.exit(f"{a.one} and {a.other}: {problem}")


if __name__ == "__main__":
    main()
