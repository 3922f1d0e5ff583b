"""Parts of the joint record about what was done: entries, bolts, passes, questions, happenings. Frozen models.

Figures are as they were said, with their unit beside them; times are UTC; lines are those of the journal.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, PlainSerializer


def _plain(value: Decimal) -> int | float:
    return int(value) if value == value.to_integral_value() else float(value)


Number = Annotated[Decimal, PlainSerializer(_plain, return_type=int | float, when_used="json-unless-none")]
"""A decimal figure as it was said; a plain number in JSON."""


class Part(BaseModel):
    """Base of every part of the record: frozen, and nothing but its fields."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)


class Torque(Part):
    """A torque with its unit; of a pass that `measures` something else an angle or a length."""

    value: Number
    unit: str


Kind = Literal[
    "snug",
    "reading",
    "reading kept",
    "clicked",
    "held",
    "moved",
    "passed",
    "measured",
    "named",
    "waited",
    "wait cut short",
]


How = Literal["", "snug reported", "reading spoken", "reading typed", "clicked at setting", "movement reported"]


class Said(Part):
    """A figure that was said at a bolt and not recorded."""

    line: int
    utc: datetime
    value: Torque
    on_scale: Torque | None = None
    """On the wrench's own scale; None where it is no reading of it."""
    why: Literal["outside", "refused"]
    """'outside' its window, or 'refused' because it cannot be this bolt's."""
    utterance: str = ""


class Entry(Part):
    """One recorded answer. It is never removed; `standing` says whether it still counts."""

    line: int
    """Of journal.jsonl."""
    utc: datetime
    entry: int
    """Number of the entry in the session."""
    kind: Kind
    """'reading' was read off a wrench and spoken; 'clicked' is the report of a click, not a measured value."""
    value: Torque | None = None
    """As said, or for a click the setting."""
    on_scale: Torque | None = None
    """The value on the wrench's own scale."""
    utterance: str = ""
    """Its recording is audio/<utterance>.flac."""
    confirmed_by: str = ""
    """Utterance that confirmed it when it was asked about; '' when it was sure at once."""
    probability: float | None = None
    """That it was heard right, 0 to 1."""
    reason: str = ""
    standing: Literal["counts", "taken back", "replaced"] = "counts"


class Bolt(Part):
    """One bolt in one pass (and round)."""

    bolt: int
    """Number marked at the bolt."""
    position: int
    """1.., its planned place in the order of the pass."""
    turn: int | None = None
    """1.., its place in the order in which the bolts of the pass were really finished; None while it is open."""
    status: Literal["done", "kept outside window", "open"]
    achieved: Torque | None = None
    """As said; None for a click, for snug, and where only movement was reported."""
    on_scale: Torque | None = None
    """The same on the wrench's own scale; for a click the setting."""
    inside_window: bool | None = None
    how: How = ""
    typed: bool = False
    """Typed at a keyboard: nobody spoke it, and there is no recording to hear."""
    movement: Literal["", "held", "moved"] = ""
    """Circular passes: whether the nut moved at full value."""
    asked: int = 0
    """How often the assistant had to ask about this bolt before it recorded."""
    attempts: int = 0
    """How often a torque was reported: readings outside the window that were tightened again, and the last one."""
    remark: str = ""
    said: tuple[Said, ...] = ()
    """Figures that were said here and not recorded."""
    entries: tuple[Entry, ...] = ()


class PassDone(Part):
    """One pass through a bolt group, each round of a circular pass by itself. Torques on the wrench's own scale."""

    stage: int
    group: str
    kind: Literal["snug", "pattern", "circular", "seat"]
    """'seat' is tap and re-torque, round after round, until it holds."""
    phase: str = ""
    """'snug', 'tighten', 'seat', 're-check' ..."""
    measures: Literal["", "angle", "length"] = ""
    """What is read where it is no torque; the figures below are then in its unit."""
    method: str = ""
    """What is done where it is no torque pass: 'further turn', 'turn from snug', 'elongation', 'nuts by hand' ..."""
    after_wait: bool = False
    """The same pass once more, after the settling time."""
    tools: int = 1
    """Like tools that pulled together."""
    tap: str = ""
    """Seat: what was tapped before each round."""
    number: int
    """0 for snug, then 1.. as in the plan."""
    round: int
    target: Torque | None = None
    """What the bolt shall get; after multiplier and adapter the wrench shows `setting`."""
    setting: Torque | None = None
    low: Torque | None = None
    high: Torque | None = None
    clicks: bool = False
    """The wrench clicks at its setting and shows no reading."""
    first_utc: datetime | None = None
    last_utc: datetime | None = None
    moved: tuple[int, ...] = ()
    """Circular passes: bolts whose nut moved in this round."""
    still: bool | None = None
    """Circular passes: the round is finished and no nut moved."""
    bolts: tuple[Bolt, ...]

    @property
    def goes_round(self) -> bool:
        """Whether rounds are repeated until no nut moves."""
        return self.kind in ("circular", "seat")


class Asked(Part):
    """A hold point or check: who may release it, what was said, when."""

    stage: int
    name: str
    phase: str
    """'prepare', 'assemble', 'snug', 'tighten', 'seat', 'restore', 're-check', 'leak watch' or 'close'."""
    hold: bool
    role: str = ""
    person: str = ""
    """Name of the role's holder, where the joint file names one."""
    ask: str
    phrase: str
    """The agreed phrase."""
    passed_utc: datetime | None = None
    line: int | None = None
    utterance: str = ""
    typed: bool = False
    """The phrase was typed, not spoken."""
    refused: tuple[str, ...] = ()
    """Answers that did not pass it, with their times."""
    witness: str = ""
    """Name of whoever released it, as it was transcribed; often misheard."""
    witness_wanted: bool = False
    """A name is asked for here."""
    witness_utc: datetime | None = None
    witness_line: int | None = None
    witness_utterance: str = ""


class Happening(Part):
    """Something out of the ordinary, at its place in the work."""

    line: int
    utc: datetime
    kind: str
    """'kept outside window', 'outside window', 'refused', 'skipped', 'corrected', 'other bolt named', 'note', ..."""
    group: str = ""
    pass_number: int | None = None
    round: int | None = None
    bolt: int | None = None
    text: str
    reason: str = ""
    utterance: str = ""


class Correction(Part):
    """An entry that was taken back or replaced, with what counts instead."""

    line: int
    utc: datetime
    group: str = ""
    pass_number: int | None = None
    round: int | None = None
    bolt: int | None = None
    item: str
    """Name of a question, or the pass."""
    old: str
    new: str
    """'' while nothing has taken its place."""
    old_line: int
    new_line: int | None = None
    how: Literal["taken back", "replaced"]
    utterance: str = ""


class Break(Part):
    """A time in which nothing was guided."""

    from_utc: datetime
    to_utc: datetime | None
    """None when nobody went on."""
    line: int
    reason: str
