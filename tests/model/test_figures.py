"""What the development checks count, and the tables that they print."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from scripts.model.ear.card import shares
from scripts.model.ear.card import table as ear_table
from scripts.model.sound.material import GRAMMARS, Said, utterances
from scripts.model.vosk.evaluate import edits, judged, table


@pytest.mark.parametrize(
    ("said", "heard", "count"),
    [("", "", 0), ("one two", "one two", 0), ("one two", "two", 1), ("one", "five two", 2), ("a b c d", "a c d e", 2)],
)
def test_edits_are_the_fewest(said: str, heard: str, count: int):
    assert edits(said.split(), heard.split()) == count == edits(heard.split(), said.split())


def said(text: str, grammar: str = "torque", snr: int = 99) -> Said:
    return Said("phrases", "x", text, np.zeros(1), grammar, GRAMMARS[grammar][1](tuple(text.split())), snr)


@pytest.mark.parametrize(
    ("text", "heard", "verdict"),
    [
        ("three hundred and ten newton metres", "three ten newton metres", "right"),
        ("three ten", "three ten newton metres", "wrong"),
        ("three ten", "three oh ten", "refused"),
        ("three ten", "[unk] three ten", "refused"),
        ("three ten", "", "refused"),
        ("three ten", "ten ten ten ten", "refused"),
        ("say again", "say again", "right"),
        ("next", "no", "wrong"),
    ],
)
def test_what_is_heard_is_judged_by_its_meaning(text: str, heard: str, verdict: str):
    assert judged(said(text), heard.split())["verdict"] == verdict


def test_metres_and_meters_are_one_word():
    assert judged(said("ten newton meters"), "ten newton metres".split())["edits"] == 0


@pytest.mark.parametrize("name", GRAMMARS)
def test_every_word_of_a_grammar_is_a_plain_word(name: str):
    words = GRAMMARS[name][0]().words()
    assert "five" in words and all(w.isalpha() for w in words)


@pytest.mark.parametrize(
    ("text", "taken"), [("three hundred and ten", True), ("three hundred and and", False), ("", False)]
)
def test_a_grammar_takes_its_sentences_alone(text: str, taken: bool):
    assert GRAMMARS["torque"][0]().follows(text.split()) is taken


def test_the_tables_count_by_set_level_and_speaker():
    rows = [judged(said("next"), ["next"]), judged(said("next"), ["no"]), judged(said("next", snr=0), ["[unk]"])]
    rows += [{**judged(said("next", snr=0), ["next"]), "set": "talk"}]
    lines = table([*rows, judged(said("next", snr=0), ["next"])]).splitlines()
    assert lines[0].endswith("| clean | 0 dB |")
    assert lines[2] == "| synthetic voices kept back | 2 | 50 / 50 / 0 (50) | 50 / 0 / 50 (50) |"
    assert lines[-1] == "Not to be accepted, talk: 1 of 1 were."


def test_the_ears_table_sets_both_encoders_side_by_side(tmp_path: Path):
    def line(right: bool, snr: int, name: str = "people") -> str:
        return json.dumps({"set": name, "snr": snr, "right": right})

    (tmp_path / "old").write_text("\n".join([line(True, 99), line(False, 0), line(False, 0), line(True, 0, "talk")]))
    (tmp_path / "new").write_text("\n".join([line(True, 99), line(True, 0), line(False, 0), line(True, 0, "talk")]))
    assert shares(tmp_path / "new")["people", 0] == (1, 2)
    lines = ear_table(tmp_path / "old", tmp_path / "new").splitlines()
    assert lines[3] == "| number speakers | 1, **1** of 1 | 0, **1** of 2 |"
    assert lines[-1] == "| all, % | 100.0, **100.0** (n 1) | 0.0, **50.0** (n 2) |"


def test_development_utterances_come_from_the_dev_split_alone(tmp_path: Path):
    lines = ["path\ttext\tspeaker\tsource\tsplit\tasr_wer"]
    for i, (text, source, split) in enumerate(
        [
            ("zero", "FSDD", "dev"),
            ("five", "FSDD", "dev"),
            ("nine", "FSDD", "train"),
            ("sixty two", "AN4", "dev"),
            ("rubout x y", "AN4", "dev"),
            ("open the door", "speechocean762", "dev"),
            ("no", "speechocean762", "dev"),
        ]
    ):
        sf.write(tmp_path / f"{i}.flac", 0.1 * np.sin(np.arange(8000) / 5), 16_000)
        lines.append(f"{i}.flac\t{text}\tann\t{source}\t{split}\t")
    (tmp_path / "manifest.tsv").write_text("\n".join(lines) + "\n")
    found = utterances(tmp_path, [], figures=5, talk=5)
    figures = [s for s in found if s.set == "figures"]
    assert len(figures) == 5 and all(s.text.split()[0] == "five" and "nine" not in s.text for s in figures)
    assert [s.text for s in found if s.set == "people"] == ["sixty two"]
    assert [s.text for s in found if s.set == "talk"] == ["open the door"]
