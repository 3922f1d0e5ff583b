"""What a lead should look at first: gravest first, each with how it ended, and the moment to hear it at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from assistant.events import SAMPLE_RATE_HZ, Measurement, Pass, Question, Wait
from assistant.replay.attention_words import ITEMS, Later
from assistant.replay.course import Course
from assistant.replay.moments import Moment, narrow
from assistant.replay.readings import PassRound
from assistant.replay.steps import Step
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
    "leak": "A leak was seen",
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
    "broken off": "Broken off and gone on with",
    "halt": "Stops and pauses",
    "gap": "Long gaps",
}
"""Kinds of item in the order in which they are shown, with their headings."""
GRADE_OF = {
    **dict.fromkeys(("open", "kept", "skipped", "leak", "person", "cut short", "helper"), "act"),
    **dict.fromkeys(("done over", "rounds", "measured", "agreed"), "check"),
    **dict.fromkeys(("later", "moved", "outside", "corrected", "asked", "unsure", "refused", "not passed"), "check"),
    **dict.fromkeys(("taught", "over to", "note", "sound", "broken off", "halt", "gap"), "know"),
}


def attention(
    steps: Sequence[Step],
    found: Sequence[Moment],
    place_of: dict[int, int],
    rounds: Sequence[PassRound],
    around: Course,
) -> list[Item]:
    """Everything out of the ordinary, gravest first, each kind in order of time."""
    items = _open(steps, rounds)
    later = Later(steps, around)
    for step in steps:
        make = ITEMS.get(step.entry.event.kind)
        made = make(step, later) if make is not None else None
        if made is not None:
            kind, text = made
            bolt = getattr(step.entry.event, "bolt", None)
            items.append(_item(kind, text, moment=place_of.get(_heard_at(step, kind, around)), bolt=bolt))
    items += _moved(rounds, place_of)
    items += _rounds(rounds, place_of)
    items += _taught(around, place_of)
    items += _unsure(found)
    state = steps[-1].after if steps else None
    items += _gaps(found, state.stages if state is not None else ())
    order = list(HEADINGS)
    items = [
        replace(item, where=stage_title(state, found[item.moment].stage, found[item.moment].round))
        if item.moment is not None and state is not None
        else item
        for item in items
    ]
    return sorted(items, key=lambda item: (order.index(item.kind), -1 if item.moment is None else item.moment))


def _heard_at(step: Step, kind: str, around: Course) -> int:
    """The entry to hear it at: of a competent person the name that was spoken."""
    who = around.competent(step.number) if kind == "person" else None
    return who.line if who is not None else step.number


def _item(kind: str, text: str, *, moment: int | None = None, bolt: int | None = None) -> Item:
    return Item(grade=GRADE_OF[kind], kind=kind, text=text, moment=moment, bolt=bolt)


def _open(steps: Sequence[Step], rounds: Sequence[PassRound]) -> list[Item]:
    state = steps[-1].after if steps else None
    if state is None or state.closed:
        return []
    last = {each.stage: each.round for each in rounds}
    items = []
    for each in rounds:
        if each.round != last[each.stage]:
            continue
        finishing = {"held", "moved"} if each.item.goes_round else None
        done = {e.bolt for e in each.entries if e.stands and (finishing is None or e.kind in finishing)}
        left = [bolt for bolt in each.item.bolts if bolt not in done]
        if left:
            begun = any(entry.stands for entry in each.entries)
            where = f"open at {len(left)} of {len(each.item.bolts)} bolts: {_listed(left)}" if begun else "not begun"
            text = f"{each.title}: {where}."
            items.append(_item("open", text))
    answered = {e.stage for e in state.entries if e.valid}
    for stage, item in enumerate(state.stages, start=1):
        if not isinstance(item, Pass) and stage not in answered:
            text = {Wait: "Not over", Measurement: "Not measured"}.get(type(item), "Not passed")
            title = stage_title(state, stage).split(": ", 1)[-1] if not isinstance(item, Question) else ""
            items.append(_item("open", f"{text}: {title or stage_title(state, stage)}."))
    return items


def _listed(bolts: Sequence[int], most: int = 12) -> str:
    shown = ", ".join(map(str, bolts[:most]))
    return f"{shown} and {len(bolts) - most} more" if len(bolts) > most else shown


def _moved(rounds: Sequence[PassRound], place_of: dict[int, int]) -> list[Item]:
    """One item for each round in which nuts moved."""
    items = []
    for each in rounds:
        moved = [entry for entry in each.entries if entry.kind == "moved" and entry.stands]
        if moved:
            bolts = [entry.bolt for entry in moved]
            which = f"bolt {bolts[0]}" if len(bolts) == 1 else f"bolts {_listed(bolts)}"
            first = place_of.get(moved[0].number)
            items.append(
                _item(
                    "moved",
                    f"Round {each.round}: the nut{'s' if len(bolts) > 1 else ''} of {which} moved.",
                    moment=first,
                )
            )
    return items


ROUNDS_USUAL = 2
"""Rounds of tap and re-torque that nobody wonders at. Common practice, no source."""


def _rounds(rounds: Sequence[PassRound], place_of: dict[int, int]) -> list[Item]:
    """Seats that took more than two rounds."""
    last = {each.stage: each for each in rounds if each.item.kind == "seat" and each.entries}
    items = []
    for each in last.values():
        if each.round > ROUNDS_USUAL:
            group, first = each.item.group, place_of.get(each.entries[0].number)
            items.append(_item("rounds", f"{group}: {each.round} rounds of tap and re-torque.", moment=first))
    return items


def _taught(around: Course, place_of: dict[int, int]) -> list[Item]:
    """What an apprentice should look at again."""
    return [
        _item("taught", f"{each.text[0].upper()}{each.text[1:]}.", moment=place_of.get(each.line), bolt=each.bolt)
        for each in around.look_again
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
