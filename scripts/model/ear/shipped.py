"""Read an encoder that `export.py` wrote in 8 bits back into a checkpoint, to train on from where it stands.

usage: python -m scripts.model.ear.shipped ENCODER.onnx OUT.pt

What 8 bits lost stays lost (about one part in two hundred of each matrix column); nothing else differs. Prints the
largest differences between the file and the network that was made of it, on noise and on a chirp.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper

from scripts.model.ear import encoder


def weights(path: Path) -> dict[str, torch.Tensor]:
    """All weights of the file by the names of `encoder.Encoder`.

    Raises:
        KeyError: it is not a file of `export.py`.
    """
    graph = onnx.load(path).graph
    held = {t.name: numpy_helper.to_array(t) for t in graph.initializer}
    held |= {k.removesuffix("_16"): v.astype(np.float32) for k, v in held.items() if k.endswith("_16")}
    out = {k: v for k, v in held.items() if not k.startswith("onnx::") and not k.endswith("_16")}
    for node in graph.node:
        at = re.match(r"/(.+)/MatMul_quant$", node.name)
        if node.op_type == "MatMulInteger" and at:
            name = node.input[1].removesuffix("_quantized")
            whole = held[f"{name}_quantized"].astype(np.float32) - held[f"{name}_zero_point"].astype(np.float32)
            out[at[1].replace("/", ".") + ".weight"] = (whole * held[f"{name}_scale"]).T
        for kind, end in (("Mul", "weight"), ("Add", "bias")):
            if node.op_type == kind and node.output[0] == f"/groupnorm/{kind}_output_0":
                out[f"groupnorm.{end}"] = next(held[x] for x in node.input if x in held).reshape(-1)
        if node.op_type == "Split" and node.input[0] in held:  # the letters' shares of the layers, after the softmax
            out["letters.share"] = np.log(held[node.input[0]])
    return {k: torch.from_numpy(np.array(v, np.float32)) for k, v in out.items()}


def network(path: Path) -> encoder.Encoder:
    """The file as a network, every weight set."""
    net = encoder.Encoder()
    net.load_state_dict(weights(path))
    return net.eval()


def told(path: Path, net: encoder.Encoder) -> str:
    """How far the network is from the file, in words."""
    import onnxruntime as ort

    options = ort.SessionOptions()
    options.intra_op_num_threads = 1
    session, said = ort.InferenceSession(str(path), options), []
    t = torch.arange(40000) / 16000
    noise = 0.05 * torch.randn(40000, generator=torch.Generator().manual_seed(1))
    for name, x in (("noise", noise), ("chirp", 0.1 * torch.sin(2 * torch.pi * (200 + 400 * t) * t))):
        with torch.no_grad():
            mine = [y.numpy() for y in net(x[None])]
        own = session.run(None, {"audio": x[None].numpy()})
        frames = np.sqrt(((mine[0] - own[0]) ** 2).mean() / (own[0] ** 2).mean())
        said.append(f"{name}: frames {frames:.4f}, letters {np.abs(np.exp(mine[1]) - np.exp(own[1])).max():.4f}")
    return "; ".join(said)


if __name__ == "__main__":
    source, out = Path(sys.argv[1]), Path(sys.argv[2])
    made = network(source)
    torch.save({"weights": {k: v.half() for k, v in made.state_dict().items()}, "from": source.name}, out)
    print(f"{out.stat().st_size} bytes; relative difference from the file, {told(source, made)}")
