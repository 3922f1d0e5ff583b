"""The assistant plays the joint: what an attentive and what a careless apprentice gets told."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import read_joint
from assistant.config.procedure_file import usual_procedure
from assistant.events import Measurement, Pass, Question, UtteranceHeard, Wait
from assistant.procedure.decide import begin, decide, time_is_up
from assistant.procedure.effects import effects, expecting
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.procedure.work import lay_out
from assistant.rehearsal.practice import SLIPS, Practice
from assistant.session.hearing import alternative, typed
from assistant.speech import numbers
from assistant.speech.vocabulary import grammar_for

ROOT = Path(__file__).resolve().parents[2]
DAY = date(2026, 11, 25)
BASE = ROOT / "demo_joints" / "north-sluice-gearbox-base.toml"
WRONG = ("ran out last month", "sheet in your hand", "sits on bolt", "value for dry threads")


class Apprentice:
    """Listens to the joint and answers by typed words; `careful` says stop when something is wrong."""

    def __init__(self, *, careful: bool, seed: int, misread: bool = False) -> None:
        made = plan(read_joint(BASE, today=DAY), today=DAY)
        self.practice = Practice(slips=SLIPS, seed=seed, skip_time=lambda _seconds: None)
        self.careful, self.misread, self.state, self.heard = careful, misread, State(), ""
        work = lay_out(made, usual_procedure(made.joint.kind), apprentice=True)
        self.count = 0
        self._take((work, *begin(work, fold(State(), (work,)))))

    def _take(self, events) -> None:
        said = effects(self.state, events).say
        self.state = fold(self.state, events)
        self.heard = f"{said} {self.practice.joint_says(self.state, events)}"

    def say(self, words: str) -> None:
        self.count += 1
        heard = typed(words, grammar_for(expecting(self.state)))
        event = UtteranceHeard(
            utterance=f"{self.count:04d}",
            start_sample=0,
            end_sample=1,
            audio_sha256=None,
            alternatives=tuple(alternative(r) for r in heard.ranked),
            fit=None,
            free_text=words,
            listeners={},
            agreed=True,
            decision=heard.decision,
            accept_at=0.9,
        )
        self._take((event, *decide(self.state, event)))

    def answer(self) -> None:
        state = self.state
        item = state.item
        if state.dialogue in ("stopped", "paused"):
            self.say("resume")
        elif self.careful and any(sign in self.heard for sign in WRONG):
            self.say("stop")
        elif state.dialogue == "naming":
            self.say("yes" if state.name_heard else "Kim Wells")
        elif state.dialogue == "explaining":
            self.say("so that the load comes on evenly")
        elif state.dialogue == "asked-back":
            self.say(state.expects if not state.expects.isdecimal() else f"bolt {state.expects}")
        elif state.dialogue == "off-window":
            self.say("tighten again")
        elif isinstance(item, Wait):
            self._take(time_is_up(state, waited_s=item.seconds))
        elif isinstance(item, Question):
            self.say(item.phrase)
        elif isinstance(item, Pass) and item.kind == "snug":
            self.say("snug")
        elif isinstance(item, Pass) and item.goes_round:
            self.say("it moved" if "turned" in self.heard else "did not move")
        else:
            assert isinstance(item, Pass | Measurement)
            reads = re.findall(r"(?:reads|measure) ([a-z -]+?) (?:newton|degrees|millimetres)", self.heard)[-1]
            value = numbers.value(reads)
            room = isinstance(item, Pass) and item.high.value > value + 1
            self.say(f"{value + 1 if self.misread and room else value}")

    def finish(self) -> Apprentice:
        for _ in range(600):
            if self.state.closed:
                return self
            self.answer()
        raise AssertionError(f"not finished: {self.state.dialogue}, {self.heard}")


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_whoever_says_stop_in_time_catches_every_slip(seed):
    outcome = Apprentice(careful=True, seed=seed).finish().practice.outcome
    assert set(outcome.slipped_in) == set(SLIPS) and outcome.caught == outcome.slipped_in
    assert not outcome.missed and not outcome.misread and outcome.stops == 0


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_whoever_answers_all_the_same_has_missed_them(seed):
    done = Apprentice(careful=False, seed=seed).finish()
    assert done.practice.outcome.missed == done.practice.outcome.slipped_in != ()
    assert "Missed: " in done.practice.debrief()


def test_a_value_that_the_wrench_did_not_read_is_told():
    outcome = Apprentice(careful=True, seed=4, misread=True).finish().practice.outcome
    assert outcome.misread and all(said.value == shown.value + 1 for shown, said in outcome.misread)


def test_a_stop_for_nothing_is_not_held_against_anybody():
    apprentice = Apprentice(careful=True, seed=1)
    apprentice.say("stop")
    assert "Nothing was wrong" in apprentice.heard and apprentice.practice.outcome.stops == 1


def test_stopping_before_every_reading_neither_pays_nor_changes_what_the_wrench_reads():
    apprentice = Apprentice(careful=False, seed=2)
    read = r"(?:reads|measure) ([a-z -]+?) (?:newton|degrees|millimetres)"
    for _ in range(60):
        if isinstance(apprentice.state.item, Pass) and apprentice.state.item.kind == "pattern":
            break
        apprentice.answer()
    before, active = re.findall(read, apprentice.heard), any(sign in apprentice.heard for sign in WRONG)
    for _ in range(3):
        apprentice.say("stop")
        apprentice.say("resume")
    assert re.findall(read, apprentice.heard) == before
    stops = apprentice.practice.outcome.stops
    assert stops >= 2 + (not active) - 1 and f"Stopped for nothing: {stops}." in apprentice.practice.debrief()


def test_a_wait_passes_at_once():
    skipped: list[int] = []
    practice = Practice(slips=(), seed=1, skip_time=skipped.append)
    made = plan(read_joint(ROOT / "demo_joints" / "north-sluice-dn150-flange.toml", today=DAY), today=DAY)
    work = lay_out(made, usual_procedure(made.joint.kind), apprentice=True)
    wait = next(n for n, item in enumerate(work.items, start=1) if isinstance(item, Wait))
    state = replace(fold(State(), (work,)), stage=wait)
    events = begin(work, state)
    assert practice.joint_says(fold(state, events), events) and skipped == [4 * 3600]
