"""The facts of a session that stand at the head of its page: times, sittings, who released what, how much was asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from assistant.events import Event, Measurement, Question, SessionOpened, SessionResumed, Wait, WorkLaidOut
from assistant.journal.sessions import PLAYED
from assistant.procedure.state import State
from assistant.replay.course import Course
from assistant.replay.moments import Moment
from assistant.replay.readings import PassRound
from assistant.replay.steps import DueBolt, Step
from assistant.replay.titles import length_words


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
    """A hold point or check: what was asked, who may release it, the phrase, and the moment it passed in (or None).

    Args:
        wants_name: whoever releases it is asked for a name.
        witness: the name as it was transcribed; '' for none.
        witness_moment: in which it was spoken.
    """

    name: str
    phase: str
    hold: bool
    ask: str
    role: str
    phrase: str
    moment: int | None
    wants_name: bool = False
    witness: str = ""
    witness_moment: int | None = None


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
        how: 'rehearsal' or 'practice' where nothing was tightened; '' for work at a joint.
        apprentice: an apprentice was guided.
        cautions: said once, before all else.
    """

    joint: str
    closed: bool
    standing: str
    sittings: tuple[Sitting, ...]
    releases: tuple[Release, ...]
    counts: tuple[tuple[str, int], ...]
    how: str = ""
    apprentice: bool = False
    cautions: tuple[str, ...] = ()


def head(
    steps: Sequence[Step],
    found: Sequence[Moment],
    place_of: dict[int, int],
    rounds: Sequence[PassRound],
    around: Course,
) -> Head:
    """The facts of a session."""
    state = steps[-1].after if steps else State()
    opened = next((s.entry.event for s in steps if isinstance(s.entry.event, SessionOpened)), None)
    return Head(
        joint=state.work.joint or (opened.joint if opened else ""),
        closed=state.closed,
        standing=_standing(state, rounds),
        sittings=_sittings(steps),
        releases=_releases(steps, state, place_of, around),
        counts=_counts(steps, found),
        how=_how(opened),
        apprentice=state.work.apprentice,
        cautions=state.work.cautions,
    )


def _how(opened: Event | None) -> str:
    how = opened.settings.get(PLAYED, "") if isinstance(opened, SessionOpened) else ""
    return how if isinstance(how, str) else ""


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
    if isinstance(item, Wait):
        left = f", {length_words(state.left_s)} left when last looked at" if state.left_s is not None else ""
        return f"Waiting: {item.name}, {length_words(item.seconds)}{left}."
    if isinstance(item, Measurement):
        return f"Next is the measurement “{item.name}”."
    here = next((r for r in rounds if (r.stage, r.round) == (state.stage, state.round)), None)
    title = here.title if here else ""
    due = DueBolt().of(state)
    return f"Next is {f'bolt {due}' if due is not None else 'the end'} of: {title}."


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


def _releases(steps: Sequence[Step], state: State, place_of: dict[int, int], around: Course) -> tuple[Release, ...]:
    passed: dict[int, int] = {}
    for step in steps:
        event = step.entry.event
        if event.kind == "question-answered":
            passed[getattr(event, "stage", 0)] = place_of.get(step.number, -1)
    standing = {e.stage for e in state.entries if e.valid and e.kind == "question-answered"}
    found = []
    for stage, item in enumerate(state.stages, start=1):
        if isinstance(item, Question):
            witness = around.witness(stage)
            made = Release(
                name=item.name,
                phase=item.phase,
                hold=item.hold,
                ask=item.ask,
                role=item.role,
                phrase=item.phrase,
                moment=passed.get(stage) if stage in standing else None,
                wants_name=item.witness,
                witness=witness.text if witness is not None else "",
                witness_moment=place_of.get(witness.line) if witness is not None else None,
            )
            found.append(made)
    return tuple(found)


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
        ("bolt replaced", "bolts replaced", kinds["bolt-replaced"]),
        ("wait cut short", "waits cut short", kinds["wait-cut-short"]),
        ("note", "notes", kinds["note-kept"]),
    )
    return tuple((one if count == 1 else many, count) for one, many, count in named)
