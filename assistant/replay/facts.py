"""The one reading of a session: its events folded by the very functions that guide it, and which line did what.

Page, record, comparison, review and exit codes are all made from `Facts`; nothing else folds a journal.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any, Generic, TypeVar, cast, overload

from typing_extensions import assert_never

from assistant.events import (
    AnsweredBack,
    BoltSnugged,
    CompetentPersonAsked,
    EntryTakenBack,
    Event,
    HelperAsked,
    Item,
    Measurement,
    MeasurementKept,
    MeasurementRefused,
    NameKept,
    NameTakenBack,
    NoteKept,
    NotUnderstood,
    OtherBoltNamed,
    Pass,
    Question,
    QuestionAnswered,
    QuestionRefused,
    ReadingDoubted,
    ReadingImpossible,
    ReadingOutside,
    SessionOpened,
    SessionResumed,
    SoundLost,
    StopReleased,
    SupervisorAgreed,
    SupervisorAsked,
    TimeLeft,
    UtteranceHeard,
    Wait,
    WaitCutShort,
    WaitOver,
    WorkLaidOut,
)
from assistant.journal.encoding import E_co
from assistant.journal.reading import Entry, Line
from assistant.journal.sessions import PLAYED
from assistant.procedure import standing
from assistant.procedure.evolve import evolve, has_row
from assistant.procedure.standing import Place
from assistant.procedure.state import Entry as Kept
from assistant.procedure.state import Recording, State


# ----------------------------------------------------------------------------------------------------- walking
class Places:
    """The entries of a state by stage and round, kept in step while walking: what the state would look for anew each
    time among all its entries.
    """

    def __init__(self) -> None:
        self._entries: tuple[Kept, ...] = ()
        self._by_place: dict[tuple[int, int], list[Kept]] = {}

    def of(self, state: State, stage: int, round_number: int) -> Sequence[Kept]:
        """The entries of one place, in order, those that were taken back too."""
        if state.entries is not self._entries:
            self._follow(state.entries)
        return self._by_place.get((stage, round_number), ())

    def _follow(self, entries: tuple[Kept, ...]) -> None:
        known = self._entries
        one_more = len(entries) == len(known) + 1 and (not known or entries[-2] is known[-1])
        if not one_more:  # something was taken back: the entries are others
            self._by_place = {}
        for entry in entries[-1:] if one_more else entries:
            self._by_place.setdefault((entry.stage, entry.round), []).append(entry)
        self._entries = entries


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked(State):
    """A state that looks up its entries by place: a long session is walked through in a time that grows with it."""

    places: Places = field(default_factory=Places, compare=False, repr=False)

    def done(self, stage: int, round_number: int) -> frozenset[int | None]:
        """As `State.done`."""
        kinds = self._finishing(stage)
        here = self.places.of(self, stage, round_number)
        return frozenset(e.bolt for e in here if e.valid and (kinds is None or e.event in kinds))

    def entry_of(self, bolt: int | None) -> Kept | None:
        """As `State.entry_of`."""
        here = self.places.of(self, self.stage, self.round)
        return next((e for e in reversed(here) if e.valid and e.bolt == bolt), None)


@dataclass(frozen=True)  # no slots: with them `Step(...)` fails in Python 3.11
class StepOf(Generic[E_co]):
    """One event and what it changed.

    Args:
        number: 1.. in the order of the lines; the line number where the journal is whole.
        entry: the line of the journal.
        fits: the event has its place after what came before it; where not (foreign or damaged records only) it
            changes nothing.
    """

    number: int
    entry: Line[E_co]
    before: State
    after: State
    fits: bool = True

    @property
    def event(self) -> E_co:
        """The event of the line."""
        return self.entry.event

    @property
    def utc(self) -> datetime:
        """When the line was written."""
        return self.entry.utc


Step = StepOf[Event]
"""A step of a session."""
A = TypeVar("A", bound=Event)
B = TypeVar("B", bound=Event)


class DueBolt:
    """The bolt that is due in a state, remembered while nothing that decides it has changed."""

    def __init__(self) -> None:
        self.places = Places()
        self._key: object = None
        self._bolt: int | None = None

    def of(self, state: State) -> int | None:
        """The bolt, as `State.bolt` has it, or None; also where a foreign record leaves no sensible answer."""
        key = (id(state.entries), state.stage, state.round, state.ahead, state.deferred, id(state.work))
        if key != self._key:
            self._key = key
            self._bolt = self._due(state)
            self._held = (state.entries, state.work)  # kept alive, so that no other object takes their identity
        return self._bolt

    def _due(self, state: State) -> int | None:
        item = pass_of(state)
        if item is None:
            return None
        if state.ahead:
            return state.ahead[0]
        here = self.places.of(state, state.stage, state.round)
        done = {e.bolt for e in here if e.valid and state.finishes(e)}
        rest = [bolt for bolt in item.bolts if bolt not in done]
        return next((b for b in rest if b not in state.deferred), rest[0] if rest else None)


def pass_of(state: State) -> Pass | None:
    """The pass being worked on; None while anything else is due, also past either end of a foreign record's work."""
    return state.current_pass if 1 <= state.stage <= len(state.work.stages) else None


def walk(lines: Iterable[Entry]) -> tuple[Step, ...]:
    """Every step of a session. Never raises: events that do not fit what came before them change nothing."""
    steps: list[Step] = []
    state: State = Walked()
    for number, line in enumerate(lines, start=1):
        try:
            after, fits = evolve(state, line.event), has_row(state, line.event)
        except Exception:  # whatever the fold raises over a foreign journal is only marked
            after, fits = state, False
        if after.entries is not state.entries and len(after.entries) > len(state.entries):
            fits = fits and _in_the_work(after, after.entries[-1], number_of=len(after.entries))
        steps.append(Step(number, line, state, after, fits))
        state = after
    return tuple(steps)


def _in_the_work(state: State, entry: Kept, *, number_of: int) -> bool:
    """Whether an entry records something that was laid out, under its own number."""
    item = standing.item_of(state, entry.stage)
    if entry.number != number_of or item is None:
        return False
    if isinstance(item, Pass):
        return entry.bolt in item.bolts and entry.event in (*standing.TORQUES, *standing.MOVEMENTS, BoltSnugged)
    match item:
        case Question():
            return entry.event in (QuestionAnswered, StopReleased, NameKept)
        case Measurement():
            return entry.event in (MeasurementKept, NameKept)
        case Wait():
            return entry.event in (WaitOver, WaitCutShort)
        case _:
            assert_never(item)


# ------------------------------------------------------------------------------------------------------ what it shows
@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """One stretch of work without a break: from when to when, with which listeners and voice."""

    start: datetime
    end: datetime
    listeners: tuple[str, ...]
    speaker: str
    product: str


@dataclass(frozen=True)
class Facts:
    """A session read once.

    Args:
        steps: every line, with the state before and after it.
    """

    steps: tuple[Step, ...]

    @property
    def state(self) -> State:
        """The last state: the one that the guide would go on from."""
        return self.steps[-1].after if self.steps else State()

    @property
    def items(self) -> tuple[Item, ...]:
        """What all stages hold, in order."""
        return self.state.stages

    @property
    def work(self) -> WorkLaidOut | None:
        """As laid out in the journal; None where nothing was."""
        return self.state.work if self.state.work.stages else None

    @cached_property
    def recorded_by(self) -> tuple[StepOf[Recording], ...]:
        """For each entry of the state the step that recorded it."""
        made = (step for step in self.steps if len(step.after.entries) > len(step.before.entries))
        return tuple(cast("StepOf[Recording]", step) for step in made)

    @cached_property
    def counts(self) -> tuple[bool, ...]:
        """For each entry of the state whether it counts."""
        return standing.counting(self.state)

    @cached_property
    def taken_by(self) -> dict[int, Step]:
        """Place of an entry among the state's -> the step that took it back."""
        found: dict[int, Step] = {}
        for step in self.steps:
            before, after = step.before.entries, step.after.entries
            if before is not after and len(before) == len(after):
                for at, (old, new) in enumerate(zip(before, after, strict=True)):
                    if old.valid and not new.valid:
                        found[at] = step
        return found

    @cached_property
    def names_taken_back(self) -> dict[int, Step]:
        """Number of the step that kept a name that is no entry -> the step that took it back."""
        found: dict[int, Step] = {}
        kept: list[StepOf[NameKept]] = []
        for step in self.each(NameKept, NameTakenBack):
            event = step.event
            if isinstance(event, NameKept):
                if not event.entry:
                    kept.append(cast("StepOf[NameKept]", step))
            else:
                same = [s for s in kept if (s.event.purpose, s.event.text) == (event.purpose, event.text)]
                if same and same[-1].number not in found:
                    found[same[-1].number] = step
        return found

    @cached_property
    def at_place(self) -> dict[Place, tuple[int, ...]]:
        """Place -> entries of the state there (by their place among all), in order."""
        found: dict[Place, list[int]] = {}
        for at, entry in enumerate(self.state.entries):
            found.setdefault((entry.stage, entry.round, entry.bolt), []).append(at)
        return {place: tuple(entries) for place, entries in found.items()}

    @cached_property
    def due_at(self) -> dict[int, Place]:
        """Number of a step -> what was due before it, for every step that is about what is due."""
        due = DueBolt()
        return {
            step.number: (step.before.stage, step.before.round, due.of(step.before))
            for step in self.steps
            if isinstance(step.event, _AboutDue)
        }

    @cached_property
    def heard(self) -> dict[str, UtteranceHeard]:
        """Name of an utterance -> what was heard in it; the first, where a foreign record has several."""
        found: dict[str, UtteranceHeard] = {}
        for step in self.steps:
            if isinstance(step.event, UtteranceHeard):
                found.setdefault(step.event.utterance, step.event)
        return found

    def typed(self, utterance: str) -> bool:
        """Whether an answer was typed; one that nobody heard counts as typed.

        Earlier versions kept no listeners' texts of names and notes that were spoken off the record: those are not
        called typed.
        """
        heard = self.heard.get(utterance)
        return heard is not None and (heard.typed or (heard.nobody_heard and utterance not in self._off_the_record))

    @cached_property
    def _off_the_record(self) -> frozenset[str]:
        said = (step for step in self.steps if step.before.off_the_record)
        return frozenset(step.event.utterance for step in said if isinstance(step.event, UtteranceHeard))

    @cached_property
    def misfits(self) -> tuple[Step, ...]:
        """Lines that do not fit what came before them."""
        return tuple(step for step in self.steps if not step.fits)

    @cached_property
    def opened(self) -> SessionOpened | None:
        """How the session began."""
        return next((step.event for step in self.steps if isinstance(step.event, SessionOpened)), None)

    @property
    def played(self) -> str:
        """'rehearsal' or 'practice' where nothing was tightened; '' for work at a joint."""
        played = self.opened.settings.get(PLAYED, "") if self.opened is not None else ""
        return played if isinstance(played, str) else ""

    @overload
    def each(self, event: type[A], /) -> tuple[StepOf[A], ...]: ...

    @overload
    def each(self, event: type[A], other: type[B], /) -> tuple[StepOf[A | B], ...]: ...

    def each(self, *events: type[Any]) -> tuple[StepOf[Any], ...]:
        """The steps of one class of event, or of two, that fit."""
        return tuple(step for step in self.steps if step.fits and isinstance(step.event, events))

    def first(self, event: type[A]) -> StepOf[A] | None:
        """The first step of a class of event that fits."""
        return next(iter(self.each(event)), None)

    @cached_property
    def sittings(self) -> tuple[Sitting, ...]:
        """Stretches of work, in order. What is noted on opening a session again belongs to the new one."""
        return tuple(_sittings(self.steps))


_AboutDue = (
    AnsweredBack
    | CompetentPersonAsked
    | EntryTakenBack
    | HelperAsked
    | MeasurementRefused
    | NotUnderstood
    | NoteKept
    | OtherBoltNamed
    | QuestionRefused
    | ReadingDoubted
    | ReadingImpossible
    | ReadingOutside
    | SoundLost
    | SupervisorAgreed
    | SupervisorAsked
)


def _sittings(steps: Sequence[Step]) -> Iterator[Sitting]:
    begun: SessionOpened | SessionResumed | None = None
    start = end = None
    for step in steps:
        event: Event = step.event
        if isinstance(event, SessionOpened | SessionResumed):
            if start is not None and end is not None:
                yield _sitting(begun, start, end)
            begun, start, end = event, step.utc, step.utc
        start = start or step.utc
        if not isinstance(event, TimeLeft) or end is None:
            end = step.utc
    if start is not None and end is not None:
        yield _sitting(begun, start, end)


def _sitting(begun: SessionOpened | SessionResumed | None, start: datetime, end: datetime) -> Sitting:
    if begun is None:
        return Sitting(start=start, end=end, listeners=(), speaker="", product="")
    return Sitting(start=start, end=end, listeners=begun.listeners, speaker=begun.speaker, product=begun.product)


def read_facts(lines: Iterable[Entry]) -> Facts:
    """Read a session's lines once. Never raises for what stands in them."""
    return Facts(walk(lines))
