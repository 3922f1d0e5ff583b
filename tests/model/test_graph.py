"""The graph's files, read back: words, what can come next, costs; and words added later."""

from __future__ import annotations

import math
import shutil
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scripts.model import vosk_words
from scripts.model.vosk import phones
from scripts.model.vosk.graph import UNKNOWN, bigram, write_graph
from scripts.model.vosk.openfst import ARC, NEVER, STATE, Fst, merged

LEXICON = {
    "oh": [["OW"]],
    "one": [["W", "AH", "N"]],
    "won": [["W", "AH", "N"]],
    "five": [["F", "AY", "V"], ["F", "AY", "F"]],
    "fifty": [["F", "IH", "F", "T", "IY"]],
}
STAY = [0.6] * phones.UNITS


@pytest.fixture(scope="module")
def graph(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("model") / "graph"
    write_graph(folder, LEXICON, STAY, sentences=["one five", "fifty one", "oh oh seven"])
    return folder


def ids_of(folder: Path) -> dict[str, int]:
    lines = (folder / "words.txt").read_text(encoding="utf-8").splitlines()
    return {line.split()[0]: int(line.split()[1]) for line in lines}


def test_every_word_has_a_number_of_its_own(graph: Path):
    ids = ids_of(graph)
    assert set(ids) == {*LEXICON, UNKNOWN, "<eps>"}
    assert sorted(ids.values()) == list(range(len(ids)))


def spelled(graph: vosk_words.Graph, most: int) -> set[tuple[int, tuple[int, ...]]]:
    """(word, phones entered) of every way from the loop state back to the hub, those of [unk] left out."""
    found, todo = set(), [(graph.loop, 0, ())]
    while todo:
        state, word, way = todo.pop()
        for enter, label, _, to in graph.arcs[state]:
            if to == state or len(way) > most or enter // 2 >= phones.GARBAGE:
                continue
            line = (*way, enter // 2) if enter else way
            if to == graph.hub:
                found.add((word or label, line))
            else:
                todo.append((to, word or label, line))
    return found


def test_every_pronunciation_leads_from_the_loop_to_the_hub_and_gives_its_word(graph: Path):
    ids, read = ids_of(graph), vosk_words.Graph(graph / "HCLr.fst")
    expected = {(ids[w], tuple(phones.placed(way))) for w, ways in LEXICON.items() for way in ways}
    assert {(w, line) for w, line in spelled(read, 6) if line[0] != phones.SILENCE} == expected


def test_a_phone_costs_what_its_transition_costs(graph: Path):
    read = vosk_words.Graph(graph / "HCLr.fst")
    first = 2 * phones.phone_id("F", "B")
    assert read.costs[first] == pytest.approx(-math.log(0.4), abs=1e-6)
    assert read.costs[first - 1] == pytest.approx(-math.log(0.6), abs=1e-6)


def test_the_boundaries_name_every_phone_once(graph: Path):
    lines = (graph / "phones" / "word_boundary.int").read_text().splitlines()
    assert [int(x.split()[0]) for x in lines] == list(range(1, phones.GARBAGE + 3))


def intervals_of(path: Path) -> list[tuple[tuple[int, int], ...]]:
    """The look-ahead sets at the end of HCLr.fst."""
    data = path.read_bytes()
    inner = vosk_words.header_size(data, 0) + 4
    body = inner + vosk_words.header_size(data, inner)
    states, arcs = vosk_words.HEADER_END.unpack(data[body - vosk_words.HEADER_END.size : body])[4:]
    at = body + states * STATE.itemsize + arcs * ARC.itemsize + 5 + 12
    out = []
    for _ in range(states):
        (count,) = struct.unpack_from("<q", data, at)
        numbers = struct.unpack_from(f"<{2 * count}i", data, at + 8)
        (covered,) = struct.unpack_from("<i", data, at + 8 + 8 * count)
        out.append(tuple(zip(numbers[0::2], numbers[1::2], strict=True)))
        assert covered == sum(b - a for a, b in out[-1])
        at += 12 + 8 * count
    assert at == len(data)
    return out


def test_the_look_ahead_of_the_loop_is_every_word_and_the_end(graph: Path):
    read, ids = vosk_words.Graph(graph / "HCLr.fst"), ids_of(graph)
    assert intervals_of(graph / "HCLr.fst")[read.loop] == ((1, len(ids) + 1),)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(0, 7), st.integers(0, 4), st.integers(0, 7)), max_size=20),
    st.sets(st.integers(0, 7)),
)
def test_what_can_come_next_is_what_a_walk_finds(arcs: list[tuple[int, int, int]], ends: set[int]):
    fst = Fst()
    for _ in range(8):
        fst.state()
    for a, word, b in arcs:
        fst.arc(a, 1, word, 0.0, b)
    for s in ends:
        fst.final[s] = 0.0
    for start, intervals in enumerate(fst.reachable(9)):
        seen, todo, words = {start}, [start], set()
        while todo:
            s = todo.pop()
            words |= {9} if fst.final[s] != NEVER else set()
            for _, word, _, to in fst.arcs[s]:
                if word:
                    words.add(word)
                elif to not in seen:
                    seen.add(to)
                    todo.append(to)
        assert {w for a, b in intervals for w in range(a, b)} == words


def test_touching_intervals_become_one():
    assert merged([(4, 6), (1, 2), (2, 4), (8, 9)]) == ((1, 6), (8, 9))


def test_the_pairs_of_words_are_probabilities():
    ids = {"<eps>": 0, "one": 1, "five": 2, UNKNOWN: 3}
    fst = bigram(["one five", "one one", "five"], ids)
    backing = 1
    for state, out in enumerate(fst.arcs):
        real = [a for a in out if a[0]]
        total = sum(math.exp(-a[2]) for a in real) + (math.exp(-fst.final[state]) if fst.final[state] != NEVER else 0)
        back = sum(math.exp(-a[2]) for a in out if not a[0])
        assert total + (back if state != backing else 0) == pytest.approx(1, abs=1e-6)


def test_words_can_be_added_without_training(graph: Path, tmp_path: Path):
    shutil.copytree(graph, tmp_path / "graph")
    words = tmp_path / "more.dict"
    words.write_text("ten T EH N\none W AH N  # is known\n")
    script = Path(vosk_words.__file__)
    run = [sys.executable, str(script), str(tmp_path), str(words)]
    assert "1 words added: ten" in subprocess.run(run, check=True, capture_output=True, text=True).stdout
    ids, read = ids_of(tmp_path / "graph"), vosk_words.Graph(tmp_path / "graph" / "HCLr.fst")
    assert (ids["ten"], tuple(phones.placed(["T", "EH", "N"]))) in spelled(read, 6)
    assert intervals_of(tmp_path / "graph" / "HCLr.fst")[read.loop] == ((1, len(ids) + 1),)
    assert np.isfinite([a[2] for out in read.arcs for a in out]).all()


def test_a_word_with_a_strange_phone_is_not_added(graph: Path, tmp_path: Path):
    words = tmp_path / "more.dict"
    words.write_text("ten T EX N\n")
    run = [sys.executable, str(vosk_words.__file__), str(graph.parent), str(words)]
    told = subprocess.run(run, check=False, capture_output=True, text=True)
    assert told.returncode != 0 and "'EX' is no phone" in told.stderr


def test_the_shipped_graph_is_written_back_byte_for_byte(tmp_path: Path):
    shipped = Path(vosk_words.__file__).parents[2] / "models" / "vosk" / "graph"
    read = vosk_words.Graph(shipped / "HCLr.fst")
    read.fst.write_lookahead(tmp_path / "HCLr.fst", max(ids_of(shipped).values()) + 1)
    assert (tmp_path / "HCLr.fst").read_bytes() == (shipped / "HCLr.fst").read_bytes()
