"""How big the network is and how long it learns: plain numbers."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Stage:
    """A stage of training: steps, the seconds after which it ends anyway, peak learning rate."""

    steps: int
    seconds: float
    rate: float


@dataclass(frozen=True)
class Size:
    """The network and how it is trained. `batch`: seconds of sound; `uses`: how often a mixed batch is learnt from."""

    width: int
    blocks: int
    batch: float
    uses: int
    frame: Stage
    chain: Stage
    realign: bool  # align anew with the network after a first frame stage, and train that stage again
    mean: float = 0.99  # decay of the running mean of the weights
    warm: int = 40


SIZES = {
    "small": Size(
        width=192,
        blocks=5,
        batch=48,
        uses=3,
        frame=Stage(1000, 250, 3e-3),
        chain=Stage(500, 270, 1.5e-3),
        realign=False,
    ),
    "full": Size(
        width=512,
        blocks=7,
        batch=400,
        uses=1,
        frame=Stage(1500, 40000, 2e-3),
        chain=Stage(9000, 80000, 8e-4),
        realign=True,
        mean=0.998,
        warm=150,
    ),
}
