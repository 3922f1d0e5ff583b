"""What the pupil is judged by: frames against the teacher's, and what the frozen decoder makes of them.

Frames: squared error and angle against the packaged encoder's frames for the clean audio; pauses count a quarter.
What the decoder makes of them:
  opinion   divergence of its next-token probabilities along the true text from those it has on the teacher's frames,
  truth     -log P(text) a token,
  contrast  -log P(what was said | it or one of the near misses of `spelling.wrong`), all ways of writing summed: the
            very quantity by which a grammar search decides, so that in noise the decoder is led to be unsure rather
            than wrong.
What the letters make of them: -log P(text) a letter, summed over all alignments (nothing, where nobody speaks), and the
same contrast.
"""

from __future__ import annotations

import torch
import torch.nn.functional as F

from assistant.speech.letters import BLANK

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


def heard(decoder, pupil, teacher, texts, ways):
    """(opinion, truth, contrast, right): see the module's text; `right` is the share of exact rows whose truth is the
    likeliest.

    pupil, teacher: batch x frames x 288; texts: `stream.Texts`.
    """
    at, exact, tokens = (torch.as_tensor(x).to(pupil.device) for x in (texts.at, texts.exact, texts.tokens))
    pupil, teacher = pupil[at], teacher[at]
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


def spelled(letters, texts):
    """(truth, contrast, right) of the letters; letters: batch x frames x COUNT, log-probabilities; texts:
    `stream.Texts`.
    """
    at, ids = (torch.as_tensor(x).to(letters.device) for x in (texts.heard, texts.letters))
    size = (ids >= 0).sum(2)  # rows x sentences
    frames = letters[at]
    cost = _alignments(frames, ids[:, 0], size[:, 0])
    truth = (cost / size[:, 0].clamp(min=4)).mean()
    told = (size[:, 1:] > 0).any(1) if ids.shape[1] > 1 else torch.zeros(len(ids), dtype=torch.bool, device=ids.device)
    if not told.any():
        return truth, truth * 0, truth.detach() * 0
    n, k = int(told.sum()), ids.shape[1]
    each = _alignments(frames[told].repeat_interleave(k, 0), ids[told].flatten(0, 1), size[told].flatten()).view(n, k)
    each = each.masked_fill(size[told] == 0, 1e4)
    choice = F.log_softmax(-each, 1)[:, 0]
    return truth, -choice.mean(), (each.argmin(1) == 0).float().mean()


def _alignments(frames, ids, size):
    """-log P of each row's letters, summed over all alignments; rows with too many letters for the frames cost 0."""
    lengths = torch.full((len(frames),), frames.shape[1], dtype=torch.long, device=frames.device)
    return F.ctc_loss(
        frames.transpose(0, 1), ids.clamp(min=0), lengths, size, blank=BLANK, reduction="none", zero_infinity=True
    )
