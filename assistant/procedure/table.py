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

from assistant import events as ev
from assistant.events import Event

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
    Row(ev.WorkLaidOut, ("opening",), "guiding"),
    Row(ev.ItemAnnounced, ("guiding",), None),
    # answers that are recorded
    Row(ev.QuestionAnswered, ANSWERING, "guiding"),
    Row(ev.QuestionRefused, ANSWERING, "guiding"),
    Row(ev.BoltSnugged, ANSWERING, "guiding"),
    Row(ev.ReadingAccepted, ANSWERING, "guiding"),  # sure and inside the window, or confirmed: read back in passing
    Row(ev.ClickedAtSetting, ANSWERING, "guiding"),
    Row(ev.BoltHeld, ANSWERING, "guiding"),
    Row(ev.BoltMoved, ANSWERING, "guiding"),
    Row(ev.ReadingKept, ("reasoning",), "guiding"),
    Row(ev.MeasurementKept, ANSWERING, "guiding"),
    Row(ev.NameKept, ("naming",), "guiding"),
    Row(ev.StageFinished, ("guiding",), None),
    Row(ev.CompetentPersonAsked, ("guiding",), "stopped"),
    # answers that are not
    Row(ev.ReadingDoubted, ANSWERING, "asking"),  # "ninety five?"
    Row(ev.ReadingOutside, ANSWERING, "off-window"),
    Row(ev.ReadingImpossible, ANSWERING, "guiding"),
    Row(ev.MeasurementRefused, ANSWERING, "guiding"),
    Row(ev.OtherBoltNamed, ANSWERING, "guiding"),
    # a no: nothing was recorded
    Row(ev.ReadingTakenBack, ("asking", "off-window", "choosing", "reasoning", "noting", "supervisor"), "guiding"),
    Row(ev.RetightenAgreed, ("off-window", "reasoning"), "guiding"),
    Row(
        ev.ConfirmationDoubted, ("asking", "choosing", "reasoning", "naming"), None
    ),  # a yes that is not sure: said once more it may be
    Row(ev.NotUnderstood, OPEN, None),
    Row(ev.FiguresAsked, ANSWERING, "figures"),
    Row(ev.ChoiceOffered, ANSWERING, "choosing"),
    Row(ev.HelperAsked, ANSWERING, "helper"),
    # repair and detours
    Row(ev.EntryTakenBack, OPEN, "guiding"),
    Row(ev.BoltReplaced, ANSWERING, "guiding"),
    Row(ev.PassesRestarted, ANSWERING, "guiding"),
    Row(ev.BoltTakenUp, ANSWERING, None),
    Row(ev.ReasonAsked, (*ANSWERING, "waiting", "reasoning"), "reasoning"),
    Row(ev.NameAsked, ("guiding", "naming"), "naming"),
    Row(ev.NameReadBack, ("naming",), None),
    Row(ev.NameTakenBack, OPEN, "guiding"),
    Row(ev.BoltSkipped, (*ANSWERING, "reasoning"), "guiding"),
    Row(ev.SteppedBack, ANSWERING, "guiding"),
    Row(ev.SteppedOn, ANSWERING, "guiding"),
    Row(ev.NoteAsked, OPEN, "noting"),
    Row(ev.NoteKept, OPEN, "guiding"),
    Row(ev.NoteKept, ("paused", "stopped"), None),
    Row(ev.Told, (*OPEN, "paused", "stopped"), None),
    # time that has to pass
    Row(ev.WaitBegun, ("guiding",), "waiting"),
    Row(ev.WaitGoesOn, ("guiding", "waiting"), "waiting"),
    Row(ev.WaitOver, ("waiting",), "guiding"),
    Row(ev.WaitCutShort, ("reasoning",), "guiding"),
    # what is wrong, and what was done about it
    Row(ev.FindingMade, OPEN, "guiding"),
    Row(ev.FindingMade, ("paused", "stopped"), None),
    Row(ev.FindingDescribed, ("reasoning",), "guiding"),
    Row(ev.ChangeTold, ("reasoning",), "guiding"),
    Row(ev.FindingSettled, ("guiding",), None),
    Row(ev.ReasonDoubted, ("reasoning",), None),
    Row(ev.StopReleased, ("reasoning",), "guiding"),
    # beside an apprentice
    Row(ev.AskedBack, ("guiding",), "asked-back"),
    Row(ev.AnsweredBack, ("asked-back",), "guiding"),
    Row(ev.ReasonWanted, ("guiding",), "explaining"),
    Row(ev.ReasonGiven, ("explaining",), "guiding"),
    Row(ev.SupervisorAsked, (*ANSWERING, "waiting"), "supervisor"),
    Row(ev.SupervisorAgreed, ("supervisor",), "guiding"),  # the name comes next, then the reason
    # standing still
    Row(ev.Paused, OPEN, "paused"),
    Row(ev.Stopped, (*OPEN, "paused"), "stopped"),
    Row(ev.Resumed, ("paused", "stopped"), "guiding"),
    Row(ev.SessionClosed, ("guiding", "asking"), "closed"),
    Row(ev.SessionLeft, (*OPEN, "paused", "stopped"), None),
    Row(ev.SessionResumed, (*OPEN, "paused", "stopped"), "guiding"),
)

ANYWHERE: frozenset[type[Event]] = frozenset(
    {
        ev.ClockSet,
        ev.OffTheRecord,
        ev.OnTheRecord,
        ev.PromptSpoken,
        ev.SessionOpened,
        ev.SoundLost,
        ev.SpeechAdjusted,
        ev.TimeLeft,
        ev.TroubleFound,
        ev.UtteranceHeard,
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
    ev.WorkLaidOut: Means(moves_on=True),
    ev.ItemAnnounced: Means(read_back=None),
    ev.QuestionAnswered: Means(moves_on=True, other_item=True),
    ev.QuestionRefused: Means(lesson=True),
    ev.BoltSnugged: Means(moves_on=True, other_item=True, read_back=True),
    ev.ReadingAccepted: Means(moves_on=True, other_item=True, read_back=True),
    ev.ClickedAtSetting: Means(moves_on=True, other_item=True, read_back=True),
    ev.BoltHeld: Means(moves_on=True, other_item=True, read_back=True),
    ev.BoltMoved: Means(moves_on=True, other_item=True, read_back=True),
    ev.ReadingKept: Means(moves_on=True, other_item=True, read_back=True),
    ev.MeasurementKept: Means(moves_on=True, other_item=True, read_back=True),
    ev.NameKept: Means(moves_on=True),
    ev.StageFinished: Means(other_item=True, read_back=None),
    ev.CompetentPersonAsked: Means(),
    ev.ReadingDoubted: Means(),
    ev.ReadingOutside: Means(lesson=True),
    ev.ReadingImpossible: Means(lesson=True),
    ev.MeasurementRefused: Means(moves_on=True, lesson=True),
    ev.OtherBoltNamed: Means(lesson=True),
    ev.ReadingTakenBack: Means(moves_on=True),
    ev.RetightenAgreed: Means(moves_on=True),
    ev.ConfirmationDoubted: Means(),
    ev.NotUnderstood: Means(read_back=None),
    ev.FiguresAsked: Means(),
    ev.ChoiceOffered: Means(),
    ev.HelperAsked: Means(),
    ev.EntryTakenBack: Means(moves_on=True, other_item=True, lesson=True),
    ev.BoltReplaced: Means(moves_on=True, other_item=True),
    ev.PassesRestarted: Means(moves_on=True, other_item=True),
    ev.BoltTakenUp: Means(moves_on=True, other_item=True),
    ev.ReasonAsked: Means(),
    ev.NameAsked: Means(read_back=None),
    ev.NameReadBack: Means(),
    ev.NameTakenBack: Means(moves_on=True),
    ev.BoltSkipped: Means(moves_on=True, other_item=True),
    ev.SteppedBack: Means(moves_on=True, other_item=True),
    ev.SteppedOn: Means(moves_on=True, other_item=True),
    ev.NoteAsked: Means(),
    ev.NoteKept: Means(moves_on=True),
    ev.Told: Means(read_back=None),
    ev.WaitBegun: Means(read_back=None),
    ev.WaitGoesOn: Means(answers_clock=True),
    ev.WaitOver: Means(moves_on=True, answers_clock=True),
    ev.WaitCutShort: Means(moves_on=True, answers_clock=True),
    ev.FindingMade: Means(moves_on=True, other_item=True, lesson=True),
    ev.FindingDescribed: Means(moves_on=True),
    ev.ChangeTold: Means(moves_on=True),
    ev.FindingSettled: Means(moves_on=True),
    ev.ReasonDoubted: Means(),
    ev.StopReleased: Means(moves_on=True, other_item=True),
    ev.AskedBack: Means(read_back=None),
    ev.AnsweredBack: Means(moves_on=True, lesson=True),
    ev.ReasonWanted: Means(),
    ev.ReasonGiven: Means(moves_on=True),
    ev.SupervisorAsked: Means(lesson=True),
    ev.SupervisorAgreed: Means(moves_on=True),
    ev.Paused: Means(),
    ev.Stopped: Means(),
    ev.Resumed: Means(moves_on=True),
    ev.SessionClosed: Means(),
    ev.SessionLeft: Means(answers_clock=True),
    ev.SessionResumed: Means(moves_on=True, answers_clock=True),
    ev.ClockSet: Means(noticed=False),
    ev.OffTheRecord: Means(),
    ev.OnTheRecord: Means(),
    ev.PromptSpoken: Means(read_back=None),
    ev.SessionOpened: Means(),
    ev.SoundLost: Means(noticed=False),
    ev.SpeechAdjusted: Means(),
    ev.TimeLeft: Means(read_back=None),
    ev.TroubleFound: Means(noticed=False),
    ev.UtteranceHeard: Means(noticed=False),
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
