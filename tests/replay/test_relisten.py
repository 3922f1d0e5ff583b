"""Hearing a session again: the grammar of its own moment, every way of differing, and sound that is not there."""

from __future__ import annotations

import shutil
from dataclasses import replace
from decimal import Decimal

import pytest

from assistant.events import UtteranceHeard
from assistant.journal.reading import read_session
from assistant.replay.relisten import relisten
from assistant.session.hearing import typed
from assistant.speech.heard import Heard, Ranked
from assistant.speech.meaning import Value
from tests.replay.worked import Worked, golden


class Listener:
    """A listener that knows what was said, by the sound; `mishears` changes its verdict on some words."""

    def __init__(self, folder, mishears=None):
        self.words = {}
        self.grammars = []
        self.mishears = mishears or {}
        for entry in read_session(folder).entries:
            if isinstance(entry.event, UtteranceHeard):
                from assistant.journal.audio import decode_flac

                raw = (folder / "audio" / f"{entry.event.utterance}.flac").read_bytes()
                self.words[decode_flac(raw, name="x").tobytes()] = entry.event.free_text

    def __call__(self, samples, grammar) -> Heard:
        text = self.words[samples.tobytes()]
        self.grammars.append((text, grammar))
        return self.mishears.get(text, lambda heard: heard)(typed(text, grammar))


@pytest.fixture
def folder(repairs_session, tmp_path):
    shutil.copytree(repairs_session, tmp_path / repairs_session.name)
    return tmp_path / repairs_session.name


def again(folder, mishears=None):
    return list(relisten(folder, read_session(folder).entries, Listener(folder, mishears)))


def test_heard_as_before_everything_is_the_same_in_the_grammar_of_its_moment(folder):
    found = again(folder)
    heard = [e.event for e in read_session(folder).entries if isinstance(e.event, UtteranceHeard)]
    assert [each.utterance for each in found] == [event.utterance for event in heard]
    assert {each.verdict for each in found} == {"same"} and not any(each.grave for each in found)
    assert [each.decision_now for each in found] == [event.decision for event in heard]


def test_entries_that_rest_on_an_utterance_are_named(folder):
    resting = {each.utterance: each.entries for each in again(folder) if each.entries}
    recorded = [e.event for e in read_session(folder).entries if hasattr(e.event, "entry")]
    assert {event.entry for event in recorded} == {n for entries in resting.values() for n in entries}


def other_value(heard: Heard) -> Heard:
    return replace(heard, ranked=(Ranked(Value(Decimal(53)), "fifty three", 0.999),))


@pytest.mark.parametrize(
    ("change", "verdict", "grave"),
    [
        (other_value, "another meaning", True),
        (lambda heard: replace(other_value(heard), decision="ask"), "another meaning", False),
        (lambda heard: replace(heard, decision="ask"), "less sure now", False),
        (lambda heard: replace(heard, decision="reject"), "nothing now", False),
        (lambda heard: replace(heard, ranked=(), decision="reject"), "nothing now", False),
    ],
)
def test_each_way_of_differing_has_its_name(folder, change, verdict, grave):
    found = {each.verdict: each for each in again(folder, {"52": change}) if each.recorded == "52"}
    assert set(found) == {verdict}
    assert any(each.grave for each in again(folder, {"52": change})) == grave


def test_what_was_silent_and_is_heard_now_is_told(folder):
    def now(heard: Heard) -> Heard:
        return replace(heard, ranked=(Ranked(Value(Decimal(52)), "fifty two", 0.9),), decision="ask")

    assert {each.recorded for each in again(folder)} >= {"52", "bolt 1, 52", "38 lbf*ft", "correction 53", "stop"}
    silent = next(each for each in again(folder) if not each.recorded)
    words = next(
        e.event.free_text for e in read_session(folder).entries if getattr(e.event, "utterance", "") == silent.utterance
    )
    found = next(each for each in again(folder, {words: now}) if each.utterance == silent.utterance)
    assert found.verdict == "something now" and found.now == "52"


def test_missing_exchanged_and_broken_sound_is_said_and_the_rest_is_heard(folder):
    audio = folder / "audio"
    listener = Listener(folder)
    entries = read_session(folder).entries
    (audio / "0006.flac").unlink()
    shutil.copy(audio / "0008.flac", audio / "0007.flac")
    (audio / "0009.flac").write_bytes(b"fLaC")
    found = {each.utterance: each for each in relisten(folder, entries, listener)}
    assert {n: (found[n].verdict, found[n].why) for n in ("0006", "0007", "0009")} == {
        "0006": ("no sound", "audio/0006.flac is missing"),
        "0007": ("no sound", "audio/0007.flac is not the recording that was kept"),
        "0009": ("no sound", "audio/0009.flac is not the recording that was kept"),
    }
    assert sum(each.verdict == "same" for each in found.values()) == len(found) - 3


def test_typed_words_have_no_sound(tmp_path):
    folder = Worked(tmp_path).say(*list(golden("plain"))[:6]).close()
    found = list(relisten(folder, read_session(folder).entries, lambda *_: pytest.fail("nothing to hear")))
    assert {each.verdict for each in found} == {"typed"} and len(found) == 6
