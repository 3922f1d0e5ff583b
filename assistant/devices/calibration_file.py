"""Reads `models/calibration.json`, and tells whether it was made for the weights that are there."""

from __future__ import annotations

import hashlib
from pathlib import Path

from assistant.errors import ModelMissing
from assistant.speech.calibration import REMEDY, Calibration, parse_calibration


def read_calibration(path: Path) -> Calibration:
    """The calibrated combiner.

    Raises:
        ModelMissing: the file is not there or cannot be used.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ModelMissing(f"{path.name} in {path.parent} cannot be read: {error}", remedy=REMEDY) from error
    return parse_calibration(text)


def other_weights(calibration: Calibration, *, encoder: Path | None, vosk_model: Path | None) -> tuple[str, ...]:
    """Names of the recognisers' files that are not those which were calibrated; the thresholds do not hold for them.

    Args:
        calibration: as read.
        encoder: the encoder in use, None when there is none.
        vosk_model: the Vosk model folder in use, None when there is none.
    """
    files = {} if encoder is None else {"ear/encoder.onnx": encoder}
    if vosk_model is not None:
        files["vosk/am/final.mdl"] = vosk_model / "am" / "final.mdl"
    wanted = calibration.weights_sha256
    return tuple(name for name, path in files.items() if _sha256(path) != wanted.get(name))


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
