"""What somebody has to decide about a joint: everything that the work leaves to a lead's judgement. Pure.

Each is one thing with its place in the journal. What is told here is not judged: it is said, and waits for a ruling.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import datetime, timedelta

from assistant.bolting.planning.plan_remarks import EXAMPLE_FIGURES
from assistant.events import (
    FindingMade,
    FindingSettled,
    Measured,
    PromptSpoken,
    QuestionRefused,
    SessionOpened,
    StopReleased,
)
from assistant.procedure import standing
from assistant.replay.around import title
from assistant.replay.facts import Facts, StepOf
from assistant.replay.record_course import Decision, Named, Waited
from assistant.replay.record_fields import Recheck
from assistant.replay.record_open import name_of
from assistant.replay.record_work import PassDone
from assistant.replay.titles import figure, length_words

LEAST_S = 3.0
"""Seconds a pull, on average over a pass, below which nobody can have worked: to bring a wrench up, pull, read and say
it takes longer. Our own choice, well below common practice; no source."""
LEAST_PULLS = 4
"""A pass with fewer pulls than this is not judged by its pace."""


def decisions(
    facts: Facts,
    warned: Collection[str],
    *,
    passes: Sequence[PassDone],
    waited: Sequence[Waited],
    names: Sequence[Named],
    rechecks: Sequence[Recheck],
) -> tuple[Decision, ...]:
    """Everything that is to be decided, the gravest kinds first, each kind in order of time.

    Args:
        warned: names of the cautions of the plan.
    """
    return (
        *_findings(facts),
        *_approval(facts),
        *_stops(facts),
        *_examples(facts, warned),
        *_kept(passes),
        *_waits(waited),
        *_early(passes, rechecks),
        *_pace(facts, passes),
        *_typed(facts),
        *_one_listener(facts),
        *_prompts(facts),
        *_names(names),
    )


def _examples(facts: Facts, warned: Collection[str]) -> Iterator[Decision]:
    """A joint file that still held a template's figures when the joint was guided."""
    opened = next(iter(facts.each(SessionOpened)), None)
    if EXAMPLE_FIGURES in warned and opened is not None:
        text = "Figures of the joint file were still a template's examples."
        yield Decision(kind="examples", text=text, line=opened.number, utc=opened.utc)


def _findings(facts: Facts) -> Iterator[Decision]:
    """Answers that say that something is wrong. They count however they ended."""
    settled = {step.event.finding: step.event for step in facts.each(FindingSettled)}
    told = {step.event.utterance for step in facts.each(FindingMade)}
    for step in facts.each(FindingMade, QuestionRefused):
        event = step.event
        if isinstance(event, FindingMade):
            end = settled.get(event.finding)
            where = f"bolt {event.bolt}" if event.bolt is not None else event.name or title(facts, event.stage)
            yield _finding(step, f"“{event.what}” was said at {where}", _settled(end), bolt=event.bolt)
        elif event.utterance not in told:  # of before there were findings
            item = standing.item_of(facts.state, event.stage)
            if standing.is_finding(item, event.answer):
                later = next(
                    (s for s in facts.recorded_by if s.number > step.number and s.event.stage == event.stage), None
                )
                ended = "it was passed afterwards" if later is not None else "it was not passed afterwards"
                yield _finding(step, f"“{event.answer}” was the answer at: {event.name}", ended)


def _finding(
    step: StepOf[FindingMade | QuestionRefused], what: str, ended: str, *, bolt: int | None = None
) -> Decision:
    return Decision(
        kind="finding",
        text=f"{what}; {ended}.",
        line=step.number,
        utc=step.utc,
        bolt=bolt,
        utterance=step.event.utterance,
    )


def _settled(end: FindingSettled | None) -> str:
    if end is None:
        return "nobody has said what was done about it"
    by = f", released by “{end.by}”" if end.by else ""
    return f"said to be put right: “{end.changed}”{by}"


def _approval(facts: Facts) -> Iterator[Decision]:
    """What was guided without a lead's valid approval. Sessions of before there were approvals say nothing of it."""
    opened = facts.first(SessionOpened)
    found = opened.event.settings.get("approval") if opened is not None else None
    state = found.get("state", "") if isinstance(found, dict) else "approved"
    if opened is not None and state != "approved":
        why = {
            "changed": "The joint file or its plan was changed since it was approved",
            "not believed": "The approval of the joint file is not signed with a key that was known there",
        }.get(str(state), "Nobody had approved the joint file and its plan")
        yield Decision(kind="approval", text=f"{why}.", line=opened.number, utc=opened.utc)


def _stops(facts: Facts) -> Iterator[Decision]:
    for at, step in enumerate(facts.recorded_by):
        event = step.event
        if isinstance(event, StopReleased) and facts.counts[at]:
            text = f"A stop of the plan was released: {event.name}. Reason given: “{event.reason}”."
            yield Decision(kind="stop", text=text, line=step.number, utc=step.utc, utterance=event.utterance)


def _kept(passes: Sequence[PassDone]) -> Iterator[Decision]:
    for each in passes:
        for bolt in each.bolts:
            for entry in bolt.entries:
                if entry.kind == "reading kept" and entry.standing == "counts":
                    shown = "" if entry.value is None else figure(Measured(entry.value.value, entry.value.unit))
                    text = f"Bolt {bolt.bolt} was kept at {shown}, outside its window: {name_of(each)}."
                    yield Decision(
                        kind="kept",
                        text=f"{text} Reason given: “{entry.reason}”.",
                        line=entry.line,
                        utc=entry.utc,
                        group=each.group,
                        bolt=bolt.bolt,
                        utterance=entry.utterance,
                    )


def _waits(waited: Sequence[Waited]) -> Iterator[Decision]:
    for each in waited:
        short = (each.left_s or 0) if each.state == "cut short" else 0
        if each.state == "over" and each.waited_s is not None:
            short = each.planned_s - each.waited_s
        if short > _SLACK_S:
            why = f" Reason given: “{each.reason}”." if each.reason else ""
            text = f"{each.name[:1].upper()}{each.name[1:]}: {length_words(short)} of {length_words(each.planned_s)}"
            yield Decision(
                kind="wait",
                text=f"{text} were not waited.{why}",
                line=each.line,
                utc=each.ended_utc,
                utterance=each.utterance,
            )


_SLACK_S = 2
"""A wait is counted in whole seconds, twice rounded."""


def _early(passes: Sequence[PassDone], rechecks: Sequence[Recheck]) -> Iterator[Decision]:
    begun = [each for each in passes if each.phase == "re-check" and each.first_utc is not None]
    earliest = min((each.earliest_utc for each in rechecks if each.earliest_utc is not None), default=None)
    if not begun or earliest is None:
        return
    first = min(begun, key=lambda each: each.first_utc or earliest)
    assert first.first_utc is not None
    early = (earliest - first.first_utc).total_seconds()
    if early > _SLACK_S:
        line = min(entry.line for bolt in first.bolts for entry in bolt.entries)
        text = f"The re-check began {length_words(early)} before its time."
        yield Decision(kind="early", text=text, line=line, utc=first.first_utc)


def _pace(facts: Facts, passes: Sequence[PassDone]) -> Iterator[Decision]:
    """Passes recorded faster than anybody can work, as one thing; not of a rehearsal, whose people do not pull."""
    if facts.played:
        return
    fast: list[tuple[timedelta, datetime, int, PassDone]] = []
    for each in passes:
        if each.setting is None:
            continue
        pulls: dict[str, tuple[datetime, int]] = {}
        for bolt in each.bolts:
            for entry in bolt.entries:
                if entry.standing == "counts":
                    pulls.setdefault(entry.utterance, (entry.utc, entry.line))
        if len(pulls) < LEAST_PULLS:
            continue
        times = sorted(pulls.values())
        per_pull = (times[-1][0] - times[0][0]) / (len(times) - 1)
        if per_pull < timedelta(seconds=LEAST_S):
            fast.append((per_pull, *times[0], each))
    if fast:
        pace, utc, line, first = min(fast, key=lambda found: found[0])
        took = f"{pace.total_seconds():.1f} s a pull"
        text = (
            f"Recorded faster than anybody can tighten: {name_of(first)}, {took}."
            if len(fast) == 1
            else f"{len(fast)} passes were recorded faster than anybody can tighten, the fastest at {took}: "
            f"{name_of(first)}."
        )
        yield Decision(kind="pace", text=text, line=line, utc=utc, group=first.group)


def _typed(facts: Facts) -> Iterator[Decision]:
    entries = [s for at, s in enumerate(facts.recorded_by) if facts.counts[at] and s.event.utterance]
    typed = [step for step in entries if facts.typed(step.event.utterance)]
    if typed:
        share = "All" if len(typed) == len(entries) else f"{len(typed)} of"
        text = f"{share} {len(entries)} recorded answers were typed, not spoken: there is no voice to hear."
        yield Decision(kind="typed", text=text, line=typed[0].number, utc=typed[0].utc)


def _one_listener(facts: Facts) -> Iterator[Decision]:
    """Sittings in which one listener alone understood what was said."""
    alone = [s for s in facts.sittings if len(s.listeners) == 1 and s.listeners != ("typed",)]
    if alone:
        names = ", ".join(dict.fromkeys(name for s in alone for name in s.listeners))
        text = f"One listener alone understood what was said ({names}); there was no second to agree."
        step = next(step for step in facts.steps if step.utc >= alone[0].start)
        yield Decision(kind="one listener", text=text, line=step.number, utc=step.utc)


def _prompts(facts: Facts) -> Iterator[Decision]:
    """Prompts that the loudspeaker broke off; one that somebody cut short by speaking is no fault."""
    spoken = ((step, step.event) for step in facts.steps)
    broken = [(step, event) for step, event in spoken if isinstance(event, PromptSpoken) and event.whole is False]
    if broken:
        step, event = broken[0]
        count = f"{len(broken)} prompt{'s' * (len(broken) > 1)}"
        text = f"{count} did not sound to the end, the first: “{event.text[:80]}”."
        yield Decision(kind="prompts", text=text, line=step.number, utc=step.utc)


def _names(names: Sequence[Named]) -> Iterator[Decision]:
    """Names that were written as they were heard, and that nobody confirmed."""
    unsure = [each for each in names if each.counts and not each.sure]
    if unsure:
        shown = ", ".join(dict.fromkeys(f"“{each.text}”" for each in unsure))
        text = f"Names that nobody confirmed, as they were heard: {shown}."
        yield Decision(kind="names", text=text, line=unsure[0].line, utc=unsure[0].utc, utterance=unsure[0].utterance)
