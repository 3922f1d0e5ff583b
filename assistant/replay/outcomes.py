"""What each event says in a short sentence, and how the moment it belongs to is marked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assistant.events import Alternative, Event
from assistant.replay.outcomes_course import COURSE_MARKS, COURSE_WORDS
from assistant.replay.titles import UNIT_SIGNS, figure, plain
from assistant.replay.transcript import recorded


def outcome(event: Event) -> str:
    """A few words about what an event did; '' for those that only say or hear something."""
    words = _WORDS.get(event.kind)
    return words(event) if words else recorded(event)


def heard_words(heard: Alternative) -> str:
    """What was understood, as one would read it out: '52', '38 lbf·ft', 'correction'."""
    if heard.value is not None:
        return f"{plain(heard.value)} {UNIT_SIGNS.get(heard.unit, heard.unit)}" if heard.unit else plain(heard.value)
    return heard.command or heard.text or "nothing"


LIKELY = 0.05
"""A second reading with less probability than this is not worth a word. Our own choice."""


def question_words(heard: Alternative, other: Alternative | None) -> str:
    """What was asked about: '52 or 72?'; the second only where it was likely at all."""
    second = f" or {heard_words(other)}" if other is not None and other.probability >= LIKELY else ""
    return f"{heard_words(heard)}{second}?"


def _where(event: Any) -> str:
    return f"bolt {event.bolt}, pass {event.pass_number}"


_REFUSED = {
    "tool-range": "this wrench cannot show it",
    "far-off": "twice or half of what is due, or beyond",
    "unit": "it fits another unit",
    "other-scale": "this wrench does not carry that unit",
    "bolt-value": "it is what the bolt gets, not what the wrench shows",
    "not-a-torque": "it is no torque",
    "no-reading-due": "no reading was due",
}
_TOLD = {
    "say again": "asked to say it again",
    "status": "asked where we are",
    "help": "asked what can be said",
    "why": "asked why",
    "target": "asked for the target",
}

_WORDS: dict[str, Callable[[Any], str]] = {
    "reading-accepted": lambda e: (
        f"recorded: {_where(e)}, {figure(e.achieved)}"
        + (", after a question" if e.confirmed_by else "")
        + (f", taken by its window ({e.inside:.3f} inside, lift {e.lift:g})" if e.lift > 1 else "")
    ),
    "reading-kept": lambda e: f"kept outside its window: {_where(e)}, {figure(e.achieved)}; reason: {e.reason}",
    "clicked-at-setting": lambda e: f"recorded: {_where(e)}, clicked at its setting of {figure(e.setting)}",
    "bolt-snugged": lambda e: f"recorded: bolt {e.bolt} snug",
    "bolt-held": lambda e: f"recorded: bolt {e.bolt} did not move, round {e.round}",
    "bolt-moved": lambda e: f"recorded: bolt {e.bolt} moved, round {e.round}",
    "question-answered": lambda e: (
        f"{'hold point' if e.hold else 'check'} passed: {e.name}"
        + (f" (to be released by: {e.role})" if e.role else "")
    ),
    "question-refused": lambda e: f"not passed: {e.name}, answer '{e.answer}'",
    "reading-doubted": lambda e: f"asked: {question_words(e.heard, e.other)}",
    "confirmation-doubted": lambda _e: "the answer was not sure: asked once more",
    "reading-outside": lambda e: (
        f"outside the window, not recorded: bolt {e.bolt}, {heard_words(e.heard)} is {figure(e.by)} too {e.side}"
    ),
    "reading-impossible": lambda e: f"refused: {heard_words(e.heard)}; {_REFUSED.get(e.reason, e.reason)}",
    "other-bolt-named": lambda e: f"refused: bolt {e.named} was named, bolt {e.announced} is due",
    "reading-taken-back": lambda _e: "answered no: nothing was recorded",
    "retighten-agreed": lambda e: f"bolt {e.bolt} to be tightened again",
    "entry-taken-back": lambda e: f"corrected: entry {e.taken_back} taken back",
    "not-understood": lambda e: "not understood" + (", and said so" if e.aloud else ""),
    "figures-asked": lambda _e: "asked for the value figure by figure",
    "choice-offered": lambda e: "offered: " + ", ".join(f"{n} {heard_words(c)}" for n, c in enumerate(e.choices, 1)),
    "helper-asked": lambda _e: "a helper at the keyboard was asked for",
    "reason-asked": lambda e: (
        f"asked for the reason to {'cut the wait short' if e.purpose == 'cut-short' else e.purpose}"
    ),
    "bolt-skipped": lambda e: f"skipped: bolt {e.bolt}, left for the end of its pass; reason: {e.reason}",
    "stepped-back": lambda e: f"back to bolt {e.bolt}",
    "stepped-on": lambda e: f"bolt {e.bolt} left as it was",
    "note-asked": lambda _e: "a note was awaited",
    "note-kept": lambda e: f"note{f' at bolt {e.bolt}' if e.bolt else ''}: {e.text}",
    "told": lambda e: _TOLD.get(e.what, f"told: {e.what.replace('-', ' ')}"),
    "speech-adjusted": lambda e: f"the assistant speaks {e.what if e.what.endswith('er') else f'at level {e.what}'}",
    "stage-finished": lambda e: "round finished, and repeated: a nut moved" if e.again else "finished",
    "session-closed": lambda _e: "the joint was closed",
    "stopped": lambda _e: "stop",
    "session-left": lambda e: "left open for another day" if e.reason == "left open" else f"session left: {e.reason}",
    "paused": lambda e: "handed over" if e.reason == "hand-over" else f"paused ({e.reason})",
    **COURSE_WORDS,
}

_RECORDED = frozenset({"recorded"})
MARKS_OF: dict[str, frozenset[str]] = {
    "reading-accepted": _RECORDED,
    "clicked-at-setting": _RECORDED,
    "bolt-snugged": _RECORDED,
    "bolt-held": _RECORDED,
    "bolt-moved": frozenset({"recorded", "again"}),
    "reading-kept": frozenset({"recorded", "outside"}),
    "question-answered": frozenset({"recorded", "question"}),
    "question-refused": frozenset({"refused", "question"}),
    "reading-doubted": frozenset({"asked"}),
    "confirmation-doubted": frozenset({"asked"}),
    "choice-offered": frozenset({"asked"}),
    "figures-asked": frozenset({"asked"}),
    "reading-outside": frozenset({"outside"}),
    "reading-impossible": frozenset({"refused"}),
    "other-bolt-named": frozenset({"refused"}),
    "retighten-agreed": frozenset({"again"}),
    "stepped-back": frozenset({"again"}),
    "entry-taken-back": frozenset({"corrected"}),
    "reading-taken-back": frozenset({"corrected"}),
    "not-understood": frozenset({"not understood"}),
    "helper-asked": frozenset({"not understood", "halt"}),
    "bolt-skipped": frozenset({"skipped"}),
    "note-kept": frozenset({"note"}),
    "paused": frozenset({"halt"}),
    "stopped": frozenset({"halt"}),
    "resumed": frozenset({"halt"}),
    "session-opened": frozenset({"halt"}),
    "session-resumed": frozenset({"halt"}),
    "session-left": frozenset({"halt"}),
    "session-closed": frozenset({"question"}),
    "competent-person-asked": frozenset({"halt", "again"}),
    "sound-lost": frozenset({"sound"}),
    "trouble-found": frozenset({"sound"}),
    **COURSE_MARKS,
}
"""Marks of a moment by the kinds of event that came of it."""
