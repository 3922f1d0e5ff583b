"""What each event around the bolts says in a short sentence: waits, measurements, names, work done over, apprentice."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assistant.replay.titles import figure_in, length_words

_WHO = {
    "tightens": "tightened by",
    "settles": "finding released by",
    "supervisor": "supervised by",
    "witness": "released by",
    "measured": "measured by",
    "takes-over": "taken over by",
    "competent": "cause looked into by",
}
_ASKED_WHO = {
    "tightens": "asked who tightens",
    "settles": "asked who releases the finding",
    "supervisor": "asked who supervises",
    "witness": "asked who releases it",
    "measured": "asked who measured",
    "takes-over": "asked who takes over",
    "competent": "asked which competent person looked for the cause",
}
_PURPOSE = {"skip": "to skip", "keep": "to keep the reading", "cut-short": "to cut the wait short"}


def _taken_back(event: Any) -> str:
    count = len(event.taken_back)
    return f"{count} entr{'y' if count == 1 else 'ies'} no longer count{'s' if count == 1 else ''}"


def _restarted(event: Any) -> str:
    what = "gasket disturbed: all done over from the first step of assembly"
    return f"{what if event.reason == 'gasket' else 'pass done over from its first bolt'}; {_taken_back(event)}"


def _answered(event: Any) -> str:
    answer = f"bolt {event.answer}" if event.answer.isdecimal() else event.answer
    return f"apprentice answered {'rightly' if event.right else 'wrongly'}: {answer}"


def _found(event: Any) -> str:
    where = event.name or (f"bolt {event.bolt}" if event.bolt is not None else "")
    return f"FINDING {event.finding}{f' at {where}' if where else ''}: {event.what}"


def _settled(event: Any) -> str:
    return f"finding {event.finding} settled: {event.changed}" + (f"; released by {event.by}" if event.by else "")


_NO_REASON = {"reading": "it may be a new reading", "words": "it is a command or a phrase", "short": "too short"}


def _clock_set(event: Any) -> str:
    by = f" {'on' if event.seconds > 0 else 'back'} by {length_words(abs(event.seconds))}" if event.seconds else ""
    ends = {
        "counted": "; the wait is counted by the time the machine ran",
        "unsure": "; part of the wait passed while the machine was off, and nobody can tell how much",
    }
    return f"the clock of the machine was set{by}{ends.get(event.wait, '')}"


COURSE_WORDS: dict[str, Callable[[Any], str]] = {
    "clock-set": _clock_set,
    "off-the-record": lambda _e: "off the record: no sound is kept from here on",
    "on-the-record": lambda _e: "on the record: sound is kept again",
    "wait-begun": lambda e: f"wait begun: {e.name}, {length_words(e.seconds)}",
    "wait-goes-on": lambda _e: "the wait goes on",
    "wait-over": lambda e: (
        f"recorded: the wait is said to be over; {length_words(e.waited_s)} of it counted"
        if e.utterance
        else f"recorded: wait over after {length_words(e.waited_s)}"
    ),
    "wait-cut-short": lambda e: f"wait cut short by {length_words(e.left_s)}; reason: {e.reason}",
    "measurement-kept": lambda e: f"recorded: {e.name} {figure_in(e.value, e.unit)}",
    "measurement-refused": lambda e: (
        "measured outside its limits, not recorded: "
        + (figure_in(e.heard.value, e.heard.unit or "").strip() if e.heard.value is not None else "it")
        + f" is too {e.side}"
    ),
    "name-asked": lambda e: _ASKED_WHO.get(e.purpose, "asked for a name"),
    "name-kept": lambda e: (
        f"{_WHO.get(e.purpose, 'named:')} {e.text} ({e.how}{', confirmed' if e.confirmed_by else ''})"
    ),
    "name-read-back": lambda e: f"read back: {e.text}?",
    "name-taken-back": lambda e: f"corrected: the name {e.text} taken back",
    "finding-made": _found,
    "finding-described": lambda e: f"finding {e.finding}: {e.text}",
    "change-told": lambda e: f"finding {e.finding}, what changed: {e.text}",
    "finding-settled": _settled,
    "reason-doubted": lambda e: f"no reason: {e.text!r}; {_NO_REASON.get(e.why, e.why)}",
    "stop-released": lambda e: f"stop of the plan released: {e.name}; reason: {e.reason}",
    "bolt-replaced": lambda e: f"bolt {e.bolt} replaced; {_taken_back(e)}, the new one comes up alone",
    "passes-restarted": _restarted,
    "bolt-taken-up": lambda e: f"bolt {e.bolt} taken up first",
    "asked-back": lambda e: (
        f"apprentice asked which bolt comes next (bolt {e.expects})"
        if e.about == "next-bolt"
        else f"apprentice asked back (right answer: {e.expects})"
    ),
    "answered-back": _answered,
    "reason-wanted": lambda _e: "apprentice asked why",
    "reason-given": lambda e: f"apprentice's reason, kept and not judged: {e.text}",
    "supervisor-asked": lambda e: f"supervisor's phrase needed {_PURPOSE.get(e.purpose, '')}".strip(),
    "supervisor-agreed": lambda e: f"supervisor agreed {_PURPOSE.get(e.purpose, '')}".strip(),
}
"""Kind of event -> its words."""

COURSE_MARKS: dict[str, frozenset[str]] = {
    "wait-begun": frozenset({"wait"}),
    "wait-goes-on": frozenset({"wait"}),
    "clock-set": frozenset({"wait"}),
    "off-the-record": frozenset({"sound"}),
    "on-the-record": frozenset({"sound"}),
    "wait-over": frozenset({"wait"}),
    "wait-cut-short": frozenset({"wait", "skipped"}),
    "measurement-kept": frozenset({"wait", "recorded"}),
    "measurement-refused": frozenset({"wait", "refused"}),
    "name-asked": frozenset({"question"}),
    "name-kept": frozenset({"question"}),
    "name-read-back": frozenset({"question"}),
    "name-taken-back": frozenset({"corrected"}),
    "finding-made": frozenset({"refused", "question"}),
    "finding-described": frozenset({"refused", "question"}),
    "change-told": frozenset({"question"}),
    "finding-settled": frozenset({"question"}),
    "reason-doubted": frozenset({"asked"}),
    "stop-released": frozenset({"recorded", "question"}),
    "bolt-replaced": frozenset({"corrected", "again"}),
    "passes-restarted": frozenset({"corrected", "again"}),
    "asked-back": frozenset({"taught"}),
    "answered-back": frozenset({"taught"}),
    "reason-wanted": frozenset({"taught"}),
    "reason-given": frozenset({"taught"}),
    "supervisor-asked": frozenset({"taught"}),
    "supervisor-agreed": frozenset({"taught", "skipped"}),
}
"""Marks of a moment by these kinds of events."""
