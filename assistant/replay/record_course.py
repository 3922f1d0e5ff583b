"""Parts of the joint record about what happens around the bolts: waits, measurements, names, work done over, an
apprentice's questions. Frozen models; the lead's page reads the same.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from assistant.replay.record_work import Number, Part


class Waited(Part):
    """A wait of the work: what was planned, and what came of it."""

    stage: int
    name: str
    phase: str
    planned_s: int
    state: Literal["not begun", "running", "over", "cut short"] = "not begun"
    begun_utc: datetime | None = None
    ended_utc: datetime | None = None
    waited_s: int | None = None
    """From its beginning to its end; where the clock was set, what surely passed."""
    counted_by: Literal["", "running time", "clock", "a person"] = ""
    """Over: by the time that the machine ran; by its clock, over a restart; by a person who was asked, for the clock
    had been set; "" where it is not known (an older record)."""
    left_s: int | None = None
    """Cut short: what was left of it."""
    reason: str = ""
    """Cut short: why, in the words that were heard."""
    line: int | None = None
    utterance: str = ""


COUNTED = {
    "clock": "by the machine's clock, over a restart",
    "a person": "said to be over by a person, for the clock had been set",
}
"""How it is known that a wait is over, where that is not plain."""


class MeasuredFigure(Part):
    """A figure that is no torque, beside its limits."""

    stage: int
    name: str
    phase: str
    ask: str
    quantity: str
    unit: str
    """Of the limits."""
    low: Number | None = None
    high: Number | None = None
    value: Number | None = None
    """As it was said; None while it is open."""
    said_unit: str = ""
    who: str = ""
    """Whoever measured, as the name was transcribed."""
    who_wanted: bool = False
    who_line: int | None = None
    utc: datetime | None = None
    line: int | None = None
    utterance: str = ""
    who_utterance: str = ""
    refused: tuple[str, ...] = ()
    """Figures outside of the limits, with their times; nothing was recorded of them."""
    expected_percent: int | None = None
    """What it lets expect of the preload, in percent of that at assembly; None where nothing is tabled."""


class Named(Part):
    """A name that was asked for and spoken. Names are written as they were heard, and are often misheard."""

    line: int
    utc: datetime
    stage: int
    item: str
    """The stage it belongs to, as pages call it."""
    purpose: str
    """'witness', 'measured', 'tightens', 'takes-over', 'competent', 'settles' or 'supervisor'."""
    role: str = ""
    text: str
    utterance: str = ""
    sure: bool = True
    """False where nobody confirmed the name after it was read back."""
    counts: bool = True
    """False where the answer that it belongs to was taken back."""


class Decision(Part):
    """Something that the work leaves to a lead's judgement; settled by accepting the joint, or by doing it again."""

    kind: Literal[
        "finding",
        "approval",
        "stop",
        "examples",
        "kept",
        "wait",
        "early",
        "pace",
        "typed",
        "one listener",
        "prompts",
        "names",
    ]
    text: str
    line: int | None = None
    """Of journal.jsonl, where it rests on one."""
    utc: datetime | None = None
    group: str = ""
    bolt: int | None = None
    utterance: str = ""


class CautionSaid(Part):
    """A caution at the moment in which it was said, or one of the plan with the moment in which it was due."""

    line: int
    utc: datetime
    text: str
    how: Literal["spoken", "shown", "cut short", "not spoken"]
    """'shown' where prompts were not spoken at all; 'cut short' where the prompt did not sound to its end; 'not spoken'
    where a caution of the plan was due and never sounded to its end, however often it was begun."""


class DoneOver(Part):
    """Work that was done over: a bolt that was replaced, a pass or everything after a disturbed gasket."""

    line: int
    utc: datetime
    kind: Literal["bolt replaced", "pass done over", "gasket disturbed"]
    group: str = ""
    bolt: int | None = None
    since: str = ""
    """The first stage that was worked on again."""
    taken_back: tuple[str, ...] = ()
    """Entries that no longer count, in words."""
    utterance: str = ""


class BackQuestion(Part):
    """A question that an apprentice was asked before a stage, and the answer."""

    line: int
    utc: datetime
    item: str
    question: str
    expects: str
    answer: str = ""
    right: bool | None = None
    """None where no answer came."""
    reason: str = ""
    """Why, in the apprentice's own words; kept, not judged."""
    utterance: str = ""
    reason_utterance: str = ""


class LookAgain(Part):
    """A moment that an apprentice should look at again."""

    line: int
    utc: datetime
    item: str
    bolt: int | None = None
    text: str
    utterance: str = ""


class Agreed(Part):
    """The supervisor's phrase, without which an apprentice skips nothing."""

    line: int
    utc: datetime
    item: str
    bolt: int | None = None
    purpose: str
    """'skip', 'keep' or 'cut-short'."""
    phrase: str
    utterance: str = ""


class RecheckDone(Part):
    """What a re-check found at one bolt group, beside what was expected."""

    group: str
    measured: tuple[str, ...] = ()
    """Temperatures with whoever measured."""
    expected_percent: int | None = None
    rounds: int = 0
    """Rounds that were begun."""
    moved: tuple[tuple[int, ...], ...] = ()
    """For each round the bolts whose nut moved."""
    readings: int = 0
    lowest: str = ""
    highest: str = ""
    """Of the readings, where there are any."""
    finished: bool = False
    begun_utc: datetime | None = None
    ended_utc: datetime | None = None
    words: str = ""
    """All of it in a sentence or two."""
