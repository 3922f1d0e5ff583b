"""What each event says in a short sentence, how the moment it belongs to is marked, and whether it is a deviation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from typing_extensions import assert_never

from assistant import events as ev
from assistant.events import Alternative, Event
from assistant.replay.titles import UNIT_SIGNS, figure, figure_in, length_words, plain


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an event did.

    Args:
        words: a few; '' for those that only say or hear something, or are said in the prompt that follows.
        marks: of the moment it belongs to, some of `moments.MARKS`.
        deviation: what the record calls it where a lead wants to see it, else ''.
    """

    words: str
    marks: frozenset[str]
    deviation: str


def outcome(event: Event) -> str:
    """A few words about what an event did; '' for those that only say or hear something."""
    return outcome_of(event).words


def _says(words: str, *marks: str, deviation: str = "") -> Outcome:
    return Outcome(words, frozenset(marks), deviation)


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


def _where(event: ev.ReadingAccepted | ev.ReadingKept | ev.ClickedAtSetting) -> str:
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
_ASKED_WHY = {
    "skip": "asked why the bolt is skipped",
    "keep": "asked why the reading is kept",
    "cut-short": "asked why the wait is cut short",
    "missing": "asked what is missing",
    "changed": "asked what was done about it",
    "release": "asked why the stop is released",
}
_PURPOSE = {"skip": "to skip", "keep": "to keep the reading", "cut-short": "to cut the wait short"}


def _taken_back(event: ev.BoltReplaced | ev.PassesRestarted) -> str:
    count = len(event.taken_back)
    return f"{count} entr{'y' if count == 1 else 'ies'} no longer count{'s' if count == 1 else ''}"


def _restarted(event: ev.PassesRestarted) -> str:
    what = "gasket disturbed: all done over from the first step of assembly"
    return f"{what if event.reason == 'gasket' else 'pass done over from its first bolt'}; {_taken_back(event)}"


def _answered(event: ev.AnsweredBack) -> str:
    answer = f"bolt {event.answer}" if event.answer.isdecimal() else event.answer
    return f"apprentice answered {'rightly' if event.right else 'wrongly'}: {answer}"


def _found(event: ev.FindingMade) -> str:
    where = event.name or (f"bolt {event.bolt}" if event.bolt is not None else "")
    return f"FINDING {event.finding}{f' at {where}' if where else ''}: {event.what}"


def _settled(event: ev.FindingSettled) -> str:
    return f"finding {event.finding} settled: {event.changed}" + (f"; released by {event.by}" if event.by else "")


_NO_REASON = {"reading": "it may be a new reading", "words": "it is a command or a phrase", "short": "too short"}


def _clock_set(event: ev.ClockSet) -> str:
    by = f" {'on' if event.seconds > 0 else 'back'} by {length_words(abs(event.seconds))}" if event.seconds else ""
    ends = {
        "counted": "; the wait is counted by the time the machine ran",
        "unsure": "; part of the wait passed while the machine was off, and nobody can tell how much",
    }
    return f"the clock of the machine was set{by}{ends.get(event.wait, '')}"


def outcome_of(event: Event) -> Outcome:
    """What an event did. Every event is named: one more makes the type checker ask for its words."""
    match event:
        case ev.ReadingAccepted():
            return _says(
                f"recorded: {_where(event)}, {figure(event.achieved)}"
                + (", after a question" if event.confirmed_by else "")
                + (
                    f", taken by its window ({event.inside or 0:.3f} inside, lift {event.lift:g})"
                    if event.lift > 1
                    else ""
                ),
                "recorded",
            )
        case ev.ReadingKept():
            return _says(
                f"kept outside its window: {_where(event)}, {figure(event.achieved)}; reason: {event.reason}",
                "outside",
                "recorded",
                deviation="kept outside window",
            )
        case ev.ClickedAtSetting():
            return _says(f"recorded: {_where(event)}, clicked at its setting of {figure(event.setting)}", "recorded")
        case ev.BoltSnugged():
            return _says(f"recorded: bolt {event.bolt} snug", "recorded")
        case ev.BoltHeld():
            return _says(f"recorded: bolt {event.bolt} did not move, round {event.round}", "recorded")
        case ev.BoltMoved():
            return _says(f"recorded: bolt {event.bolt} moved, round {event.round}", "again", "recorded")
        case ev.QuestionAnswered():
            return _says(
                f"{'hold point' if event.hold else 'check'} passed: {event.name}"
                + (f" (to be released by: {event.role})" if event.role else ""),
                "question",
                "recorded",
            )
        case ev.QuestionRefused():
            return _says(
                f"not passed: {event.name}, answer '{event.answer}'", "question", "refused", deviation="answer refused"
            )
        case ev.ReadingDoubted():
            return _says(f"asked: {question_words(event.heard, event.other)}", "asked")
        case ev.ConfirmationDoubted():
            return _says("the answer was not sure: asked once more", "asked")
        case ev.ReadingOutside():
            return _says(
                f"outside the window, not recorded: bolt {event.bolt}, "
                f"{heard_words(event.heard)} is {figure(event.by)} too {event.side}",
                "outside",
                deviation="outside window",
            )
        case ev.ReadingImpossible():
            return _says(
                f"refused: {heard_words(event.heard)}; {_REFUSED.get(event.reason, event.reason)}",
                "refused",
                deviation="refused",
            )
        case ev.OtherBoltNamed():
            return _says(
                f"refused: bolt {event.named} was named, bolt {event.announced} is due",
                "refused",
                deviation="other bolt named",
            )
        case ev.ReadingTakenBack():
            return _says("answered no: nothing was recorded", "corrected")
        case ev.RetightenAgreed():
            return _says(f"bolt {event.bolt} to be tightened again", "again")
        case ev.EntryTakenBack():
            return _says(f"corrected: entry {event.taken_back} taken back", "corrected")
        case ev.NotUnderstood():
            return _says("not understood" + (", and said so" if event.aloud else ""), "not understood")
        case ev.FiguresAsked():
            return _says("asked for the value figure by figure", "asked")
        case ev.ChoiceOffered():
            return _says(
                "offered: " + ", ".join(f"{n} {heard_words(c)}" for n, c in enumerate(event.choices, 1)), "asked"
            )
        case ev.HelperAsked():
            return _says(
                "a helper at the keyboard was asked for", "halt", "not understood", deviation="helper asked for"
            )
        case ev.ReasonAsked():
            return _says(_ASKED_WHY.get(event.purpose, "asked for a reason"))
        case ev.BoltSkipped():
            return _says(
                f"skipped: bolt {event.bolt}, left for the end of its pass; reason: {event.reason}",
                "skipped",
                deviation="skipped",
            )
        case ev.SteppedBack():
            return _says(f"back to bolt {event.bolt}", "again")
        case ev.SteppedOn():
            return _says(f"bolt {event.bolt} left as it was")
        case ev.NoteAsked():
            return _says("a note was awaited")
        case ev.NoteKept():
            return _says(f"note{f' at bolt {event.bolt}' if event.bolt else ''}: {event.text}", "note")
        case ev.Told():
            return _says(_TOLD.get(event.what, f"told: {event.what.replace('-', ' ')}"))
        case ev.SpeechAdjusted():
            return _says(
                f"the assistant speaks {event.what if event.what.endswith('er') else f'at level {event.what}'}"
            )
        case ev.StageFinished():
            return _says("round finished, and repeated: a nut moved" if event.again else "finished")
        case ev.SessionClosed():
            return _says("the joint was closed", "question")
        case ev.Stopped():
            return _says("stop", "halt")
        case ev.SessionLeft():
            return _says(
                "left open for another day" if event.reason == "left open" else f"session left: {event.reason}", "halt"
            )
        case ev.Paused():
            return _says("handed over" if event.reason == "hand-over" else f"paused ({event.reason})", "halt")
        case ev.ClockSet():
            return _says(_clock_set(event), "wait")
        case ev.OffTheRecord():
            return _says("off the record: no sound is kept from here on", "sound")
        case ev.OnTheRecord():
            return _says("on the record: sound is kept again", "sound")
        case ev.WaitBegun():
            return _says(f"wait begun: {event.name}, {length_words(event.seconds)}", "wait")
        case ev.WaitGoesOn():
            return _says("the wait goes on", "wait")
        case ev.WaitOver():
            return _says(
                f"recorded: the wait is said to be over; {length_words(event.waited_s)} of it counted"
                if event.utterance
                else f"recorded: wait over after {length_words(event.waited_s)}",
                "wait",
            )
        case ev.WaitCutShort():
            return _says(
                f"wait cut short by {length_words(event.left_s)}; reason: {event.reason}",
                "skipped",
                "wait",
                deviation="wait cut short",
            )
        case ev.MeasurementKept():
            return _says(f"recorded: {event.name} {figure_in(event.value, event.unit)}", "recorded", "wait")
        case ev.MeasurementRefused():
            return _says(
                "measured outside its limits, not recorded: "
                + (
                    figure_in(event.heard.value, event.heard.unit or "").strip()
                    if event.heard.value is not None
                    else "it"
                )
                + f" is too {event.side}",
                "refused",
                "wait",
                deviation="measurement refused",
            )
        case ev.NameAsked():
            return _says(_ASKED_WHO.get(event.purpose, "asked for a name"), "question")
        case ev.NameKept():
            return _says(
                f"{_WHO.get(event.purpose, 'named:')} {event.text} "
                f"({event.how}{', confirmed' if event.confirmed_by else ''})",
                "question",
            )
        case ev.NameReadBack():
            return _says(f"read back: {event.text}?", "question")
        case ev.NameTakenBack():
            return _says(f"corrected: the name {event.text} taken back", "corrected")
        case ev.FindingMade():
            return _says(_found(event), "question", "refused", deviation="finding")
        case ev.FindingDescribed():
            return _says(f"finding {event.finding}: {event.text}", "question", "refused", deviation="finding described")
        case ev.ChangeTold():
            return _says(f"finding {event.finding}, what changed: {event.text}", "question", deviation="what changed")
        case ev.FindingSettled():
            return _says(_settled(event), "question", deviation="finding settled")
        case ev.ReasonDoubted():
            return _says(f"no reason: {event.text!r}; {_NO_REASON.get(event.why, event.why)}", "asked")
        case ev.StopReleased():
            return _says(
                f"stop of the plan released: {event.name}; reason: {event.reason}",
                "question",
                "recorded",
                deviation="stop of the plan released",
            )
        case ev.BoltReplaced():
            return _says(
                f"bolt {event.bolt} replaced; {_taken_back(event)}, the new one comes up alone",
                "again",
                "corrected",
                deviation="bolt replaced",
            )
        case ev.PassesRestarted():
            return _says(_restarted(event), "again", "corrected", deviation="done over")
        case ev.BoltTakenUp():
            return _says(f"bolt {event.bolt} taken up first")
        case ev.AskedBack():
            return _says(
                f"apprentice asked which bolt comes next (bolt {event.expects})"
                if event.about == "next-bolt"
                else f"apprentice asked back (right answer: {event.expects})",
                "taught",
            )
        case ev.AnsweredBack():
            return _says(_answered(event), "taught")
        case ev.ReasonWanted():
            return _says("apprentice asked why", "taught")
        case ev.ReasonGiven():
            return _says(f"apprentice's reason, kept and not judged: {event.text}", "taught")
        case ev.SupervisorAsked():
            return _says(f"supervisor's phrase needed {_PURPOSE.get(event.purpose, '')}".strip(), "taught")
        case ev.SupervisorAgreed():
            return _says(
                f"supervisor agreed {_PURPOSE.get(event.purpose, '')}".strip(),
                "skipped",
                "taught",
                deviation="supervisor agreed",
            )
        case ev.SessionOpened():
            return _says(f"session opened; {event.product}; listeners: {_listed(event.listeners)}", "halt")
        case ev.SessionResumed():
            return _says(
                f"session resumed; {event.product}; listeners: {_listed(event.listeners)}"
                + (f"; {event.torn_bytes} bytes of a half-written line set aside" if event.torn_bytes else ""),
                "halt",
            )
        case ev.SoundLost():
            return _says(f"sound lost: {event.reason} ({event.samples / 16:.0f} ms)", "sound", deviation="sound lost")
        case ev.TroubleFound():
            return _says(f"trouble: {event.detail}", "sound", deviation="trouble with hearing or speaking")
        case ev.CompetentPersonAsked():
            return _says(
                f"competent person asked for after {event.round} rounds", "again", "halt", deviation="nuts still moving"
            )
        case ev.Resumed():
            return _says("going on", "halt")
        case ev.ItemAnnounced() | ev.PromptSpoken() | ev.TimeLeft() | ev.UtteranceHeard() | ev.WorkLaidOut():
            return _says("")
        case _:
            assert_never(event)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"
