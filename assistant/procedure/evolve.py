"""State after an event. Knows no rule and never refuses: what may happen was settled in `decide`.

First when something changes (`evolve`), then what each event changes (`step`), one function an event. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from typing_extensions import assert_never

from assistant import events as ev
from assistant.events import (
    SAMPLE_RATE_HZ,
    AnsweredBack,
    ClockSet,
    Event,
    FindingMade,
    Measured,
    NameKept,
    PromptSpoken,
    QuestionAnswered,
    ReadingImpossible,
    ReadingOutside,
    ReadingTakenBack,
    SupervisorAgreed,
    UtteranceHeard,
)
from assistant.procedure.state import LEVELS, AtBolt, Entry, Finding, Pending, Recording, State
from assistant.procedure.table import MEANS, next_state

CLEARS = frozenset({"guiding", "paused", "stopped", "noting"})
"""States on the way into which a doubt is dropped: what was interrupted is never half-recorded."""


def _supervised(state: State, event: Event) -> bool:
    return isinstance(event, SupervisorAgreed) or (bool(state.agreed) and isinstance(event, NameKept))


RUNNING_ON_S = 1.5
"""Speech that begins sooner than this after other speech that was for nobody here goes on from it (our own choice)."""
NEWEST = 0.3
"""Share of the newest answer in how loud answers usually are: people turn their heads."""


def evolve(state: State, event: Event) -> State:
    """Fold one event into the state.

    An event without a row in the table (a foreign or damaged record) changes nothing.
    """
    dialogue, means = next_state(state.dialogue, type(event)), MEANS[type(event)]
    if isinstance(event, ClockSet) and event.wait == "unsure" and state.dialogue == "waiting":
        return replace(state, clock_asked=True)
    if dialogue is not None and isinstance(event, UtteranceHeard):
        return _listened(state, event)
    if dialogue is None or not means.noticed:
        return state
    changes: dict[str, Any] = {} if dialogue == state.dialogue else {"dialogue": dialogue}
    if changes or not isinstance(event, PromptSpoken):
        if state.half is not None:
            changes["half"] = None
        if dialogue in CLEARS:
            changes |= _dropped(state, agreed=not _supervised(state, event))
    if isinstance(event, ReadingTakenBack):
        changes["denied"] = (*state.denied, *_asked_about(state))
    elif state.denied and means.other_item:
        changes["denied"] = ()
    if state.work.apprentice and means.lesson and not (isinstance(event, AnsweredBack) and event.right):
        changes["lessons"] = (*state.lessons, (type(event), state.stage, _bolt_of(event)))
    if state.clock_asked and means.answers_clock:
        changes["clock_asked"] = False
    if means.read_back is not None and state.read_back != means.read_back:
        changes["read_back"] = means.read_back
    if state.last_name[0] and (means.read_back or isinstance(event, QuestionAnswered)):
        changes["last_name"] = ("", "")
    return step(replace(state, **changes) if changes else state, event)


def _dropped(state: State, *, agreed: bool) -> dict[str, Any]:
    """What is dropped on the way into one of CLEARS; `agreed`: what a supervisor agreed to as well."""
    changes: dict[str, Any] = {}
    if state.choices or state.purpose or state.phrase_in or state.new_reading is not None or state.name_heard:
        changes |= {"choices": (), "purpose": "", "phrase_in": "", "new_reading": None, "name_heard": ""}
    if agreed and (state.pending is not None or state.agreed):
        changes |= {"pending": None, "agreed": ""}
    return changes


def _bolt_of(event: Event) -> int | None:
    return event.bolt if isinstance(event, ReadingOutside | ReadingImpossible | FindingMade) else None


def _listened(state: State, heard: UtteranceHeard) -> State:
    """What is known of talk near by, and how loud it was, should it be an answer; no more comes of it by itself."""
    if heard.typed or heard.while_speaking:
        return state
    if heard.decision == "reject":
        goes_on = 0 <= heard.start_sample - state.talk_to <= RUNNING_ON_S * SAMPLE_RATE_HZ
        return replace(state, talk_from=state.talk_from if goes_on else heard.start_sample, talk_to=heard.end_sample)
    snr_db = heard.snr_db if heard.decision == "accept" else None
    return state if snr_db == state.heard_snr_db else replace(state, heard_snr_db=snr_db)


def _usual_snr_db(state: State) -> float | None:
    """How loud answers usually are, once the one that was just heard is on record: what leads nowhere is no answer."""
    newest, before = state.heard_snr_db, state.usual_snr_db
    if newest is None or before is None:
        return before if newest is None else newest
    return (1 - NEWEST) * before + NEWEST * newest


def has_row(state: State, event: Event) -> bool:
    """Whether an event has its place after what came before it; one without changes nothing."""
    return next_state(state.dialogue, type(event)) is not None


def _asked_about(state: State) -> tuple[Decimal, ...]:
    """Values that a no denies: the one read back, or both choices. A measured figure that was read back in another
    unit than was asked for may be wrong by its unit alone: it may be said again.
    """
    heard = (*state.choices, *((state.pending.heard,) if state.pending is not None else ()))
    due = state.measurement
    return tuple(
        each.value for each in heard if each.value is not None and (due is None or each.unit in (None, "", due.unit))
    )


def fold(state: State, events: Iterable[Event]) -> State:
    """Fold many events, in order."""
    for event in events:
        state = evolve(state, event)
    return state


# ---------------------------------------------------------------------------------------------- what each event changes
REPAIRING = 3
"""Failures in a row from which a doubt counts as a failure too: figures were asked for and did not help."""


def _laid_out(state: State, event: ev.WorkLaidOut) -> State:
    return replace(state, work=event, stage=1, round=1, name_wanted=("tightens",) if event.asks_who else ())


def _announced(state: State, event: ev.ItemAnnounced) -> State:
    return replace(state, announced=(event.stage, event.round), introduced=event.stage)


def _record(state: State, event: Recording) -> State:
    reading: Measured | None = None
    if isinstance(event, ev.ReadingAccepted | ev.ReadingKept):
        reading = event.achieved
    elif isinstance(event, ev.MeasurementKept):
        reading = Measured(event.value, event.unit)
    entry = Entry(
        number=event.entry,
        stage=event.stage,
        round=event.round if isinstance(event, AtBolt) else 1,
        bolt=event.bolt if isinstance(event, AtBolt) else None,
        event=type(event),
        reading=reading,
        utterance=event.utterance,
        text=event.text if isinstance(event, ev.NameKept) else "",
    )
    # a bolt that was stepped back to is finished with its new entry; a circular reading still waits for 'moved or not'
    recorded = replace(state, entries=(*state.entries, entry), misses=0, usual_snr_db=_usual_snr_db(state))
    if recorded.movement_due and entry.event not in (ev.BoltHeld, ev.BoltMoved):
        return recorded
    return replace(
        recorded,
        ahead=tuple(b for b in state.ahead if b != entry.bolt),
        deferred=tuple(b for b in state.deferred if b != entry.bolt),
    )


def _introduce_again(state: State) -> State:
    return replace(state, announced=(0, 0))


def _finished(state: State, event: ev.StageFinished) -> State:
    if event.again:
        return replace(state, round=event.round + 1, ahead=(), deferred=())
    return replace(state, stage=event.stage + 1, round=1, ahead=(), deferred=())


def _take_back(state: State, event: ev.EntryTakenBack) -> State:
    gone = next(e for e in state.entries if e.number == event.taken_back)
    entries = tuple(replace(e, valid=False) if e.number == event.taken_back else e for e in state.entries)
    if gone.stage > state.stage:  # a new bolt is being brought up: its way through the passes comes first
        return replace(state, entries=entries)
    same_place = (gone.stage, gone.round) == (state.stage, state.round)
    waits = tuple(w for w in state.waits if w <= gone.stage)  # what is done over is waited for anew
    ahead = tuple(b for b in state.ahead if b != gone.bolt) if same_place else ()
    return replace(
        state,
        entries=entries,
        stage=gone.stage,
        round=gone.round,
        ahead=(gone.bolt, *ahead) if gone.bolt is not None else (),
        deferred=state.deferred if same_place else (),
        waits=waits,
    )


def _doubted(state: State, event: ev.ReadingDoubted) -> State:
    asked_twice = state.pending is not None and not state.pending.reason
    again = 1 if asked_twice or state.misses >= REPAIRING else 0
    pending = Pending(heard=event.heard, other=event.other, utterance=event.utterance)
    return replace(state, pending=pending, misses=state.misses + again)


def _outside(state: State, event: ev.ReadingOutside) -> State:
    return replace(
        state, misses=0, pending=Pending(heard=event.heard, other=None, utterance=event.utterance, reason=event.side)
    )


def _missed(state: State) -> State:
    return replace(state, misses=state.misses + 1)


def _offered(state: State, event: ev.ChoiceOffered) -> State:
    return replace(state, choices=event.choices, choices_from=event.utterance, pending=None)


def _half(state: State, event: ev.ConfirmationDoubted) -> State:
    return replace(state, half=event.heard)


def _reason(state: State, event: ev.ReasonAsked) -> State:
    phrase_in = event.utterance if event.purpose == "release" else ""
    return replace(state, purpose=event.purpose, phrase_in=phrase_in, agreed="", new_reading=None)


def _no_reason(state: State, event: ev.ReasonDoubted) -> State:
    return replace(state, new_reading=event.heard, new_reading_in=event.utterance, misses=state.misses + 1)


def _read_back(state: State, event: ev.NameReadBack) -> State:
    return replace(state, name_heard=event.text, name_how=event.how, name_in=event.utterance)


def _named(state: State, event: ev.NameKept) -> State:
    """A name is part of its stage's record, or belongs to no stage: who tightens, takes over, looks into it, agrees."""
    if event.entry:
        return _record(state, event)
    return replace(
        state,
        name_wanted=tuple(n for n in state.name_wanted if n != event.purpose),
        last_name=(event.purpose, event.text) if event.purpose in CORRECTABLE else ("", ""),
        misses=0,
    )


CORRECTABLE = ("tightens", "takes-over", "competent")
"""Names that are no entry and that a correction takes back: what followed from the others has happened."""


def _name_taken_back(state: State, event: ev.NameTakenBack) -> State:
    return replace(_wants_name(state, event.purpose), last_name=("", ""))


def _name_asked(state: State, event: ev.NameAsked) -> State:
    return replace(state, purpose=event.purpose, name_heard="", name_how="")


def _asked_for(state: State, event: ev.SupervisorAsked) -> State:
    return replace(state, purpose=event.purpose)


def _supervisor_agreed(state: State, event: ev.SupervisorAgreed) -> State:
    return replace(_wants_name(state, "supervisor"), agreed=event.purpose)


def _found(state: State, event: ev.FindingMade) -> State:
    found = Finding(
        number=event.finding,
        stage=event.stage,
        bolt=event.bolt,
        sort=event.sort,
        what=event.what,
        blocks=event.blocks,
        hold=event.hold,
        open=event.blocks,
    )
    return replace(state, findings=(*state.findings, found), misses=0)


def _changed(state: State, event: ev.ChangeTold) -> State:
    """What changed is told of all that failed at this question, or of one trouble."""
    told = next(f for f in state.findings if f.number == event.finding)
    about = [
        f.number
        for f in state.findings
        if f.open and (f.number == told.number or (f.sort == told.sort == "answer" and f.stage == told.stage))
    ]
    found = tuple(
        replace(f, changed=event.text, changed_in=event.utterance) if f.number in about else f for f in state.findings
    )
    after = replace(state, findings=found)
    named = any(f.hold and not state.names_at(f) for f in found if f.number in about)
    return _wants_name(after, "settles") if named else after


def _settled(state: State, event: ev.FindingSettled) -> State:
    return replace(
        _introduce_again(state),
        findings=tuple(replace(f, open=False) if f.number == event.finding else f for f in state.findings),
    )


def _paused(state: State, event: ev.Paused) -> State:
    return _wants_name(state, "takes-over") if event.reason == "hand-over" else state


def _cause_sought(state: State, event: ev.CompetentPersonAsked) -> State:
    return replace(_wants_name(state, "competent"), cause_sought=(event.stage, event.round))


def _wants_name(state: State, purpose: str) -> State:
    return replace(state, name_wanted=(*(n for n in state.name_wanted if n != purpose), purpose))


def _waits(state: State, event: ev.WaitBegun) -> State:
    return replace(state, waits=(*state.waits, event.stage), left_s=event.seconds)


def _time_left(state: State, event: ev.TimeLeft) -> State:
    return replace(state, left_s=event.seconds)


def _worked_again(state: State, event: ev.BoltReplaced | ev.PassesRestarted) -> State:
    """Entries that no longer count, and back to the first stage that has to be worked on again."""
    gone = frozenset(event.taken_back)
    return replace(
        state,
        entries=tuple(replace(e, valid=False) if e.number in gone else e for e in state.entries),
        stage=event.stage,
        round=1,
        ahead=(),
        deferred=(),
        announced=(0, 0),
        introduced=0,
        misses=0,
        waits=tuple(w for w in state.waits if w < event.stage)
        if isinstance(event, ev.PassesRestarted)
        else state.waits,
    )


def _taken_up(state: State, event: ev.BoltTakenUp) -> State:
    return replace(state, ahead=(event.bolt, *(b for b in state.ahead if b != event.bolt)))


def _asked_back(state: State, event: ev.AskedBack) -> State:
    return replace(state, expects=event.expects, asks_of=event.stage)


def _answered_back(state: State, event: ev.AnsweredBack) -> State:
    later = tuple(stage for stage in state.comes_back if stage != event.stage)
    if not event.right and event.stage not in state.asked_back:
        later = (*later, event.stage)
    return replace(state, expects="", misses=0, asked_back=(*state.asked_back, event.stage), comes_back=later)


def _left(state: State) -> State:
    return replace(state, left=True)


def _opened_again(state: State) -> State:
    """Somebody else may continue a joint that was left open on purpose: who tightens is asked again."""
    after = replace(_introduce_again(state), left=False, introduced=0)
    asks = state.left and state.work.asks_who and "takes-over" not in state.name_wanted
    return _wants_name(after, "tightens") if asks else after


def _skipped(state: State, event: ev.BoltSkipped) -> State:
    return replace(
        state,
        skipped=(*state.skipped, (event.stage, event.bolt, event.reason)),
        ahead=tuple(b for b in state.ahead if b != event.bolt),
        deferred=(*(b for b in state.deferred if b != event.bolt), event.bolt),
        misses=0,
    )


def _stepped_back(state: State, event: ev.SteppedBack) -> State:
    return replace(state, ahead=(event.bolt, *(b for b in state.ahead if b != event.bolt)))


def _stepped_on(state: State, event: ev.SteppedOn) -> State:
    return replace(state, ahead=tuple(b for b in state.ahead if b != event.bolt))


def _noted(state: State) -> State:
    return replace(state, notes=state.notes + 1)


def _spoken(state: State, event: ev.PromptSpoken) -> State:
    said = replace(state, last_prompt=event.text, prompt_end=event.end_sample)
    lesson = state.item.lesson if state.item is not None else None
    told = [each for each in (lesson.caution, *lesson.warned) if each and each in event.text] if lesson else []
    if not told:
        return said
    if event.cut_short or event.whole is False:
        return replace(said, cut=(*(each for each in state.cut if each not in told), *told))
    heard = (each for each in told if each not in state.warned)
    return replace(said, warned=(*state.warned, *heard), cut=tuple(each for each in state.cut if each not in told))


def _adjusted(state: State, event: ev.SpeechAdjusted) -> State:
    return replace(state, talk=event.what) if event.what in LEVELS else state


def _closed(state: State) -> State:
    return replace(state, closed=True)


def step(state: State, event: Event) -> State:
    """The state after what this event changes itself; every event is named, also those that change nothing."""
    match event:
        case ev.PromptSpoken():
            return _spoken(state, event)
        case ev.ItemAnnounced():
            return _announced(state, event)
        case (
            ev.QuestionAnswered()
            | ev.BoltSnugged()
            | ev.ReadingAccepted()
            | ev.ReadingKept()
            | ev.ClickedAtSetting()
            | ev.BoltHeld()
            | ev.BoltMoved()
            | ev.MeasurementKept()
            | ev.WaitOver()
            | ev.WaitCutShort()
            | ev.StopReleased()
        ):
            return _record(state, event)
        case ev.StageFinished():
            return _finished(state, event)
        case ev.WorkLaidOut():
            return _laid_out(state, event)
        case ev.EntryTakenBack():
            return _take_back(state, event)
        case ev.ReadingDoubted():
            return _doubted(state, event)
        case ev.ReadingOutside():
            return _outside(state, event)
        case ev.ReadingImpossible() | ev.NotUnderstood() | ev.ReadingTakenBack() | ev.MeasurementRefused():
            return _missed(state)
        case ev.ChoiceOffered():
            return _offered(state, event)
        case ev.ConfirmationDoubted():
            return _half(state, event)
        case ev.ReasonAsked():
            return _reason(state, event)
        case ev.BoltSkipped():
            return _skipped(state, event)
        case ev.SteppedBack():
            return _stepped_back(state, event)
        case ev.SteppedOn():
            return _stepped_on(state, event)
        case ev.NoteKept():
            return _noted(state)
        case ev.SpeechAdjusted():
            return _adjusted(state, event)
        case ev.NameAsked():
            return _name_asked(state, event)
        case ev.NameReadBack():
            return _read_back(state, event)
        case ev.NameKept():
            return _named(state, event)
        case ev.NameTakenBack():
            return _name_taken_back(state, event)
        case ev.SupervisorAsked():
            return _asked_for(state, event)
        case ev.SupervisorAgreed():
            return _supervisor_agreed(state, event)
        case ev.FindingMade():
            return _found(state, event)
        case ev.ChangeTold():
            return _changed(state, event)
        case ev.FindingSettled():
            return _settled(state, event)
        case ev.ReasonDoubted():
            return _no_reason(state, event)
        case ev.Paused():
            return _paused(state, event)
        case ev.CompetentPersonAsked():
            return _cause_sought(state, event)
        case ev.WaitBegun():
            return _waits(state, event)
        case ev.TimeLeft():
            return _time_left(state, event)
        case ev.OffTheRecord():
            return replace(state, off_the_record=True)
        case ev.OnTheRecord():
            return replace(state, off_the_record=False)
        case ev.BoltReplaced() | ev.PassesRestarted():
            return _worked_again(state, event)
        case ev.BoltTakenUp():
            return _taken_up(state, event)
        case ev.AskedBack():
            return _asked_back(state, event)
        case ev.AnsweredBack():
            return _answered_back(state, event)
        case ev.SessionLeft():
            return _left(state)
        case ev.Resumed():
            return _introduce_again(state)
        case ev.SessionResumed():
            return _opened_again(state)
        case ev.SessionClosed():
            return _closed(state)
        case (
            ev.ClockSet()
            | ev.FiguresAsked()
            | ev.FindingDescribed()
            | ev.HelperAsked()
            | ev.NoteAsked()
            | ev.OtherBoltNamed()
            | ev.QuestionRefused()
            | ev.ReasonGiven()
            | ev.ReasonWanted()
            | ev.RetightenAgreed()
            | ev.SessionOpened()
            | ev.SoundLost()
            | ev.Stopped()
            | ev.Told()
            | ev.TroubleFound()
            | ev.UtteranceHeard()
            | ev.WaitGoesOn()
        ):
            return state
        case _:
            assert_never(event)
