"""The encoder-decoder recogniser's weights, run by onnxruntime: sound -> frames -> scores of the next token.

The decoder, its token table and the fallback encoder are files inside the wheel `moonshine-voice` (its code is not
imported); the encoder trained in noise is ours (`models/ear`). Shapes below are of the wheel's tiny English weights.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.devices.model_files import check_sums
from assistant.errors import ModelMissing
from assistant.speech.beam import Integers, Logits
from assistant.speech.letters import COUNT
from assistant.speech.tokens import TokenTable

WIDTH, HEADS, HEAD_WIDTH = 288, 8, 36
SHORTEST_SAMPLES = 1600  # the first frame sees 895 samples
WHEEL = "moonshine-voice==0.0.73"  # later wheels carry no weights

Floats = npt.NDArray[np.float32]


def packaged_folder() -> Path:
    """Folder of the English weights inside the installed wheel.

    Raises:
        ModelMissing: the wheel is not installed.
    """
    spec = importlib.util.find_spec("moonshine_voice")
    if spec is None or not spec.submodule_search_locations:
        raise ModelMissing(
            "the package moonshine-voice is not installed", remedy=f"Install {WHEEL}: run scripts/setup."
        )
    return Path(spec.submodule_search_locations[0]) / "assets" / "tiny-en"


class Encoder:
    """Sound -> frames. Ours or the packaged one: told apart by the names of their inputs."""

    def __init__(self, path: Path, *, threads: int = 1) -> None:
        """Open the weights and try them on a little sound.

        Raises:
            ModelMissing: the file is not there, not such an encoder, or damaged.
        """
        self.path = path
        self._session = _open(path, threads)
        names = {i.name for i in self._session.get_inputs()}
        if names not in ({"audio"}, {"input_values", "attention_mask"}):
            raise _damaged(path, f"its inputs are {sorted(names)}, not those of an encoder")
        self._ours = names == {"audio"}
        try:
            trial, letters = self.frames(np.zeros(SHORTEST_SAMPLES, np.float32))
        except Exception as error:  # whatever onnxruntime raises for weights that do not fit together
            raise _damaged(path, str(error)) from error
        if trial.ndim != 3 or trial.shape[2] != WIDTH or not np.isfinite(trial).all():
            raise _damaged(path, f"it answers with shape {trial.shape}")
        if letters is not None and (letters.shape != (trial.shape[1], COUNT) or not np.isfinite(letters).all()):
            raise _damaged(path, f"its letters have shape {letters.shape}")

    def frames(self, sound: Floats) -> tuple[Floats, Floats | None]:
        """Frames of one utterance, and the letters in each of them.

        Args:
            sound: float32 (n,), mono 16 kHz, -1..1, n >= SHORTEST_SAMPLES.

        Returns:
            float32 (1, frames, 288), one frame every 24 ms; float32 (frames, COUNT), log-probabilities, or None where
            the encoder writes none (the packaged one).
        """
        batch = np.ascontiguousarray(sound, np.float32)[None]
        if self._ours:
            feed: dict[str, Any] = {"audio": batch}
        else:
            feed = {"input_values": batch, "attention_mask": np.ones(batch.shape, np.int64)}
        answer = self._session.run(None, feed)
        return answer[0], answer[1][0] if self._ours and len(answer) > 1 else None


class Decoder:
    """Frames and the tokens so far -> scores of the next token, from the wheel's files."""

    def __init__(self, folder: Path | None = None, *, threads: int = 1) -> None:
        """Open decoder and token table.

        Args:
            folder: where `decoder_model_merged.ort` and `tokenizer.bin` lie; None for the installed wheel.
            threads: of onnxruntime.

        Raises:
            ModelMissing: a file is not there, or damaged.
        """
        folder = packaged_folder() if folder is None else folder
        path = folder / "decoder_model_merged.ort"
        table = folder / "tokenizer.bin"
        if not table.is_file():
            raise ModelMissing(f"{table.name} is not in {folder}", remedy=f"Install {WHEEL} anew: run scripts/setup.")
        try:
            self.table = TokenTable(table.read_bytes())
        except (ValueError, KeyError) as error:
            raise _damaged(table, str(error)) from error
        self.path = path
        self._session = _open(path, threads)
        self._past = [i.name for i in self._session.get_inputs() if i.name.startswith("past_key_values")]
        self._outputs = [o.name for o in self._session.get_outputs()]
        if not self._past or self._outputs[0] != "logits":
            raise _damaged(path, "it is not the decoder that this version expects")
        scored = self._session.get_outputs()[0].shape[-1]
        if scored != len(self.table.tokens):
            raise _damaged(table, f"it holds {len(self.table.tokens)} tokens, the decoder scores {scored}")

    def decoding(self, frames: Floats) -> FramesDecoding:
        """Start on the frames of one utterance, shape (1, frames, 288)."""
        return FramesDecoding(self, frames)


class FramesDecoding:
    """One utterance on its way through the decoder (`speech.beam.Decoding`), with what was worked out so far.

    What depends on the frames alone is the same in all rows and kept once; onnxruntime spreads it over the batch.
    """

    def __init__(self, decoder: Decoder, frames: Floats) -> None:
        self._decoder = decoder
        self._fixed: dict[str, Any] = {
            "encoder_attention_mask": np.ones((1, 1), np.int64),  # by samples, thinned inside by 384: one fits all
            "encoder_hidden_states": frames,
        }
        self._rows: dict[str, Floats] = {}

    def step(self, tokens: Integers, parents: Integers) -> Logits:
        """See `speech.beam.Decoding.step`."""
        first = not self._rows
        feed = {**self._fixed, "input_ids": tokens[:, None], "use_cache_branch": np.array([not first])}
        if first:
            wanted = self._decoder._outputs
            feed |= {name: np.zeros((1, HEADS, 0, HEAD_WIDTH), np.float32) for name in self._decoder._past}
        else:
            wanted = [name for name in self._decoder._outputs if ".encoder." not in name]
            feed |= {name: value[parents] for name, value in self._rows.items()}
        answer = self._decoder._session.run(wanted, feed)
        for name, value in zip(wanted[1:], answer[1:], strict=True):
            past = name.replace("present", "past_key_values")
            (self._fixed if ".encoder." in name else self._rows)[past] = value
        logits: Logits = answer[0][:, -1]
        return logits


def _open(path: Path, threads: int) -> Any:
    import onnxruntime

    if not path.is_file():
        raise ModelMissing(f"{path.name} is not in {path.parent}", remedy=_remedy(path))
    check_sums(path.parent, only=path.name)
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads, options.inter_op_num_threads, options.log_severity_level = threads, 1, 4
    try:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as error:  # its error classes are private, and all mean the same to us
        raise _damaged(path, str(error)) from error


def _damaged(path: Path, why: str) -> ModelMissing:
    return ModelMissing(f"{path.name} in {path.parent} cannot be used: {why[:200]}", remedy=_remedy(path))


def _remedy(path: Path) -> str:
    if path.suffix == ".ort" or path.name == "tokenizer.bin":
        return f"Install {WHEEL} anew (run scripts/setup); onnxruntime 1.20 or newer."
    return "Restore the folder models/ of this program from its source, or name another one in the settings."
