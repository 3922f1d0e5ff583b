"""Train on a folder that `build.py --until material` filled, on this machine or another one.

usage: python -m scripts.model.vosk.learn MATERIAL OUT SIZE [--start FINAL_MDL] [--seconds 1000] [--blocks 9]

Needs PyTorch, numpy and soundfile only. OUT gets `trained.npz`, from which `build.py` goes on, and `checkpoints`: the
same command with them there goes on with a stage that was cut. SIZE: one of `sizes.py`. `--start` goes on from a
finished model with the sequence loss alone; `--blocks` makes it deeper; `--seconds` bounds the sequence loss.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import torch

from scripts.model.vosk import sequence
from scripts.model.vosk.export import Trained
from scripts.model.vosk.kept import Kept, keep
from scripts.model.vosk.labels import Alignment
from scripts.model.vosk.material import Material, read_material
from scripts.model.vosk.read_back import NotOurs, read_model
from scripts.model.vosk.sizes import SIZES, Size
from scripts.model.vosk.tdnn import Mfcc, Tdnn
from scripts.model.vosk.train import train

MOST_PLANNERS = 6


def learn(m: Material, size: Size, device: str, *, start: Path | None = None, checkpoints: Path | None = None) -> Kept:
    """Training on this material; clips that cannot be aligned are not drawn.

    Args:
        start: am/final.mdl of the model to go on from, None for training from nothing.
        checkpoints: see `train.Trainer`.

    Raises:
        NotOurs: `start` is another network.
    """
    clips = [int(i) for i in np.flatnonzero(m.used)]

    def again(net: Tdnn, log_prior: torch.Tensor | None) -> list[Alignment | None]:
        return sequence.align(net, m.bank, clips, m.lexicon, log_prior, device)

    first, alignments, begin = None, m.alignments, time.monotonic()
    if start is not None:
        first = read_model(start)
        alignments = again(_finished(first, device), None)
        print(
            f"  {sum(map(bool, alignments))} of {len(clips)} clips aligned, {time.monotonic() - begin:.0f} s",
            flush=True,
        )
    m.bank.sort_sources(m.used & np.array([bool(a) for a in alignments]))
    trained = train(
        m.bank,
        alignments,
        m.lexicon,
        m.sentences,
        size,
        device,
        realign=again,
        start=first,
        checkpoints=checkpoints,
        planners=max(1, min(MOST_PLANNERS, (os.cpu_count() or 1) - 2)),
    )
    return Kept(trained, m.lexicon, m.sentences, m.data)


def _finished(trained: Trained, device: str) -> Tdnn:
    """A finished network in PyTorch."""
    net = Tdnn(len(trained.network.first.bias), len(trained.network.blocks)).to(device)
    g = torch.Generator().manual_seed(1)
    net.start_from(trained.network, Mfcc().to(device)((1000 * torch.randn(4, 64000, generator=g)).to(device)))
    return net


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("material", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("size", choices=sorted(SIZES))
    p.add_argument("--start", type=Path, help="am/final.mdl of the model to go on from")
    p.add_argument("--seconds", type=float, help="of the sequence loss, in place of its number of steps")
    p.add_argument("--blocks", type=int)
    p.add_argument("--batch", type=float, help="seconds of sound in a batch")
    p.add_argument("--rate", type=float, help="peak learning rate of the sequence loss")
    a = p.parse_args()
    size = SIZES[a.size]
    if a.seconds:
        size = replace(size, chain=replace(size.chain, steps=10**6, seconds=a.seconds))
    size = replace(size, blocks=a.blocks or size.blocks, batch=a.batch or size.batch)
    size = replace(size, chain=replace(size.chain, rate=a.rate or size.chain.rate))
    device, begin = "cuda" if torch.cuda.is_available() else "cpu", time.monotonic()
    torch.set_num_threads(1 if device == "cpu" else 4)
    torch.backends.cudnn.benchmark = True
    try:
        m = read_material(a.material)
        print(f"  {m.bank}, read in {time.monotonic() - begin:.0f} s", flush=True)
        keep(a.out / "trained.npz", learn(m, size, device, start=a.start, checkpoints=a.out / "checkpoints"))
    except (OSError, KeyError, NotOurs) as problem:
        sys.exit(f"{a.material}: {problem!r}; fill it with build.py --until material")


if __name__ == "__main__":
    main()
