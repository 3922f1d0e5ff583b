"""Damaged model files are found by their sums, before an engine in C++ gets them."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.model_files import SUMS, check_sums, sums
from assistant.devices.vosk_follower import VoskFollower
from assistant.errors import ModelMissing

ROOT = Path(__file__).resolve().parents[2]
MODELS = ROOT / "models"


@pytest.mark.parametrize("name", ["vosk", "ear"])
def test_the_shipped_models_are_what_their_sums_tell(name):
    assert (MODELS / name / SUMS).read_text("utf-8") == sums(MODELS / name), f"scripts/model/sums models/{name}"
    check_sums(MODELS / name)


def test_the_format_is_that_of_sha256sum():
    """Checked by the tool itself (GNU coreutils)."""
    if shutil.which("sha256sum") is None:
        pytest.skip("sha256sum is not installed")
    for name in ("vosk", "ear"):
        subprocess.run(["sha256sum", "--check", "--strict", "--quiet", SUMS], cwd=MODELS / name, check=True)


FILES = [line.partition("  ")[2] for line in (MODELS / "vosk" / SUMS).read_text("utf-8").splitlines()]


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("damage", ["cut", "changed", "gone"])
def test_a_damaged_file_of_the_vosk_model_is_a_missing_listener(name, damage, tmp_path):
    """Three of these were a signal: a cut or changed graph (SIGSEGV), changed weights (SIGABRT)."""
    folder = tmp_path / "vosk"
    shutil.copytree(MODELS / "vosk", folder)
    data = bytearray((folder / name).read_bytes())
    if damage == "cut":
        (folder / name).write_bytes(data[: len(data) // 2] if data else b"1\n")  # one of them is empty
    elif damage == "changed":
        data = data or bytearray(b"1\n")
        data[len(data) // 2] ^= 0xFF
        (folder / name).write_bytes(data)
    else:
        (folder / name).unlink()
    with pytest.raises(ModelMissing, match=name.rpartition("/")[2]):
        VoskFollower(folder)


def test_a_changed_encoder_is_a_missing_listener(tmp_path):
    for name in ("encoder.onnx", SUMS):
        shutil.copy(MODELS / "ear" / name, tmp_path / name)
    data = bytearray((tmp_path / "encoder.onnx").read_bytes())
    data[-5] ^= 1
    (tmp_path / "encoder.onnx").write_bytes(data)
    with pytest.raises(ModelMissing, match=r"encoder\.onnx is damaged"):
        ConstrainedListener(tmp_path / "encoder.onnx")


def test_a_model_of_ones_own_needs_no_sums_and_sums_that_cannot_be_read_pass_nothing(tmp_path):
    check_sums(tmp_path)
    (tmp_path / SUMS).write_bytes(b"\xff\xfe")
    with pytest.raises(ModelMissing, match="cannot be read"):
        check_sums(tmp_path)


def test_the_tool_writes_them_anew(tmp_path):
    if sys.platform == "win32":
        pytest.skip("a shell script")
    (tmp_path / "graph").mkdir()
    (tmp_path / "graph/words.txt").write_text("one 1\n")
    subprocess.run([ROOT / "scripts/model/sums", tmp_path], check=True)
    check_sums(tmp_path)
    (tmp_path / "graph/words.txt").write_text("one 2\n")
    with pytest.raises(ModelMissing, match=r"words\.txt is damaged"):
        check_sums(tmp_path)
