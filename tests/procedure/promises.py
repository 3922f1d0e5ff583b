"""What every single step of a dialogue has to keep, whatever came before. Used by the exhaustive search."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.events import (
    BoltHeld,
    BoltReplaced,
    BoltSkipped,
    CompetentPersonAsked,
    EntryTakenBack,
    Event,
    FindingSettled,
    MeasurementKept,
    NameKept,
    Pass,
    PassesRestarted,
    Question,
    QuestionAnswered,
    ReadingAccepted,
    ReadingKept,
    StageFinished,
    StopReleased,
    SupervisorAgreed,
    WaitCutShort,
    WaitOver,
)
from assistant.procedure.commands import no_reason
from assistant.procedure.effects import effects
from assistant.procedure.evolve import evolve
from assistant.procedure.state import State
from assistant.procedure.table import next_state
from tests.procedure.small_works import ALWAYS, Action


def table_allows(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """Every event has its row where it happens; refused would mean recorded without an effect."""
    state = before
    for event in events:
        assert next_state(state.dialogue, type(event)) is not None, (state.dialogue, event.kind)
        state = evolve(state, event)


def nothing_is_lost(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """Entries stay as they were, but for those that an event of this step names as taken back."""
    named: set[int] = set()
    for event in events:
        if isinstance(event, EntryTakenBack):
            named.add(event.taken_back)
        elif isinstance(event, BoltReplaced | PassesRestarted):
            named |= set(event.taken_back)
    was = len(before.entries)
    for old, new in zip(before.entries, after.entries[:was], strict=True):
        assert new is old or new == old or (old.number in named and old.valid and not new.valid)
    assert [e.number for e in after.entries[was:]] == list(range(was + 1, len(after.entries) + 1))


def what_is_wrong_is_settled_by_what_changed(
    before: State, action: Action, events: Sequence[Event], after: State
) -> None:
    """No joint closes, and no question passes, over an open finding; what settles one is a reason, and at a hold point
    a name that somebody confirmed.
    """
    state = before
    for event in events:
        if isinstance(event, FindingSettled):
            (found,) = [f for f in state.findings if f.number == event.finding]
            assert found.open and event.changed.strip() and not no_reason(event.changed)
            if found.hold:
                purpose = "witness" if state.names_at(found) else "settles"
                assert event.by and any(isinstance(e, NameKept) and e.purpose == purpose for e in events)
        if isinstance(event, QuestionAnswered | StopReleased):
            assert state.finding is None
        state = evolve(state, event)
    if after.closed:
        assert not [f for f in after.findings if f.open]


def what_failed_is_a_finding(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """A sure no at a question that is asked is never silent, passes nothing, and is on record."""
    if before.question is None or before.dialogue != "guiding" or action.name not in ("sure no", "sure not yet"):
        return
    assert effects(before, events).say and not any(isinstance(e, QuestionAnswered) for e in events)
    assert any(f.open and f.sort == "answer" and f.stage == before.stage for f in after.findings)


def names_are_confirmed(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """A name is kept by a yes to its read-back, and it is the one that was read back."""
    for event in events:
        if isinstance(event, NameKept):
            assert event.confirmed_by and before.name_heard == event.text
            assert action.heard is not None and action.heard.alternatives[0].command == "yes"


def only_what_is_sure_is_recorded(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """A value that was doubtful is recorded only with a yes, a choice or the same again; others only as heard."""
    for event in events:
        if not isinstance(event, ReadingAccepted | MeasurementKept):
            continue
        heard = action.heard
        assert heard is not None and heard.alternatives and heard.decision != "reject"
        best = heard.alternatives[0]
        value = event.achieved.value if isinstance(event, ReadingAccepted) else event.value
        if not event.confirmed_by:
            assert heard.decision == "accept" and (best.value == value or best.command == "same")
        else:
            assert before.dialogue in ("asking", "choosing", "reasoning")
            assert best.command == "yes" or best.value in (value, 1, 2)
            if before.dialogue == "reasoning":
                assert before.new_reading is not None and before.new_reading.value == value
                continue
            asked = [c.value for c in before.choices] or [before.pending.heard.value]
            assert value in asked


def phrases_are_spoken(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """A question passes only by its own phrase, heard surely or twice; a hold point never by a yes."""
    for event in events:
        if isinstance(event, QuestionAnswered):
            asked = before.stages[event.stage - 1]
            assert isinstance(asked, Question) and asked.phrase == event.phrase and action.heard is not None
            said = action.heard.alternatives[0].command
            if asked.hold or before.dialogue != "asking":
                assert said == asked.phrase
            if action.heard.decision != "accept":
                assert before.pending is not None and before.pending.heard.command == asked.phrase


def an_apprentice_asks(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """An apprentice skips, keeps or cuts short only behind the supervisor's phrase."""
    for event in events:
        if isinstance(event, SupervisorAgreed):
            assert action.heard is not None and action.heard.decision == "accept"
            assert action.heard.alternatives[0].command == before.work.supervisor
        if before.work.apprentice:
            if event.kind == "reason-asked" and event.purpose in ("skip", "keep", "cut-short"):
                assert before.purpose == "supervisor" and before.agreed == event.purpose
            if isinstance(event, BoltSkipped | ReadingKept | WaitCutShort):
                assert before.dialogue == "reasoning"


def time_passes_or_a_reason_is_given(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """A wait ends by the clock, or by a reason in words."""
    for event in events:
        if isinstance(event, WaitOver):
            assert action.name == "time is up"
        if isinstance(event, WaitCutShort | ReadingKept | BoltSkipped):
            assert event.reason.strip() and not no_reason(event.reason)


def parts_that_failed_count_no_more(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """After a replaced bolt none of its entries counts; after a restart nothing of what has to be done over does."""
    for event in events:
        if isinstance(event, BoltReplaced):
            for entry in after.entries:
                item = after.stages[entry.stage - 1]
                same = isinstance(item, Pass) and item.group == event.group and entry.bolt == event.bolt
                assert not (same and entry.valid and entry.number <= len(before.entries))
        if isinstance(event, PassesRestarted):
            counts = [e.stage for e in after.entries if e.valid and e.stage >= event.stage]
            assert not counts


def somebody_looks_for_the_cause(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """No round follows the last one before a competent person was named."""
    for event in events:
        if isinstance(event, StageFinished) and event.again:
            item = before.stages[event.stage - 1]
            assert isinstance(item, Pass)
            if event.round >= item.last_round and not any(isinstance(e, CompetentPersonAsked) for e in events):
                assert before.dialogue == "naming" or before.cause_sought == (event.stage, event.round)
                assert "competent" not in before.name_wanted or before.dialogue == "naming"


def always_works(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """'stop', 'status', 'say again', 'go back', 'note' and 'help' are answered aloud; a second 'stop' with silence."""
    name = action.name.removeprefix("sure ")
    if not action.name.startswith("sure ") or name not in ALWAYS:
        return
    assert effects(before, events).say or (before.dialogue, name) == ("stopped", "stop"), before.dialogue
    if name == "stop":
        assert after.dialogue == "stopped"
    if name in ("status", "help", "say again"):
        assert after.dialogue == before.dialogue and after.entries == before.entries


def closed_means_done(before: State, action: Action, events: Sequence[Event], after: State) -> None:
    """A closed joint has all that was laid out, and each of it counts."""
    if not after.closed:
        return
    for number, item in enumerate(after.stages, start=1):
        entries = [e for e in after.entries if e.valid and e.stage == number]
        kinds = {e.event for e in entries}
        if isinstance(item, Pass):
            last = max((e.round for e in entries), default=1)
            done = {e.bolt for e in entries if e.round == last and (not item.goes_round or e.event is BoltHeld)}
            assert done == set(item.bolts), (number, done)
        elif isinstance(item, Question):
            assert (StopReleased if item.reason else QuestionAnswered) in kinds and (
                not item.witness or NameKept in kinds
            )
        elif hasattr(item, "who"):
            assert MeasurementKept in kinds and (not item.who or NameKept in kinds)
        else:
            assert kinds & {WaitOver, WaitCutShort}


PROMISES = (
    what_is_wrong_is_settled_by_what_changed,
    what_failed_is_a_finding,
    names_are_confirmed,
    table_allows,
    nothing_is_lost,
    only_what_is_sure_is_recorded,
    phrases_are_spoken,
    an_apprentice_asks,
    time_passes_or_a_reason_is_given,
    parts_that_failed_count_no_more,
    somebody_looks_for_the_cause,
    always_works,
    closed_means_done,
)
