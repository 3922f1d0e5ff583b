"""A practice: the assistant plays the joint for an apprentice and slips mistakes in; it tells what was caught.

The session is the real one, with an apprentice's explanations and questions. After each request the joint 'answers':
what the wrench reads, whether the nut moved. Now and then something is wrong, and only 'stop' is the right answer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from assistant.events import (
    BoltHeld,
    BoltMoved,
    BoltSnugged,
    ClickedAtSetting,
    Event,
    ItemAnnounced,
    Measured,
    Measurement,
    Pass,
    Paused,
    Question,
    QuestionAnswered,
    ReadingAccepted,
    ReadingKept,
    RetightenAgreed,
    Stopped,
    WaitBegun,
    WorkLaidOut,
)
from assistant.procedure.prompts import YES
from assistant.procedure.state import State
from assistant.speech.wording import catalogue
from assistant.speech.wording.practice import practice_words

SLIPS = ("wrong-unit", "missed-bolt", "dry-torque", "calibration")
"""What is slipped in: a sheet in another unit, the wrench on another bolt, a dry value on coated threads, a calibration
that has ended."""
LOW_SHARE, MOVED_SHARE = 0.12, 0.2
"""How often the wrench reads too low at first, and how often a nut moves in the first round."""
_Recorded = BoltHeld | BoltMoved | BoltSnugged | ClickedAtSetting | QuestionAnswered | ReadingAccepted | ReadingKept


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of a practice.

    Args:
        slipped_in: names of SLIPS in their order; caught, missed: of them.
        misread: (what the wrench read, what was recorded) where they differ.
        stops: stops where nothing was wrong.
    """

    slipped_in: tuple[str, ...]
    caught: tuple[str, ...]
    missed: tuple[str, ...]
    misread: tuple[tuple[Measured, Measured], ...]
    stops: int


@dataclass(slots=True)
class Practice:
    """See the module. Tell it of every batch of events; it answers with what the joint does.

    Args:
        slips: names of SLIPS, each slipped in once.
        seed: the same seed plays the same joint.
        skip_time: called with the seconds of a wait, so that they pass at once.
        language: of what is said.
    """

    slips: tuple[str, ...]
    seed: int
    skip_time: Callable[[int], None]
    language: str = "en"
    _left: list[str] = field(default_factory=list)
    _active: str = ""
    _shown: Measured | None = None
    _caught: list[str] = field(default_factory=list)
    _missed: list[str] = field(default_factory=list)
    _slipped: list[str] = field(default_factory=list)
    _misread: list[tuple[Measured, Measured]] = field(default_factory=list)
    _stops: int = 0
    _asked: int = 0
    _shows: dict[tuple[int, int, int | None], Measured] = field(default_factory=dict)
    _situations: dict[tuple[int, int, int | None], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._left = list(self.slips)
        self._chance = np.random.default_rng(self.seed)

    _chance: np.random.Generator = field(init=False, repr=False)

    @property
    def outcome(self) -> Outcome:
        """What came of it so far."""
        return Outcome(
            slipped_in=tuple(self._slipped),
            caught=tuple(self._caught),
            missed=tuple(self._missed),
            misread=tuple(self._misread),
            stops=self._stops,
        )

    def debrief(self) -> str:
        """Last words."""
        found = self.outcome
        return practice_words(self.language).debrief(
            len(found.caught), len(found.slipped_in), found.missed, len(found.misread), found.stops
        )

    def joint_says(self, state: State, events: Sequence[Event]) -> str:
        """What the joint does after these events, in words; '' when it does nothing.

        Args:
            state: after the events.
            events: just recorded.
        """
        words = practice_words(self.language)
        kinds = {type(event) for event in events}
        said = []
        if WorkLaidOut in kinds:
            said.append(words.opening())
        for event in events:
            self._reckon(event)
        if RetightenAgreed in kinds:
            self._situations.pop((state.stage, state.round, state.bolt), None)
        if kinds & {Stopped, Paused}:
            said.append(self._stopped(kinds))
        for event in events:
            if isinstance(event, WaitBegun):
                self.skip_time(event.seconds)
                said.append(words.time_passes())
        if ItemAnnounced in kinds and state.dialogue == "guiding":
            said.append(self._situation(state))
        return " ".join(part for part in said if part)

    def _reckon(self, event: Event) -> None:
        """Compare what was recorded with what the joint showed; a recorded answer to a slip is a slip missed."""
        if not isinstance(event, _Recorded):
            return
        achieved = event.achieved if isinstance(event, ReadingAccepted | ReadingKept) else None
        if self._active:
            self._missed.append(self._active)
        elif achieved is not None and self._shown is not None and achieved != self._shown:
            self._misread.append((self._shown, achieved))
        self._active, self._shown = "", None

    def _stopped(self, kinds: set[type[Event]]) -> str:
        words = practice_words(self.language)
        if self._active:
            self._caught.append(self._active)
            name, self._active = self._active, ""
            return words.caught(name)
        if Stopped in kinds:
            self._stops += 1
            return words.nothing_wrong()
        return ""

    # --------------------------------------------------------------------------------------------------- situations
    def _situation(self, state: State) -> str:
        """What is seen at the due item, in order or with a slip; after a stop the same again, nothing rolled anew."""
        self._asked += 1
        here = (state.stage, state.round, state.bolt)
        if here not in self._situations:
            self._situations[here] = self._plain(state)
        plain = self._situations[here]
        self._shown = self._shows.get(here)
        if not self._active:
            self._active = self._next_slip(state)
            self._slipped += [self._active] if self._active else []
        if not self._active:
            return plain
        due = state.current_pass
        w, bolt = catalogue(self.language), state.bolt or 0
        others = [b for b in due.bolts if b != bolt] if due is not None else []
        wrong = practice_words(self.language).slip(
            self._active,
            other=w.number(Decimal(int(self._chance.choice(others)))) if others else "",
            unit=w.unit_words("lbf*ft" if _unit(state) != "lbf*ft" else "N*m"),
        )
        return wrong if due is None else f"{wrong} {plain}"

    def _next_slip(self, state: State) -> str:
        """The next slip that fits here; none at the very beginning, and not at each item."""
        due, question = state.current_pass, state.question
        fits = {
            "calibration": question is not None and _about_the_tool(question),
            "wrong-unit": due is not None and due.kind == "pattern" and due.number == 1,
            "missed-bolt": due is not None and due.kind == "pattern" and due.number > 1,
            "dry-torque": due is not None and due.kind == "pattern" and due.number > 1,
        }
        for name in self._left:
            if fits[name] and (name == "calibration" or self._chance.random() < 0.35):
                self._left.remove(name)
                return name
        return ""

    def _plain(self, state: State) -> str:
        words, w = practice_words(self.language), catalogue(self.language)
        match state.item:
            case Question() as question:
                openly = question.refused and not question.hold and question.phrase != YES
                return words.sees(question.phrase) if openly else words.seen()
            case Measurement() as due:
                shown = self._shows[state.stage, state.round, None] = _within(due)
                return words.shows(w.amount(shown.value, shown.unit))
            case Pass() as due if due.kind == "snug":
                return words.snug()
            case Pass() as due if due.goes_round:
                moves = state.round == 1 and due.phase != "re-check" and self._chance.random() < MOVED_SHARE
                return words.nut(moved=moves)
            case Pass() as due if due.clicks:
                return words.clicks()
            case Pass() as due:
                shown = self._shows[state.stage, state.round, state.bolt] = self._reading(due)
                return words.reads(w.amount(shown.value, shown.unit, due.unit_words))
        return ""

    def _reading(self, due: Pass) -> Measured:
        """Near the setting, in whole units; now and then too low."""
        assert due.setting is not None and due.low is not None and due.high is not None
        low, high = int(due.low.value.to_integral_value()) + 1, int(due.high.value.to_integral_value()) - 1
        if due.measures == "length":
            return due.setting
        if self._chance.random() < LOW_SHARE:
            return Measured(Decimal(int(due.low.value) - 2), due.setting.unit)
        if low > high:
            return due.setting
        return Measured(Decimal(int(self._chance.integers(low, high + 1))), due.setting.unit)


def _within(due: Measurement) -> Measured:
    low = float(due.low if due.low is not None else 0)
    high = float(due.high if due.high is not None else low + 100)
    return Measured(Decimal(round(low + 0.8 * (high - low))), due.unit)


def _about_the_tool(question: Question) -> bool:
    return question.name.startswith("label of ") or question.name == "wrench"


def _unit(state: State) -> str:
    setting = state.current_pass.setting if state.current_pass is not None else None
    return setting.unit if setting is not None else ""
