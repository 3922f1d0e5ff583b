"""The facts of a session that stand at the head of its page: times, sittings, who released what, how much was asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from assistant.events import Question, SessionOpened, SessionResumed, WorkLaidOut
from assistant.procedure.state import State
from assistant.replay.moments import Moment
from assistant.replay.readings import PassRound
from assistant.replay.steps import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """One stretch of work without a break: from when to when, with which listeners and voice."""

    start: datetime
    end: datetime
    listeners: tuple[str, ...]
    speaker: str
    product: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """A hold point or check: what was asked, who may release it, the phrase, and the moment it passed in (or None)."""

    name: str
    hold: bool
    ask: str
    role: str
    phrase: str
    moment: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """Facts of a session.

    Args:
        joint: its name, as laid out.
        closed: every item is done and the closing phrase was spoken.
        standing: one sentence about where the joint stands.
        sittings: in order.
        releases: hold points and checks in order.
        counts: name -> how many, for the line in short.
    """

    joint: str
    closed: bool
    standing: str
    sittings: tuple[Sitting, ...]
    releases: tuple[Release, ...]
    counts: tuple[tuple[str, int], ...]


def head(steps: Sequence[Step], found: Sequence[Moment], place_of: dict[int, int], rounds: Sequence[PassRound]) -> Head:
    """The facts of a session."""
    state = steps[-1].after if steps else State()
    opened = next((s.entry.event for s in steps if isinstance(s.entry.event, SessionOpened)), None)
    return Head(
        joint=state.work.joint or (opened.joint if opened else ""),
        closed=state.closed,
        standing=_standing(state, rounds),
        sittings=_sittings(steps),
        releases=_releases(steps, state, place_of),
        counts=_counts(steps, found),
    )


def _standing(state: State, rounds: Sequence[PassRound]) -> str:
    if state.closed:
        return "Every bolt of every pass has its entry, and the joint was closed by its phrase."
    if not state.work.passes:
        return "No work was laid out, or it cannot be read."
    if state.finished or not 1 <= state.stage <= len(state.stages):
        return "Everything is done; the session was not closed."
    item = state.stages[state.stage - 1]
    if isinstance(item, Question):
        return f"Next is {'the hold point' if item.hold else 'the check'} “{item.name}”."
    here = next((r for r in rounds if (r.stage, r.round) == (state.stage, state.round)), None)
    title = here.title if here else ""
    left = [f"bolt {bolt}" for bolt in state.open_bolts[:1]]
    return f"Next is {left[0] if left else 'the end'} of: {title}."


def _sittings(steps: Sequence[Step]) -> tuple[Sitting, ...]:
    found: list[Sitting] = []
    begun: SessionOpened | SessionResumed | None = None
    start = end = None
    for step in steps:
        event = step.entry.event
        if isinstance(event, SessionOpened | SessionResumed):
            found += _sitting(begun, start, end)
            begun, start = event, step.entry.utc
        start = start or step.entry.utc
        end = step.entry.utc
    return (*found, *_sitting(begun, start, end))


def _sitting(
    begun: SessionOpened | SessionResumed | None, start: datetime | None, end: datetime | None
) -> list[Sitting]:
    if start is None or end is None:
        return []
    listeners, speaker, product = (begun.listeners, begun.speaker, begun.product) if begun else ((), "", "")
    return [Sitting(start=start, end=end, listeners=listeners, speaker=speaker, product=product)]


def _releases(steps: Sequence[Step], state: State, place_of: dict[int, int]) -> tuple[Release, ...]:
    passed: dict[int, int] = {}
    for step in steps:
        event = step.entry.event
        if event.kind == "question-answered":
            passed[getattr(event, "stage", 0)] = place_of.get(step.number, -1)
    standing = {e.stage for e in state.entries if e.valid}
    return tuple(
        Release(
            name=item.name,
            hold=item.hold,
            ask=item.ask,
            role=item.role,
            phrase=item.phrase,
            moment=passed.get(stage) if stage in standing else None,
        )
        for stage, item in enumerate(state.stages, start=1)
        if isinstance(item, Question)
    )


def _counts(steps: Sequence[Step], found: Sequence[Moment]) -> tuple[tuple[str, int], ...]:
    kinds = Counter(step.entry.event.kind for step in steps)
    asked = sum(
        step.entry.event.kind == "reading-accepted" and bool(getattr(step.entry.event, "confirmed_by", ""))
        for step in steps
    )
    work = next((s.entry.event for s in steps if isinstance(s.entry.event, WorkLaidOut)), None)
    bolts = sum(len(b) for b in {p.group: set(p.bolts) for p in work.passes}.values()) if work else 0
    named = (
        ("bolt", "bolts", bolts),
        ("utterance", "utterances", sum(moment.who == "heard" for moment in found)),
        ("reading recorded", "readings recorded", kinds["reading-accepted"] + kinds["reading-kept"]),
        ("of them after a question", "of them after a question", asked),
        ("kept outside the window", "kept outside the window", kinds["reading-kept"]),
        ("click recorded", "clicks recorded", kinds["clicked-at-setting"]),
        ("corrected", "corrected", kinds["entry-taken-back"]),
        ("skipped", "skipped", kinds["bolt-skipped"]),
        ("refused", "refused", kinds["reading-impossible"] + kinds["other-bolt-named"]),
        ("nut that moved", "nuts that moved", kinds["bolt-moved"]),
        ("note", "notes", kinds["note-kept"]),
    )
    return tuple((one if count == 1 else many, count) for one, many, count in named)
