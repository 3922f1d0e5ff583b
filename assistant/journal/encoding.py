"""Events to JSON payloads and back, by dataclass introspection, with the steps that lift old records.

An event on disk is `(kind, version, payload)`. A changed field means: next `version` on the class, one step here from
the old payload to the new, and a record of the old version kept as test data. Records themselves are never edited.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Generic, TypeVar

from assistant.errors import BadSession
from assistant.events import Event, EventBase, event_classes
from assistant.journal.upcasts import (
    name_kept_2,
    prompt_spoken_2,
    reading_accepted_2,
    review_signed_2,
    work_laid_out_2,
    work_laid_out_3,
    work_laid_out_4,
    work_laid_out_5,
)
from assistant.journal.values import Codec, Misfit, record_codec

E = TypeVar("E", bound=EventBase)
E_co = TypeVar("E_co", bound=EventBase, covariant=True)
"""What may stand in a journal: the events of a session, or those of a review."""
Payload = dict[str, Any]
Upcast = Callable[[Payload], Payload]  # payload of version n -> payload of version n + 1; must not change its argument

UPCASTS: Mapping[tuple[str, int], Upcast] = MappingProxyType(
    {
        ("name-kept", 1): name_kept_2,
        ("prompt-spoken", 1): prompt_spoken_2,
        ("reading-accepted", 1): reading_accepted_2,
        ("review-signed", 1): review_signed_2,
        ("work-laid-out", 1): work_laid_out_2,
        ("work-laid-out", 2): work_laid_out_3,
        ("work-laid-out", 3): work_laid_out_4,
        ("work-laid-out", 4): work_laid_out_5,
    }
)
"""(kind, version it lifts from) -> step."""

_NEWER = "read it with the version of the assistant that wrote it, or a newer one"
_DAMAGED = "the record was changed after it was written; `assistant verify` says where"


class EventFormat(Generic[E]):
    """All kinds of event that a journal may hold.

    Args:
        classes: kind -> frozen dataclass.
        upcasts: by default `UPCASTS`.

    Raises:
        TypeError: a class has a field that a journal cannot keep, or a version without the steps that lead to it.
    """

    def __init__(
        self,
        classes: Mapping[str, type[E]],
        upcasts: Mapping[tuple[str, int], Upcast] = UPCASTS,
    ) -> None:
        self.classes = dict(classes)
        self._upcasts = upcasts
        self._codecs: dict[str, Codec] = {kind: _codec(kind, cls) for kind, cls in self.classes.items()}
        for kind, cls in self.classes.items():
            missing = [n for n in range(1, cls.version) if (kind, n) not in upcasts]
            if missing:
                raise TypeError(f"{kind} is at version {cls.version} but nothing lifts version {missing[0]}")

    def encode(self, event: E) -> tuple[str, int, Payload]:
        """Kind, version and payload of an event.

        Raises:
            ValueError: a field holds what its type does not allow (our bug; names the field).
            TypeError: the event is of a class that the journal does not know (our bug).
        """
        if self.classes.get(event.kind) is not type(event):
            raise TypeError(f"{type(event).__name__} is not an event that a journal can hold")
        try:
            payload: Payload = self._codecs[event.kind].encode(event)
        except Misfit as misfit:
            raise ValueError(f"{event.kind}{misfit.path} {misfit}") from None
        return event.kind, type(event).version, payload

    def decode(self, kind: str, version: int, payload: object, *, where: str) -> E:
        """The event of a record, lifted to today's version.

        Args:
            kind: as on disk.
            version: as on disk.
            payload: as on disk.
            where: "journal.jsonl line 7", for the message.

        Raises:
            BadSession: unknown kind or version; a field missing, unknown or of the wrong type.
        """
        cls = self.classes.get(kind)
        if cls is None:
            raise BadSession(f"{where}: no event is called {kind[:60]!r}", remedy=_NEWER)
        if not 1 <= version <= cls.version:
            raise BadSession(f"{where}: {kind} has version {version}, known are 1 to {cls.version}", remedy=_NEWER)
        if type(payload) is not dict:
            raise BadSession(f"{where}: {kind}: payload is not an object", remedy=_DAMAGED)
        for step in range(version, cls.version):
            payload = self._lift(kind, step, payload, where=where)
        try:
            event: E = self._codecs[kind].decode(payload)
        except Misfit as misfit:
            raise BadSession(f"{where}: {kind}{misfit.path} {misfit}", remedy=_DAMAGED) from None
        return event

    def _lift(self, kind: str, version: int, payload: Payload, *, where: str) -> Payload:
        try:
            return self._upcasts[kind, version](dict(payload))
        except (LookupError, TypeError, ValueError) as error:  # a step meets a payload that its version never had
            message = f"{where}: {kind} version {version} cannot be lifted ({type(error).__name__}: {error})"
            raise BadSession(message, remedy=_DAMAGED) from None


def _codec(kind: str, cls: type[EventBase]) -> Codec:
    if cls.kind != kind:
        raise TypeError(f"{cls.__name__} is registered as {kind} but calls itself {cls.kind}")
    try:
        return record_codec(cls)
    except TypeError as error:
        raise TypeError(f"{cls.__name__}: {error}") from None


EVENT_FORMAT: EventFormat[Event] = EventFormat(event_classes())
"""What the journal of a session holds."""
