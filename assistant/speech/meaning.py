"""What words can mean: a value, a command, or a free note. Plain frozen records, hashable, compared by content."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Value:
    """A spoken reading.

    Args:
        number: as said, finite, >= 0.
        unit: a key of `bolting.units.TORQUE_UNITS`, or None when no unit was spoken.
        bolt: the bolt named before the value, or None.
        corrected: the value replaces the one said just before ('correction three ten', 'no, three twenty').
        by_figures: said figure by figure ('three one zero'). How a value was said is no part of what it means: two
            values that differ in nothing else are equal, so that their probabilities add up.
    """

    number: Decimal
    unit: str | None = None
    bolt: int | None = None
    corrected: bool = False
    by_figures: bool = field(default=False, compare=False)


@dataclass(frozen=True, slots=True)
class Command:
    """A spoken command or phrase, by its canonical name (`speech.vocabulary`), with the bolt it names, if any."""

    name: str
    bolt: int | None = None


@dataclass(frozen=True, slots=True)
class Note:
    """'note ...' / 'skip ...' with free speech behind it; the free part is never read as a value."""

    opening: str  # 'note', 'skip', 'because'
    text: str = ""


Meaning = Value | Command | Note
