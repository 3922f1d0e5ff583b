"""Train the network: frame loss first, then the sequence loss.

Deterministic on a CPU: seeds fix clips, mixes, order and weights; only a run that the clock ends early differs.
"""

from __future__ import annotations

import contextlib
import copy
from collections.abc import Callable, Sequence
from pathlib import Path

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
from scripts.model.vosk.recorded import Sums
from scripts.model.vosk.sequence import AnySpeech, Graphs
from scripts.model.vosk.sizes import Size, Stage
from scripts.model.vosk.tdnn import Tdnn, outputs

Loss = Callable[[Batch], tuple[torch.Tensor, dict[str, torch.Tensor]]]
Aligner = Callable[[Tdnn, torch.Tensor], list[Alignment | None]]
FRAME_SHARE = 0.1  # of the frame loss beside the sequence loss
SPOILT = 0.05  # share of steps that may be left out
REIN = 2.5e-5  # on the squares of the scores, which the sequence loss leaves free


class Trainer:
    """A network on its way, with the running mean of its weights.

    `checkpoints`: folder for a file of each stage, written every minute and at the end of the stage, None for none: the
    same stage, begun again with its file there, goes on from it.
    """

    def __init__(self, net: Tdnn, size: Size, device: str, checkpoints: Path | None = None) -> None:
        self.net, self.mean = net, copy.deepcopy(net).requires_grad_(False)
        self.size, self.device, self.counts = size, device, np.ones(PDFS)
        self.checkpoints = checkpoints

    def run(self, name: str, batches: Batches, stage: Stage, loss_of: Loss, seed: int) -> None:
        """One stage. A step whose gradient is not finite is left out and counted.

        Raises:
            FloatingPointError: that happened in more than `SPOILT` of the steps.
        """
        opt = torch.optim.AdamW(self.net.parameters(), stage.rate, weight_decay=5e-3, betas=(0.9, 0.98))
        schedule = Schedule(stage.steps, stage.seconds)
        step = self._resumed(name, opt, schedule)
        told = kept = schedule.spent
        facts: dict[str, torch.Tensor] = {}
        spoilt = torch.zeros((), device=self.device)
        self.net.train()
        with contextlib.closing(batches.stream(seed, step)) as stream:
            for batch in stream:
                if schedule.done(step) >= 1:
                    break
                for group in opt.param_groups:
                    group["lr"] = schedule.rate(step, stage.rate, self.size.warm, least=0.02)
                loss, now = loss_of(batch)
                opt.zero_grad(set_to_none=True)
                loss.backward()
                bad = ~torch.isfinite(nn.utils.clip_grad_norm_(self.net.parameters(), 2.0))
                for p in self.net.parameters():
                    if p.grad is not None:
                        p.grad.masked_fill_(bad, 0.0)
                opt.step()
                step += 1
                self._average(step)
                spoilt += bad
                for key, value in now.items():
                    facts[key] = torch.where(bad, facts[key], facts[key].lerp(value, 0.05)) if key in facts else value
                if schedule.spent - told > 15:
                    told = schedule.spent
                    print(f"  {told:.0f} s step {step}: {_said(facts)}", flush=True)
                    self._judge(name, float(spoilt), step)
                if schedule.spent - kept > 60:
                    kept = schedule.spent
                    self._keep(name, opt, schedule, step)
        self._judge(name, float(spoilt), step)
        self._keep(name, opt, schedule, step)
        print(f"  {name}: {schedule.told(step)}: {_said(facts)}; {int(spoilt)} steps left out", flush=True)

    def _judge(self, name: str, spoilt: float, step: int) -> None:
        if spoilt > SPOILT * (step + 50):
            raise FloatingPointError(f"{name}: the gradient was not finite in {spoilt:.0f} of {step} steps")

    def _keep(self, name: str, opt: torch.optim.Optimizer, schedule: Schedule, step: int) -> None:
        if self.checkpoints is None:
            return
        state = {"step": step, "spent": schedule.spent, "counts": torch.from_numpy(self.counts)}
        state |= {"net": self.net.state_dict(), "mean": self.mean.state_dict(), "opt": opt.state_dict()}
        self.checkpoints.mkdir(parents=True, exist_ok=True)
        fresh = self.checkpoints / "new"
        torch.save(state, fresh)
        fresh.replace(self.checkpoints / f"{name}.pt")

    def _resumed(self, name: str, opt: torch.optim.Optimizer, schedule: Schedule) -> int:
        """Take over the checkpoint of this stage; steps done, 0 where there is none."""
        if self.checkpoints is None or not (self.checkpoints / f"{name}.pt").exists():
            return 0
        state = torch.load(self.checkpoints / f"{name}.pt", map_location="cpu", weights_only=True)
        self.net.load_state_dict(state["net"])
        self.mean.load_state_dict(state["mean"])
        opt.load_state_dict(state["opt"])
        self.counts[:] = state["counts"].cpu().numpy()
        schedule.begin -= state["spent"]
        print(f"  {name}: goes on after step {state['step']}, {state['spent']:.0f} s", flush=True)
        return int(state["step"])

    @torch.no_grad()
    def _average(self, step: int) -> None:
        share = 1 - min(self.size.mean, step / (step + 10))
        pairs = zip(self.mean.state_dict().values(), self.net.state_dict().values(), strict=True)
        floats = [(mean, now) for mean, now in pairs if mean.dtype.is_floating_point]
        torch._foreach_lerp_([m for m, _ in floats], [n for _, n in floats], share)

    def frame_loss(self, batch: Batch) -> tuple[torch.Tensor, dict[str, torch.Tensor]]:
        """Cross-entropy of every output."""
        scores, labels = outputs(self.net, batch.features)[1], self._labels(batch)
        self.counts += np.bincount(batch.labels.reshape(-1), minlength=PDFS)
        loss = F.cross_entropy(scores.flatten(0, 1), labels.flatten())
        return loss, {"frame": loss.detach(), "right": (scores.argmax(2) == labels).float().mean()}

    def chain_loss(self, sums: Sums) -> Loss:
        """What was said against all that could have been; a little of the frame loss; a rein on large scores."""

        def loss_of(batch: Batch) -> tuple[torch.Tensor, dict[str, torch.Tensor]]:
            scores, framed = outputs(self.net, batch.features)
            known = torch.from_numpy(batch.known).to(self.device)
            this, any_speech = sums(scores, Graphs.on(self.device, batch.chains))
            gain = (this - any_speech) / scores.shape[1]
            good = (gain > -1e4) & (known > 0)  # a row too short for its text has no way through
            chain = -torch.where(good, gain, torch.zeros_like(gain)).sum() / good.sum().clamp(min=1)
            frame = F.cross_entropy(framed.flatten(0, 1), self._labels(batch).flatten())
            loss = chain + FRAME_SHARE * frame + REIN * scores.square().sum(2).mean()
            return loss, {"chain": chain.detach(), "frame": frame.detach(), "used": good.float().mean()}

        return loss_of

    def _labels(self, batch: Batch) -> torch.Tensor:
        return torch.from_numpy(batch.labels).to(self.device)

    def log_prior(self) -> torch.Tensor:
        """How likely each pdf is before anything is heard, from the frames seen; shape (PDFS,)."""
        share = torch.from_numpy(self.counts / self.counts.sum()).float()
        return share.clamp_min(1e-4).log().to(self.device)


def _said(facts: dict[str, torch.Tensor]) -> str:
    return " ".join(f"{k} {float(v):.4f}" for k, v in facts.items())


def train(
    bank: Bank,
    alignments: list[Alignment | None],
    lexicon: Lexicon,
    sentences: Sequence[str],
    size: Size,
    device: str,
    *,
    realign: Aligner,
    start: Trained | None = None,
    checkpoints: Path | None = None,
    planners: int = 1,
    seed: int = 1,
) -> Trained:
    """The whole training.

    Args:
        bank, planners: see `batches.Batches`.
        sentences: further texts for the trigram of phones.
        realign: makes alignments with a network and its log prior; used where the size asks for it.
        start: a finished network to go on from: it makes all alignments, and the sequence loss alone follows.
        checkpoints: see `Trainer`.
    """
    torch.manual_seed(seed)
    net = Tdnn(size.width, size.blocks).to(device)
    batches = Batches(bank, alignments, lexicon, seconds=size.batch, uses=size.uses, device=device, planners=planners)
    seen = [batches.sounded(batches.planned(seed, k)).features for k in range(4)]
    if start is not None:
        net.start_from(start.network, seen[0])
    else:
        frames = torch.cat([x.flatten(0, 1)[::7] for x in seen])
        net.mean.copy_(frames.mean(0))
        net.spread.copy_(frames.std(0) + 1e-3)
    trainer = Trainer(net, size, device, checkpoints)
    print(f"  {sum(p.numel() for p in net.parameters())} parameters", flush=True)
    if start is None:
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
    sums = Sums(AnySpeech(trigram(sequences, UNITS), device), record=device == "cuda")
    trainer.run("sequence loss", batches, size.chain, trainer.chain_loss(sums), seed + 3)
    stay = staying(trainer.counts) if start is None else start.stay
    return Trained(trainer.mean.cpu().eval().plain(), stay)
