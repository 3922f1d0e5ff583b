"""Live state, record, page, table and verdict of one session agree in every field, whatever was said in it.

The dialogues are random: corrections, replaced bolts, restarts, names, waits, reviews, an apprentice. Some hundreds run
here; `scripts/bench/one_reading.py` runs 10 000 and more.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.events import BoltHeld, BoltMoved, ReadingAccepted, ReadingKept
from assistant.journal.reading import read_session
from assistant.procedure import standing
from assistant.procedure.state import Entry
from tests.procedure.small_works import torqued
from tests.replay.agreement import check_agreement
from tests.replay.dialogues import dialogue
from tests.replay.rests_on import ELSEWHERE, RESTS, check_rests, kinds_of_part
from tests.replay.telling import record_of


@settings(max_examples=150)
@given(st.integers(0, 10**9))
def test_every_surface_says_the_same_as_the_state_that_guided(seed: int):
    check_agreement(seed, page=seed % 10 == 0)


def test_a_reading_kept_in_a_round_leaves_its_bolt_open_until_the_movement_is_said():
    check_agreement(21035, page=True)
    item = torqued(1, 2, kind="seat")
    kept = Entry(number=1, stage=1, round=1, bolt=2, event=ReadingKept, reading=None, utterance="")
    assert standing.left_at((kept,), item) == "open"
    for event, left in ((BoltHeld, "outside"), (BoltMoved, "outside")):
        assert standing.left_at((kept, replace(kept, number=2, event=event)), item) == left
    tightened = replace(kept, number=2, event=ReadingAccepted)
    assert standing.left_at((kept, tightened, replace(kept, number=3, event=BoltMoved)), item) == "moved"


def test_every_part_of_the_record_rests_on_a_line_or_on_a_named_file(done_session: Path, repairs_session: Path):
    """A model that is added and rests on nothing is found here; so is one that two places claim."""
    assert RESTS.keys().isdisjoint(ELSEWHERE) and kinds_of_part() == RESTS.keys() | ELSEWHERE.keys()
    for folder in (done_session, repairs_session):
        assert check_rests(record_of(folder), read_session(folder).entries) > 40


def test_the_dialogues_hold_what_they_are_to_try():
    """Otherwise the test above would prove nothing: its dialogues are counted."""
    kinds: dict[str, int] = {}
    for seed in range(100):
        for line in dialogue(seed).lines:
            kinds[line.event.kind] = kinds.get(line.event.kind, 0) + 1
    wanted = {
        "entry-taken-back", "bolt-replaced", "passes-restarted", "name-kept", "wait-over", "wait-cut-short",
        "reading-kept", "bolt-skipped", "bolt-moved", "measurement-kept", "session-closed", "session-resumed",
        "clicked-at-setting", "supervisor-agreed", "finding-made", "finding-settled", "name-read-back",
        "reason-doubted",
    }  # fmt: skip
    assert wanted <= kinds.keys()
    assert kinds["session-closed"] >= 40
