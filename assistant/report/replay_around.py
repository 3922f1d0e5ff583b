"""What a session's page shows of the work around the bolts: rows of words, each with the moment to hear it at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from assistant.replay.course_words import AGREED_TO, PURPOSES
from assistant.replay.readings import PassRound
from assistant.replay.record_course import RecheckDone
from assistant.replay.record_recheck import limits_words
from assistant.replay.story import Story
from assistant.replay.titles import figure, figure_in, length_words


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
    for done in recheck_of(story):
        yield Row(what=done.group, came=done.words, small="; ".join(done.measured), grave=not done.finished)


def recheck_of(story: Story) -> tuple[RecheckDone, ...]:
    """What the re-check found at each group, by the page's own passes."""
    kept = [m for m in story.around.measured.values() if m.phase == "re-check" and m.value is not None]
    expected = next((m.expected_percent for m in kept if m.expected_percent is not None), None)
    found = []
    for group in dict.fromkeys(r.item.group for r in story.rounds if r.item.phase == "re-check" and r.entries):
        rounds = [r for r in story.rounds if r.item.phase == "re-check" and r.item.group == group and r.entries]
        moved = tuple(_moved_in(r) for r in rounds)
        values = [e.value for r in rounds for e in r.entries if e.kind in ("recorded", "kept") and e.stands and e.value]
        values.sort(key=lambda value: value.value)
        parts = []
        if kept and kept[0].value is not None:
            at = f"At {figure_in(kept[0].value, kept[0].said_unit)}"
            expects = f" about {expected} % of the preload at assembly was expected" if expected is not None else ""
            parts.append(f"{at}{expects}.")
        parts += [f"Round {n}: {_nuts(bolts)}." for n, bolts in enumerate(moved, start=1)]
        if values:
            parts.append(f"{len(values)} readings: {figure(values[0])} to {figure(values[-1])}.")
        finished = rounds[-1].finished and not moved[-1]
        parts += [] if finished else ["It is not finished."]
        made = RecheckDone(
            group=group,
            measured=tuple(f"measured by “{m.who}” (as heard)" for m in kept if m.who),
            expected_percent=expected,
            rounds=len(rounds),
            moved=moved,
            finished=finished,
            words=" ".join(parts),
        )
        found.append(made)
    return tuple(found)


def _moved_in(each: PassRound) -> tuple[int, ...]:
    return tuple(e.bolt for e in each.entries if e.kind == "moved" and e.stands)


def _nuts(bolts: Sequence[int]) -> str:
    if not bolts:
        return "no nut moved"
    return f"the nut{'s' * (len(bolts) > 1)} of bolt{'s' * (len(bolts) > 1)} {', '.join(map(str, bolts))} moved"


def _waits(story: Story) -> Iterator[Row]:
    for wait in story.around.waits.values():
        planned = f"planned: {length_words(wait.planned_s)}"
        words = {
            "not begun": "not begun",
            "running": "not over yet",
            "over": f"waited {length_words(wait.waited_s or 0)}",
            "cut short": f"cut short after {length_words(wait.waited_s or 0)}, {length_words(wait.left_s or 0)} left",
        }[wait.state]
        reason = f"; reason given: “{wait.reason}”" if wait.reason else ""
        at = story.place_of.get(wait.line) if wait.line is not None else None
        yield Row(what=wait.name, came=words + reason, small=planned, moment=at, grave=wait.state == "cut short")


def _measurements(story: Story) -> Iterator[Row]:
    for each in story.around.measured.values():
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
    for stage in dict.fromkeys(r.stage for r in story.rounds if r.item.kind == "seat" and r.entries):
        rounds = [r for r in story.rounds if r.stage == stage and r.entries]
        moved = []
        for bolts, alike in groupby(rounds, key=_moved_in):
            numbers = [each.round for each in alike]
            which = f"round {numbers[0]}" if len(numbers) == 1 else f"rounds {numbers[0]} to {numbers[-1]}"
            moved.append(f"{which}: {_nuts(bolts)}")
        first = story.place_of.get(rounds[0].entries[0].number)
        count = f"{len(rounds)} round{'s' * (len(rounds) > 1)}; "
        item = rounds[0].item
        grave = len(rounds) > 2
        yield Row(what=item.group, came=count + "; ".join(moved), small=item.tap, moment=first, grave=grave)


def _done_over(story: Story) -> Iterator[Row]:
    for each in story.around.done_over:
        what = f"Bolt {each.bolt} replaced" if each.kind == "bolt replaced" else each.kind.capitalize()
        gone = "; ".join(each.taken_back[:12]) + (" ..." if len(each.taken_back) > 12 else "")
        came = f"done over from: {each.since}"
        small = f"no longer counts: {gone or 'nothing'}"
        yield Row(what=what, came=came, small=small, moment=story.place_of.get(each.line), grave=True)


def _names(story: Story) -> Iterator[Row]:
    for each in story.around.names:
        if each.purpose in ("takes-over", "competent"):
            words = PURPOSES[each.purpose]
            at = story.place_of.get(each.line)
            yield Row(what=words[0].upper() + words[1:], came=f"“{each.text}” (as heard)", small=each.item, moment=at)


def _asked(story: Story) -> Iterator[Row]:
    for each in story.around.questions:
        verdict = {None: "no answer", True: f"“{each.answer}”: right"}.get(
            each.right, f"“{each.answer}”: wrong, right is {each.expects}"
        )
        why = f"in own words: “{each.reason}”" if each.reason else ""
        small = "; ".join(part for part in (each.item, why) if part)
        at = story.place_of.get(each.line + 1) or story.place_of.get(each.line)
        moment = next((n for n, m in enumerate(story.moments) if m.name and m.name == each.utterance), at)
        yield Row(what=each.question, came=verdict, small=small, moment=moment, grave=each.right is False)


def _agreed(story: Story) -> Iterator[Row]:
    for each in story.around.agreed:
        where = each.item + (f", bolt {each.bolt}" if each.bolt is not None else "")
        to = AGREED_TO.get(each.purpose, each.purpose)
        yield Row(what=where, came=to, small=f"“{each.phrase}”", moment=story.place_of.get(each.line), grave=True)
