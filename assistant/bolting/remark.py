"""One graded remark of a plan or of an answer: to know (note), to watch (caution), to settle before work (stop)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from assistant.bolting.units import Quantity, show

GRADES = ("note", "caution", "stop")


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of a remark as it is spoken: a value in a unit of the wording, or the unit alone where value is None."""

    value: Decimal | None
    unit: str


def figure(value: Quantity, unit: str, *, digits: int = 3) -> Figure:
    """A quantity as a spoken figure, rounded to significant digits. It has no sign: the sentence gives the side."""
    return Figure(abs(Decimal(show(value, unit, digits=digits).split()[0])), unit)


def percent(value: float, *, digits: int = 3) -> Figure:
    """A share as a spoken figure."""
    return Figure(Decimal(f"{abs(value):.{digits}g}"), "%")


@dataclass(frozen=True, slots=True)
class Spoken:
    """One short sentence of a remark for the ear; `speech.wording` holds its words.

    Args:
        sentence: which one.
        parts: the figures and names in it, in its own order.
    """

    sentence: str
    parts: tuple[Figure | str, ...] = ()


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark.

    Args:
        grade: one of GRADES.
        name: a few words that stay the same whatever the figures; a stop is released by it.
        text: a sentence or two, with the figures.
        source: where the rule comes from; '' where the sentence is plain arithmetic of the plan.
        parts: the figures and names that the voice says of it.
        sentence: the sentence that the voice says; '' for the one of its name.
    """

    grade: str
    name: str
    text: str
    source: str = ""
    parts: tuple[Figure | str, ...] = ()
    sentence: str = ""

    @property
    def spoken(self) -> Spoken:
        """How the voice says it."""
        return Spoken(self.sentence or self.name, self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A remark of grade stop as a hold point: nothing is tightened until the lead has released it.

    Args:
        name: unique in the plan and stable while the figures change; with several bolt groups it begins with the
            group's name: 'clamp bolts: nut too weak'.
        remark: its name within the group.
        group: name of the bolt group, or '' for the joint as a whole.
        text, source: as in `Remark`; several remarks of one name share one text.
        spoken: what the voice says, a sentence for each remark of the name.
        released_by, reason: who released it beforehand in the joint file, and why; None while it stands.
    """

    name: str
    remark: str
    group: str
    text: str
    source: str
    spoken: tuple[Spoken, ...]
    released_by: str | None = None
    reason: str | None = None

    @property
    def stands(self) -> bool:
        """Whether nobody has released it yet."""
        return self.released_by is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A remark of grade caution, spoken once before the work that it is about; fields as in `Stop`."""

    name: str
    remark: str
    group: str
    text: str
    source: str
    spoken: tuple[Spoken, ...]


def gravest_first(found: Iterable[Remark]) -> tuple[Remark, ...]:
    """The remarks ordered by grade, stops first; the order within a grade stays."""
    return tuple(sorted(found, key=lambda remark: -GRADES.index(remark.grade)))
