"""What a lead should look at first: gravest first, each with how it ended, and the moment to hear it at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from assistant.events import (
    SAMPLE_RATE_HZ,
    Wait,
    bolt_in,
)
from assistant.replay.attention_words import Later, competent, item_of_step
from assistant.replay.facts import Facts, Step
from assistant.replay.moments import Moment, narrow
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_open import open_work
from assistant.replay.titles import length_words, stage_title

GRADES = ("act", "check", "know")
"""Something is open or out of its window; something to hear and judge; something to know."""
LONG_GAP_S = 300
"""A pause between two moments that is worth knowing of. Our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing to look at.

    Args:
        grade: one of GRADES.
        kind: the heading it stands under.
        text: one or two sentences.
        moment: place of its moment among all; None where there is none (what never happened).
        bolt: the bolt it is about.
        where: the pass or question it happened in.
    """

    grade: str
    kind: str
    text: str
    moment: int | None = None
    bolt: int | None = None
    where: str = ""


HEADINGS = {
    "open": "Not done",
    "kept": "Kept outside the window",
    "skipped": "Skipped and still open",
    "person": "A competent person was asked for",
    "cut short": "Waits cut short",
    "helper": "Help was needed",
    "later": "Skipped, and done at the end of the pass",
    "done over": "Bolts replaced, passes done over",
    "rounds": "More than two rounds of tap and re-torque",
    "measured": "Measured outside the limits, refused",
    "agreed": "Supervisor agreed",
    "moved": "Nuts that moved",
    "outside": "Outside the window, put right",
    "corrected": "Corrected",
    "asked": "Asked before it was recorded",
    "unsure": "Recorded, but heard least surely",
    "refused": "Refused",
    "not passed": "Hold points and checks not passed at first",
    "taught": "For the apprentice to look at again",
    "over to": "Handed over",
    "note": "Notes",
    "sound": "Sound missing or lost",
    "broken off": "Broken off and continued",
    "halt": "Stops and pauses",
    "gap": "Long gaps",
}
"""Kinds of item in the order in which they are shown, with their headings."""
GRADE_OF = {
    **dict.fromkeys(("open", "kept", "skipped", "person", "cut short", "helper"), "act"),
    **dict.fromkeys(("done over", "rounds", "measured", "agreed"), "check"),
    **dict.fromkeys(("later", "moved", "outside", "corrected", "asked", "unsure", "refused", "not passed"), "check"),
    **dict.fromkeys(("taught", "over to", "note", "sound", "broken off", "halt", "gap"), "know"),
}


def attention(facts: Facts, record: JointRecord, found: Sequence[Moment], place_of: Mapping[int, int]) -> list[Item]:
    """Everything out of the ordinary, gravest first, each kind in order of time.

    Args:
        record: of the same session; what is to be decided stands in it and is not repeated here.
        found: the conversation; long gaps are marked in it.
        place_of: line -> place of its moment.
    """
    items = [_item("open", f"{text}.") for text in ([] if record.session.closed_utc else open_work(record))]
    later = Later(facts.steps, record)
    for step in facts.steps:
        made = item_of_step(step, later) if step.fits else None
        if made is not None:
            kind, text = made
            bolt = bolt_in(step.event)
            items.append(_item(kind, text, moment=place_of.get(_heard_at(step, kind, record)), bolt=bolt))
    items += _moved(record, place_of)
    items += _rounds(record, place_of)
    items += _taught(record, place_of)
    items += _unsure(found)
    items += _gaps(found, facts.items)
    order = list(HEADINGS)
    items = [
        replace(item, where=stage_title(facts.state, found[item.moment].stage, found[item.moment].round))
        if item.moment is not None
        else item
        for item in items
    ]
    return sorted(items, key=lambda item: (order.index(item.kind), -1 if item.moment is None else item.moment))


def _heard_at(step: Step, kind: str, record: JointRecord) -> int:
    """The line to hear it at: of a competent person the name that was spoken."""
    who = competent(record, step.number) if kind == "person" else None
    return who.line if who is not None else step.number


def _item(kind: str, text: str, *, moment: int | None = None, bolt: int | None = None) -> Item:
    return Item(grade=GRADE_OF[kind], kind=kind, text=text, moment=moment, bolt=bolt)


def _listed(bolts: Sequence[int], most: int = 12) -> str:
    shown = ", ".join(map(str, bolts[:most]))
    return f"{shown} and {len(bolts) - most} more" if len(bolts) > most else shown


def _moved(record: JointRecord, place_of: Mapping[int, int]) -> list[Item]:
    """One item for each round in which nuts moved."""
    items = []
    for each in record.passes:
        if each.moved:
            which = f"bolt {each.moved[0]}" if len(each.moved) == 1 else f"bolts {_listed(each.moved)}"
            lines = [e.line for b in each.bolts for e in b.entries if e.kind == "moved" and e.standing == "counts"]
            text = f"Round {each.round}: the nut{'s' if len(each.moved) > 1 else ''} of {which} moved."
            items.append(_item("moved", text, moment=place_of.get(min(lines))))
    return items


ROUNDS_USUAL = 2
"""Rounds of tap and re-torque that nobody wonders at. Common practice, no source."""


def _rounds(record: JointRecord, place_of: Mapping[int, int]) -> list[Item]:
    """Seats that took more than two rounds."""
    last = {each.stage: each for each in record.passes if each.kind == "seat" and each.first_utc is not None}
    items = []
    for each in last.values():
        if each.round > ROUNDS_USUAL:
            first = min(e.line for b in each.bolts for e in b.entries)
            text = f"{each.group}: {each.round} rounds of tap and re-torque."
            items.append(_item("rounds", text, moment=place_of.get(first)))
    return items


def _taught(record: JointRecord, place_of: Mapping[int, int]) -> list[Item]:
    """What an apprentice should look at again."""
    return [
        _item("taught", f"{each.text[0].upper()}{each.text[1:]}.", moment=place_of.get(each.line), bolt=each.bolt)
        for each in record.look_again
        if each.text
    ]


def _unsure(found: Sequence[Moment]) -> list[Item]:
    items = []
    for place, moment in enumerate(found):
        heard = moment.heard
        if "unsure" not in moment.marks or heard is None:
            continue
        best = heard.alternatives[0]
        at = f"Bolt {moment.bolt}: " if moment.bolt else ""
        sure = "only just sure enough to be recorded without a question" if narrow(heard) else "heard surely"
        others = "" if heard.agreed else ", though the two listeners differed"
        text = f"{at}“{best.text}”, {sure}{others}."
        items.append(_item("unsure", text, moment=place, bolt=moment.bolt))
    return items


def _gaps(found: Sequence[Moment], items_of_work: Sequence[object]) -> list[Item]:
    """Long pauses, by the wall clock or by the count of samples, whichever is longer; marks the moment after."""
    items = []
    for place in range(1, len(found)):
        before, after = found[place - 1], found[place]
        if any("session resumed" in words for words in after.outcomes):
            continue  # the time between two sittings is told as such
        if 1 <= after.stage <= len(items_of_work) and isinstance(items_of_work[after.stage - 1], Wait):
            continue  # a planned wait
        counted = (after.sample - before.end_sample) / SAMPLE_RATE_HZ
        gap_s = max(counted, (after.utc - before.utc).total_seconds())
        if gap_s >= LONG_GAP_S:
            after.marks.add("gap")
            text = f"{length_words(gap_s)} without a word before this."
            items.append(_item("gap", text, moment=place, bolt=after.bolt))
    return items
