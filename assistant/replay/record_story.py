"""What a record tells of the way there: deviations, corrections, notes, breaks. Made from the one reading. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from assistant.events import (
    BoltReplaced,
    BoltSkipped,
    CompetentPersonAsked,
    FindingMade,
    NameKept,
    NoteKept,
    Pass,
    PassesRestarted,
    Paused,
    QuestionRefused,
    ReadingKept,
    ReadingOutside,
    Resumed,
    SessionLeft,
    SessionResumed,
    Stopped,
    TimeLeft,
    WaitCutShort,
    bolt_in,
    round_in,
    stage_in,
    utterance_in,
)
from assistant.procedure import standing
from assistant.procedure.standing import Place
from assistant.replay.facts import Facts, Step
from assistant.replay.outcomes import outcome_of
from assistant.replay.record_steps import MOVEMENTS, entries_of, words
from assistant.replay.record_work import Break, Correction, Entry, Happening
from assistant.replay.titles import comes_after_wait, pass_title


def happenings(facts: Facts) -> tuple[tuple[Happening, ...], tuple[Happening, ...]]:
    """Deviations and notes, in order. A reading that was kept and an answer that was a finding are told once."""
    findings = {step.event.utterance for step in facts.each(FindingMade)} - {""}
    kept = {step.event.utterance for step in facts.each(ReadingKept)} - {""}
    deviations, notes = [], []
    for step in facts.steps:
        event = step.event
        if not step.fits or (isinstance(event, QuestionRefused) and event.utterance in findings):
            continue
        did = outcome_of(event)
        if isinstance(event, NoteKept):
            notes.append(_happening(facts, step, "note", text=event.text))
        elif did.deviation and not (isinstance(event, ReadingOutside) and event.utterance in kept):
            deviations.append(_happening(facts, step, did.deviation, text=did.words))
    return tuple(deviations), tuple(notes)


def _happening(facts: Facts, step: Step, kind: str, *, text: str) -> Happening:
    event = step.event
    here = facts.due_at.get(step.number, (step.before.stage, step.before.round, None))
    stage, number = stage_in(event), round_in(event)
    stage, number = here[0] if stage is None else stage, here[1] if number is None else number
    bolt = bolt_in(event)
    item = standing.item_of(facts.state, stage)
    placed = isinstance(item, Pass) and kind not in _OF_NO_PASS
    reason = event.reason if isinstance(event, ReadingKept | BoltSkipped | WaitCutShort) else ""
    return Happening(
        line=step.number,
        utc=step.utc,
        kind=kind,
        group=item.group if isinstance(item, Pass) else "",
        pass_number=item.number if isinstance(item, Pass) and placed else None,
        round=number if placed else None,
        bolt=here[2] if bolt is None and placed else bolt,
        text=text.removesuffix(f"; reason: {reason}"),
        reason=reason,
        utterance=utterance_in(event),
    )


_OF_NO_PASS = frozenset({"bolt replaced", "done over"})
"""They name the first stage that is worked on again, which is not where they happened."""


def corrections(facts: Facts) -> tuple[Correction, ...]:
    """Every entry that no longer counts, with what has taken its place, in the order in which that happened.

    What a replaced bolt or a restarted pass took back is told there (`record_course.DoneOver`), as a whole.
    """
    found: list[Correction] = []
    for place, places in facts.at_place.items():
        entries = entries_of(facts, place)
        for at, (number, entry) in enumerate(zip(places, entries, strict=True)):
            by = facts.taken_by.get(number)
            if entry.standing != "counts" and (by is None or not isinstance(by.event, BoltReplaced | PassesRestarted)):
                found.append(_correction(facts, place, entry, _next(entries, at), by))
    return tuple(sorted((*found, *_names_corrected(facts)), key=lambda each: each.line))


def _names_corrected(facts: Facts) -> Iterator[Correction]:
    """Names that are no entry of a stage (who tightens, who takes over) and were taken back."""
    kept = facts.each(NameKept)
    for number, by in facts.names_taken_back.items():
        old = next(s for s in kept if s.number == number)
        new = next((s for s in kept if s.number > by.number and s.event.purpose == old.event.purpose), None)
        yield Correction(
            line=by.number,
            utc=by.utc,
            item=PURPOSES.get(old.event.purpose, old.event.purpose),
            old=old.event.text,
            new=new.event.text if new is not None else "",
            old_line=old.number,
            new_line=new.number if new is not None else None,
            how="taken back",
            utterance=utterance_in(by.event),
        )


PURPOSES = {"tightens": "who tightens", "takes-over": "who takes over", "competent": "who looks into the cause"}
"""What a name that is no entry of a stage was asked for -> as corrections call it."""


def _next(entries: Sequence[Entry], at: int) -> Entry | None:
    """What was recorded next in the same place; a movement follows on a movement only, a name on a name."""
    for later in range(at + 1, len(entries)):
        if _alike(entries[later].kind, entries[at].kind):
            return entries[later]
    return None


def _alike(one: str, other: str) -> bool:
    return (one in MOVEMENTS) == (other in MOVEMENTS) and (one == "named") == (other == "named")


def _correction(facts: Facts, place: Place, old: Entry, new: Entry | None, by: Step | None) -> Correction:
    item = standing.item_of(facts.state, place[0])
    line, utc = (by.number, by.utc) if by else (new.line, new.utc) if new else (old.line, old.utc)
    return Correction(
        line=line,
        utc=utc,
        group=item.group if isinstance(item, Pass) else "",
        pass_number=item.number if isinstance(item, Pass) else None,
        round=place[1] if isinstance(item, Pass) else None,
        bolt=place[2],
        item=_item_name(facts, place),
        old=_words(facts, old),
        new=_words(facts, new) if new else "",
        old_line=old.line,
        new_line=new.line if new else None,
        how="taken back" if by else "replaced",
        utterance=utterance_in(by.event) if by else new.utterance if new else "",
    )


def _words(facts: Facts, entry: Entry) -> str:
    """As `record_steps.words`; of a name the name."""
    event = facts.steps[entry.line - 1].event
    return event.text if isinstance(event, NameKept) else words(entry)


def _item_name(facts: Facts, place: Place) -> str:
    item = standing.item_of(facts.state, place[0])
    if isinstance(item, Pass):
        return pass_title(item, place[1], after_wait=comes_after_wait(facts.items, place[0]))
    return item.name if item is not None else ""


def breaks(facts: Facts) -> tuple[Break, ...]:
    """Times in which nothing was guided: pauses, stops, hand-overs, leavings, and stops that nobody meant."""
    found: list[Break] = []
    since: Break | None = None
    before: Step | None = None
    for line in facts.steps:
        event = line.event
        if not line.fits or isinstance(event, TimeLeft):
            continue  # how much of a wait is left is noted on opening again: it belongs to the new sitting
        if isinstance(event, Paused | Stopped | SessionLeft | CompetentPersonAsked):
            reason = _why_still(event)
            if since is None:
                since = Break(from_utc=line.utc, to_utc=None, line=line.number, reason=reason)
            elif isinstance(event, SessionLeft):
                since = since.model_copy(update={"reason": f"{since.reason}; {reason}"})
        elif isinstance(event, Resumed | SessionResumed):
            if since is None and isinstance(event, SessionResumed) and before is not None:
                since = Break(
                    from_utc=before.utc, to_utc=None, line=line.number, reason="the machine or program stopped"
                )
            if since is not None:
                found.append(since.model_copy(update={"to_utc": line.utc}))
            since = None
        elif isinstance(event, NameKept) and found and event.purpose in ("takes-over", "competent") and event.text:
            who = "taken over by" if event.purpose == "takes-over" else "looked into by"
            found[-1] = found[-1].model_copy(update={"reason": f"{found[-1].reason}; {who} {event.text}"})
        before = line
    return (*found, since) if since is not None else tuple(found)


_SPOKEN = {"hand-over": "handed over", "left open": "left open for another day"}


def _why_still(event: Paused | Stopped | SessionLeft | CompetentPersonAsked) -> str:
    match event:
        case Stopped():
            return "stop was said"
        case CompetentPersonAsked():
            return "a competent person was asked for"
        case Paused():
            return _SPOKEN.get(event.reason, f"paused: {event.reason}")
        case SessionLeft():
            return _SPOKEN.get(event.reason, f"left: {event.reason}")
