"""Teach a copy of the packaged encoder to give in noise what the packaged one gives in quiet.

usage: python -m scripts.model.ear.train WEIGHTS.npz SPEECH OUT.pt --steps 2000 [--more FOLDER ...]
       ... --init STAGE1.pt --decoder DECODER.npz TOKENIZER.bin

The first is stage 1 (frames alone), the second stage 2 (the decoder in the loop). Stage 1 needs no transcripts: the
pupil's frames for the noisy audio shall be the packaged encoder's for the clean audio. Stage 2 adds, for clips with
trusted texts, what the frozen decoder makes of the frames, and the letters (`losses.py`). Writes the running mean of
the weights (16 bits) to OUT.pt every minute and at the end.

The run ends after --steps, or after --seconds if those are up first (`schedule.py`). Seeds fix the data and its order:
on a CPU the same steps give the same file, unless the clock was ahead; a GPU's sums are not repeatable to the bit.
"""

from __future__ import annotations

import argparse
import copy
import time
from pathlib import Path

import numpy as np
import torch

from scripts.model.ear import encoder, spelling
from scripts.model.ear.decoder import Decoder
from scripts.model.ear.losses import difference, heard, speech_weight, spelled
from scripts.model.ear.stream import Check, Stream
from scripts.model.schedule import Schedule
from scripts.model.sound import bank as banks
from scripts.model.sound import mixing


def save(model, path: Path, **facts) -> None:
    """Checkpoint: weights in 16 bits and facts about the run."""
    torch.save({"weights": {k: v.half() for k, v in model.state_dict().items()}, **facts}, path)


def options() -> argparse.Namespace:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("weights")
    p.add_argument("speech", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("--more", nargs="*", type=Path, default=[])
    p.add_argument("--dev-more", nargs="*", type=Path, default=[])
    p.add_argument("--steps", type=int, default=1_000_000, help="end after that many steps")
    p.add_argument("--seconds", type=float, default=480, help="end after that many seconds at the latest")
    p.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    p.add_argument("--workers", type=int, default=0)
    p.add_argument("--threads", type=int, default=1)
    p.add_argument("--lr", type=float, default=5e-4)
    p.add_argument("--batch", type=float, default=240, help="seconds of audio in a batch")
    p.add_argument("--mean", type=float, default=0.999, help="decay of the running mean of the weights")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--init", help="checkpoint to start from instead of the packaged weights")
    p.add_argument("--decoder", nargs=2, metavar=("DECODER.npz", "TOKENIZER.bin"))
    p.add_argument("--opinion", type=float, default=0.3)
    p.add_argument("--truth", type=float, default=0.03)
    p.add_argument("--contrast", type=float, default=0.3)
    p.add_argument("--letters", type=float, default=0.15)
    p.add_argument("--apart", type=int, default=0, help="steps in which the letters' losses do not reach the encoder")
    p.add_argument("--wrongs", type=int, default=6)
    p.add_argument("--ways", type=int, default=3)
    p.add_argument("--most", type=int, default=48, help="rows of a batch whose texts are used")
    p.add_argument("--checks", type=int, default=4, help="development batches at each SNR; 0: no check")
    p.add_argument("--low", type=float, default=-5.0)
    p.add_argument("--deep", type=float, default=0.2)
    return p.parse_args()


class Run:
    """A pupil on its way, its teacher, and where stage 2 reads along the decoder."""

    def __init__(self, a: argparse.Namespace) -> None:
        """Load everything that the options name."""
        self.a, begin = a, time.monotonic()
        self.bank = banks.load(a.speech, "train", a.more)
        print(f"{self.bank} | {time.monotonic() - begin:.0f} s", flush=True)
        self.teacher = encoder.packaged(a.weights).to(a.device).eval().requires_grad_(False)
        self.pupil = copy.deepcopy(self.teacher).requires_grad_(True).train()
        if a.init:
            kept = torch.load(a.init, map_location="cpu")["weights"]
            encoder.fill(self.pupil, kept)
        self.mean = copy.deepcopy(self.pupil).requires_grad_(False)
        self.decoder, self.rows = None, None
        if a.decoder:
            self.decoder = Decoder(a.decoder[0]).to(a.device)
            self.rows = spelling.Rows(spelling.Speller(Path(a.decoder[1])), np.load(a.decoder[0])["keep"])
        self.check = None
        if a.checks:
            dev = banks.load(a.speech, "dev", a.dev_more)
            self.check = Check(dev, self.rows, a.device, a.checks, a.ways)
            print(
                f"teacher: {self.check(self.teacher, self.teacher, self.decoder)}\nbefore:  {self.checked()}",
                flush=True,
            )
        flat = [q for q in self.pupil.parameters() if q.ndim < 2]
        deep = [q for q in self.pupil.parameters() if q.ndim >= 2]
        groups = [{"params": deep, "weight_decay": 0.01}, {"params": flat, "weight_decay": 0}]
        self.opt = torch.optim.AdamW(groups, lr=a.lr, betas=(0.9, 0.98))
        self.mixer = mixing.Mixer(self.bank, a.device, a.seed, mixing.Recipe(low=a.low, deep=a.deep))
        self.left_out = 0

    def checked(self) -> str:
        """What the running mean does on the development split; "" where no check was asked for."""
        return "" if self.check is None else f"  dev {self.check(self.mean, self.teacher, self.decoder)}"

    def learn(self, batch: tuple, rate: float, step: int) -> torch.Tensor | None:
        """One step; the parts of its loss, or None where it was left out because its gradient is not finite.

        Raises:
            FloatingPointError: that happened too often.
        """
        a, (plan, texts) = self.a, batch
        clean, noisy, _ = self.mixer.mix(plan)
        with torch.no_grad():
            target = self.teacher.frames(clean)
        layers = self.pupil.layered(noisy)
        hidden = layers[-1]
        loss = difference(hidden, target, speech_weight(clean)).mean()
        parts = [loss.detach()]
        if self.decoder is not None:
            opinion, truth, contrast, right = heard(self.decoder, hidden, target, texts, a.ways)
            loss = loss + a.opinion * opinion + a.truth * truth + a.contrast * contrast
            parts += [opinion.detach(), truth.detach(), contrast.detach(), right]
            apart = step < a.apart  # what is still random must not teach the encoder
            letters = self.pupil.letters([y.detach() for y in layers] if apart else layers)
            truth, contrast, right = spelled(letters, texts)
            loss = loss + a.letters * (truth + contrast)
            parts += [truth.detach(), contrast.detach(), right]
        for group in self.opt.param_groups:
            group["lr"] = rate
        self.opt.zero_grad(set_to_none=True)
        loss.backward()
        size = torch.nn.utils.clip_grad_norm_(self.pupil.parameters(), 1.0)
        if not torch.isfinite(size):
            self.left_out += 1
            print(f"step {step} left out: loss {loss.item()}, noisy sound finite: {noisy.isfinite().all()}", flush=True)
            if self.left_out > 20:
                raise FloatingPointError(f"step {step}: loss {loss.item()}, for the {self.left_out}th time")
            return None
        self.opt.step()
        share = 1 - min(a.mean, (step + 1) / (step + 11))
        with torch.no_grad():
            torch._foreach_lerp_(list(self.mean.parameters()), list(self.pupil.parameters()), share)
        return torch.stack(parts)


def main() -> None:
    """Train until the steps are done or the time is up."""
    a = options()
    torch.manual_seed(a.seed)
    torch.set_num_threads(a.threads)
    torch.set_float32_matmul_precision("high")
    run = Run(a)
    stream = Stream(run.bank, a.batch, a.seed, run.rows, a.wrongs, a.ways, a.most)
    data = torch.utils.data.DataLoader(stream, None, num_workers=a.workers, prefetch_factor=6 if a.workers else None)
    schedule, told, step, losses = Schedule(a.steps, a.seconds), 0.0, 0, []
    for batch in data:
        if schedule.done(step) >= 1:
            break
        parts = run.learn(batch, schedule.rate(step, a.lr, 100 if a.device == "cuda" else 30), step)
        if parts is None:
            continue
        step += 1
        losses.append(parts)
        if schedule.spent - told > 60:
            now = [round(v, 4) for v in torch.stack(losses).mean(0).tolist()]
            print(f"{schedule.spent:4.0f} s step {step} loss {now}{run.checked()}", flush=True)
            told, losses = schedule.spent, []
            save(run.mean, a.out, step=step)
    save(run.mean, a.out, step=step, args={k: str(v) for k, v in vars(a).items()})
    print(f"end: {schedule.told(step)}{run.checked()}", flush=True)


if __name__ == "__main__":
    main()
