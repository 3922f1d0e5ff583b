"""What a record tells beside the bolts: hold points and checks, deviations, corrections, notes, breaks. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from assistant.events import ItemAnnounced, Pass, Question, QuestionRefused
from assistant.journal.reading import Entry as Line
from assistant.replay.course import Course
from assistant.replay.outcomes import outcome
from assistant.replay.record_ledger import MOVEMENTS, Ledger
from assistant.replay.record_steps import entries_of, words
from assistant.replay.record_work import Asked, Break, Correction, Entry, Happening
from assistant.replay.titles import clock, comes_after_wait, pass_title

DEVIATIONS = {
    "reading-kept": "kept outside window",
    "reading-outside": "outside window",
    "reading-impossible": "refused",
    "other-bolt-named": "other bolt named",
    "bolt-skipped": "skipped",
    "question-refused": "answer refused",
    "competent-person-asked": "nuts still moving",
    "helper-asked": "helper asked for",
    "sound-lost": "sound lost",
    "wait-cut-short": "wait cut short",
    "measurement-refused": "measurement refused",
    "bolt-replaced": "bolt replaced",
    "passes-restarted": "done over",
    "supervisor-agreed": "supervisor agreed",
}
"""Kinds of event that a lead wants to see, and what they are called in the record."""


def asked(
    ledger: Ledger, lines: Iterable[Line], *, names: Mapping[str, str], found_course: Course
) -> tuple[Asked, ...]:
    """Every hold point and check of the work, passed or open.

    Args:
        names: role -> name of its holder, from the joint file.
        found_course: whose witnesses are named.
    """
    refused: dict[int, list[str]] = {}
    for line in lines:
        if isinstance(line.event, QuestionRefused):
            refused.setdefault(line.event.stage, []).append(f"{line.event.answer} ({clock(line.utc)})")
    found = []
    for stage, item in enumerate(ledger.stages, start=1):
        if isinstance(item, Question):
            standing = [e for e in entries_of(ledger, (stage, 1, None)) if e.standing == "counts"]
            passing = next((e for e in standing if e.kind == "passed"), None)
            witness = found_course.witness(stage)
            found.append(
                Asked(
                    name=item.name,
                    phase=item.phase,
                    hold=item.hold,
                    role=item.role,
                    person=names.get(item.role, ""),
                    ask=item.ask,
                    phrase=item.phrase,
                    passed_utc=passing.utc if passing else None,
                    line=passing.line if passing else None,
                    utterance=passing.utterance if passing else "",
                    refused=tuple(refused.get(stage, ())),
                    witness=witness.text if witness else "",
                    witness_wanted=item.witness,
                    witness_utc=witness.utc if witness else None,
                    witness_utterance=witness.utterance if witness else "",
                )
            )
    return tuple(found)


def happenings(ledger: Ledger, lines: Sequence[Line]) -> tuple[tuple[Happening, ...], tuple[Happening, ...]]:
    """Deviations and notes, in order. A reading that was kept is told once, with its reason."""
    kept = {getattr(each.event, "utterance", "") for each in lines if each.event.kind == "reading-kept"} - {""}
    deviations, notes = [], []
    here: tuple[int, int, int | None] = (0, 1, None)
    for line in lines:
        event: Any = line.event
        if isinstance(event, ItemAnnounced):
            here = (event.stage, event.round, event.bolt)
        elif event.kind == "note-kept":
            notes.append(_happening(ledger, line, here, "note", text=event.text))
        elif event.kind in DEVIATIONS and not (event.kind == "reading-outside" and event.utterance in kept):
            deviations.append(_happening(ledger, line, here, DEVIATIONS[event.kind], text=outcome(event)))
    return tuple(deviations), tuple(notes)


def _happening(ledger: Ledger, line: Line, here: tuple[int, int, int | None], kind: str, *, text: str) -> Happening:
    event: Any = line.event
    stage, number = getattr(event, "stage", here[0]), getattr(event, "round", here[1])
    bolt = getattr(event, "bolt", None)
    item = ledger.item(stage)
    in_pass = isinstance(item, Pass)
    reason = getattr(event, "reason", "") if kind in ("kept outside window", "skipped", "wait cut short") else ""
    return Happening(
        line=line.seq,
        utc=line.utc,
        kind=kind,
        group=item.group if isinstance(item, Pass) else "",
        pass_number=item.number if isinstance(item, Pass) and kind not in _OF_NO_PASS else None,
        round=number if in_pass and kind not in _OF_NO_PASS else None,
        bolt=bolt if bolt is not None or not in_pass or kind in _OF_NO_PASS else here[2],
        text=text.removesuffix(f"; reason: {reason}"),
        reason=reason,
        utterance=getattr(event, "utterance", ""),
    )


_OF_NO_PASS = frozenset({"bolt replaced", "done over"})
"""They name the first stage that is worked on again, which is not where they happened."""


def corrections(ledger: Ledger) -> tuple[Correction, ...]:
    """Every entry that no longer counts, with what has taken its place, in the order in which that happened.

    What a replaced bolt or a restarted pass took back is told there (`record_course.DoneOver`), as a whole.
    """
    found: list[Correction] = []
    for place in ledger.cells:
        entries = entries_of(ledger, place)
        for at, entry in enumerate(entries):
            if entry.standing != "counts" and entry.entry not in ledger.done_over:
                found.append(_correction(ledger, place, entry, _next(entries, at)))
    return tuple(sorted(found, key=lambda each: each.line))


def _next(entries: Sequence[Entry], at: int) -> Entry | None:
    """What was recorded next in the same place; a movement follows on a movement only, a name on a name."""
    for later in range(at + 1, len(entries)):
        if _alike(entries[later].kind, entries[at].kind):
            return entries[later]
    return None


def _alike(one: str, other: str) -> bool:
    return (one in MOVEMENTS) == (other in MOVEMENTS) and (one == "named") == (other == "named")


def _correction(ledger: Ledger, place: tuple[int, int, int | None], old: Entry, new: Entry | None) -> Correction:
    item = ledger.item(place[0])
    by = ledger.taken_back.get(old.entry)
    taken_back = old.standing == "taken back" and by is not None
    line, utc = (by.seq, by.utc) if taken_back and by else (new.line, new.utc) if new else (old.line, old.utc)
    in_pass = isinstance(item, Pass)
    return Correction(
        line=line,
        utc=utc,
        group=item.group if isinstance(item, Pass) else "",
        pass_number=item.number if isinstance(item, Pass) else None,
        round=place[1] if in_pass else None,
        bolt=place[2],
        item=_item_name(ledger, place),
        old=words(old),
        new=words(new) if new else "",
        old_line=old.line,
        new_line=new.line if new else None,
        how="taken back" if taken_back else "replaced",
        utterance=getattr(by.event, "utterance", "") if taken_back and by else new.utterance if new else "",
    )


def _item_name(ledger: Ledger, place: tuple[int, int, int | None]) -> str:
    item = ledger.item(place[0])
    if isinstance(item, Pass):
        return pass_title(item, place[1], after_wait=comes_after_wait(ledger.stages, place[0]))
    return item.name if item is not None else ""


_SPOKEN = {"hand-over": "handed over", "left open": "left open for another day"}
_STANDS = {"stopped": "stop was said", "competent-person-asked": "a competent person was asked for"}


def breaks(lines: Sequence[Line]) -> tuple[Break, ...]:
    """Times in which nothing was guided: pauses, stops, hand-overs, leavings, and stops that nobody meant."""
    found: list[Break] = []
    since: Break | None = None
    before: Line | None = None
    for line in lines:
        event: Any = line.event
        kind = event.kind
        if kind in ("paused", "stopped", "session-left", "competent-person-asked"):
            reason = _STANDS.get(kind) or f"{'left' if kind == 'session-left' else 'paused'}: {event.reason}"
            reason = _SPOKEN.get(getattr(event, "reason", ""), reason)
            if since is None:
                since = Break(from_utc=line.utc, to_utc=None, line=line.seq, reason=reason)
            elif kind == "session-left":
                since = since.model_copy(update={"reason": f"{since.reason}; {reason}"})
        elif kind == "resumed" or kind == "session-resumed":
            if since is None and kind == "session-resumed" and before is not None:
                since = Break(from_utc=before.utc, to_utc=None, line=line.seq, reason="the machine or program stopped")
            if since is not None:
                found.append(since.model_copy(update={"to_utc": line.utc}))
            since = None
        elif kind == "name-kept" and found and event.purpose in ("takes-over", "competent") and event.text:
            who = "taken over by" if event.purpose == "takes-over" else "looked into by"
            found[-1] = found[-1].model_copy(update={"reason": f"{found[-1].reason}; {who} {event.text}"})
        before = line
    return (*found, since) if since is not None else tuple(found)
