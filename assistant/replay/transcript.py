"""The conversation and what came of it, line by line, as data: who said what, how sure it was heard, what was done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from assistant import events as ev
from assistant.events import Event
from assistant.journal.reading import Entry
from assistant.replay.outcomes import heard_words, outcome

FREE_WORDS = frozenset({"because", "name", "note"})
"""Commands that stand for free words: what was said says all."""
NOTHING = "(nothing that fits)"
"""What a line says of an utterance in which nothing was understood."""


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
    if isinstance(event, ev.PromptSpoken):
        return Line(utc=entry.utc, sample=event.start_sample, who="assistant", text=event.text, remark=sounded(event))
    if isinstance(event, ev.UtteranceHeard):
        text, remark = _heard(event)
        return Line(utc=entry.utc, sample=event.start_sample, who="heard", text=text, remark=remark)
    words = recorded(event)
    return Line(utc=entry.utc, sample=entry.sample, who="record", text=words) if words else None


def sounded(prompt: ev.PromptSpoken) -> str:
    """What is to be said of how a prompt sounded; "" where it sounded whole at once, or nobody looked."""
    if prompt.cut_short:
        return "cut short: somebody spoke"
    if prompt.whole is False:
        return f"BROKEN by the loudspeaker, {prompt.times} times: may not have been understood"
    return f"said {prompt.times} times: broken before" if prompt.times > 1 else ""


def _heard(event: ev.UtteranceHeard) -> tuple[str, str]:
    best = event.alternatives[0] if event.alternatives else None
    by = ", ".join(f"{name} {text or '-'!r}" for name, text in sorted(event.listeners.items()))
    if best is None:
        return NOTHING, f"{event.decision}; {by}"
    meaning = _meaning_text(event)
    return meaning, f"{event.decision} {best.probability:.3f}; {by}"


def _meaning_text(event: ev.UtteranceHeard) -> str:
    best = event.alternatives[0]
    if best.value is not None:
        return f"{best.text}  = {heard_words(best)}"
    shown = best.command and best.command not in FREE_WORDS and best.text not in ("", best.command)
    return f"{best.text}  = {best.command}" if shown else best.text


def recorded(event: Event) -> str:
    """What an event put on record, in a few words; "" for events that only steer the dialogue."""
    match event:
        case (
            ev.AskedBack()
            | ev.ChoiceOffered()
            | ev.ConfirmationDoubted()
            | ev.FiguresAsked()
            | ev.NotUnderstood()
            | ev.NoteAsked()
            | ev.ReadingDoubted()
            | ev.ReadingTakenBack()
            | ev.ReasonAsked()
            | ev.ReasonWanted()
            | ev.RetightenAgreed()
            | ev.SpeechAdjusted()
            | ev.SteppedBack()
            | ev.SteppedOn()
            | ev.Told()
        ):
            return ""
    return "" if isinstance(event, ev.StageFinished) and not event.again else outcome(event)
