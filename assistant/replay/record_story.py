"""What a record tells of the way there: deviations, corrections, notes, breaks. Made from the one reading. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from assistant.events import Pass
from assistant.procedure import standing
from assistant.procedure.standing import Place
from assistant.replay.facts import Facts, Step
from assistant.replay.outcomes import outcome
from assistant.replay.record_steps import DONE_OVER, MOVEMENTS, entries_of, words
from assistant.replay.record_work import Break, Correction, Entry, Happening
from assistant.replay.titles import comes_after_wait, pass_title

DEVIATIONS = {
    "reading-kept": "kept outside window",
    "reading-outside": "outside window",
    "reading-impossible": "refused",
    "other-bolt-named": "other bolt named",
    "bolt-skipped": "skipped",
    "question-refused": "answer refused",
    "finding-made": "finding",
    "finding-described": "finding described",
    "change-told": "what changed",
    "finding-settled": "finding settled",
    "stop-released": "stop of the plan released",
    "competent-person-asked": "nuts still moving",
    "helper-asked": "helper asked for",
    "sound-lost": "sound lost",
    "trouble-found": "trouble with hearing or speaking",
    "wait-cut-short": "wait cut short",
    "measurement-refused": "measurement refused",
    "bolt-replaced": "bolt replaced",
    "passes-restarted": "done over",
    "supervisor-agreed": "supervisor agreed",
}
"""Kinds of event that a lead wants to see, and what they are called in the record."""


def happenings(facts: Facts) -> tuple[tuple[Happening, ...], tuple[Happening, ...]]:
    """Deviations and notes, in order. A reading that was kept and an answer that was a finding are told once."""
    findings = {step.event.utterance for step in facts.steps if step.fits and step.event.kind == "finding-made"} - {""}
    kept = {step.event.utterance for step in facts.steps if step.fits and step.event.kind == "reading-kept"} - {""}
    deviations, notes = [], []
    for step in facts.steps:
        event = step.event
        if not step.fits:
            continue
        if event.kind == "question-refused" and event.utterance in findings:
            continue
        if event.kind == "note-kept":
            notes.append(_happening(facts, step, "note", text=event.text))
        elif event.kind in DEVIATIONS and not (event.kind == "reading-outside" and event.utterance in kept):
            deviations.append(_happening(facts, step, DEVIATIONS[event.kind], text=outcome(event)))
    return tuple(deviations), tuple(notes)


def _happening(facts: Facts, step: Step, kind: str, *, text: str) -> Happening:
    event = step.event
    here = facts.due_at.get(step.number, (step.before.stage, step.before.round, None))
    stage, number = getattr(event, "stage", here[0]), getattr(event, "round", here[1])
    bolt = getattr(event, "bolt", None)
    item = standing.item_of(facts.state, stage)
    placed = isinstance(item, Pass) and kind not in _OF_NO_PASS
    reason = getattr(event, "reason", "") if kind in ("kept outside window", "skipped", "wait cut short") else ""
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
        utterance=getattr(event, "utterance", ""),
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
            if entry.standing != "counts" and (by is None or by.event.kind not in DONE_OVER):
                found.append(_correction(facts, place, entry, _next(entries, at), by))
    return tuple(sorted((*found, *_names_corrected(facts)), key=lambda each: each.line))


def _names_corrected(facts: Facts) -> Iterator[Correction]:
    """Names that are no entry of a stage (who tightens, who takes over) and were taken back."""
    for number, by in facts.names_taken_back.items():
        old = facts.steps[number - 1]
        later = (s for s in facts.steps[by.number :] if s.fits and s.event.kind == "name-kept")
        new = next((s for s in later if s.event.purpose == old.event.purpose), None)
        yield Correction(
            line=by.number,
            utc=by.utc,
            item=PURPOSES.get(old.event.purpose, old.event.purpose),
            old=old.event.text,
            new=new.event.text if new is not None else "",
            old_line=old.number,
            new_line=new.number if new is not None else None,
            how="taken back",
            utterance=by.event.utterance,
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
        utterance=getattr(by.event, "utterance", "") if by else new.utterance if new else "",
    )


def _words(facts: Facts, entry: Entry) -> str:
    """As `record_steps.words`; of a name the name."""
    return facts.steps[entry.line - 1].event.text if entry.kind == "named" else words(entry)


def _item_name(facts: Facts, place: Place) -> str:
    item = standing.item_of(facts.state, place[0])
    if isinstance(item, Pass):
        return pass_title(item, place[1], after_wait=comes_after_wait(facts.items, place[0]))
    return item.name if item is not None else ""


_SPOKEN = {"hand-over": "handed over", "left open": "left open for another day"}
_STANDS = {"stopped": "stop was said", "competent-person-asked": "a competent person was asked for"}


def breaks(facts: Facts) -> tuple[Break, ...]:
    """Times in which nothing was guided: pauses, stops, hand-overs, leavings, and stops that nobody meant."""
    found: list[Break] = []
    since: Break | None = None
    before: Step | None = None
    for line in facts.steps:
        event: Any = line.event
        kind = event.kind
        if not line.fits or kind == "time-left":
            continue  # how much of a wait is left is noted on opening again: it belongs to the new sitting
        if kind in ("paused", "stopped", "session-left", "competent-person-asked"):
            reason = _STANDS.get(kind) or f"{'left' if kind == 'session-left' else 'paused'}: {event.reason}"
            reason = _SPOKEN.get(getattr(event, "reason", ""), reason)
            if since is None:
                since = Break(from_utc=line.utc, to_utc=None, line=line.number, reason=reason)
            elif kind == "session-left":
                since = since.model_copy(update={"reason": f"{since.reason}; {reason}"})
        elif kind == "resumed" or kind == "session-resumed":
            if since is None and kind == "session-resumed" and before is not None:
                since = Break(
                    from_utc=before.utc, to_utc=None, line=line.number, reason="the machine or program stopped"
                )
            if since is not None:
                found.append(since.model_copy(update={"to_utc": line.utc}))
            since = None
        elif kind == "name-kept" and found and event.purpose in ("takes-over", "competent") and event.text:
            who = "taken over by" if event.purpose == "takes-over" else "looked into by"
            found[-1] = found[-1].model_copy(update={"reason": f"{found[-1].reason}; {who} {event.text}"})
        before = line
    return (*found, since) if since is not None else tuple(found)
