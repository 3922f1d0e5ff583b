"""One graded remark of a plan or of an answer: to know (note), to watch (caution), to settle before work (stop)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

GRADES = ("note", "caution", "stop")


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark.

    Args:
        grade: one of GRADES.
        name: a few words that stay the same whatever the figures; a stop is released by it.
        text: a sentence or two, with the figures.
        source: where the rule comes from; '' where the sentence is plain arithmetic of the plan.
    """

    grade: str
    name: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A remark of grade stop as a hold point: nothing is tightened until the lead has released it.

    Args:
        name: unique in the plan and stable while the figures change; with several bolt groups it begins with the
            group's name: 'clamp bolts: nut too weak'.
        group: name of the bolt group, or '' for the joint as a whole.
        text, source: as in `Remark`; several remarks of one name are told in one text.
        released_by, reason: who released it beforehand in the joint file, and why; None while it stands.
    """

    name: str
    group: str
    text: str
    source: str
    released_by: str | None = None
    reason: str | None = None

    @property
    def stands(self) -> bool:
        """Whether nobody has released it yet."""
        return self.released_by is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A remark of grade caution, to be told once before work starts; fields as in `Stop`."""

    name: str
    group: str
    text: str
    source: str


def gravest_first(found: Iterable[Remark]) -> tuple[Remark, ...]:
    """The remarks ordered by grade, stops first; the order within a grade stays."""
    return tuple(sorted(found, key=lambda remark: -GRADES.index(remark.grade)))
