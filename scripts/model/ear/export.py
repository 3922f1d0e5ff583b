"""Write a trained encoder as ONNX: input `audio` (1 x samples, float32, 16 kHz), outputs `hidden` (1 x frames x 288)
and `letters` (1 x frames x COUNT of assistant/speech/letters.py, log-probabilities).

usage: python -m scripts.model.ear.export TRAINED.pt OUT.onnx [--blend OTHER.pt 0.25] [--form int8|half|float]

--blend mixes in a share of another checkpoint's weights.

int8: the matrices of the transformer in 8 bits with one scale a column, all other large arrays in 16 bits, widened
when loaded. half: all large arrays in 16 bits. Prints the size and the largest difference from PyTorch on noise and on
a chirp.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper

from scripts.model.ear import encoder


def plain(model, path: Path) -> None:
    """Export in float32."""
    torch.onnx.export(
        model,
        (torch.zeros(1, 32000),),
        str(path),
        input_names=["audio"],
        output_names=["hidden", "letters"],
        opset_version=17,
        dynamo=False,
        dynamic_axes={"audio": {1: "samples"}, "hidden": {1: "frames"}, "letters": {1: "frames"}},
    )


def narrow(model):
    """Store every large float32 initialiser in 16 bits, with a Cast to float32 in front of its users."""
    g, casts, keep = model.graph, [], []
    for t in g.initializer:
        a = numpy_helper.to_array(t)
        if a.dtype == np.float32 and a.size > 1000:
            keep.append(numpy_helper.from_array(a.astype(np.float16), t.name + "_16"))
            casts.append(helper.make_node("Cast", [t.name + "_16"], [t.name], to=TensorProto.FLOAT))
        else:
            keep.append(t)
    nodes = casts + list(g.node)
    del g.initializer[:], g.node[:]
    g.initializer.extend(keep)
    g.node.extend(nodes)
    return model


def blended(a: encoder.Encoder, b: encoder.Encoder, share: float) -> encoder.Encoder:
    """A with `share` (0..1) of b's weights mixed in, number by number."""
    other = b.state_dict()
    a.load_state_dict({k: (1 - share) * v + share * other[k] for k, v in a.state_dict().items()})
    return a


def export(model: encoder.Encoder, out: Path, form: str) -> str:
    """Write the file; returns its size and agreement as a sentence."""
    import onnxruntime as ort

    with tempfile.TemporaryDirectory() as d:
        wide, small = Path(d) / "wide.onnx", Path(d) / "small.onnx"
        plain(model, wide)
        if form == "int8":
            from onnxruntime.quantization import QuantType, quantize_dynamic

            quantize_dynamic(
                str(wide),
                str(small),
                per_channel=True,
                reduce_range=False,
                weight_type=QuantType.QInt8,
                op_types_to_quantize=["MatMul"],
            )
            onnx.save(narrow(onnx.load(small)), out)
        else:
            onnx.save(narrow(onnx.load(wide)) if form == "half" else onnx.load(wide), out)
    session, told = ort.InferenceSession(str(out)), []
    t = torch.arange(40000) / 16000
    for x in (
        0.05 * torch.randn(40000, generator=torch.Generator().manual_seed(1)),
        0.1 * torch.sin(2 * torch.pi * (200 + 400 * t) * t),
    ):
        with torch.no_grad():
            a = model(x[None])[0].numpy()
        b = session.run(None, {"audio": x[None].numpy()})[0]
        told.append(f"{np.sqrt(((a - b) ** 2).mean() / (a**2).mean()):.4f}")
    return f"{form} {out.stat().st_size} bytes, relative difference from PyTorch (noise, chirp) {', '.join(told)}"


if __name__ == "__main__":
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("trained", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("--form", choices=("float", "half", "int8"), default="int8")
    p.add_argument("--blend", nargs=2, metavar=("OTHER.pt", "SHARE"))
    a = p.parse_args()
    net = encoder.trained(a.trained)
    if a.blend:
        net = blended(net, encoder.trained(a.blend[0]), float(a.blend[1]))
    print(export(net, a.out, a.form))
