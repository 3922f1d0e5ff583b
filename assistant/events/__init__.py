"""What happened in a session, as frozen records in our own words: no pint, clock or path inside.

The journal adds sequence, UTC time and chain hash. An event is never deleted or edited: a correction is a new event
that names the one it takes back. Samples are counted at 16 000 Hz from the session's start.

Each module ends with the union of its events, and `Event` is the union of those. Code dispatches on the class, with
`match` and `assert_never`, so that the type checker names every place that does not know a new event yet. The `kind` of
an event is its name on disk, for the journal alone.
"""

from __future__ import annotations

import types
from typing import get_args

from assistant.events.conversation import *
from assistant.events.conversation import ConversationEvent
from assistant.events.course import *
from assistant.events.course import CourseEvent
from assistant.events.findings import *
from assistant.events.findings import FindingEvent
from assistant.events.records import *
from assistant.events.repair import *
from assistant.events.repair import RepairEvent
from assistant.events.stages import *
from assistant.events.work import *
from assistant.events.work import WorkEvent

Event = ConversationEvent | CourseEvent | FindingEvent | RepairEvent | WorkEvent
"""Everything that may stand in a session's journal."""


def event_classes() -> types.MappingProxyType[str, type[Event]]:
    """All events of a session by their name on disk.

    Raises:
        TypeError: two classes carry the same name (our bug, found by the tests).
    """
    found: dict[str, type[Event]] = {}
    for cls in get_args(Event):
        if cls.kind in found:
            raise TypeError(f"two events named {cls.kind}")
        found[cls.kind] = cls
    return types.MappingProxyType(dict(sorted(found.items())))
