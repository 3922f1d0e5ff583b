"""A folder of recordings is read as it is, or refused with file, line and what is allowed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from scripts.model.sound.bank import load
from scripts.model.sound.manifest import ManifestError, clean_text, read_list, read_manifest

HEAD = "path\ttext\tspeaker\tsource\tsplit\tasr_wer"
SPEECH = "a/one.flac\tBolt five, three ten.\tann\tAN4\ttrain\t0.25"
NOISE = "noise/fan.flac\t\t\tESC-10\ttrain\t"


def folder_of(path: Path, *lines: str, rate: int = 16_000) -> Path:
    for name in ("a/one.flac", "noise/fan.flac"):
        (path / name).parent.mkdir(exist_ok=True)
        sf.write(path / name, 0.1 * np.sin(np.arange(rate) / 5), rate)
    (path / "manifest.tsv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_a_good_manifest_is_read_in_its_order(tmp_path: Path):
    rows = read_manifest(folder_of(tmp_path, HEAD, SPEECH, NOISE))
    assert [(r.text, r.speaker, r.noise, r.doubt) for r in rows] == [
        ("bolt five three ten", "ann", False, 0.25),
        ("", "", True, None),
    ]


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (("path\ttext\tspeaker\tsource\tsplit",), r"manifest\.tsv:1: no column asr_wer"),
        ((HEAD,), "no recordings"),
        ((HEAD, SPEECH, "a/one.flac\tten"), r"manifest\.tsv:3: 2 fields; the head line names 6"),
        ((HEAD, SPEECH.replace("train", "test")), r"manifest\.tsv:2: split is 'test'; allowed are train and dev"),
        ((HEAD, SPEECH.replace("0.25", "some")), r"manifest\.tsv:2: asr_wer is 'some'; it must be a number or empty"),
        ((HEAD, SPEECH.replace("one.flac", "two.flac")), r"manifest\.tsv:2: a/two\.flac is not in the folder"),
        ((HEAD, SPEECH.replace("Bolt five, three ten.", " ")), r"manifest\.tsv:2: no text; only noise"),
    ],
)
def test_a_bad_manifest_is_refused_with_its_line(tmp_path: Path, lines: tuple[str, ...], expected: str):
    with pytest.raises(ManifestError, match=expected):
        read_manifest(folder_of(tmp_path, *lines))


def test_a_folder_without_a_manifest_is_refused(tmp_path: Path):
    with pytest.raises(ManifestError, match=r"no manifest\.tsv there"):
        read_manifest(tmp_path)


def test_sound_at_another_rate_is_refused(tmp_path: Path):
    with pytest.raises(ManifestError, match="8000 Hz, 1 channels; need mono, 16000 Hz"):
        load(folder_of(tmp_path, HEAD, SPEECH, NOISE, rate=8000), "train")


def test_a_source_without_a_share_is_refused(tmp_path: Path):
    with pytest.raises(ManifestError, match="source 'own tape' has no share"):
        load(folder_of(tmp_path, HEAD, SPEECH.replace("AN4", "own tape"), NOISE), "train")


def test_a_split_without_speech_is_refused(tmp_path: Path):
    with pytest.raises(ManifestError, match="the dev split has 0 speech and 0 noise recordings"):
        load(folder_of(tmp_path, HEAD, SPEECH, NOISE), "dev")


@pytest.mark.parametrize(
    ("line", "expected"),
    [("one.ogg\tten", ":1: 2 fields"), ("two.ogg\tten\tespeak:en", "two.ogg is not in the folder")],
)
def test_a_bad_clip_list_is_refused_with_its_line(tmp_path: Path, line: str, expected: str):
    (tmp_path / "list.tsv").write_text(line + "\n")
    with pytest.raises(ManifestError, match=expected):
        read_list(tmp_path)


@pytest.mark.parametrize(("text", "words"), [("It's  TEN!", "it's ten"), ("bolt 5", ""), ("...", "")])
def test_texts_become_plain_words_and_figures_are_not_guessed(text: str, words: str):
    assert clean_text(text) == words
