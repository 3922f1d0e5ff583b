"""The dialogue as a table: which event may happen in which state, and where it leads.

Theory. The *work* (stages: questions, passes, waits, measurements) is data in `WorkLaidOut`; which item is due follows
from the entries alone (`state.State`). This table holds the *dialogue* around one item: the item is announced and
answered (`guiding`), or the answer has to be cleared up first (`asking`, `off-window`, `figures`, `choosing`,
`helper`), or the person speaks freely (`noting`, `reasoning`, `naming`), or time has to pass (`waiting`), or an
apprentice is asked something first (`asked-back`, `explaining`, `supervisor`), or nothing is guided (`paused`,
`stopped`, `closed`).
Every way out of a side state leads back to `guiding`, where the item is announced anew: what was being cleared up is
dropped and never half-recorded. Guards are in `decide`; the table only says what can follow what. An event without a
row is refused, and refused means that nothing changes. What an event means for what stands around it (`MEANS`) stands
here too: both say something of every event, and a test holds them to it.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from transitions import Machine
from transitions.extensions import GraphMachine

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

STATES = (
    "opening",
    "guiding",
    "asking",
    "off-window",
    "figures",
    "choosing",
    "helper",
    "reasoning",
    "noting",
    "naming",
    "waiting",
    "asked-back",
    "explaining",
    "supervisor",
    "paused",
    "stopped",
    "closed",
)
OPEN = (
    *("guiding", "asking", "off-window", "figures", "choosing", "helper", "reasoning", "noting", "naming", "waiting"),
    *("asked-back", "explaining", "supervisor"),
)
"""States in which a stage is being worked on."""
ANSWERING = ("guiding", "asking", "off-window", "figures", "choosing", "helper")
"""States in which a value or an answer to the current item is taken."""


@dataclass(frozen=True, slots=True)
class Row:
    """`event` in any state of `sources` leads to `target`; target None keeps the state."""

    event: type[Event]
    sources: tuple[str, ...]
    target: str | None


ROWS = (
    Row(WorkLaidOut, ("opening",), "guiding"),
    Row(ItemAnnounced, ("guiding",), None),
    # answers that are recorded
    Row(QuestionAnswered, ANSWERING, "guiding"),
    Row(QuestionRefused, ANSWERING, "guiding"),
    Row(BoltSnugged, ANSWERING, "guiding"),
    Row(ReadingAccepted, ANSWERING, "guiding"),  # sure and inside the window, or confirmed: read back in passing
    Row(ClickedAtSetting, ANSWERING, "guiding"),
    Row(BoltHeld, ANSWERING, "guiding"),
    Row(BoltMoved, ANSWERING, "guiding"),
    Row(ReadingKept, ("reasoning",), "guiding"),
    Row(MeasurementKept, ANSWERING, "guiding"),
    Row(NameKept, ("naming",), "guiding"),
    Row(StageFinished, ("guiding",), None),
    Row(CompetentPersonAsked, ("guiding",), "stopped"),
    # answers that are not
    Row(ReadingDoubted, ANSWERING, "asking"),  # "ninety five?"
    Row(ReadingOutside, ANSWERING, "off-window"),
    Row(ReadingImpossible, ANSWERING, "guiding"),
    Row(MeasurementRefused, ANSWERING, "guiding"),
    Row(OtherBoltNamed, ANSWERING, "guiding"),
    # a no: nothing was recorded
    Row(ReadingTakenBack, ("asking", "off-window", "choosing", "reasoning", "noting", "supervisor"), "guiding"),
    Row(RetightenAgreed, ("off-window", "reasoning"), "guiding"),
    Row(
        ConfirmationDoubted, ("asking", "choosing", "reasoning", "naming"), None
    ),  # a yes that is not sure: said once more it may be
    Row(NotUnderstood, OPEN, None),
    Row(FiguresAsked, ANSWERING, "figures"),
    Row(ChoiceOffered, ANSWERING, "choosing"),
    Row(HelperAsked, ANSWERING, "helper"),
    # repair and detours
    Row(EntryTakenBack, OPEN, "guiding"),
    Row(BoltReplaced, ANSWERING, "guiding"),
    Row(PassesRestarted, ANSWERING, "guiding"),
    Row(BoltTakenUp, ANSWERING, None),
    Row(ReasonAsked, (*ANSWERING, "waiting", "reasoning"), "reasoning"),
    Row(NameAsked, ("guiding", "naming"), "naming"),
    Row(NameReadBack, ("naming",), None),
    Row(NameTakenBack, OPEN, "guiding"),
    Row(BoltSkipped, (*ANSWERING, "reasoning"), "guiding"),
    Row(SteppedBack, ANSWERING, "guiding"),
    Row(SteppedOn, ANSWERING, "guiding"),
    Row(NoteAsked, OPEN, "noting"),
    Row(NoteKept, OPEN, "guiding"),
    Row(NoteKept, ("paused", "stopped"), None),
    Row(Told, (*OPEN, "paused", "stopped"), None),
    # time that has to pass
    Row(WaitBegun, ("guiding",), "waiting"),
    Row(WaitGoesOn, ("guiding", "waiting"), "waiting"),
    Row(WaitOver, ("waiting",), "guiding"),
    Row(WaitCutShort, ("reasoning",), "guiding"),
    # what is wrong, and what was done about it
    Row(FindingMade, OPEN, "guiding"),
    Row(FindingMade, ("paused", "stopped"), None),
    Row(FindingDescribed, ("reasoning",), "guiding"),
    Row(ChangeTold, ("reasoning",), "guiding"),
    Row(FindingSettled, ("guiding",), None),
    Row(ReasonDoubted, ("reasoning",), None),
    Row(StopReleased, ("reasoning",), "guiding"),
    # beside an apprentice
    Row(AskedBack, ("guiding",), "asked-back"),
    Row(AnsweredBack, ("asked-back",), "guiding"),
    Row(ReasonWanted, ("guiding",), "explaining"),
    Row(ReasonGiven, ("explaining",), "guiding"),
    Row(SupervisorAsked, (*ANSWERING, "waiting"), "supervisor"),
    Row(SupervisorAgreed, ("supervisor",), "guiding"),  # the name comes next, then the reason
    # standing still
    Row(Paused, OPEN, "paused"),
    Row(Stopped, (*OPEN, "paused"), "stopped"),
    Row(Resumed, ("paused", "stopped"), "guiding"),
    Row(SessionClosed, ("guiding", "asking"), "closed"),
    Row(SessionLeft, (*OPEN, "paused", "stopped"), None),
    Row(SessionResumed, (*OPEN, "paused", "stopped"), "guiding"),
)

ANYWHERE: frozenset[type[Event]] = frozenset(
    {
        ClockSet,
        OffTheRecord,
        OnTheRecord,
        PromptSpoken,
        SessionOpened,
        SoundLost,
        SpeechAdjusted,
        TimeLeft,
        TroubleFound,
        UtteranceHeard,
    }
)
"""Events that belong to the record, not to the dialogue: allowed in every state, change none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Means:
    """What an event means for what stands around it, in whatever state it happens.

    Args:
        moves_on: the item that is due is announced after it.
        other_item: another item is due after it, so that what was denied about the last one no longer counts.
        read_back: it is read back in passing, so that a bare no just after it contests it; None leaves that as it is.
        lesson: an apprentice looks at it again afterwards (at an answer only when it was wrong).
        answers_clock: it is no longer asked after it whether the time of a wait has passed.
        noticed: False for what is in the record and changes nothing.
    """

    moves_on: bool = False
    other_item: bool = False
    read_back: bool | None = False
    lesson: bool = False
    answers_clock: bool = False
    noticed: bool = True


MEANS: Mapping[type[Event], Means] = {
    WorkLaidOut: Means(moves_on=True),
    ItemAnnounced: Means(read_back=None),
    QuestionAnswered: Means(moves_on=True, other_item=True),
    QuestionRefused: Means(lesson=True),
    BoltSnugged: Means(moves_on=True, other_item=True, read_back=True),
    ReadingAccepted: Means(moves_on=True, other_item=True, read_back=True),
    ClickedAtSetting: Means(moves_on=True, other_item=True, read_back=True),
    BoltHeld: Means(moves_on=True, other_item=True, read_back=True),
    BoltMoved: Means(moves_on=True, other_item=True, read_back=True),
    ReadingKept: Means(moves_on=True, other_item=True, read_back=True),
    MeasurementKept: Means(moves_on=True, other_item=True, read_back=True),
    NameKept: Means(moves_on=True),
    StageFinished: Means(other_item=True, read_back=None),
    CompetentPersonAsked: Means(),
    ReadingDoubted: Means(),
    ReadingOutside: Means(lesson=True),
    ReadingImpossible: Means(lesson=True),
    MeasurementRefused: Means(moves_on=True, lesson=True),
    OtherBoltNamed: Means(lesson=True),
    ReadingTakenBack: Means(moves_on=True),
    RetightenAgreed: Means(moves_on=True),
    ConfirmationDoubted: Means(),
    NotUnderstood: Means(read_back=None),
    FiguresAsked: Means(),
    ChoiceOffered: Means(),
    HelperAsked: Means(),
    EntryTakenBack: Means(moves_on=True, other_item=True, lesson=True),
    BoltReplaced: Means(moves_on=True, other_item=True),
    PassesRestarted: Means(moves_on=True, other_item=True),
    BoltTakenUp: Means(moves_on=True, other_item=True),
    ReasonAsked: Means(),
    NameAsked: Means(read_back=None),
    NameReadBack: Means(),
    NameTakenBack: Means(moves_on=True),
    BoltSkipped: Means(moves_on=True, other_item=True),
    SteppedBack: Means(moves_on=True, other_item=True),
    SteppedOn: Means(moves_on=True, other_item=True),
    NoteAsked: Means(),
    NoteKept: Means(moves_on=True),
    Told: Means(read_back=None),
    WaitBegun: Means(read_back=None),
    WaitGoesOn: Means(answers_clock=True),
    WaitOver: Means(moves_on=True, answers_clock=True),
    WaitCutShort: Means(moves_on=True, answers_clock=True),
    FindingMade: Means(moves_on=True, other_item=True, lesson=True),
    FindingDescribed: Means(moves_on=True),
    ChangeTold: Means(moves_on=True),
    FindingSettled: Means(moves_on=True),
    ReasonDoubted: Means(),
    StopReleased: Means(moves_on=True, other_item=True),
    AskedBack: Means(read_back=None),
    AnsweredBack: Means(moves_on=True, lesson=True),
    ReasonWanted: Means(),
    ReasonGiven: Means(moves_on=True),
    SupervisorAsked: Means(lesson=True),
    SupervisorAgreed: Means(moves_on=True),
    Paused: Means(),
    Stopped: Means(),
    Resumed: Means(moves_on=True),
    SessionClosed: Means(),
    SessionLeft: Means(answers_clock=True),
    SessionResumed: Means(moves_on=True, answers_clock=True),
    ClockSet: Means(noticed=False),
    OffTheRecord: Means(),
    OnTheRecord: Means(),
    PromptSpoken: Means(read_back=None),
    SessionOpened: Means(),
    SoundLost: Means(noticed=False),
    SpeechAdjusted: Means(),
    TimeLeft: Means(read_back=None),
    TroubleFound: Means(noticed=False),
    UtteranceHeard: Means(noticed=False),
}
"""For every event. A clock that was set in a wait may open a question all the same (`evolve`)."""

TRANSITIONS = tuple(
    {"trigger": row.event.kind, "source": source, "dest": row.target or source}
    for row in ROWS
    for source in row.sources
)
_MACHINE = Machine(
    model=None,
    states=list(STATES),
    transitions=[dict(t) for t in TRANSITIONS],
    initial="opening",
    auto_transitions=False,
)


def next_state(state: str, event: type[Event]) -> str | None:
    """State after an event, or None when the table has no such row (the event is refused)."""
    if event in ANYWHERE:
        return state
    return _target(state, event.kind)


@functools.cache  # a long session asks thousands of times for a few hundred answers
def _target(state: str, trigger: str) -> str | None:
    rows = _MACHINE.get_transitions(trigger=trigger, source=state)
    return str(rows[0].dest) if rows else None


class _Drawn:
    """A model for drawing; nothing is ever triggered on it."""


def diagram() -> str:
    """The table as a Mermaid state diagram, drawn by `transitions`; events that keep the state are left out."""
    drawn = _Drawn()
    ids = {name: name.replace("-", "_") for name in STATES}  # Mermaid takes no hyphen in an arrow's end
    GraphMachine(
        model=drawn,
        states=list(ids.values()),
        transitions=[
            {**t, "source": ids[t["source"]], "dest": ids[t["dest"]]} for t in TRANSITIONS if t["source"] != t["dest"]
        ],
        initial="opening",
        auto_transitions=False,
        graph_engine="mermaid",
        title="title: One item and the dialogue around it",
    )
    text = str(drawn.get_graph().source)  # type: ignore[attr-defined]
    for name, shown in ids.items():
        text = text.replace(f'state "{shown}"', f'state "{name}"')
    return text
