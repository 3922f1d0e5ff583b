"""The packaged decoder rebuilt in PyTorch, frozen: hidden frames and the tokens so far -> scores of the next token.

Used only while training, so that the pupil is judged by what the decoder makes of its frames. The output layer is cut
down to the tokens that the training texts need and some thousand others (`spelling.py`); inputs and targets are rows
of that cut vocabulary.
"""

from __future__ import annotations

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

from scripts.model.ear import weights
from scripts.model.ear.encoder import HEAD, HEADS, LAYERS, ROTARY, WIDTH, turn


class Decoder(nn.Module):
    """Six layers: self-attention over the tokens, cross-attention to the frames, gated feed-forward."""

    def __init__(self, path):
        """path: numpy file with the arrays of `weights.decoder_arrays`."""
        super().__init__()
        with np.load(path) as z:
            arrays = {k: z[k] for k in z.files}
        for name, a in weights.expand(arrays, transposed=False).items():
            self.register_buffer(name.replace(".", "_"), torch.from_numpy(a))
        self.register_buffer("speed", 10000.0 ** (-torch.arange(0, ROTARY, 2) / ROTARY))

    def get(self, *names):
        return getattr(self, "_".join(names).replace(".", "_"))

    def norm(self, x, name):
        return F.layer_norm(x, (WIDTH,), self.get(name, "weight"))

    def heads(self, x, *names):
        y = x @ self.get(*names)
        return y.view(*y.shape[:2], HEADS, HEAD).transpose(1, 2)

    def forward(self, hidden, rows):
        """hidden: batch x frames x 288; rows: batch x sentences x length. Output before the vocabulary layer, same
        leading shape x 288.
        """
        b, m, n = rows.shape
        x = self.embed[rows].view(b * m, n, WIDTH)
        angle = torch.arange(n, device=rows.device, dtype=torch.float32)[:, None] * self.speed
        cos, sin = angle.cos(), angle.sin()
        for i in range(LAYERS):
            p = f"layers.{i}"
            y = self.norm(x, f"{p}.input_layernorm")
            q, k = (turn(self.heads(y, p, "self_attn", w), cos, sin) for w in ("q_proj", "k_proj"))
            y = F.scaled_dot_product_attention(q, k, self.heads(y, p, "self_attn", "v_proj"), is_causal=True)
            x = x + y.transpose(1, 2).flatten(2) @ self.get(p, "self_attn", "o_proj")
            y = self.norm(x, f"{p}.post_attention_layernorm").view(
                b, m * n, WIDTH
            )  # all sentences of one recording ask its frames at once
            y = F.scaled_dot_product_attention(
                self.heads(y, p, "encoder_attn", "q_proj"),
                self.heads(hidden, p, "encoder_attn", "k_proj"),
                self.heads(hidden, p, "encoder_attn", "v_proj"),
            )
            x = x + (y.transpose(1, 2).flatten(2) @ self.get(p, "encoder_attn", "o_proj")).view(b * m, n, WIDTH)
            y = self.norm(x, f"{p}.final_layernorm") @ self.get(p, "mlp.fc1") + self.get(p, "mlp.fc1.bias")
            value, gate = y.chunk(2, -1)
            x = x + (value * F.silu(gate)) @ self.get(p, "mlp.fc2") + self.get(p, "mlp.fc2.bias")
        return self.norm(x, "norm").view(b, m, n, WIDTH)

    def log_probabilities(self, states):
        """Log-probabilities over the cut vocabulary for outputs of `forward` (any leading shape)."""
        return F.log_softmax(states @ self.get("logits"), -1)
