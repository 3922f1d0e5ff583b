"""The conversation as moments: what was said, what was heard and how surely, and what came of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from assistant.events import (
    Event,
    ItemAnnounced,
    MeasurementKept,
    NameKept,
    PromptSpoken,
    ReadingAccepted,
    ReadingKept,
    ReadingOutside,
    StageFinished,
    StopReleased,
    TimeLeft,
    UtteranceHeard,
    WorkLaidOut,
    bolt_in,
    utterance_in,
)
from assistant.journal.audio import NAME
from assistant.procedure.state import AtBolt
from assistant.replay.facts import DueBolt, Step
from assistant.replay.outcomes import outcome, outcome_of
from assistant.replay.titles import stage_title
from assistant.replay.transcript import sounded

MARKS = (
    "recorded",
    "asked",
    "corrected",
    "outside",
    "skipped",
    "refused",
    "again",
    "unsure",
    "not understood",
    "note",
    "question",
    "wait",
    "taught",
    "halt",
    "sound",
    "gap",
)
"""What a moment may be marked with, for filters; in this order."""
NARROW = 0.25
"""A recorded reading counts as least sure when its probability lies in this lowest part of what was accepted at once:
between the threshold and one. Our own choice."""
SURELY_INSIDE = 0.95
"""One that was taken by its window counts as least sure when the window had less probability than this. Our own
choice."""


@dataclass(slots=True, kw_only=True)
class Moment:
    """One thing said, heard or done.

    Args:
        number: 1.., of its entry among all entries.
        anchor: unique in the session: 'u-0007' for what was heard, else 'e-12'.
        who: 'heard', 'assistant' or 'record'.
        utc: when it was written; aware.
        sample, end_sample: when it sounded, samples at 16 000 Hz from the session's start.
        text: the words; of what was heard, the best reading ('' for none).
        stage, round, bolt: what was due then.
        heard: the whole event of what was heard.
        outcomes: what came of it, as short sentences; may end up empty.
        marks: some of MARKS.
    """

    number: int
    anchor: str
    who: str
    utc: datetime
    sample: int
    end_sample: int
    text: str
    stage: int
    round: int
    bolt: int | None
    heard: UtteranceHeard | None = None
    outcomes: list[str] = field(default_factory=list)
    marks: set[str] = field(default_factory=set)

    @property
    def name(self) -> str:
        """Name of its recording, where it is one that can be ('0007'); else ''."""
        name = self.heard.utterance if self.heard else ""
        return name if NAME.fullmatch(name) else ""


def moments(steps: Sequence[Step]) -> tuple[list[Moment], dict[int, int]]:
    """All moments of a session in order, and for each entry's number the place of its moment among them."""
    found: list[Moment] = []
    place_of: dict[int, int] = {}
    by_name: dict[str, int] = {}
    due, put_right, last = DueBolt(), _PutRight(), 0
    for step in steps:
        event = step.entry.event
        again = put_right.now(step)
        if isinstance(event, WorkLaidOut | ItemAnnounced | TimeLeft):
            continue  # said in the prompt that follows, or to nobody
        at = last if any(name and name in by_name for name in _named(event)) else None
        if isinstance(event, UtteranceHeard | PromptSpoken) or at is None:
            moment = _moment(step, due.of(step.before), by_name)
            if moment is None:
                continue
            at = len(found)
            found.append(moment)
            if moment.heard is not None:
                by_name[moment.heard.utterance] = last = at
        _came_of_it(found[at], step)
        if again:
            found[at].marks.add("again")
        place_of[step.number] = at
    _least_sure(steps, found, by_name)
    return found, place_of


def _named(event: Event) -> Iterator[str]:
    """Utterances that an event names. It happened in the last one that was heard: a reading may be confirmed later."""
    if isinstance(event, ReadingKept | StopReleased):
        yield event.reason_utterance
    if isinstance(event, ReadingAccepted | MeasurementKept | NameKept):
        yield event.confirmed_by
    yield utterance_in(event)


def _moment(step: Step, bolt: int | None, taken: dict[str, int]) -> Moment | None:
    entry, event = step.entry, step.entry.event
    who, text, start, end, anchor, heard = "record", "", entry.sample, entry.sample, f"e-{step.number}", None
    if isinstance(event, UtteranceHeard):
        who, start, end, heard = "heard", event.start_sample, event.end_sample, event
        best = event.alternatives[0] if event.alternatives else None
        text = (best.text or best.command or "") if best is not None else ""
        if NAME.fullmatch(event.utterance) and event.utterance not in taken:
            anchor = f"u-{event.utterance}"
    elif isinstance(event, PromptSpoken):
        who, text, start, end = "assistant", event.text, event.start_sample, event.end_sample
    elif isinstance(event, StageFinished):
        text = stage_title(step.before, event.stage, event.round)
    elif not outcome(event):
        return None
    return Moment(
        number=step.number,
        anchor=anchor,
        who=who,
        utc=entry.utc,
        sample=start,
        end_sample=max(start, end),
        text=text,
        stage=step.before.stage,
        round=step.before.round,
        bolt=bolt_in(event) or bolt,
        heard=heard,
        outcomes=[sounded(event)] if isinstance(event, PromptSpoken) and sounded(event) else [],
        marks={"not understood"} if heard is not None and heard.decision == "reject" else set(),
    )


def _came_of_it(moment: Moment, step: Step) -> None:
    event = step.entry.event
    did = outcome_of(event)
    words = did.words
    if words and moment.who != "assistant":
        moment.outcomes.append(words if step.fits else f"{words} (does not fit what came before)")
    moment.marks |= did.marks
    bolt = bolt_in(event)
    if bolt is not None:
        moment.bolt = bolt


class _PutRight:
    """Bolts whose reading was outside the window and not recorded: their next reading comes from tightening again."""

    def __init__(self) -> None:
        self._outside: set[tuple[int, int, int]] = set()

    def now(self, step: Step) -> bool:
        """Take a step in; whether it records a bolt that was outside its window before."""
        event, state = step.entry.event, step.before
        if isinstance(event, ReadingOutside):
            self._outside.add((state.stage, state.round, event.bolt))
        if not isinstance(event, ReadingAccepted) or (event.stage, event.round, event.bolt) not in self._outside:
            return False
        self._outside.remove((event.stage, event.round, event.bolt))
        return True


def _least_sure(steps: Sequence[Step], found: list[Moment], by_name: dict[str, int]) -> None:
    """Mark readings that were recorded without a question, though narrowly, or though the listeners differed."""
    for step in steps:
        event = step.entry.event
        if not isinstance(event, AtBolt) or (isinstance(event, ReadingKept) and event.reason_utterance):
            continue
        if isinstance(event, ReadingAccepted) and event.confirmed_by:
            continue
        at = by_name.get(event.utterance)
        heard = found[at].heard if at is not None else None
        lifted = event.inside or 0.0 if isinstance(event, ReadingAccepted) and event.lift > 1 else None
        if at is None or heard is None or (heard.decision != "accept" and lifted is None):
            continue  # asked about before it was recorded
        closely = lifted < SURELY_INSIDE if lifted is not None else narrow(heard)
        if closely or not heard.agreed:
            found[at].marks.add("unsure")


def narrow(heard: UtteranceHeard) -> bool:
    """Whether the best reading was accepted, though hardly more probable than it had to be."""
    if not heard.alternatives:
        return False
    best, threshold = heard.alternatives[0].probability, min(1.0, max(0.0, heard.accept_at))
    return best < threshold + NARROW * (1.0 - threshold)
