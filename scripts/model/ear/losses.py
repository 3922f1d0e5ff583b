"""What the pupil is judged by: frames against the teacher's, and what the frozen decoder makes of them.

Frames: squared error and angle against the packaged encoder's frames for the clean audio; pauses count a quarter.
What the decoder makes of them:
  opinion   divergence of its next-token probabilities along the true text from those it has on the teacher's frames,
  truth     -log P(text) a token,
  contrast  -log P(what was said | it or one of the near misses of `spelling.wrong`), all ways of writing summed: the
            very quantity by which a grammar search decides, so that in noise the decoder is led to be unsure rather
            than wrong.
"""

from __future__ import annotations

import torch
import torch.nn.functional as F

FIELD, HOP = 895, 384  # samples that one output frame sees, samples between frames


def speech_weight(clean: torch.Tensor) -> torch.Tensor:
    """1 for frames where somebody speaks, 0.25 for pauses, from the energy of the clean audio; rows x frames."""
    e = 10 * torch.log10(F.avg_pool1d(clean[:, None] ** 2, FIELD, HOP)[:, 0] + 1e-9)
    return 0.25 + 0.75 * torch.sigmoid((e - e.amax(1, keepdim=True) + 33) / 3)


def difference(pupil: torch.Tensor, teacher: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Per row: squared error over the teacher's mean square (0.27), plus half of one minus the cosine."""
    squared = ((pupil - teacher) ** 2).mean(2) / 0.27
    angle = 1 - F.cosine_similarity(pupil, teacher, 2)
    return ((squared + 0.5 * angle) * weight).sum(1) / weight.sum(1)


def heard(decoder, pupil, teacher, tokens, exact, ways):
    """(opinion, truth, contrast, right): see the module's text; `right` is the share of exact rows whose truth is the
    likeliest.

    pupil, teacher: rows x frames x 288 of the rows with texts; tokens: rows x (1 + wrongs) * ways x length, -1 after
    the end.
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
