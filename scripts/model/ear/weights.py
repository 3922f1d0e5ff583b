"""Read the packaged encoder's and decoder's weights out of onnxruntime's flatbuffer files.

The matrices are 8-bit integers with one scale and one zero point each; they are kept so and expanded by `expand`.
Needs onnxruntime (its tools hold the flatbuffer bindings) and flatbuffers; moonshine-voice==0.0.73 carries the files
(MIT).
"""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path

import numpy as np

TYPES = {1: np.float32, 2: np.uint8, 3: np.int8, 6: np.int32, 7: np.int64, 9: np.bool_}
MATRIX = ("MatMulIntegerToFloat", "DynamicQuantizeMatMul")


def package_folder() -> Path:
    """Folder of the English weights inside the installed wheel; the wheel's own code is not imported."""
    spec = importlib.util.find_spec("moonshine_voice")
    if spec is None or not spec.submodule_search_locations:
        raise FileNotFoundError("install moonshine-voice==0.0.73 (later wheels carry no weights)")
    return Path(spec.submodule_search_locations[0]) / "assets" / "tiny-en"


def graph(path: Path, inner: str | None = None):
    """(initialisers {name: array}, nodes [(op, inputs, outputs)]) of an .ort file; `inner` names a branch of an If
    node.
    """
    import onnxruntime

    sys.path.insert(0, str(Path(onnxruntime.__file__).parent / "tools" / "ort_format_model"))
    from ort_flatbuffers_py.fbs import InferenceSession

    top = InferenceSession.InferenceSession.GetRootAs(bytearray(path.read_bytes()), 0).Model().Graph()
    arrays, nodes = {}, []

    def take(g, wanted):
        for i in range(g.InitializersLength()):
            t = g.Initializers(i)
            if t.DataType() in TYPES:
                shape = [t.Dims(j) for j in range(t.DimsLength())]
                raw = t.RawDataAsNumpy().tobytes() if t.RawDataLength() else b""
                arrays[t.Name().decode()] = np.frombuffer(raw, TYPES[t.DataType()]).reshape(shape)
        for i in range(g.NodesLength()):
            n = g.Nodes(i)
            if wanted:
                ins = [n.Inputs(k).decode() for k in range(n.InputsLength())]
                nodes.append((n.OpType().decode(), ins, [n.Outputs(k).decode() for k in range(n.OutputsLength())]))
            for j in range(n.AttributesLength()):
                a = n.Attributes(j)
                if inner and a.G() is not None and a.Name().decode() == inner:
                    take(a.G(), True)

    take(top, inner is None)
    return arrays, nodes


def encoder_arrays(path: Path) -> dict[str, np.ndarray]:
    """{parameter name: array} of the packaged encoder; quantised matrices give NAME, NAME.scale, NAME.zero (in x out
    order).
    """
    arrays, nodes = graph(path)
    out = {}
    for op, ins, outs in nodes:
        m = re.match(r"/(layers\.\d)/(self_attn/[qkvo]_proj|mlp/fc[12])/", outs[0])
        if m and op in MATRIX:
            name = f"{m[1]}.{m[2]}".replace("/", ".") + ".weight"
            q = next(x for x in ins if x.endswith("_quantized") and x in arrays)
            out[name], out[name + ".scale"], out[name + ".zero"] = (
                arrays[q],
                arrays[q[:-10] + "_scale"],
                arrays[q[:-10] + "_zero_point"],
            )
        if op == "Mul" and outs[0] == "/groupnorm/Mul_output_0":
            out["groupnorm.weight"] = arrays[ins[1]].reshape(-1)
        if op == "Add" and outs[0] == "/groupnorm/Add_output_0":
            out["groupnorm.bias"] = arrays[ins[1]].reshape(-1)
    for name, a in arrays.items():
        if a.dtype == np.float32 and re.match(r"(layers\.\d\.|conv\d\.|layer_norm\.)", name):
            out[name.replace("_add_tensor", "")] = a
    return out


def decoder_arrays(path: Path, keep: list[int]) -> dict[str, np.ndarray]:
    """{name: array} of the decoder's branch without cache; embedding and output layer only for the token ids in
    `keep`.
    """
    arrays, nodes = graph(path, inner="else_branch")
    out = {"keep": np.array(keep, np.int64)}
    for op, ins, outs in nodes:
        m = re.match(
            r"/model/decoder/(layers\.\d/(?:self_attn|encoder_attn)/[qkvo]_proj|layers\.\d/mlp/fc[12])/", outs[0]
        )
        if op in MATRIX and (m or outs[0] == "logits"):
            q = next(x for x in ins if x.endswith("_quantized") and x in arrays)
            name = m[1].replace("/", ".") if m else "logits"
            out[name], out[name + ".scale"], out[name + ".zero"] = (
                arrays[q],
                arrays[q[:-10] + "_scale"],
                arrays[q[:-10] + "_zero_point"],
            )
            bias = [x for x in ins if x.startswith("model.decoder") and ".bias" in x]
            if bias:
                out[name + ".bias"] = arrays[bias[0]]
    for name, a in arrays.items():
        m = re.match(r"model\.decoder\.((layers\.\d\.\w+_layernorm|norm)\.weight)_merged_0$", name)
        if m:
            out[m[1]] = a
        if name == "model.decoder.embed_tokens.weight_merged_0_quantized":
            out["embed"] = a[keep]
            out["embed.scale"], out["embed.zero"] = arrays[name[:-10] + "_scale"], arrays[name[:-10] + "_zero_point"]
    out["logits"] = out["logits"][:, keep]
    return out


def expand(arrays, *, transposed: bool) -> dict[str, np.ndarray]:
    """float32 arrays from the 8-bit ones; `transposed` gives matrices as out x in, PyTorch's order."""
    out = {}
    for name in arrays:
        if name.endswith((".scale", ".zero")):
            continue
        a = arrays[name]
        if name + ".scale" in arrays:
            a = (a.astype(np.float32) - np.float32(arrays[name + ".zero"])) * arrays[name + ".scale"]
            a = a.T if transposed else a
        out[name] = np.ascontiguousarray(a) if a.dtype == np.int64 else np.ascontiguousarray(a, np.float32)
    return out


def save_encoder(path: Path, out: Path) -> None:
    """Write the packaged encoder as a numpy file, convolutions in 16 bits, for a machine without the wheel."""
    w = encoder_arrays(path)
    np.savez_compressed(
        out, **{k: v.astype(np.float16) if k.startswith("conv") and k.endswith(".weight") else v for k, v in w.items()}
    )
