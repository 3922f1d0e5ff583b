"""Waits by the journal's clock: over when the time has passed, also overnight, with a clock set back, or left open."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest

from assistant.events import SessionResumed, Wait, WaitBegun, WorkLaidOut
from assistant.journal.clock import Uptime
from assistant.journal.recording import MemoryStore
from assistant.journal.verify_entries import examine_entries
from assistant.ports import Block, Typed
from assistant.procedure.decide import unanswered
from assistant.replay.around import waits
from assistant.replay.facts import read_facts
from assistant.session.waits import SMALL_STEP_S, clock_set, clock_step_s, is_over, time_left, waited_s
from tests.procedure.talk import CLOSE, stages
from tests.session.house import OPENED, events_of, session

START = datetime(2026, 11, 25, 6, 0, tzinfo=timezone.utc)
REST = Wait(name="settling time", phase="seat", seconds=3600)
WORK = WorkLaidOut(joint="Test flange", stages=stages(REST, CLOSE))
RESUMED = SessionResumed(product="assistant (tests)", listeners=("typed",), speaker="silent")
SECOND = 16_000


class WallClock:
    """A clock that goes only when it is set, a little further at each look."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        self.now += timedelta(milliseconds=1)
        return self.now

    def on(self, **time: float) -> Callable[[], None]:
        def move() -> None:
            self.now += timedelta(**time)

        return move


class Script:
    """ports.Microphone: seconds of silence, typed lines, and moments at which the wall clock is moved."""

    name = "script"

    def __init__(self, *pieces: float | str | Callable[[], None]) -> None:
        self.pieces = list(pieces)
        self.at = 0

    def read(self) -> Block | Typed | None:
        while self.pieces:
            piece = self.pieces.pop(0)
            if isinstance(piece, str):
                return Typed(piece, self.at)
            if callable(piece):
                piece()
                continue
            samples = np.tile(np.array([2, -2], np.int16), round(piece * SECOND) // 2)
            self.at += len(samples)
            return Block(samples, self.at - len(samples))
        return None

    def now_sample(self) -> int:
        return self.at

    def close(self) -> None:
        pass


def guided(clock: WallClock, *pieces, store: MemoryStore | None = None, first=(OPENED, WORK)):
    store = store or MemoryStore(clock=clock)
    made = session(Script(*pieces), recording=store, clock=clock)
    made.run(first)
    return made


def kinds(made) -> list[str]:
    return [e.kind for e in events_of(made)]


def said(made) -> str:
    return [e.text for e in events_of(made) if e.kind == "prompt-spoken"][-1]


def test_before_its_time_the_wait_goes_on_and_nothing_is_said():
    clock = WallClock()
    made = guided(clock, 2.0, clock.on(minutes=59), 3.0)
    assert made.state.dialogue == "waiting" and "wait-over" not in kinds(made)
    prompts = [e.text for e in events_of(made) if e.kind == "prompt-spoken"]
    assert kinds(made)[3:] == ["prompt-spoken"] * len(prompts) and "settling time" in " ".join(prompts).lower()


def test_when_the_time_has_passed_it_is_said_without_a_word_from_anybody():
    clock = WallClock()
    made = guided(clock, 2.0, clock.on(hours=1), 3.0, "close the joint")
    (over,) = [e for e in events_of(made) if e.kind == "wait-over"]
    assert 3600 <= over.waited_s < 3610
    assert made.state.closed


def test_status_tells_what_is_left_by_the_clock():
    clock = WallClock()
    made = guided(clock, 1.0, clock.on(minutes=40), "status")
    (left,) = [e for e in events_of(made) if e.kind == "time-left"]
    assert 1190 <= left.seconds <= 1200 and made.state.left_s == left.seconds
    assert "twenty" in said(made) or "nineteen" in said(made)


def test_left_open_and_come_back_to_after_days_it_is_over_at_once():
    clock = WallClock()
    first = guided(clock, 1.0, "leave it open", 5.0, "close the joint")
    assert first.state.left and not first.state.closed and kinds(first)[-1] in ("session-left", "prompt-spoken")
    assert kinds(first).count("utterance-heard") == 1  # nothing is listened for any more
    clock.on(days=3)()
    again = guided(clock, 2.0, "close the joint", store=first.recording.reopened(clock=clock), first=(RESUMED,))
    (over,) = [e for e in events_of(again) if e.kind == "wait-over"]
    assert over.waited_s >= 3 * 86_400 and again.state.closed


def test_come_back_to_too_early_it_goes_on_from_its_beginning():
    clock = WallClock()
    first = guided(clock, 1.0, "leave it open")
    clock.on(minutes=30)()
    again = guided(clock, 2.0, store=first.recording.reopened(clock=clock), first=(RESUMED,))
    assert again.state.dialogue == "waiting" and not again.state.left
    assert kinds(again).count("wait-begun") == 1 and "wait-goes-on" in kinds(again)
    assert 1790 <= again.state.left_s <= 1800


def test_a_pause_in_the_wait_does_not_stop_the_time():
    clock = WallClock()
    made = guided(clock, 1.0, "pause", clock.on(hours=2), 3.0, "resume", 2.0)
    assert "wait-over" in kinds(made) and made.state.question is not None


def test_a_clock_that_was_set_back_ends_no_wait_and_counts_on_from_there():
    clock = WallClock()
    made = guided(clock, 1.0, clock.on(hours=-5), 3.0, "status", 2.0)
    assert "wait-over" not in kinds(made) and made.state.left_s == REST.seconds
    clock.on(hours=6, seconds=5)()
    again = guided(clock, 2.0, store=made.recording.reopened(clock=clock), first=(RESUMED,))
    assert "wait-over" in kinds(again)


def test_cut_short_by_a_reason_it_is_a_deviation_with_what_was_left():
    clock = WallClock()
    made = guided(clock, 1.0, clock.on(minutes=15), "skip", "the tide is coming, the lead agreed")
    (cut,) = [e for e in events_of(made) if e.kind == "wait-cut-short"]
    assert cut.reason == "the tide is coming, the lead agreed" and 2690 <= cut.left_s <= 2700


def test_only_the_last_beginning_of_a_wait_counts():
    clock = WallClock()
    store = guided(clock, 1.0).recording
    state = guided(WallClock(), 1.0).state
    begun = store.entries[[e.event.kind for e in store.entries].index("wait-begun")]
    later = replace(begun, utc=begun.utc + timedelta(minutes=50))
    now = begun.utc + timedelta(hours=1)
    assert waited_s(state, [begun], now) == 3600 and is_over(state, 3600)
    assert waited_s(state, [begun, later], now) == 600 and not is_over(state, 600)
    assert [left.seconds for left in time_left(state, [begun, later], now)] == [3000]


def test_where_no_wait_runs_nothing_is_counted():
    clock = WallClock()
    made = guided(clock, 1.0)
    elsewhere = replace(made.state, stage=2)
    assert waited_s(elsewhere, made.recording.entries, START) is None
    assert time_left(elsewhere, made.recording.entries, START) == () and not is_over(elsewhere, None)
    unbegun = replace(made.state, waits=())
    assert waited_s(unbegun, made.recording.entries, START) is None
    assert any(isinstance(e, WaitBegun) for e in events_of(made))


class Running(WallClock):
    """A wall clock beside the time that the machine has been running, as `LaterClock` has it."""

    def __init__(self):
        super().__init__()
        self.boot, self.up_s = "a" * 16, 1000.0

    def passes(self, **time):
        """So much time passes, on both."""
        self.up_s += timedelta(**time).total_seconds()
        return self.on(**time)

    def uptime(self):
        return Uptime(boot=self.boot, ms=int(self.up_s * 1000))


def steps(made):
    return [(e.seconds, e.wait) for e in events_of(made) if e.kind == "clock-set"]


@pytest.mark.parametrize("set_by", [timedelta(days=365), timedelta(days=-1), timedelta(seconds=-3)])
def test_a_clock_that_is_set_while_the_machine_runs_neither_ends_a_wait_nor_lengthens_it(set_by):
    clock = Running()
    made = guided(clock, 1.0, clock.on(seconds=set_by.total_seconds()), 3.0, "status")
    assert "wait-over" not in kinds(made) and made.state.left_s > REST.seconds - 60
    assert steps(made) == [(round(set_by.total_seconds()), "counted")]
    assert any("The wait is counted without it" in e.text for e in events_of(made) if e.kind == "prompt-spoken")
    clock.passes(hours=1)()
    again = guided(clock, 2.0, store=made.recording.reopened(clock=clock), first=(RESUMED,))
    (over,) = [e for e in events_of(again) if e.kind == "wait-over"]
    assert 3600 <= over.waited_s < 3700


def test_across_a_restart_the_wall_clock_counts_where_nobody_set_it():
    clock = Running()
    first = guided(clock, 1.0, "leave it open")
    clock.on(hours=3)()
    clock.boot, clock.up_s = "b" * 16, 30.0
    again = guided(clock, 2.0, store=first.recording.reopened(clock=clock), first=(RESUMED,))
    assert "wait-over" in kinds(again) and steps(again) == []


def test_across_a_restart_with_a_clock_that_was_set_nobody_is_told_that_the_time_is_over():
    """A tablet that starts in the year 2000 and is set right an hour later."""
    clock = Running()
    first = guided(clock, 1.0, "leave it open")
    clock.on(days=-9000)()
    clock.boot, clock.up_s = "b" * 16, 30.0
    again = guided(clock, 2.0, store=first.recording.reopened(clock=clock), first=(RESUMED,))
    assert "wait-over" not in kinds(again) and steps(again) == [(0, "unsure")]
    assert "I was off, and the clock was set. Has it been one hour?" in said(again)
    clock.on(days=9000, hours=1)()
    later = guided(clock, 2.0, store=again.recording.reopened(clock=clock), first=(RESUMED,))
    assert "wait-over" not in kinds(later)
    store = later.recording.reopened(clock=clock)
    ended = guided(clock, "skip", "the gauge on the wall says four hours", store=store, first=(RESUMED,))
    assert "wait-cut-short" in kinds(ended)


def off_while_the_clock_was_set(*answers):
    """A wait that began an hour ago, half of it with the machine off and the clock set; then these answers."""
    clock = Running()
    first = guided(clock, 1.0, lambda: clock.passes(minutes=20)(), 2.0, "status", "leave it open")
    clock.on(days=-9000)()
    clock.boot, clock.up_s = "b" * 16, 30.0
    return guided(clock, 2.0, *answers, store=first.recording.reopened(clock=clock), first=(RESUMED,))


def test_asked_whether_the_time_has_passed_a_yes_ends_the_wait_and_the_record_says_who_said_so():
    made = off_while_the_clock_was_set("yes")
    (over,) = [e for e in events_of(made) if e.kind == "wait-over"]
    assert 1190 <= over.waited_s <= 1230 and over.utterance
    assert made.state.stage == 2 and not made.state.clock_asked
    (wait,) = waits(read_facts(made.recording.entries))
    assert wait.state == "over" and wait.counted_by == "a person" and wait.waited_s == over.waited_s
    assert list(examine_entries(enumerate(events_of(made), 1))) == []
    unsaid = [replace(e, alternatives=()) if e.kind == "utterance-heard" else e for e in events_of(made)]
    assert "entry-not-heard" in [f.code for f in examine_entries(enumerate(unsaid, 1))]


def test_a_no_lets_it_go_on_by_what_surely_passed_and_what_is_left_is_said():
    made = off_while_the_clock_was_set("no", "yes")
    assert "wait-over" not in kinds(made) and made.state.dialogue == "waiting"
    prompts = [e.text for e in events_of(made) if e.kind == "prompt-spoken"]
    assert any("thirty nine minutes to go" in text or "forty minutes to go" in text for text in prompts[-2:])
    assert not made.state.clock_asked  # the question is closed: a yes means nothing any more


def test_it_is_an_open_question_and_said_again_when_asked_for():
    made = off_while_the_clock_was_set("say again")
    assert [event.what for event in unanswered(made.state)] == ["say again"]
    asked = [e for e in events_of(made) if e.kind == "prompt-spoken" and "Has it been one hour?" in e.text]
    assert len(asked) == 2 and made.state.clock_asked


def test_a_wait_over_a_restart_is_marked_as_counted_by_the_clock_and_one_within_a_run_is_not():
    clock = Running()
    first = guided(clock, 1.0, "leave it open")
    clock.passes(hours=2)()
    within = guided(clock, 2.0, store=first.recording.reopened(clock=clock), first=(RESUMED,))
    assert [w.counted_by for w in waits(read_facts(within.recording.entries))] == ["running time"]
    clock = Running()
    first = guided(clock, 1.0, "leave it open")
    clock.on(hours=3)()
    clock.boot, clock.up_s = "b" * 16, 30.0
    again = guided(clock, 2.0, store=first.recording.reopened(clock=clock), first=(RESUMED,))
    assert [w.counted_by for w in waits(read_facts(again.recording.entries))] == ["clock"]


def test_where_the_clock_was_set_no_time_counts_that_the_machine_was_off():
    clock = Running()
    first = guided(clock, 1.0, clock.on(hours=2), 2.0, "leave it open")
    clock.on(hours=3)()
    clock.boot, clock.up_s = "b" * 16, 30.0
    again = guided(clock, 2.0, "status", store=first.recording.reopened(clock=clock), first=(RESUMED,))
    assert "wait-over" not in kinds(again) and again.state.left_s > REST.seconds - 60
    assert steps(again) == [(7200, "counted"), (0, "unsure")]


def test_how_far_a_clock_was_set_is_told_within_one_run_only():
    def up(seconds, boot="a"):
        return Uptime(boot=boot * 16, ms=seconds * 1000)

    later = START + timedelta(seconds=100)
    assert clock_step_s((START, up(5)), (later, up(75))) == 30.0
    assert clock_step_s((START, up(5)), (later, up(305))) == -200.0
    for before, after in ((up(5), up(75, "b")), (None, up(75)), (up(5), None), (None, None)):
        assert clock_step_s((START, before), (later, after)) == 0.0


def test_a_small_step_is_no_event_and_a_larger_one_tells_what_it_does_to_the_wait():
    clock = Running()
    made = guided(clock, 1.0, "leave it open")
    entries, last = made.recording.entries, made.recording.entries[-1]

    def told(step, *, state=made.state, boot="a", on=0):
        now = last.utc + timedelta(seconds=on + step)
        return clock_set(state, entries, now, Uptime(boot=boot * 16, ms=last.uptime.ms + on * 1000))

    assert told(SMALL_STEP_S) == told(-SMALL_STEP_S) == told(1.0, on=50) == () == clock_set(made.state, (), START, None)
    assert [(e.seconds, e.wait) for e in told(-9, on=50)] == [(-9, "counted")]
    assert [(e.seconds, e.wait) for e in told(400)] == [(400, "counted")]
    assert [(e.seconds, e.wait) for e in told(400, state=replace(made.state, waits=()))] == [(400, "")]
    assert told(400, boot="b") == ()  # over a restart nobody can tell
    (left,) = time_left(made.state, entries, last.utc + timedelta(hours=9), None)
    assert left.seconds == 0


def test_a_second_step_after_a_restart_leaves_the_wait_unsure():
    clock = Running()
    first = guided(clock, 1.0, "leave it open")
    clock.on(days=-9000)()
    clock.boot, clock.up_s = "b" * 16, 30.0
    again = guided(clock, 1.0, clock.on(days=9000), 2.0, store=first.recording.reopened(clock=clock), first=(RESUMED,))
    assert steps(again) == [(0, "unsure"), (9000 * 86_400, "unsure")]
