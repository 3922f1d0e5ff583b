"""Which program wrote a record: the digest changes with a line, and not with where the program lies."""

import shutil
from pathlib import Path

import assistant
from assistant.config import paths, program

ROOT = Path(__file__).resolve().parents[2]


def test_a_changed_line_gives_another_digest_and_a_copy_the_same(tmp_path):
    procedures = ROOT / "assistant" / "config" / "procedures"
    copy = tmp_path / "elsewhere"
    shutil.copytree(procedures, copy)
    same = program.digest_of(copy, copy.glob("*.toml"))
    assert same == program.procedures_digest() and len(same) == program.LETTERS
    changed = copy / "machine-base.toml"
    changed.write_text(changed.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert program.digest_of(copy, copy.glob("*.toml")) != same


def test_a_file_that_moves_to_another_name_gives_another_digest(tmp_path):
    (tmp_path / "a").write_text("x")
    before = program.digest_of(tmp_path, [tmp_path / "a"])
    (tmp_path / "a").rename(tmp_path / "b")
    assert program.digest_of(tmp_path, [tmp_path / "b"]) != before


def test_a_record_names_version_program_and_models(monkeypatch, tmp_path):
    monkeypatch.delenv(paths.MODELS_VARIABLE, raising=False)
    named = program.product()
    assert named.startswith(f"assistant {assistant.__version__} (program {program.program_digest()}, models ")
    assert program.models_digest() in named
    monkeypatch.setenv(paths.MODELS_VARIABLE, str(tmp_path))
    assert program.models_digest() == "none"


def test_shipped_data_is_found_in_the_checkout():
    assert (paths.shipped("models") / "calibration.json").is_file()
    assert any(paths.shipped("demo_joints").glob("*.toml"))
