"""Teach a copy of the packaged encoder to give in noise what the packaged one gives in quiet.

usage: train.py WEIGHTS.npz SPEECH_FOLDER OUT.pt --seconds 480 [--more FOLDER ...]                          stage 1: frames alone
       train.py WEIGHTS.npz SPEECH_FOLDER OUT.pt --init STAGE1.pt --decoder DECODER.npz TOKENIZER.bin ...   stage 2: the decoder in the loop

Stage 1 needs no transcripts: the pupil's frames for the noisy audio shall be the packaged encoder's for the clean audio (squared error
and angle; pauses count a quarter). Stage 2 adds, for clips with trusted texts, what the frozen decoder makes of the frames:
  opinion   divergence of its next-token probabilities along the true text from those it has on the teacher's clean frames,
  truth     -log P(text) a token,
  contrast  -log P(what was said | it or one of the near misses of `spelling.wrong`), all ways of writing summed: the very quantity by
            which a grammar search decides, so that in noise the decoder is led to be unsure rather than wrong.
Writes the running mean of the weights (16 bits) to OUT.pt every minute and at the end. The time decides the number of steps; seeds fix
the data, not the arithmetic of a GPU.
"""

from __future__ import annotations

import argparse
import copy
import math
import random
import time
from pathlib import Path

import bank as banks
import encoder
import mixing
import numpy as np
import spelling
import torch
import torch.nn.functional as F
from decoder import Decoder

FIELD, HOP = 895, 384  # samples that one output frame sees, samples between frames
LEVELS = (99.0, 15.0, 10.0, 5.0, 0.0, -5.0)  # SNRs of the development check, dB


def speech_weight(clean: torch.Tensor) -> torch.Tensor:
    """1 for frames where somebody speaks, 0.25 for pauses, from the energy of the clean audio; rows x frames."""
    e = 10 * torch.log10(F.avg_pool1d(clean[:, None] ** 2, FIELD, HOP)[:, 0] + 1e-9)
    return 0.25 + 0.75 * torch.sigmoid((e - e.amax(1, keepdim=True) + 33) / 3)


def difference(pupil: torch.Tensor, teacher: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Per row: squared error over the teacher's mean square (0.27), plus half of one minus the cosine."""
    squared = ((pupil - teacher) ** 2).mean(2) / 0.27
    angle = 1 - F.cosine_similarity(pupil, teacher, 2)
    return ((squared + 0.5 * angle) * weight).sum(1) / weight.sum(1)


class Stream(torch.utils.data.IterableDataset):
    """Endless plans with the token rows of their texts: (plan, rows of the batch that have texts, which of those are exact, tokens)."""

    def __init__(self, bank, seconds, seed, rows=None, wrongs=5, ways=3, most=48):
        self.bank, self.seconds, self.seed, self.rows, self.wrongs, self.ways, self.most = bank, seconds, seed, rows, wrongs, ways, most

    def one(self, r: random.Random):
        p = banks.plan(self.bank, r, self.seconds)
        if self.rows is None:
            return p, None, None, None
        at, exact, got = [], [], []
        for i, (texts, use) in enumerate(zip(p.texts, p.use)):
            words = " ".join(texts).split()
            if use and len(at) < self.most and 0 < len(words) <= 14:
                c = self.rows.choices(words, r, wrongs=self.wrongs, ways=self.ways)
                if c[0]:
                    at.append(i)
                    exact.append(use == 2)
                    got.append(c)
        if not at:
            return self.one(r)
        return p, np.array(at), np.array(exact), spelling.padded(got)

    def __iter__(self):
        info = torch.utils.data.get_worker_info()
        torch.set_num_threads(1)
        r = random.Random(f"{self.seed} {info.id if info else 0}")
        while True:
            yield self.one(r)


def heard(decoder, pupil, teacher, tokens, exact, ways):
    """(opinion, truth, contrast, right): see the module's text; `right` is the share of exact rows whose truth is the likeliest.

    pupil, teacher: rows x frames x 288 of the rows with texts; tokens: rows x (1 + wrongs) * ways x length, -1 after the end.
    """
    ask, want = tokens[..., :-1].clamp(min=0), tokens[..., 1:]
    mask = want >= 0
    states = decoder(pupil, ask)
    with torch.no_grad():
        goal = decoder.log_probabilities(decoder(teacher, ask[:, :1])[:, 0][mask[:, 0]])
    mine = decoder.log_probabilities(states[:, 0][mask[:, 0]])
    opinion = F.kl_div(mine, goal, reduction="batchmean", log_target=True)
    truth = F.nll_loss(mine, want[:, 0][mask[:, 0]])
    each = -F.nll_loss(decoder.log_probabilities(states[mask]), want[mask], reduction="none")
    score = torch.zeros(mask.shape, device=each.device).masked_scatter(mask, each).sum(2)
    score = score.masked_fill(~mask.any(2), -1e4).view(len(score), -1, ways).logsumexp(2)
    choice = F.log_softmax(score, 1)[:, 0]
    contrast = -(choice * exact).sum() / exact.sum().clamp(min=1)
    right = ((score.argmax(1) == 0) * exact).sum() / exact.sum().clamp(min=1)
    return opinion, truth, contrast, right


class Check:
    """The development split: difference of the frames, contrast and share right at fixed SNRs, on plans that stay the same."""

    def __init__(self, bank, rows, device, count, ways):
        stream = Stream(bank, 40, 5, rows, wrongs=7, ways=ways)
        r, mixer, self.ways, self.sets = random.Random(5), mixing.Mixer(bank, device, 5), ways, []
        for i in range(count * len(LEVELS)):
            p, at, exact, tokens = stream.one(r)
            clean, noisy, snr = mixer.mix(p, torch.full((p.rows,), LEVELS[i % len(LEVELS)], device=device))
            text = None if at is None else [torch.from_numpy(x).to(device) for x in (at, exact, tokens)]
            self.sets.append((LEVELS[i % len(LEVELS)], clean, noisy, text))

    @torch.no_grad()
    def __call__(self, model, teacher, decoder) -> str:
        told = {}
        for snr, clean, noisy, text in self.sets:
            target, hidden = teacher(clean), model(noisy)
            row = [difference(hidden, target, speech_weight(clean)).mean()]
            if decoder is not None:
                at, exact, tokens = text
                row += list(heard(decoder, hidden[at], target[at], tokens, exact, self.ways))[2:]
            told.setdefault(snr, []).append(torch.stack(row))
        mean = {s: torch.stack(v).mean(0).tolist() for s, v in told.items()}
        return " | ".join(f"{'clean' if s > 90 else f'{s:.0f}'} " + " ".join(f"{x:.3f}" for x in v) for s, v in mean.items())


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
    p.add_argument("--seconds", type=float, default=480, help="how long to train now")
    p.add_argument("--total", type=float, help="length of the whole schedule where it is trained in several goes (default: --seconds)")
    p.add_argument("--state", type=Path, help="file that carries a run from one go to the next; read where it exists, written at the end")
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
    p.add_argument("--wrongs", type=int, default=6)
    p.add_argument("--ways", type=int, default=3)
    p.add_argument("--most", type=int, default=48, help="rows of a batch whose texts are used")
    p.add_argument("--checks", type=int, default=4, help="development batches at each SNR")
    p.add_argument("--low", type=float, default=-5.0)
    p.add_argument("--deep", type=float, default=0.2)
    return p.parse_args()


def main() -> None:
    """Train until the time is up."""
    a = options()
    torch.manual_seed(a.seed)
    torch.set_num_threads(a.threads)
    torch.set_float32_matmul_precision("high")
    start = time.time()
    bank, dev = banks.load(a.speech, "train", a.more), banks.load(a.speech, "dev", a.dev_more)
    print(f"{bank} | dev {dev} | {time.time() - start:.0f} s", flush=True)
    teacher = encoder.packaged(a.weights).to(a.device).eval().requires_grad_(False)
    model = copy.deepcopy(teacher).requires_grad_(True).train()
    if a.init:
        model.load_state_dict({k: v.float() for k, v in torch.load(a.init, map_location="cpu")["weights"].items()})
    decoder, rows = None, None
    if a.decoder:
        decoder = Decoder(a.decoder[0]).to(a.device)
        rows = spelling.Rows(spelling.Speller(Path(a.decoder[1])), np.load(a.decoder[0])["keep"])
    check = Check(dev, rows, a.device, a.checks, a.ways)
    mean = copy.deepcopy(model).requires_grad_(False)
    print(f"teacher: {check(teacher, teacher, decoder)}\nbefore:  {check(mean, teacher, decoder)} | {time.time() - start:.0f} s", flush=True)
    flat, deep = [q for q in model.parameters() if q.ndim < 2], [q for q in model.parameters() if q.ndim >= 2]
    opt = torch.optim.AdamW([{"params": deep, "weight_decay": 0.01}, {"params": flat, "weight_decay": 0}], lr=a.lr, betas=(0.9, 0.98))
    stream = Stream(bank, a.batch, a.seed, rows, a.wrongs, a.ways, a.most)
    data = torch.utils.data.DataLoader(stream, None, num_workers=a.workers, prefetch_factor=6 if a.workers else None)
    mixer = mixing.Mixer(bank, a.device, a.seed, mixing.Recipe(low=a.low, deep=a.deep))
    step, spent, total = 0, 0.0, a.total or a.seconds
    if a.state and a.state.exists():
        kept = torch.load(a.state, map_location=a.device)
        model.load_state_dict(kept["model"])
        mean.load_state_dict(kept["mean"])
        opt.load_state_dict(kept["opt"])
        step, spent = kept["step"], kept["spent"]
        stream.seed, mixer.g = f"{a.seed} from {step}", mixer.g.manual_seed(a.seed + step)
    begin = told = time.time()
    sums, bad, warm_steps = [], 0, 100 if a.device == "cuda" else 30
    for plan, at, exact, tokens in data:
        gone = time.time() - begin
        if gone >= a.seconds:
            break
        for group in opt.param_groups:
            group["lr"] = a.lr * min(1, (step + 1) / warm_steps) * (0.5 + 0.5 * math.cos(math.pi * min(1, (spent + gone) / total)))
        clean, noisy, _ = mixer.mix(plan)
        with torch.no_grad():
            target = teacher(clean)
        hidden = model(noisy)
        loss = difference(hidden, target, speech_weight(clean)).mean()
        parts = [loss.detach()]
        if decoder is not None:
            at, exact, tokens = (torch.as_tensor(x).to(a.device) for x in (at, exact, tokens))
            opinion, truth, contrast, right = heard(decoder, hidden[at], target[at], tokens, exact, a.ways)
            loss = loss + a.opinion * opinion + a.truth * truth + a.contrast * contrast
            parts += [opinion.detach(), truth.detach(), contrast.detach(), right]
        opt.zero_grad(set_to_none=True)
        loss.backward()
        size = torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        if not torch.isfinite(size):
            bad += 1
            print(f"step {step}: left out, loss {loss.item()}, clean {clean.isfinite().all()}, noisy {noisy.isfinite().all()}", flush=True)
            if bad > 20:
                raise FloatingPointError(f"step {step}: loss {loss.item()}, gradient {size.item()}, for the {bad}th time")
            continue
        opt.step()
        step += 1
        with torch.no_grad():
            torch._foreach_lerp_(list(mean.parameters()), list(model.parameters()), 1 - min(a.mean, step / (step + 10)))
        sums.append(torch.stack(parts))
        if time.time() - told > 60:
            told = time.time()
            now = [round(v, 4) for v in torch.stack(sums).mean(0).tolist()]
            print(f"{told - begin:4.0f} s step {step} loss {now}\n  dev {check(mean, teacher, decoder)}", flush=True)
            sums = []
            save(mean, a.out, step=step)
    if a.state:
        torch.save({"model": model.state_dict(), "mean": mean.state_dict(), "opt": opt.state_dict(), "step": step, "spent": spent + a.seconds}, a.state)
    save(mean, a.out, step=step, args={k: str(v) for k, v in vars(a).items()})
    print(f"end: step {step}\n  dev {check(mean, teacher, decoder)}\n  last {check(model, teacher, decoder)}", flush=True)


if __name__ == "__main__":
    main()
