"""What the stages of the work are: questions, passes, waits, measurements. Frozen data inside `WorkLaidOut`."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from assistant.events.records import Measured

PHASES = (
    "prepare",
    "assemble",
    "snug",
    "tighten",
    "seat",
    "restore",
    "re-check",
    "leak watch",
    "close",
)
"""Phases of the work, in their order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AskBack:
    """A question to an apprentice before the stage begins.

    Args:
        ask: the question.
        answer: the phrase that is right.
        others: answers that are understood and wrong.
        because: said after the answer, right or wrong.
    """

    ask: str
    answer: str
    others: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """What is said about a stage besides its request; each is '' where nothing is to be said.

    Args:
        caution: said to everybody, when the stage begins.
        why: said when somebody asks why, and to an apprentice before the stage.
        goes_wrong: what goes wrong here; said to an apprentice.
        ask_back: asked an apprentice before the stage begins.
        warned: cautions of the plan, each spoken once in a breath of its own before the stage begins.
        called: what the stage is called when it is spoken of, in the language that is spoken; '' for its name.
    """

    caution: str = ""
    why: str = ""
    goes_wrong: str = ""
    ask_back: AskBack | None = None
    called: str = ""
    warned: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something that is asked and passes by a spoken phrase.

    Args:
        phase: one of PHASES.
        phrase: the agreed phrase that passes it.
        hold: a hold point: nothing but the phrase releases it.
        role: who may release it.
        refused: answers that are understood and stop the work ('dry' where anti-seize is due, 'not locked out').
        witness: the name of whoever releases it is asked for and kept.
        reason: whoever releases it also says why; a stop of the plan.
    """

    name: str
    phase: str
    ask: str
    phrase: str
    hold: bool
    role: str = ""
    refused: tuple[str, ...] = ()
    witness: bool = False
    reason: bool = False
    lesson: Lesson = Lesson()

    @property
    def called(self) -> str:
        """What it is called when it is spoken of."""
        return self.lesson.called or self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One visit to every bolt of a group. All figures but `target` are on the wrench's own scale.

    Args:
        kind: "snug", "pattern", "circular" (all round until no nut moves) or "seat" (tap and re-torque until it
            holds).
        phase: one of PHASES.
        number: 0 for snug, then 1.. as in the plan.
        bolts: marked bolt numbers in the order they are visited.
        tools: like tools that pull together; so many bolts of `bolts` in a row are one pull.
        target: what the bolt shall get; None when snugging, as are all other figures.
        setting: what the wrench shall show.
        through: what stands between wrench and bolt, so that the bolt gets another torque than the wrench shows:
            "multiplier", "adapter", "multiplier and adapter"; "" for nothing.
        scales: units that the wrench carries besides the setting's own.
        low, high: accepted window of the reading.
        tool_low, tool_high: what the wrench can show at all.
        clicks: the wrench clicks at its setting and shows no reading.
        unit_words: how the people say the wrench's unit; "" for the usual words.
        measures: what is read where it is no torque: "angle", "length"; "" for a torque. Figures are then in its unit.
        method: what is done where it is no torque pass: "further turn", "turn from snug", "elongation",
            "gap of the direct tension washer", "nuts by hand", "pressure check"; "" for a torque pass.
        last_round: circular and seat: rounds after which a competent person is asked for.
        tap: seat only: what is tapped before each round.
        where: bolt -> how to tell its place ('long bolt, at the thick top').
    """

    group: str
    kind: str
    number: int
    bolts: tuple[int, ...]
    phase: str = "tighten"
    tools: int = 1
    target: Measured | None = None
    setting: Measured | None = None
    through: str = ""
    scales: tuple[str, ...] = ()
    low: Measured | None = None
    high: Measured | None = None
    tool_low: Measured | None = None
    tool_high: Measured | None = None
    clicks: bool = False
    unit_words: str = ""
    measures: str = ""
    method: str = ""
    last_round: int = 1
    tap: str = ""
    where: tuple[tuple[int, str], ...] = ()
    lesson: Lesson = Lesson()

    @property
    def goes_round(self) -> bool:
        """Whether rounds are repeated until no nut moves."""
        return self.kind in ("circular", "seat")

    @property
    def bolt_share(self) -> Decimal:
        """What the bolt gets of what the wrench shows, in the target's unit and the wrench's; 1 without figures."""
        if self.target is None or self.setting is None:
            return Decimal(1)
        return self.target.value / self.setting.value

    def at_bolt(self, reading: Measured) -> Measured | None:
        """What the bolt got, in the target's unit, when the wrench showed this; None without figures.

        Args:
            reading: in the wrench's own unit.

        Raises:
            ValueError: it is in another unit.
        """
        if self.target is None or self.setting is None:
            return None
        if reading.unit != self.setting.unit:
            raise ValueError(f"the wrench shows {self.setting.unit}, not {reading.unit}")
        got = reading.value * self.bolt_share
        return Measured(Decimal(f"{got:.4g}") if got else got, self.target.unit)

    def team(self, bolt: int) -> tuple[int, ...]:
        """The bolts that are pulled together with this one, in order; itself included."""
        place = self.bolts.index(bolt) // self.tools * self.tools
        return self.bolts[place : place + self.tools]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """So much time must pass; the joint may be left meanwhile.

    Args:
        seconds: from the moment it begins.
    """

    name: str
    phase: str
    seconds: int
    lesson: Lesson = Lesson()

    @property
    def called(self) -> str:
        """What it is called when it is spoken of."""
        return self.lesson.called or self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What a measured value lets expect: at `at`, the preload is `percent` of that at assembly."""

    at: Decimal
    percent: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """A figure that is no torque: a temperature, a gap.

    Args:
        quantity: "temperature", "length" or "pressure".
        unit: its unit here: "degC", "degF", "mm", "in" or "bar".
        low, high: what is allowed; outside of it the work does not go on.
        who: the name of whoever measured is asked for and kept.
        expected: what it lets expect of the preload, by rising value.
    """

    name: str
    phase: str
    ask: str
    quantity: str
    unit: str
    low: Decimal | None = None
    high: Decimal | None = None
    who: bool = False
    expected: tuple[Expected, ...] = ()
    lesson: Lesson = Lesson()

    @property
    def called(self) -> str:
        """What it is called when it is spoken of."""
        return self.lesson.called or self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody whose name is known beforehand: from the joint file or the settings.

    Args:
        role: of the joint file; "" for none.
    """

    name: str
    role: str = ""


Item = Question | Pass | Wait | Measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One stage of the work; exactly one of the four is there."""

    question: Question | None = None
    bolts: Pass | None = None
    wait: Wait | None = None
    measurement: Measurement | None = None

    def __post_init__(self) -> None:
        if len([each for each in self._parts if each is not None]) != 1:
            raise ValueError("a stage is exactly one of question, bolts, wait, measurement")

    @property
    def _parts(self) -> tuple[Item | None, ...]:
        return self.question, self.bolts, self.wait, self.measurement

    @property
    def item(self) -> Item:
        """The one that is there."""
        return next(each for each in self._parts if each is not None)


def stage_of(item: Item) -> Stage:
    """The stage that holds this."""
    match item:
        case Question():
            return Stage(question=item)
        case Pass():
            return Stage(bolts=item)
        case Wait():
            return Stage(wait=item)
        case Measurement():
            return Stage(measurement=item)
