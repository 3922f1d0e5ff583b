"""The conversation and what came of it, line by line, as data: who said what, how sure it was heard, what was done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from assistant.events import Event, Measured, PromptSpoken, UtteranceHeard
from assistant.journal.reading import Entry
from assistant.replay.outcomes_course import COURSE_WORDS


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a transcript.

    Args:
        utc: when it was written; aware.
        sample: when it happened, samples at 16 000 Hz from the session's start.
        who: "assistant", "heard" or "record".
        text: what was said, heard or recorded.
        remark: how sure, and by whom; "" for none.
    """

    utc: datetime
    sample: int
    who: str
    text: str
    remark: str = ""


def transcript(entries: Iterable[Entry]) -> list[Line]:
    """Lines of a session, in order."""
    return [line for entry in entries if (line := line_of(entry)) is not None]


def line_of(entry: Entry) -> Line | None:
    """The line of one entry; None for what is not worth one (announcements are in the words that were spoken)."""
    event = entry.event
    if isinstance(event, PromptSpoken):
        return Line(utc=entry.utc, sample=event.start_sample, who="assistant", text=event.text, remark=sounded(event))
    if isinstance(event, UtteranceHeard):
        text, remark = _heard(event)
        return Line(utc=entry.utc, sample=event.start_sample, who="heard", text=text, remark=remark)
    words = recorded(event)
    return Line(utc=entry.utc, sample=entry.sample, who="record", text=words) if words else None


def sounded(prompt: PromptSpoken) -> str:
    """What is to be said of how a prompt sounded; "" where it sounded whole at once, or nobody looked."""
    if prompt.cut_short:
        return "cut short: somebody spoke"
    if prompt.whole is False:
        return f"BROKEN by the loudspeaker, {prompt.times} times: may not have been understood"
    return f"said {prompt.times} times: broken before" if prompt.times > 1 else ""


def _heard(event: UtteranceHeard) -> tuple[str, str]:
    best = event.alternatives[0] if event.alternatives else None
    by = ", ".join(f"{name} {text or '-'!r}" for name, text in sorted(event.listeners.items()))
    if best is None:
        return "(nothing that fits)", f"{event.decision}; {by}"
    meaning = _meaning_text(event)
    return meaning, f"{event.decision} {best.probability:.3f}; {by}"


def _meaning_text(event: UtteranceHeard) -> str:
    best = event.alternatives[0]
    if best.value is not None:
        return f"{best.text}  = {figure(Measured(best.value, best.unit or '')).strip()}"
    return (
        best.text
        if best.text in ("", best.command)
        else f"{best.text}  = {best.command}"
        if best.command
        else best.text
    )


def figure(value: Measured) -> str:
    """A measured value in print: '180 N*m'."""
    return f"{value.value.normalize():f} {value.unit}"


def recorded(event: Event) -> str:
    """What an event put on record, in a few words; "" for events that only steer the dialogue."""
    words = _WORDS.get(event.kind)
    return words(event) if words else ""


def _bolt(event: object) -> str:
    return f"bolt {getattr(event, 'bolt', '')}"


_WORDS: dict[str, Callable[[Any], str]] = {
    "session-opened": lambda e: f"session opened; {e.product}; listeners: {_listed(e.listeners)}",
    "session-resumed": lambda e: (
        f"session resumed; {e.product}; listeners: {_listed(e.listeners)}"
        + (f"; {e.torn_bytes} bytes of a half-written line set aside" if e.torn_bytes else "")
    ),
    "session-left": lambda e: f"session left: {e.reason}",
    "session-closed": lambda _e: "joint closed",
    "sound-lost": lambda e: f"sound lost: {e.reason} ({e.samples / 16:.0f} ms)",
    "trouble-found": lambda e: f"trouble: {e.detail}",
    "question-answered": lambda e: f"{e.name}: passed with {e.phrase!r}" + (f" by {e.role}" if e.role else ""),
    "question-refused": lambda e: f"{e.name}: not passed by {e.answer!r}",
    "bolt-snugged": lambda e: f"{_bolt(e)} snug",
    "reading-accepted": lambda e: (
        f"{_bolt(e)}, pass {e.pass_number}: {figure(e.achieved)}" + (" (confirmed)" if e.confirmed_by else "")
    ),
    "reading-kept": lambda e: (
        f"{_bolt(e)}, pass {e.pass_number}: {figure(e.achieved)} KEPT outside its window: {e.reason}"
    ),
    "clicked-at-setting": lambda e: f"{_bolt(e)}, pass {e.pass_number}: clicked at setting {figure(e.setting)}",
    "bolt-held": lambda e: f"{_bolt(e)}, round {e.round}: did not move",
    "bolt-moved": lambda e: f"{_bolt(e)}, round {e.round}: moved",
    "stage-finished": lambda e: "step finished" if not e.again else f"round {e.round} finished: again",
    "competent-person-asked": lambda e: f"competent person asked for after {e.round} rounds",
    "reading-outside": lambda e: f"{_bolt(e)}: {e.heard.value} is {e.side} by {figure(e.by)}; not recorded",
    "reading-impossible": lambda e: f"{_bolt(e)}: {e.heard.value} refused ({e.reason})",
    "other-bolt-named": lambda e: f"bolt {e.named} named, bolt {e.announced} is due",
    "entry-taken-back": lambda e: f"entry {e.taken_back} taken back",
    "bolt-skipped": lambda e: f"{_bolt(e)} left for the end of its pass: {e.reason}",
    "note-kept": lambda e: f"note: {e.text}",
    "helper-asked": lambda _e: "a helper at the keyboard was asked for",
    "paused": lambda e: f"paused ({e.reason})",
    "stopped": lambda _e: "stopped",
    "resumed": lambda _e: "going on",
    **{kind: words for kind, words in COURSE_WORDS.items() if kind not in ("asked-back", "reason-wanted")},
}


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"
