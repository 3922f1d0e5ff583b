"""The packaged encoder rebuilt in PyTorch: audio at 16 kHz -> frames of 288 numbers, 24 ms apart.

Three convolutions (strides 64, 3, 2) and six pre-norm transformer layers with rotary positions on 32 of 36 numbers a
head. Parameter names follow the packaged file, so the arrays of `weights.expand` fit `load_state_dict`.
"""

from __future__ import annotations

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

from scripts.model.ear import weights

WIDTH, HEADS, HEAD, ROTARY, LAYERS = 288, 8, 36, 32, 6


class Attention(nn.Module):
    """Self-attention over all frames, 8 heads."""

    def __init__(self):
        super().__init__()
        self.q_proj, self.k_proj, self.v_proj, self.o_proj = (nn.Linear(WIDTH, WIDTH, bias=False) for _ in range(4))

    def forward(self, x, cos, sin):
        b, t, _ = x.shape
        q, k, v = (p(x).view(b, t, HEADS, HEAD).transpose(1, 2) for p in (self.q_proj, self.k_proj, self.v_proj))
        q, k = turn(q, cos, sin), turn(k, cos, sin)
        y = F.scaled_dot_product_attention(q, k, v)
        return self.o_proj(y.transpose(1, 2).reshape(b, t, WIDTH))


def turn(x, cos, sin):
    """Rotate neighbouring pairs of the first 32 numbers of each head by an angle that grows with time."""
    r, rest = x[..., :ROTARY], x[..., ROTARY:]
    pair = r.unflatten(-1, (ROTARY // 2, 2))
    a, b = pair[..., 0], pair[..., 1]
    r = torch.stack((a * cos - b * sin, b * cos + a * sin), -1).flatten(-2)
    return torch.cat((r, rest), -1)


class Feed(nn.Module):
    """Two linear layers with a GELU between."""

    def __init__(self):
        super().__init__()
        self.fc1, self.fc2 = nn.Linear(WIDTH, 4 * WIDTH), nn.Linear(4 * WIDTH, WIDTH)

    def forward(self, x):
        return self.fc2(F.gelu(self.fc1(x)))


class Layer(nn.Module):
    """Pre-norm transformer layer."""

    def __init__(self):
        super().__init__()
        self.self_attn, self.mlp = Attention(), Feed()
        self.input_layernorm = nn.LayerNorm(WIDTH, bias=False)
        self.post_attention_layernorm = nn.LayerNorm(WIDTH, bias=False)

    def forward(self, x, cos, sin):
        x = x + self.self_attn(self.input_layernorm(x), cos, sin)
        return x + self.mlp(self.post_attention_layernorm(x))


class Encoder(nn.Module):
    """audio, float32, batch x samples -> hidden, batch x frames x 288."""

    def __init__(self):
        super().__init__()
        self.conv1 = nn.Conv1d(1, WIDTH, 127, 64, bias=False)
        self.groupnorm = nn.GroupNorm(1, WIDTH)
        self.conv2 = nn.Conv1d(WIDTH, 2 * WIDTH, 7, 3)
        self.conv3 = nn.Conv1d(2 * WIDTH, WIDTH, 3, 2)
        self.layers = nn.ModuleList(Layer() for _ in range(LAYERS))
        self.layer_norm = nn.LayerNorm(WIDTH, bias=False)
        self.register_buffer("speed", 10000.0 ** (-torch.arange(0, ROTARY, 2) / ROTARY), persistent=False)

    def forward(self, audio):
        """audio: batch x samples, all of one length (16 kHz, full scale 1)."""
        x = torch.tanh(self.conv1(audio[:, None]))
        x = self.groupnorm(x)
        x = F.gelu(self.conv3(F.gelu(self.conv2(x)))).transpose(1, 2)
        angle = torch.arange(x.shape[1], device=x.device, dtype=torch.float32)[:, None] * self.speed
        cos, sin = angle.cos().to(x.dtype), angle.sin().to(x.dtype)
        for layer in self.layers:
            x = layer(x, cos, sin)
        return self.layer_norm(x)


def packaged(path) -> Encoder:
    """Encoder with the weights of the numpy file that `weights.save_encoder` wrote."""
    with np.load(path) as z:
        arrays = {k: z[k] for k in z.files}
    m = Encoder()
    m.load_state_dict({k: torch.from_numpy(v) for k, v in weights.expand(arrays, transposed=True).items()})
    return m


def trained(path) -> Encoder:
    """Encoder of a checkpoint of `train.py`, for use (not for training)."""
    m = Encoder()
    m.load_state_dict({k: v.float() for k, v in torch.load(path, map_location="cpu")["weights"].items()})
    return m.eval()
