"""What happened in a session, as frozen records in our own words: no pint, clock or path inside.

The journal adds sequence, UTC time and chain hash. An event is never deleted or edited: a correction is a new event
that names the one it takes back. Samples are counted at 16 000 Hz from the session's start.
"""

from __future__ import annotations

import types
from typing import Any

from assistant.events.conversation import (
    ClockSet,
    OffTheRecord,
    OnTheRecord,
    PromptSpoken,
    SessionClosed,
    SessionLeft,
    SessionOpened,
    SessionResumed,
    SoundLost,
    SpeechAdjusted,
    TroubleFound,
    UtteranceHeard,
)
from assistant.events.course import (
    AnsweredBack,
    AskedBack,
    BoltReplaced,
    BoltTakenUp,
    MeasurementKept,
    MeasurementRefused,
    NameAsked,
    NameKept,
    PassesRestarted,
    ReasonGiven,
    ReasonWanted,
    SupervisorAgreed,
    SupervisorAsked,
    TimeLeft,
    WaitBegun,
    WaitCutShort,
    WaitGoesOn,
    WaitOver,
)
from assistant.events.findings import (
    ChangeTold,
    FindingDescribed,
    FindingMade,
    FindingSettled,
    NameReadBack,
    NameTakenBack,
    ReasonDoubted,
    StopReleased,
)
from assistant.events.records import SAMPLE_RATE_HZ, Alternative, Event, Measured
from assistant.events.repair import (
    BoltSkipped,
    ChoiceOffered,
    ConfirmationDoubted,
    EntryTakenBack,
    FiguresAsked,
    HelperAsked,
    NoteAsked,
    NoteKept,
    NotUnderstood,
    OtherBoltNamed,
    Paused,
    ReadingDoubted,
    ReadingImpossible,
    ReadingOutside,
    ReadingTakenBack,
    ReasonAsked,
    Resumed,
    RetightenAgreed,
    SteppedBack,
    SteppedOn,
    Stopped,
    Told,
)
from assistant.events.stages import (
    PHASES,
    AskBack,
    Expected,
    Item,
    Lesson,
    Measurement,
    Pass,
    Person,
    Question,
    Stage,
    Wait,
    stage_of,
)
from assistant.events.work import (
    BoltHeld,
    BoltMoved,
    BoltSnugged,
    ClickedAtSetting,
    CompetentPersonAsked,
    ItemAnnounced,
    QuestionAnswered,
    QuestionRefused,
    ReadingAccepted,
    ReadingKept,
    StageFinished,
    WorkLaidOut,
)

__all__ = [
    "PHASES",
    "SAMPLE_RATE_HZ",
    "Alternative",
    "AnsweredBack",
    "AskBack",
    "AskedBack",
    "BoltHeld",
    "BoltMoved",
    "BoltReplaced",
    "BoltSkipped",
    "BoltSnugged",
    "BoltTakenUp",
    "ChangeTold",
    "ChoiceOffered",
    "ClickedAtSetting",
    "ClockSet",
    "CompetentPersonAsked",
    "ConfirmationDoubted",
    "EntryTakenBack",
    "Event",
    "Expected",
    "FiguresAsked",
    "FindingDescribed",
    "FindingMade",
    "FindingSettled",
    "HelperAsked",
    "Item",
    "ItemAnnounced",
    "Lesson",
    "Measured",
    "Measurement",
    "MeasurementKept",
    "MeasurementRefused",
    "NameAsked",
    "NameKept",
    "NameReadBack",
    "NameTakenBack",
    "NotUnderstood",
    "NoteAsked",
    "NoteKept",
    "OffTheRecord",
    "OnTheRecord",
    "OtherBoltNamed",
    "Pass",
    "PassesRestarted",
    "Paused",
    "Person",
    "PromptSpoken",
    "Question",
    "QuestionAnswered",
    "QuestionRefused",
    "ReadingAccepted",
    "ReadingDoubted",
    "ReadingImpossible",
    "ReadingKept",
    "ReadingOutside",
    "ReadingTakenBack",
    "ReasonAsked",
    "ReasonDoubted",
    "ReasonGiven",
    "ReasonWanted",
    "Resumed",
    "RetightenAgreed",
    "SessionClosed",
    "SessionLeft",
    "SessionOpened",
    "SessionResumed",
    "SoundLost",
    "SpeechAdjusted",
    "Stage",
    "StageFinished",
    "SteppedBack",
    "SteppedOn",
    "StopReleased",
    "Stopped",
    "SupervisorAgreed",
    "SupervisorAsked",
    "TimeLeft",
    "Told",
    "TroubleFound",
    "UtteranceHeard",
    "Wait",
    "WaitBegun",
    "WaitCutShort",
    "WaitGoesOn",
    "WaitOver",
    "WorkLaidOut",
    "event_classes",
    "stage_of",
]


def event_classes() -> types.MappingProxyType[str, type[Event]]:
    """All concrete events by their name on disk.

    Raises:
        TypeError: two classes carry the same name (our bug, found by the tests).
    """
    found: dict[str, type[Event]] = {}
    for thing in _module_items():
        if isinstance(thing, type) and issubclass(thing, Event) and thing is not Event:
            if thing.kind in found:
                raise TypeError(f"two events named {thing.kind}")
            found[thing.kind] = thing
    return types.MappingProxyType(dict(sorted(found.items())))


def _module_items() -> list[Any]:
    # not Event.__subclasses__(): slotted dataclasses leave their unslotted twin there
    return list(globals().values())
