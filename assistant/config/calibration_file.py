"""Reads `models/calibration.json` and says whether it fits the weights that are there."""

from __future__ import annotations

import hashlib
from pathlib import Path

from assistant.errors import ModelMissing
from assistant.speech.calibration import REMEDY, Calibration, parse_calibration

NAME = "calibration.json"


def read_calibration(models: Path) -> tuple[Calibration, tuple[str, ...]]:
    """The calibration of a models folder, stricter where weights are not those it was made for.

    Args:
        models: folder with `calibration.json` and the weights that it names.

    Returns:
        The calibration, and the names of the files whose weights it does not know.

    Raises:
        ModelMissing: the file is missing or cannot be used.
    """
    path = models / NAME
    try:
        calibration = parse_calibration(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise ModelMissing(f"{path} cannot be read: {error}", remedy=REMEDY) from None
    other = tuple(name for name, digest in calibration.weights_sha256.items() if _sha256(models / name) != digest)
    return (calibration.stricter() if other else calibration), other


def _sha256(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
