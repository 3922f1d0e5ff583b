"""Train the network: frame loss first, then the sequence loss.

Deterministic on a CPU: seeds fix clips, mixes, order and weights; only a run that the clock ends early differs.
"""

from __future__ import annotations

import contextlib
import copy
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

from scripts.model.schedule import Schedule
from scripts.model.sound.bank import Bank
from scripts.model.vosk.batches import Batch, Batches
from scripts.model.vosk.chains import trigram, unit_sequences
from scripts.model.vosk.export import Trained, staying
from scripts.model.vosk.labels import Alignment
from scripts.model.vosk.lexicon import Lexicon
from scripts.model.vosk.phones import PDFS, UNITS
from scripts.model.vosk.sequence import AnySpeech, Graphs, said
from scripts.model.vosk.tdnn import Tdnn, outputs

Loss = Callable[[Batch], tuple[torch.Tensor, dict[str, torch.Tensor]]]
Aligner = Callable[[Tdnn, torch.Tensor], list[Alignment | None]]
FRAME_SHARE = 0.1  # of the frame loss beside the sequence loss
REIN = 2.5e-5  # on the squares of the scores, which the sequence loss leaves free


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


class Trainer:
    """A network on its way, with the running mean of its weights."""

    def __init__(self, net: Tdnn, size: Size, device: str) -> None:
        self.net, self.mean = net, copy.deepcopy(net).requires_grad_(False)
        self.size, self.device, self.counts = size, device, np.ones(PDFS)

    def run(self, name: str, batches: Batches, stage: Stage, loss_of: Loss, seed: int) -> None:
        """One stage. Raises FloatingPointError where the gradient is not finite."""
        opt = torch.optim.AdamW(self.net.parameters(), stage.rate, weight_decay=5e-3, betas=(0.9, 0.98))
        schedule, told, step = Schedule(stage.steps, stage.seconds), 0.0, 0
        running: dict[str, float] = {}
        self.net.train()
        with contextlib.closing(batches.stream(seed)) as stream:
            for batch in stream:
                if schedule.done(step) >= 1:
                    break
                for group in opt.param_groups:
                    group["lr"] = schedule.rate(step, stage.rate, self.size.warm, least=0.02)
                loss, facts = loss_of(batch)
                opt.zero_grad(set_to_none=True)
                loss.backward()
                norm = nn.utils.clip_grad_norm_(self.net.parameters(), 2.0)
                if not torch.isfinite(norm):
                    raise FloatingPointError(f"{name}: the gradient of step {step} is not finite")
                opt.step()
                step += 1
                self._average(step)
                for key, value in facts.items():
                    running[key] = running.get(key, float(value)) * 0.95 + float(value) * 0.05
                if schedule.spent - told > 30:
                    told = schedule.spent
                    print(f"  {told:.0f} s step {step}: {_said(running)}", flush=True)
        print(f"  {name}: {schedule.told(step)}: {_said(running)}", flush=True)

    @torch.no_grad()
    def _average(self, step: int) -> None:
        share = 1 - min(self.size.mean, step / (step + 10))
        for mean, now in zip(self.mean.state_dict().values(), self.net.state_dict().values(), strict=True):
            if mean.dtype.is_floating_point:
                mean.lerp_(now, share)

    def frame_loss(self, batch: Batch) -> tuple[torch.Tensor, dict[str, torch.Tensor]]:
        """Cross-entropy of every output."""
        scores, labels = outputs(self.net, batch.features)[1], self._labels(batch)
        self.counts += np.bincount(batch.labels.reshape(-1), minlength=PDFS)
        loss = F.cross_entropy(scores.flatten(0, 1), labels.flatten())
        return loss, {"frame": loss.detach(), "right": (scores.argmax(2) == labels).float().mean()}

    def chain_loss(self, any_speech: AnySpeech) -> Loss:
        """What was said against all that could have been; a little of the frame loss; a rein on large scores."""

        def loss_of(batch: Batch) -> tuple[torch.Tensor, dict[str, torch.Tensor]]:
            scores, framed = outputs(self.net, batch.features)
            known = torch.from_numpy(batch.known).to(self.device)
            gain = (said(scores, Graphs(batch.chains, self.device)) - any_speech(scores)) / scores.shape[1]
            good = (gain > -1e4) & (known > 0)  # a row too short for its text has no way through
            chain = -torch.where(good, gain, torch.zeros_like(gain)).sum() / good.sum().clamp(min=1)
            frame = F.cross_entropy(framed.flatten(0, 1), self._labels(batch).flatten())
            loss = chain + FRAME_SHARE * frame + REIN * scores.square().sum(2).mean()
            return loss, {"chain": chain.detach(), "frame": frame.detach()}

        return loss_of

    def _labels(self, batch: Batch) -> torch.Tensor:
        return torch.from_numpy(batch.labels).to(self.device)

    def log_prior(self) -> torch.Tensor:
        """How likely each pdf is before anything is heard, from the frames seen; shape (PDFS,)."""
        share = torch.from_numpy(self.counts / self.counts.sum()).float()
        return share.clamp_min(1e-4).log().to(self.device)


def _said(facts: dict[str, float]) -> str:
    return " ".join(f"{k} {v:.4f}" for k, v in facts.items())


def train(
    bank: Bank,
    alignments: list[Alignment | None],
    lexicon: Lexicon,
    sentences: Sequence[str],
    size: Size,
    device: str,
    *,
    realign: Aligner,
    seed: int = 1,
) -> Trained:
    """The whole training.

    Args:
        bank: see `batches.Batches`.
        sentences: further texts for the trigram of phones.
        realign: makes alignments with a network and its log prior; used where the size asks for it.
    """
    torch.manual_seed(seed)
    net = Tdnn(size.width, size.blocks).to(device)
    batches = Batches(bank, alignments, lexicon, seconds=size.batch, uses=size.uses, device=device)
    batches.seed(seed)
    with torch.no_grad():
        seen = torch.cat([batches.one().features.flatten(0, 1)[::7] for _ in range(4)])
        net.mean.copy_(seen.mean(0))
        net.spread.copy_(seen.std(0) + 1e-3)
    trainer = Trainer(net, size, device)
    print(f"  {sum(p.numel() for p in net.parameters())} parameters", flush=True)
    trainer.run("frame loss", batches, size.frame, trainer.frame_loss, seed + 1)
    if size.realign:
        batches.alignments = realign(trainer.mean, trainer.log_prior())
        trainer.counts[:] = 1
        trainer.run("frame loss, aligned anew", batches, size.frame, trainer.frame_loss, seed + 2)
    net.load_state_dict(trainer.mean.state_dict())
    net.start_chain(trainer.log_prior())
    trainer.mean.load_state_dict(net.state_dict())
    drawn = sorted({int(i) for clips in bank.by_source.values() for i in clips})
    texts = [bank.text[i] for i in drawn] * 2 + list(sentences)
    sequences = unit_sequences(texts, lexicon, seed=seed) + [[0]] * 600  # in some rows nobody speaks
    any_speech = AnySpeech(trigram(sequences, UNITS), device)
    trainer.run("sequence loss", batches, size.chain, trainer.chain_loss(any_speech), seed + 3)
    return Trained(trainer.mean.cpu().eval().plain(), staying(trainer.counts))
