"""What happened in a session, as frozen records in our own words: no pint, clock or path inside.

The journal adds sequence, UTC time and chain hash. An event is never deleted or edited: a correction is a new event
that names the one it takes back. Samples are counted at 16 000 Hz from the session's start.
"""

from __future__ import annotations

import types
from typing import Any

from assistant.events.conversation import (
    PromptSpoken,
    SessionClosed,
    SessionLeft,
    SessionOpened,
    SessionResumed,
    SoundLost,
    UtteranceHeard,
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
from assistant.events.work import (
    BoltHeld,
    BoltMoved,
    BoltSnugged,
    ClickedAtSetting,
    CompetentPersonAsked,
    ItemAnnounced,
    Pass,
    Question,
    QuestionAnswered,
    QuestionRefused,
    ReadingAccepted,
    ReadingKept,
    StageFinished,
    WorkLaidOut,
)

__all__ = [
    "SAMPLE_RATE_HZ",
    "Alternative",
    "BoltHeld",
    "BoltMoved",
    "BoltSkipped",
    "BoltSnugged",
    "ChoiceOffered",
    "ClickedAtSetting",
    "CompetentPersonAsked",
    "ConfirmationDoubted",
    "EntryTakenBack",
    "Event",
    "FiguresAsked",
    "HelperAsked",
    "ItemAnnounced",
    "Measured",
    "NotUnderstood",
    "NoteAsked",
    "NoteKept",
    "OtherBoltNamed",
    "Pass",
    "Paused",
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
    "Resumed",
    "RetightenAgreed",
    "SessionClosed",
    "SessionLeft",
    "SessionOpened",
    "SessionResumed",
    "SoundLost",
    "StageFinished",
    "SteppedBack",
    "SteppedOn",
    "Stopped",
    "Told",
    "UtteranceHeard",
    "WorkLaidOut",
    "event_classes",
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
