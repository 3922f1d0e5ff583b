"""The conversation as moments: what was said, what was heard and how surely, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from assistant.events import Event, PromptSpoken, ReadingAccepted, ReadingOutside, StageFinished, UtteranceHeard
from assistant.journal.audio import NAME
from assistant.replay.facts import DueBolt, Step
from assistant.replay.outcomes import MARKS_OF, outcome
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
_SILENT = {"work-laid-out", "item-announced", "time-left"}  # said in the prompt that follows, or to nobody
MOVES = frozenset({"reading-accepted", "reading-kept", "clicked-at-setting", "bolt-held", "bolt-moved", "bolt-snugged"})
"""Kinds of event that record something of a bolt."""


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
        if event.kind in _SILENT:
            continue
        at = last if any(name in by_name for name in _named(event)) else None
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


def _named(event: Event) -> Iterable[str]:
    """Utterances that an event names. It happened in the last one that was heard: a reading may be confirmed later."""
    return (
        name for key in ("reason_utterance", "confirmed_by", "utterance") if (name := getattr(event, key, "")) != ""
    )


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
        bolt=getattr(event, "bolt", None) or bolt,
        heard=heard,
        outcomes=[sounded(event)] if isinstance(event, PromptSpoken) and sounded(event) else [],
        marks={"not understood"} if heard is not None and heard.decision == "reject" else set(),
    )


def _came_of_it(moment: Moment, step: Step) -> None:
    event = step.entry.event
    words = outcome(event)
    if words and moment.who != "assistant":
        moment.outcomes.append(words if step.fits else f"{words} (does not fit what came before)")
    moment.marks |= MARKS_OF.get(event.kind, frozenset())
    bolt = getattr(event, "bolt", None)
    if isinstance(bolt, int):
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
        answered = any(getattr(event, name, "") for name in ("confirmed_by", "reason_utterance"))
        if event.kind not in MOVES or answered:
            continue
        at = by_name.get(getattr(event, "utterance", ""))
        heard = found[at].heard if at is not None else None
        lifted = isinstance(event, ReadingAccepted) and event.lift > 1
        if at is None or heard is None or (heard.decision != "accept" and not lifted):
            continue  # asked about before it was recorded
        closely = getattr(event, "inside", 0.0) < SURELY_INSIDE if lifted else narrow(heard)
        if closely or not heard.agreed:
            found[at].marks.add("unsure")


def narrow(heard: UtteranceHeard) -> bool:
    """Whether the best reading was accepted, though hardly more probable than it had to be."""
    if not heard.alternatives:
        return False
    best, threshold = heard.alternatives[0].probability, min(1.0, max(0.0, heard.accept_at))
    return best < threshold + NARROW * (1.0 - threshold)
