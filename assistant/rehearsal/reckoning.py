"""A rehearsal reckoned up: what the simulated technician said against what was recorded. Makes `rehearse --json`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from assistant.events import (
    Event,
    Measured,
    MeasurementKept,
    ReadingAccepted,
    ReadingDoubted,
    ReadingKept,
    SessionClosed,
    UtteranceHeard,
    WorkLaidOut,
)
from assistant.ports import Samples
from assistant.procedure.acceptance import in_unit
from assistant.rehearsal.technician import Said
from assistant.session.manner import Turn

SAME = 1e-3
"""Readings nearer than this are the same number in two units."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoning:
    """Figures of one rehearsal.

    Args:
        complete: the joint was closed.
        bolts: bolts of all groups.
        spoken: readings that the technician spoke, repetitions included.
        accepted: readings recorded.
        at_once: of them, recorded without a question.
        asked: readings and commands that were read back as a question.
        wrong_accepted: readings and measured figures recorded that were not what the technician read off.
        turns: utterances that were answered.
        reply_ms: from the end of speech to the first sound of the reply, one for each turn.
    """

    complete: bool
    bolts: int
    spoken: int
    accepted: int
    at_once: int
    asked: int
    wrong_accepted: int
    turns: int
    reply_ms: tuple[float, ...]

    def document(self, session: str) -> dict[str, Any]:
        """The JSON document of `rehearse --json`."""
        p50, p95 = (round(float(np.percentile(self.reply_ms, q))) if self.reply_ms else None for q in (50, 95))
        return {
            "complete": self.complete,
            "bolts": self.bolts,
            "spoken": self.spoken,
            "accepted": self.accepted,
            "accepted_at_once": self.at_once,
            "asked": self.asked,
            "wrong_accepted": self.wrong_accepted,
            "turns": self.turns,
            "end_to_prompt_ms": {"p50": p50, "p95": p95},
            "session": session,
        }


def reckon(events: Iterable[Event], said: Sequence[Said], turns: Sequence[Turn]) -> Reckoning:
    """Compare a session's events with what the technician said."""
    known = list(events)
    heard = {e.utterance: e for e in known if isinstance(e, UtteranceHeard)}
    recorded = [e for e in known if isinstance(e, (ReadingAccepted, ReadingKept))]
    measured = [e for e in known if isinstance(e, MeasurementKept)]
    work = next((e for e in known if isinstance(e, WorkLaidOut)), None)
    groups = {p.group: len(p.bolts) for p in work.passes} if work is not None else {}
    return Reckoning(
        complete=any(isinstance(e, SessionClosed) for e in known),
        bolts=sum(groups.values()),
        spoken=sum(s.reading is not None for s in said),
        accepted=len(recorded),
        at_once=sum(isinstance(e, ReadingAccepted) and not e.confirmed_by for e in recorded),
        asked=sum(isinstance(e, ReadingDoubted) for e in known),
        wrong_accepted=sum(not _true(e, heard, said) for e in (*recorded, *measured)),
        turns=len(turns),
        reply_ms=tuple(t.reply_ms for t in turns),
    )


def _true(
    recorded: ReadingAccepted | ReadingKept | MeasurementKept, heard: dict[str, UtteranceHeard], said: Sequence[Said]
) -> bool:
    """The technician read off this value, in (one of) the utterance(s) that the record names."""
    names = [recorded.utterance, "" if isinstance(recorded, ReadingKept) else recorded.confirmed_by]
    spoken = [s.reading for name in names if name in heard for s in _during(heard[name], said)]
    if isinstance(recorded, MeasurementKept):
        return any(reading == Measured(recorded.value, recorded.unit) for reading in spoken)
    return any(reading is not None and _same(reading, recorded.achieved) for reading in spoken)


def _during(utterance: UtteranceHeard, said: Sequence[Said]) -> list[Said]:
    return [s for s in said if s.start_sample < utterance.end_sample and s.end_sample > utterance.start_sample]


def _same(one: Measured, two: Measured) -> bool:
    return abs(in_unit(one, two.unit) - float(two.value)) < SAME


def conversation(heard: Sequence[tuple[int, Samples]], prompts: Sequence[tuple[int, Samples]]) -> Samples:
    """The whole conversation as one sound: what the microphone heard with the prompts over it.

    Args:
        heard, prompts: (first sample, int16 sound at 16 000 Hz), in any order.
    """
    pieces = [*heard, *prompts]
    length = max((start + len(sound) for start, sound in pieces), default=0)
    mixed = np.zeros(length, np.int32)
    for start, sound in pieces:
        mixed[start : start + len(sound)] += sound
    return np.clip(mixed, -32768, 32767).astype(np.int16)


__all__ = ["Reckoning", "conversation", "reckon"]
