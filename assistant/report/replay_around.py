"""What a session's page shows of the work around the bolts: rows of words, each with the moment to hear it at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from assistant.replay.record_course import COUNTED, Waited
from assistant.replay.record_recheck import limits_words
from assistant.replay.record_work import PassDone
from assistant.replay.story import Story
from assistant.replay.titles import AGREED_TO, PURPOSES, figure_in, length_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line: what it is, what came of it, small print, its moment among all (or None), and whether it is grave."""

    what: str
    came: str
    small: str = ""
    moment: int | None = None
    grave: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Rows under a heading."""

    title: str
    rows: tuple[Row, ...]
    note: str = ""


def around(story: Story) -> tuple[Part, ...]:
    """All parts that have rows, in the order of the work."""
    found = (
        Part(title="Re-check results", rows=tuple(_rechecks(story))),
        Part(title="Waits", rows=tuple(_waits(story))),
        Part(title="Measurements", rows=tuple(_measurements(story))),
        Part(title="Tap and re-torque", rows=tuple(_seats(story))),
        Part(title="Bolts replaced, passes done over", rows=tuple(_done_over(story))),
        Part(title="Who took over, who looked for a cause", rows=tuple(_names(story))),
        Part(title="Asked of the apprentice", rows=tuple(_asked(story))),
        Part(title="Supervisor agreed", rows=tuple(_agreed(story))),
    )
    return tuple(part for part in found if part.rows)


def _rechecks(story: Story) -> Iterator[Row]:
    for done in story.record.recheck_results:
        yield Row(what=done.group, came=done.words, small="; ".join(done.measured), grave=not done.finished)


def _nuts(bolts: Sequence[int]) -> str:
    if not bolts:
        return "no nut moved"
    return f"the nut{'s' * (len(bolts) > 1)} of bolt{'s' * (len(bolts) > 1)} {', '.join(map(str, bolts))} moved"


def _how_known(wait: Waited) -> str:
    return f", {COUNTED[wait.counted_by]}" if wait.counted_by in COUNTED else ""


def _waits(story: Story) -> Iterator[Row]:
    for wait in story.record.waited:
        planned = f"planned: {length_words(wait.planned_s)}"
        words = {
            "not begun": "not begun",
            "running": "not over yet",
            "over": f"waited {length_words(wait.waited_s or 0)}{_how_known(wait)}",
            "cut short": f"cut short after {length_words(wait.waited_s or 0)}, {length_words(wait.left_s or 0)} left",
        }[wait.state]
        reason = f"; reason given: “{wait.reason}”" if wait.reason else ""
        at = story.place_of.get(wait.line) if wait.line is not None else None
        yield Row(what=wait.name, came=words + reason, small=planned, moment=at, grave=wait.state == "cut short")


def _measurements(story: Story) -> Iterator[Row]:
    for each in story.record.measurements:
        limits = limits_words(each)
        small = [f"allowed: {limits}" if limits else "", *(f"refused before: {words}" for words in each.refused)]
        who = f", measured by “{each.who}” (as heard)" if each.who else ""
        came = "not measured" if each.value is None else f"{figure_in(each.value, each.said_unit)}{who}"
        if each.expected_percent is not None:
            small.append(f"lets expect about {each.expected_percent} % of the preload at assembly")
        at = story.place_of.get(each.line) if each.line is not None else None
        small_print = "; ".join(part for part in small if part)
        yield Row(what=f"{each.name} ({each.phase})", came=came, small=small_print, moment=at, grave=bool(each.refused))


def _seats(story: Story) -> Iterator[Row]:
    begun = [p for p in story.record.passes if p.kind == "seat" and p.first_utc is not None]
    for stage in dict.fromkeys(p.stage for p in begun):
        rounds = [p for p in begun if p.stage == stage]
        moved = []
        for bolts, alike in groupby(rounds, key=_moved_in):
            numbers = [each.round for each in alike]
            which = f"round {numbers[0]}" if len(numbers) == 1 else f"rounds {numbers[0]} to {numbers[-1]}"
            moved.append(f"{which}: {_nuts(bolts)}")
        line = min(entry.line for bolt in rounds[0].bolts for entry in bolt.entries)
        count = f"{len(rounds)} round{'s' * (len(rounds) > 1)}; "
        grave = len(rounds) > 2
        yield Row(
            what=rounds[0].group,
            came=count + "; ".join(moved),
            small=rounds[0].tap,
            moment=story.place_of.get(line),
            grave=grave,
        )


def _moved_in(each: PassDone) -> tuple[int, ...]:
    return each.moved


def _done_over(story: Story) -> Iterator[Row]:
    for each in story.record.done_over:
        what = f"Bolt {each.bolt} replaced" if each.kind == "bolt replaced" else each.kind.capitalize()
        gone = "; ".join(each.taken_back[:12]) + (" ..." if len(each.taken_back) > 12 else "")
        came = f"done over from: {each.since}"
        small = f"no longer counts: {gone or 'nothing'}"
        yield Row(what=what, came=came, small=small, moment=story.place_of.get(each.line), grave=True)


def _names(story: Story) -> Iterator[Row]:
    for each in story.record.names:
        if each.purpose in ("takes-over", "competent"):
            words = PURPOSES[each.purpose]
            at = story.place_of.get(each.line)
            yield Row(what=words[0].upper() + words[1:], came=f"“{each.text}” (as heard)", small=each.item, moment=at)


def _asked(story: Story) -> Iterator[Row]:
    for each in story.record.questions_back:
        verdict = {None: "no answer", True: f"“{each.answer}”: right"}.get(
            each.right, f"“{each.answer}”: wrong, right is {each.expects}"
        )
        why = f"in own words: “{each.reason}”" if each.reason else ""
        small = "; ".join(part for part in (each.item, why) if part)
        at = story.place_of.get(each.line + 1) or story.place_of.get(each.line)
        moment = next((n for n, m in enumerate(story.moments) if m.name and m.name == each.utterance), at)
        yield Row(what=each.question, came=verdict, small=small, moment=moment, grave=each.right is False)


def _agreed(story: Story) -> Iterator[Row]:
    for each in story.record.agreements:
        where = each.item + (f", bolt {each.bolt}" if each.bolt is not None else "")
        to = AGREED_TO.get(each.purpose, each.purpose)
        yield Row(what=where, came=to, small=f"“{each.phrase}”", moment=story.place_of.get(each.line), grave=True)
