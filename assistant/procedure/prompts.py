"""Which sentence an event calls for. Pure; the words themselves are in `speech.wording`."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from assistant.bolting import units
from assistant.events import Alternative, Event, Measured, Measurement, Pass, Question
from assistant.procedure.prompts_course import COURSE
from assistant.procedure.prompts_findings import FINDINGS
from assistant.procedure.state import Entry, State
from assistant.speech.confusable import confusable_with, teen_or_ten
from assistant.speech.wording import Wording, catalogue


def prompt(before: State, event: Event, after: State) -> str:
    """Sentence for one event, "" when it is not spoken about."""
    speak = _PROMPTS.get(event.kind)
    return speak(catalogue(after.work.language), before, event, after) if speak else ""


def read_back(w: Wording, bolt: int, reading: Measured, due: Pass) -> str:
    """A recorded reading, read back in passing; confusable figures one by one, another unit in both."""
    spell = spelled_out(reading.value, due)
    unit = due.setting.unit if due.setting is not None else reading.unit
    if reading.unit == unit:
        return w.recorded(bolt, reading.value, spell=spell)
    there = Decimal(f"{units.convert(units.torque(reading), unit).magnitude:.1f}")
    return w.recorded(
        bolt, reading.value, spell=spell, other_unit=reading.unit, converted=w.amount(there, unit, due.unit_words)
    )


def spelled_out(value: Decimal, due: Pass | None) -> bool:
    """Whether a value is read back figure by figure: a teen/ten twin, or a rival that the window would let pass."""
    if teen_or_ten(value):
        return True
    if due is None or due.low is None or due.high is None:
        return False
    return any(_nine_for_five(value, r) and due.low.value <= r <= due.high.value for r in confusable_with(value))


def _nine_for_five(value: Decimal, rival: Decimal) -> bool:
    return str(value).replace("9", "5") == str(rival).replace("9", "5")


def next_bolt(w: Wording, due: Pass, bolt: int) -> str:
    """Ask for a bolt in the middle of a pass; where several tools pull, for the whole pull at its first bolt."""
    if due.kind == "snug":
        return w.snug(bolt, first=False)
    if due.goes_round or due.setting is None:
        return w.circle(bolt)
    team = due.team(bolt)
    if len(team) > 1:
        return f"{w.together(team, due.setting.value)} " * (bolt == team[0]) + w.reading_of(bolt)
    place = dict(due.where).get(bolt, "")
    return w.turn(bolt, due.setting.value) if not place else f"{w.place(place)} {w.turn(bolt, due.setting.value)}"


def _with_unit(w: Wording, due: Pass, setting: Measured) -> str:
    return w.amount(setting.value, setting.unit, due.unit_words)


def where(w: Wording, state: State) -> str:
    """Place in the work, in words."""
    if state.question is not None:
        return w.where_question(state.question.called)
    if state.wait is not None:
        return w.wait_goes_on(state.wait.called, state.left_s if state.left_s is not None else state.wait.seconds)
    if state.measurement is not None:
        return w.where_question(state.measurement.called)
    due = state.current_pass
    return w.where_pass(due.kind, due.number, state.round, state.bolt) if due else w.all_done()


def _announced(w: Wording, before: State, event: Any, after: State) -> str:
    del before
    item, due = after.item, after.current_pass
    if isinstance(item, Question):
        asked = w.hold_point(item.ask, item.phrase)
        return " ".join(part for part in (_all_done(w, after), introduced(w, after), asked) if part)
    if isinstance(item, Measurement):
        return " ".join(part for part in (introduced(w, after), w.measure(item.ask, item.unit)) if part)
    if due is None or event.bolt is None:
        return ""
    if after.movement_due:
        return w.moved_or_not(event.bolt)
    if not event.first_of_pass:
        return next_bolt(w, due, event.bolt)
    begins = _pass_begins(w, due, event.round, after)
    said = (introduced(w, after) if event.round == 1 else "", begins, next_bolt(w, due, event.bolt))
    if due.kind == "snug":
        said = (introduced(w, after), w.snug(event.bolt, first=True, group=_group(w, due, after)), "")
    return " ".join(part for part in said if part)


def _pass_begins(w: Wording, due: Pass, round_number: int, after: State) -> str:
    if due.setting is None:
        return ""
    group, setting = _group(w, due, after), _with_unit(w, due, due.setting)
    if due.kind == "seat":
        return w.seat_begins(round_number, group, due.tap, setting)
    if due.kind == "circular":
        return w.circular_begins(round_number, group, setting, recheck=due.phase == "re-check")
    return w.pass_begins(due.number, group, setting, clicks=due.clicks)


def _group(w: Wording, due: Pass, after: State) -> str | None:
    """The group named with its count, where there are several: 'clamp bolts' and 'cross bolts' are soon confused."""
    several = len({p.group for p in after.work.passes}) > 1
    return w.group(due.group, len(due.bolts)) if several else None


def introduced(w: Wording, after: State) -> str:
    """Before the request of a stage: its caution to everybody; why, and what goes wrong, to an apprentice."""
    if after.item is None:
        return ""
    lesson = after.item.lesson
    caution = w.caution(lesson.caution) if lesson.caution else ""
    told = w.explained(lesson.why, lesson.goes_wrong) if after.work.apprentice else ""
    return " ".join(part for part in (caution, told) if part)


def _all_done(w: Wording, after: State) -> str:
    """Said once, when the last pass lies behind."""
    items = after.work.items
    last = max((n for n, item in enumerate(items, start=1) if isinstance(item, Pass)), default=0)
    return w.all_done() if after.stage == last + 1 else ""


def _accepted(w: Wording, before: State, event: Any, after: State) -> str:
    due = before.current_pass
    del after
    return read_back(w, event.bolt, event.achieved, due) if due is not None else ""


def _doubted(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    heard: Alternative = event.heard
    question = before.question
    if question is not None and question.hold and heard.command == question.phrase:
        return w.once_more(question.phrase)
    pending = before.pending
    again = pending is not None and (pending.heard.value, pending.heard.command) == (heard.value, heard.command)
    again = again or (heard.value is not None and heard.value in before.denied)
    if heard.value is None:
        if heard.command == "correction" and before.last_entry is not None:
            return (w.take_back_again if again else w.take_back)(_entry(w, before, before.last_entry))
        return (w.did_you_say_again if again else w.did_you_say)(heard.command or heard.text)
    if again:
        return w.is_it_again(heard.value)
    return w.is_it(heard.value, spell=spelled_out(heard.value, before.current_pass), unit=heard.unit or "")


def _entry(w: Wording, state: State, entry: Entry) -> str:
    item = state.stages[entry.stage - 1]
    if entry.bolt is None:
        return "" if isinstance(item, Pass) else item.called
    what = w.number(entry.reading.value) if entry.reading is not None else w.entries.get(entry.kind, "")
    return w.entry(entry.bolt, what)


def _outside(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    if event.hint == "last-pass" and before.current_pass is not None and before.current_pass.setting is not None:
        low = w.low if event.side == "low" else w.high
        return (
            f"{low(event.bolt, event.heard.value, event.by.value)} "
            f"{w.last_pass_setting(before.current_pass.setting.value)}"
        )
    said = w.low if event.side == "low" else w.high
    return said(event.bolt, event.heard.value, event.by.value)


def _impossible(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    due = before.current_pass.setting.value if before.current_pass and before.current_pass.setting else None
    return w.impossible(event.heard.value, event.reason, event.hint, due)


def _refused(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    question = before.question
    if question is None:
        return ""
    if event.answer in (other.phrase for other in before.work.questions if other is not question):
        return f"{w.out_of_order(where(w, before))} {w.whole_phrase(question.phrase)}"
    if event.answer in question.refused:
        return w.wrong_answer(event.answer, question.phrase)
    return w.whole_phrase(question.phrase)


def _taken_back(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    entry = next(e for e in before.entries if e.number == event.taken_back)
    return w.taken_back(_entry(w, before, entry))


def _not_understood(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    if not event.aloud:
        return ""
    if before.question is not None and before.misses % 2:
        return w.whole_phrase(before.question.phrase)
    return w.say_again_please(before.misses)


def _half(w: Wording, before: State, event: Any, after: State) -> str:
    del event, after
    if before.dialogue == "choosing":
        return w.choose(*(w.figures(c.value) for c in before.choices if c.value is not None))
    return w.yes_or_no(again=before.half is not None)


def _told(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    if event.what == "say again":
        return before.last_prompt or where(w, before)
    if event.what == "help":
        state = before.dialogue
        if state == "guiding":
            state = "question" if before.question is not None else "measuring" if before.measurement else state
        return w.help.get(state, w.help["guiding"])
    if event.what == "out-of-order":
        return w.out_of_order(where(w, before))
    if event.what == "status" and before.current_pass is None:
        return where(w, before)
    if event.what == "status":
        done = before.done(before.stage, before.round)
        of = len(before.current_pass.bolts) if before.current_pass else 1
        return w.status(where(w, before), len(done), of)
    if event.what == "why":
        lesson = before.item.lesson if before.item is not None else None
        told = w.explained(lesson.why, lesson.goes_wrong) if lesson is not None else ""
        return told or where(w, before)
    if event.what == "target":
        due = before.current_pass
        return w.due(_with_unit(w, due, due.setting)) if due and due.setting else where(w, before)
    return w.told.get(event.what, "")


def _choices(w: Wording, before: State, event: Any, after: State) -> str:
    del before, after
    one, two = (w.figures(c.value) for c in event.choices)
    return w.choose(one, two)


def _paused(w: Wording, before: State, event: Any, after: State) -> str:
    del after
    return w.hand_over(where(w, before)) if event.reason == "hand-over" else w.paused()


def _closed(w: Wording, before: State, event: Any, after: State) -> str:
    del event, after
    if not before.work.apprentice:
        return w.closed()
    seen = dict.fromkeys(w.moment(kind, bolt) for kind, _, bolt in before.lessons)
    return f"{w.closed()} {w.debrief(tuple(seen)[:MOST_MOMENTS])}"


MOST_MOMENTS = 5
"""So many moments are told after an apprentice's joint; the page shows them all."""


_PROMPTS: dict[str, Callable[[Wording, State, Any, State], str]] = {
    "work-laid-out": lambda w, _b, e, _a: w.opening(e.joint),
    "session-resumed": lambda w, b, _e, _a: w.resuming(b.work.joint),
    "item-announced": _announced,
    "question-answered": lambda w, _b, e, _a: w.answered(e.phrase),
    "question-refused": _refused,
    "bolt-snugged": lambda w, _b, e, _a: w.is_snug(e.bolt),
    "reading-accepted": _accepted,
    "reading-kept": lambda w, _b, e, _a: w.kept(e.bolt, e.achieved.value),
    "clicked-at-setting": lambda w, _b, e, _a: w.clicked(e.bolt, e.setting.value),
    "bolt-held": lambda w, _b, e, _a: w.held(e.bolt),
    "bolt-moved": lambda w, _b, e, _a: w.moved(e.bolt),
    "competent-person-asked": lambda w, _b, e, _a: w.last_round(e.round),
    "reading-doubted": _doubted,
    "reading-outside": _outside,
    "reading-impossible": _impossible,
    "other-bolt-named": lambda w, _b, e, _a: w.other_bolt(e.named, e.announced),
    "entry-taken-back": _taken_back,
    "confirmation-doubted": _half,
    "not-understood": _not_understood,
    "figures-asked": lambda w, b, _e, _a: w.figures_please(b.bolt),
    "choice-offered": _choices,
    "helper-asked": lambda w, _b, _e, _a: w.helper(),
    "bolt-skipped": lambda w, _b, e, _a: w.skipped(e.bolt),
    "note-asked": lambda w, _b, _e, _a: w.note_please(),
    "note-kept": lambda w, _b, _e, _a: w.noted(),
    "told": _told,
    "trouble-found": lambda w, _b, e, _a: w.equipment[e.what],
    "paused": _paused,
    "stopped": lambda w, _b, _e, _a: w.stopped(),
    "resumed": lambda w, _b, _e, _a: w.resumed(),
    "session-closed": _closed,
    "session-left": lambda w, _b, _e, _a: w.left(),
    **COURSE,
    **FINDINGS,
}
