"""Dictionaries: lines are read as they are, or refused with their number."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.speech.covering import TWINS
from assistant.speech.vocabulary import everything
from scripts.model.vosk import phones
from scripts.model.vosk.lexicon import OWN, LexiconError, chosen, joined, read_dictionary


def written(path: Path, text: str) -> Path:
    file = path / "words.dict"
    file.write_text(text, encoding="utf-8")
    return file


def test_second_pronunciations_comments_and_stress_marks(tmp_path: Path):
    d = read_dictionary(written(tmp_path, "# ours\noh OW1  # a figure\ntorque T AO1 R K\ntorque(2) T AO R\nOh OW\n\n"))
    assert d == {"oh": [["OW"]], "torque": [["T", "AO", "R", "K"], ["T", "AO", "R"]]}


@pytest.mark.parametrize(
    ("line", "expected"), [("ten T EX N", ":2: 'EX' is no phone"), ("ten", ":2: 'ten' has no phones")]
)
def test_a_strange_line_is_refused_or_skipped_as_asked(tmp_path: Path, line: str, expected: str):
    file = written(tmp_path, f"oh OW\n{line}\n")
    with pytest.raises(LexiconError, match=expected):
        read_dictionary(file)
    assert read_dictionary(file, strange="skip") == {"oh": [["OW"]]}


def test_a_dictionary_that_is_not_there_is_refused(tmp_path: Path):
    with pytest.raises(LexiconError, match="not there"):
        read_dictionary(tmp_path / "none.dict")


def test_our_own_words_win_and_missing_ones_are_told():
    ours, others = {"oh": [["OW"]]}, {"oh": [["AA"]], "ten": [["T", "EH", "N"]]}
    assert chosen(["ten", "oh", "moor", "ten"], joined(ours, others)) == (
        {"oh": [["OW"]], "ten": [["T", "EH", "N"]]},
        ["moor"],
    )


def test_our_own_dictionary_is_sound():
    d = read_dictionary(OWN)
    assert d["newtons"] and all(p in phones.PHONES for ways in d.values() for way in ways for p in way)


def test_the_shipped_graph_knows_every_word_of_the_product():
    graph = OWN.parents[2] / "models" / "vosk" / "graph" / "words.txt"
    known = {line.split()[0] for line in graph.read_text(encoding="utf-8").splitlines()}
    assert {w for w in everything().vocabulary() if w not in TWINS} <= known


def test_phones_are_named_by_their_place_and_share_their_outputs():
    first, inside, last = phones.placed(["T", "EH", "N"])
    assert (first, inside, last) == (phones.phone_id("T", "B"), phones.phone_id("EH", "I"), phones.phone_id("N", "E"))
    assert phones.placed(["OW"]) == [phones.phone_id("OW", "S")]
    assert {phones.pdfs_of(phones.phone_id("T", p)) for p in phones.PLACES} == {
        (2 * phones.unit_of("T"), 2 * phones.unit_of("T") + 1)
    }
    assert phones.pdfs_of(phones.SILENCE) == (0, 1)


def test_transition_units_are_sorted_and_a_real_phone_is_its_own_unit():
    units = phones.transition_units([0.5] * phones.UNITS)
    assert units == sorted(units)
    assert [u[0] for u in units[: phones.GARBAGE - 1]] == list(range(1, phones.GARBAGE))
    k = phones.PHONES.index("Z")
    phone, enter, hold, _ = units[phones.garbage_unit(k, "I") - 1]
    assert (phone, enter, hold) == (phones.garbage_phone("I"), *phones.pdfs_of(phones.phone_id("Z", "B")))
