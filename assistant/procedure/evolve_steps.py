"""What each event changes in the state. Pure; `evolve` says when."""

from __future__ import annotations

from dataclasses import replace

from typing_extensions import assert_never

from assistant.events import (
    AnsweredBack,
    AskedBack,
    BoltHeld,
    BoltMoved,
    BoltReplaced,
    BoltSkipped,
    BoltSnugged,
    BoltTakenUp,
    ChangeTold,
    ChoiceOffered,
    ClickedAtSetting,
    ClockSet,
    CompetentPersonAsked,
    ConfirmationDoubted,
    EntryTakenBack,
    Event,
    FiguresAsked,
    FindingDescribed,
    FindingMade,
    FindingSettled,
    HelperAsked,
    ItemAnnounced,
    Measured,
    MeasurementKept,
    MeasurementRefused,
    NameAsked,
    NameKept,
    NameReadBack,
    NameTakenBack,
    NoteAsked,
    NoteKept,
    NotUnderstood,
    OffTheRecord,
    OnTheRecord,
    OtherBoltNamed,
    PassesRestarted,
    Paused,
    PromptSpoken,
    QuestionAnswered,
    QuestionRefused,
    ReadingAccepted,
    ReadingDoubted,
    ReadingImpossible,
    ReadingKept,
    ReadingOutside,
    ReadingTakenBack,
    ReasonAsked,
    ReasonDoubted,
    ReasonGiven,
    ReasonWanted,
    Resumed,
    RetightenAgreed,
    SessionClosed,
    SessionLeft,
    SessionOpened,
    SessionResumed,
    SoundLost,
    SpeechAdjusted,
    StageFinished,
    SteppedBack,
    SteppedOn,
    Stopped,
    StopReleased,
    SupervisorAgreed,
    SupervisorAsked,
    TimeLeft,
    Told,
    TroubleFound,
    UtteranceHeard,
    WaitBegun,
    WaitCutShort,
    WaitGoesOn,
    WaitOver,
    WorkLaidOut,
)
from assistant.procedure.state import LEVELS, AtBolt, Entry, Finding, Pending, Recording, State

REPAIRING = 3
"""Failures in a row from which a doubt counts as a failure too: figures were asked for and did not help."""


def _laid_out(state: State, event: WorkLaidOut) -> State:
    return replace(state, work=event, stage=1, round=1, name_wanted=("tightens",) if event.asks_who else ())


def _announced(state: State, event: ItemAnnounced) -> State:
    return replace(state, announced=(event.stage, event.round), introduced=event.stage)


def _record(state: State, event: Recording) -> State:
    reading: Measured | None = None
    if isinstance(event, ReadingAccepted | ReadingKept):
        reading = event.achieved
    elif isinstance(event, MeasurementKept):
        reading = Measured(event.value, event.unit)
    entry = Entry(
        number=event.entry,
        stage=event.stage,
        round=event.round if isinstance(event, AtBolt) else 1,
        bolt=event.bolt if isinstance(event, AtBolt) else None,
        event=type(event),
        reading=reading,
        utterance=event.utterance,
        text=event.text if isinstance(event, NameKept) else "",
    )
    # a bolt that was stepped back to is finished with its new entry; a circular reading still waits for 'moved or not'
    recorded = replace(state, entries=(*state.entries, entry), misses=0)
    if recorded.movement_due and entry.event not in (BoltHeld, BoltMoved):
        return recorded
    return replace(
        recorded,
        ahead=tuple(b for b in state.ahead if b != entry.bolt),
        deferred=tuple(b for b in state.deferred if b != entry.bolt),
    )


def _introduce_again(state: State) -> State:
    return replace(state, announced=(0, 0))


def _finished(state: State, event: StageFinished) -> State:
    if event.again:
        return replace(state, round=event.round + 1, ahead=(), deferred=())
    return replace(state, stage=event.stage + 1, round=1, ahead=(), deferred=())


def _take_back(state: State, event: EntryTakenBack) -> State:
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


def _doubted(state: State, event: ReadingDoubted) -> State:
    asked_twice = state.pending is not None and not state.pending.reason
    again = 1 if asked_twice or state.misses >= REPAIRING else 0
    pending = Pending(heard=event.heard, other=event.other, utterance=event.utterance)
    return replace(state, pending=pending, misses=state.misses + again)


def _outside(state: State, event: ReadingOutside) -> State:
    return replace(
        state, misses=0, pending=Pending(heard=event.heard, other=None, utterance=event.utterance, reason=event.side)
    )


def _missed(state: State) -> State:
    return replace(state, misses=state.misses + 1)


def _offered(state: State, event: ChoiceOffered) -> State:
    return replace(state, choices=event.choices, choices_from=event.utterance, pending=None)


def _half(state: State, event: ConfirmationDoubted) -> State:
    return replace(state, half=event.heard)


def _reason(state: State, event: ReasonAsked) -> State:
    phrase_in = event.utterance if event.purpose == "release" else ""
    return replace(state, purpose=event.purpose, phrase_in=phrase_in, agreed="", new_reading=None)


def _no_reason(state: State, event: ReasonDoubted) -> State:
    return replace(state, new_reading=event.heard, new_reading_in=event.utterance, misses=state.misses + 1)


def _read_back(state: State, event: NameReadBack) -> State:
    return replace(state, name_heard=event.text, name_how=event.how, name_in=event.utterance)


def _named(state: State, event: NameKept) -> State:
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


def _name_taken_back(state: State, event: NameTakenBack) -> State:
    return replace(_wants_name(state, event.purpose), last_name=("", ""))


def _name_asked(state: State, event: NameAsked) -> State:
    return replace(state, purpose=event.purpose, name_heard="", name_how="")


def _asked_for(state: State, event: SupervisorAsked) -> State:
    return replace(state, purpose=event.purpose)


def _supervisor_agreed(state: State, event: SupervisorAgreed) -> State:
    return replace(_wants_name(state, "supervisor"), agreed=event.purpose)


def _found(state: State, event: FindingMade) -> State:
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


def _changed(state: State, event: ChangeTold) -> State:
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


def _settled(state: State, event: FindingSettled) -> State:
    return replace(
        _introduce_again(state),
        findings=tuple(replace(f, open=False) if f.number == event.finding else f for f in state.findings),
    )


def _paused(state: State, event: Paused) -> State:
    return _wants_name(state, "takes-over") if event.reason == "hand-over" else state


def _cause_sought(state: State, event: CompetentPersonAsked) -> State:
    return replace(_wants_name(state, "competent"), cause_sought=(event.stage, event.round))


def _wants_name(state: State, purpose: str) -> State:
    return replace(state, name_wanted=(*(n for n in state.name_wanted if n != purpose), purpose))


def _waits(state: State, event: WaitBegun) -> State:
    return replace(state, waits=(*state.waits, event.stage), left_s=event.seconds)


def _time_left(state: State, event: TimeLeft) -> State:
    return replace(state, left_s=event.seconds)


def _worked_again(state: State, event: BoltReplaced | PassesRestarted) -> State:
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
        waits=tuple(w for w in state.waits if w < event.stage) if isinstance(event, PassesRestarted) else state.waits,
    )


def _taken_up(state: State, event: BoltTakenUp) -> State:
    return replace(state, ahead=(event.bolt, *(b for b in state.ahead if b != event.bolt)))


def _asked_back(state: State, event: AskedBack) -> State:
    return replace(state, expects=event.expects, asks_of=event.stage)


def _answered_back(state: State, event: AnsweredBack) -> State:
    later = tuple(stage for stage in state.comes_back if stage != event.stage)
    if not event.right and event.stage not in state.asked_back:
        later = (*later, event.stage)
    return replace(state, expects="", misses=0, asked_back=(*state.asked_back, event.stage), comes_back=later)


def _left(state: State) -> State:
    return replace(state, left=True)


def _opened_again(state: State) -> State:
    """Left open on purpose, the joint may be gone on with by somebody else: who tightens is asked again."""
    after = replace(_introduce_again(state), left=False, introduced=0)
    asks = state.left and state.work.asks_who and "takes-over" not in state.name_wanted
    return _wants_name(after, "tightens") if asks else after


def _skipped(state: State, event: BoltSkipped) -> State:
    return replace(
        state,
        skipped=(*state.skipped, (event.stage, event.bolt, event.reason)),
        ahead=tuple(b for b in state.ahead if b != event.bolt),
        deferred=(*(b for b in state.deferred if b != event.bolt), event.bolt),
        misses=0,
    )


def _stepped_back(state: State, event: SteppedBack) -> State:
    return replace(state, ahead=(event.bolt, *(b for b in state.ahead if b != event.bolt)))


def _stepped_on(state: State, event: SteppedOn) -> State:
    return replace(state, ahead=tuple(b for b in state.ahead if b != event.bolt))


def _noted(state: State) -> State:
    return replace(state, notes=state.notes + 1)


def _spoken(state: State, event: PromptSpoken) -> State:
    said = replace(state, last_prompt=event.text, prompt_end=event.end_sample)
    lesson = state.item.lesson if state.item is not None else None
    told = [each for each in (lesson.caution, *lesson.warned) if each and each in event.text] if lesson else []
    if not told:
        return said
    if event.cut_short or event.whole is False:
        return replace(said, cut=(*(each for each in state.cut if each not in told), *told))
    heard = (each for each in told if each not in state.warned)
    return replace(said, warned=(*state.warned, *heard), cut=tuple(each for each in state.cut if each not in told))


def _adjusted(state: State, event: SpeechAdjusted) -> State:
    return replace(state, talk=event.what) if event.what in LEVELS else state


def _closed(state: State) -> State:
    return replace(state, closed=True)


def step(state: State, event: Event) -> State:
    """The state after what this event changes itself; every event is named, also those that change nothing."""
    match event:
        case PromptSpoken():
            return _spoken(state, event)
        case ItemAnnounced():
            return _announced(state, event)
        case (
            QuestionAnswered()
            | BoltSnugged()
            | ReadingAccepted()
            | ReadingKept()
            | ClickedAtSetting()
            | BoltHeld()
            | BoltMoved()
            | MeasurementKept()
            | WaitOver()
            | WaitCutShort()
            | StopReleased()
        ):
            return _record(state, event)
        case StageFinished():
            return _finished(state, event)
        case WorkLaidOut():
            return _laid_out(state, event)
        case EntryTakenBack():
            return _take_back(state, event)
        case ReadingDoubted():
            return _doubted(state, event)
        case ReadingOutside():
            return _outside(state, event)
        case ReadingImpossible() | NotUnderstood() | ReadingTakenBack() | MeasurementRefused():
            return _missed(state)
        case ChoiceOffered():
            return _offered(state, event)
        case ConfirmationDoubted():
            return _half(state, event)
        case ReasonAsked():
            return _reason(state, event)
        case BoltSkipped():
            return _skipped(state, event)
        case SteppedBack():
            return _stepped_back(state, event)
        case SteppedOn():
            return _stepped_on(state, event)
        case NoteKept():
            return _noted(state)
        case SpeechAdjusted():
            return _adjusted(state, event)
        case NameAsked():
            return _name_asked(state, event)
        case NameReadBack():
            return _read_back(state, event)
        case NameKept():
            return _named(state, event)
        case NameTakenBack():
            return _name_taken_back(state, event)
        case SupervisorAsked():
            return _asked_for(state, event)
        case SupervisorAgreed():
            return _supervisor_agreed(state, event)
        case FindingMade():
            return _found(state, event)
        case ChangeTold():
            return _changed(state, event)
        case FindingSettled():
            return _settled(state, event)
        case ReasonDoubted():
            return _no_reason(state, event)
        case Paused():
            return _paused(state, event)
        case CompetentPersonAsked():
            return _cause_sought(state, event)
        case WaitBegun():
            return _waits(state, event)
        case TimeLeft():
            return _time_left(state, event)
        case OffTheRecord():
            return replace(state, off_the_record=True)
        case OnTheRecord():
            return replace(state, off_the_record=False)
        case BoltReplaced() | PassesRestarted():
            return _worked_again(state, event)
        case BoltTakenUp():
            return _taken_up(state, event)
        case AskedBack():
            return _asked_back(state, event)
        case AnsweredBack():
            return _answered_back(state, event)
        case SessionLeft():
            return _left(state)
        case Resumed():
            return _introduce_again(state)
        case SessionResumed():
            return _opened_again(state)
        case SessionClosed():
            return _closed(state)
        case (
            ClockSet()
            | FiguresAsked()
            | FindingDescribed()
            | HelperAsked()
            | NoteAsked()
            | OtherBoltNamed()
            | QuestionRefused()
            | ReasonGiven()
            | ReasonWanted()
            | RetightenAgreed()
            | SessionOpened()
            | SoundLost()
            | Stopped()
            | Told()
            | TroubleFound()
            | UtteranceHeard()
            | WaitGoesOn()
        ):
            return state
        case _:
            assert_never(event)
