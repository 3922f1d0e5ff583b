"""The packaged encoder rebuilt in PyTorch: audio at 16 kHz -> frames of 288 numbers, 24 ms apart.

Three convolutions (strides 64, 3, 2) and six pre-norm transformer layers with rotary positions on 32 of 36 numbers a
head. Parameter names follow the packaged file, so the arrays of `weights.expand` fit `load_state_dict`.
"""

from __future__ import annotations

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

from assistant.speech.letters import COUNT
from scripts.model.ear import weights

NARROW = 224  # of the letters' own layers
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


class Letters(nn.Module):
    """What every layer says of a frame, weighed -> log-probabilities of the letters of `speech/letters.py`."""

    def __init__(self):
        super().__init__()
        self.share = nn.Parameter(torch.zeros(LAYERS + 1))
        self.norm = nn.LayerNorm(WIDTH)
        self.near = nn.Conv1d(WIDTH, NARROW, 5, padding=2)
        self.wide = nn.Conv1d(NARROW, NARROW, 5, padding=2)
        self.last = nn.Linear(NARROW, COUNT)

    def forward(self, layers):
        """layers: of the encoder, batch x frames x 288 each, one more than LAYERS."""
        share = self.share.softmax(0)
        x = self.norm(sum(w * y for w, y in zip(share.unbind(), layers, strict=True))).transpose(1, 2)
        x = F.gelu(self.near(x))
        x = x + F.gelu(self.wide(x))
        return self.last(x.transpose(1, 2)).float().log_softmax(2)


class Encoder(nn.Module):
    """audio, float32, batch x samples -> hidden, batch x frames x 288, and letters, batch x frames x COUNT."""

    def __init__(self):
        super().__init__()
        self.conv1 = nn.Conv1d(1, WIDTH, 127, 64, bias=False)
        self.groupnorm = nn.GroupNorm(1, WIDTH)
        self.conv2 = nn.Conv1d(WIDTH, 2 * WIDTH, 7, 3)
        self.conv3 = nn.Conv1d(2 * WIDTH, WIDTH, 3, 2)
        self.layers = nn.ModuleList(Layer() for _ in range(LAYERS))
        self.layer_norm = nn.LayerNorm(WIDTH, bias=False)
        self.register_buffer("speed", 10000.0 ** (-torch.arange(0, ROTARY, 2) / ROTARY), persistent=False)
        self.letters = Letters()

    def layered(self, audio):
        """What each layer says, and last the hidden frames. audio: batch x samples, all of one length (16 kHz, full
        scale 1).
        """
        x = torch.tanh(self.conv1(audio[:, None]))
        x = self.groupnorm(x)
        x = F.gelu(self.conv3(F.gelu(self.conv2(x)))).transpose(1, 2)
        angle = torch.arange(x.shape[1], device=x.device, dtype=torch.float32)[:, None] * self.speed
        cos, sin = angle.cos().to(x.dtype), angle.sin().to(x.dtype)
        out = []
        for layer in self.layers:
            x = layer(x, cos, sin)
            out.append(x)
        return [*out, self.layer_norm(x)]

    def frames(self, audio):
        """The hidden frames alone."""
        return self.layered(audio)[-1]

    def forward(self, audio):
        """(hidden, letters); audio as in `layered`."""
        layers = self.layered(audio)
        return layers[-1], self.letters(layers)


def packaged(path) -> Encoder:
    """Encoder with the weights of the numpy file that `weights.save_encoder` wrote."""
    with np.load(path) as z:
        arrays = {k: z[k] for k in z.files}
    m = Encoder()
    fill(m, {k: torch.from_numpy(v) for k, v in weights.expand(arrays, transposed=True).items()})
    return m


def fill(model: Encoder, arrays: dict) -> None:
    """Set the weights; `arrays` may lack those of the letters (the packaged file has none), and nothing else.

    Raises:
        KeyError: other weights are missing or too many.
    """
    missing, strange = model.load_state_dict({k: v.float() for k, v in arrays.items()}, strict=False)
    wrong = [k for k in (*missing, *strange) if not k.startswith("letters.")]
    if wrong:
        raise KeyError(f"weights that do not fit the encoder: {', '.join(wrong[:5])}")


def trained(path) -> Encoder:
    """Encoder of a checkpoint of `train.py`, for use (not for training)."""
    m = Encoder()
    fill(m, torch.load(path, map_location="cpu")["weights"])
    return m.eval()
