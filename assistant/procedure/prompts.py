"""Which sentence an event calls for. Pure; the words themselves are in `speech.wording`."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from assistant.bolting import units
from assistant.events import Alternative, Event, Measured, Pass, Question
from assistant.procedure.state import Entry, State
from assistant.speech import wording
from assistant.speech.confusable import confusable_with, teen_or_ten


def prompt(before: State, event: Event, after: State) -> str:
    """Sentence for one event, "" when it is not spoken about."""
    speak = _PROMPTS.get(event.kind)
    return speak(before, event, after) if speak else ""


def read_back(bolt: int, reading: Measured, due: Pass) -> str:
    """A recorded reading, read back in passing; confusable figures one by one, another unit in both."""
    spell = spelled_out(reading.value, due)
    unit = due.setting.unit if due.setting is not None else reading.unit
    if reading.unit == unit:
        return wording.recorded(bolt, reading.value, spell=spell)
    there = Decimal(f"{units.convert(units.torque(reading), unit).magnitude:.1f}")
    return wording.recorded(
        bolt, reading.value, spell=spell, other_unit=reading.unit, converted=wording.amount(there, unit, due.unit_words)
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


def next_bolt(due: Pass, bolt: int) -> str:
    """Ask for a bolt in the middle of a pass."""
    if due.kind == "snug":
        return wording.snug(bolt, first=False)
    if due.kind == "circular" or due.setting is None:
        return wording.circle(bolt)
    return wording.turn(bolt, due.setting.value)


def _with_unit(due: Pass, setting: Measured) -> str:
    return wording.amount(setting.value, setting.unit, due.unit_words)


def where(state: State) -> str:
    """Place in the work, in words."""
    if state.question is not None:
        return wording.where_question(state.question.name)
    due = state.current_pass
    return wording.where_pass(due.kind, due.number, state.round, state.bolt) if due else wording.all_done()


def _announced(before: State, event: Any, after: State) -> str:
    del before
    question, due = after.question, after.current_pass
    if question is not None:
        first_after = after.stage == len(after.work.before) + len(after.work.passes) + 1
        done = wording.all_done() + " " if first_after else ""
        return done + wording.hold_point(question.ask, question.phrase)
    if due is None or event.bolt is None:
        return ""
    if due.kind == "snug":
        return wording.snug(event.bolt, first=event.first_of_pass)
    if after.movement_due:
        return wording.moved_or_not(event.bolt)
    if not event.first_of_pass or due.setting is None:
        return next_bolt(due, event.bolt)
    several = len({p.group for p in after.work.passes}) > 1
    group, setting = (due.group if several else None), due.setting
    if due.kind == "circular":
        begins = wording.circular_begins(event.round, group, _with_unit(due, setting))
    else:
        begins = wording.pass_begins(due.number, group, _with_unit(due, setting), clicks=due.clicks)
    return f"{begins} {next_bolt(due, event.bolt)}"


def _accepted(before: State, event: Any, after: State) -> str:
    due = before.current_pass
    del after
    return read_back(event.bolt, event.achieved, due) if due is not None else ""


def _doubted(before: State, event: Any, after: State) -> str:
    del after
    heard: Alternative = event.heard
    question = before.question
    if question is not None and question.hold and heard.command == question.phrase:
        return wording.once_more(question.phrase)
    pending = before.pending
    again = pending is not None and (pending.heard.value, pending.heard.command) == (heard.value, heard.command)
    if heard.value is None:
        return (wording.did_you_say_again if again else wording.did_you_say)(_name(before, heard))
    if again:
        return wording.is_it_again(heard.value)
    return wording.is_it(heard.value, spell=spelled_out(heard.value, before.current_pass), unit=heard.unit or "")


def _name(state: State, heard: Alternative) -> str:
    if heard.command == "correction" and state.last_entry is not None:
        return f"take back {_entry(state, state.last_entry)}"
    return heard.command or heard.text


def _entry(state: State, entry: Entry) -> str:
    item = state.stages[entry.stage - 1]
    if entry.bolt is None:
        return item.name if isinstance(item, Question) else ""
    what = wording.number(entry.reading.value) if entry.reading is not None else _ENTRY_WORDS.get(entry.kind, "")
    return f"bolt {wording.number(Decimal(entry.bolt))}, {what}"


_ENTRY_WORDS = {
    "bolt-snugged": "snug",
    "bolt-held": "held",
    "bolt-moved": "moved",
    "clicked-at-setting": "clicked",
}


def _outside(before: State, event: Any, after: State) -> str:
    del after
    if event.hint == "last-pass" and before.current_pass is not None and before.current_pass.setting is not None:
        low = wording.low if event.side == "low" else wording.high
        return (
            f"{low(event.bolt, event.heard.value, event.by.value)} "
            f"{wording.last_pass_setting(before.current_pass.setting.value)}"
        )
    said = wording.low if event.side == "low" else wording.high
    return said(event.bolt, event.heard.value, event.by.value)


def _impossible(before: State, event: Any, after: State) -> str:
    del after
    due = before.current_pass.setting.value if before.current_pass and before.current_pass.setting else None
    return wording.impossible(event.heard.value, event.reason, event.hint, due)


def _refused(before: State, event: Any, after: State) -> str:
    del after
    question = before.question
    if question is None:
        return ""
    if event.answer in question.refused:
        return wording.wrong_answer(event.answer, question.phrase)
    return wording.whole_phrase(question.phrase)


def _taken_back(before: State, event: Any, after: State) -> str:
    del after
    entry = next(e for e in before.entries if e.number == event.taken_back)
    return wording.taken_back(_entry(before, entry))


def _not_understood(before: State, event: Any, after: State) -> str:
    del after
    if not event.aloud:
        return ""
    if before.question is not None and before.misses % 2:
        return wording.whole_phrase(before.question.phrase)
    return wording.say_again_please(before.misses)


def _half(before: State, event: Any, after: State) -> str:
    del event, after
    if before.dialogue == "choosing":
        return wording.choose(*(wording.figures(c.value) for c in before.choices if c.value is not None))
    return wording.yes_or_no(again=before.half is not None)


def _told(before: State, event: Any, after: State) -> str:
    del after
    if event.what == "say again":
        return before.last_prompt
    if event.what == "help":
        state = "question" if before.question is not None and before.dialogue == "guiding" else before.dialogue
        return wording.HELP.get(state, wording.HELP["guiding"])
    if event.what == "status":
        done = before.done(before.stage, before.round)
        of = len(before.current_pass.bolts) if before.current_pass else 1
        return wording.status(where(before), len(done), of)
    if event.what == "why":
        item = before.item
        return (item.why if item is not None else "") or where(before)
    if event.what == "target":
        due = before.current_pass
        return _with_unit(due, due.setting) if due and due.setting else where(before)
    return wording.TOLD.get(event.what, "")


def _choices(before: State, event: Any, after: State) -> str:
    del before, after
    one, two = (wording.figures(c.value) for c in event.choices)
    return wording.choose(one, two)


def _paused(before: State, event: Any, after: State) -> str:
    del after
    return wording.hand_over(where(before)) if event.reason == "hand-over" else wording.paused()


def _fixed(text: str) -> Callable[[State, Any, State], str]:
    def say(before: State, event: Any, after: State) -> str:
        del before, event, after
        return text

    return say


_PROMPTS: dict[str, Callable[[State, Any, State], str]] = {
    "work-laid-out": lambda _b, e, _a: wording.opening(e.joint),
    "session-resumed": lambda b, _e, _a: wording.resuming(b.work.joint),
    "item-announced": _announced,
    "question-answered": lambda _b, e, _a: wording.answered(e.phrase),
    "question-refused": _refused,
    "bolt-snugged": lambda _b, e, _a: wording.is_snug(e.bolt),
    "reading-accepted": _accepted,
    "reading-kept": lambda _b, e, _a: wording.kept(e.bolt, e.achieved.value),
    "clicked-at-setting": lambda _b, e, _a: wording.clicked(e.bolt, e.setting.value),
    "bolt-held": lambda _b, e, _a: wording.held(e.bolt),
    "bolt-moved": lambda _b, e, _a: wording.moved(e.bolt),
    "competent-person-asked": lambda _b, e, _a: wording.last_round(e.round),
    "reading-doubted": _doubted,
    "reading-outside": _outside,
    "reading-impossible": _impossible,
    "other-bolt-named": lambda _b, e, _a: wording.other_bolt(e.named, e.announced),
    "entry-taken-back": _taken_back,
    "confirmation-doubted": _half,
    "not-understood": _not_understood,
    "figures-asked": lambda b, _e, _a: wording.figures_please(b.bolt),
    "choice-offered": _choices,
    "helper-asked": _fixed(wording.helper()),
    "reason-asked": lambda _b, e, _a: wording.reason_please(e.purpose),
    "bolt-skipped": lambda _b, e, _a: wording.skipped(e.bolt),
    "note-asked": _fixed(wording.note_please()),
    "note-kept": _fixed(wording.noted()),
    "told": _told,
    "paused": _paused,
    "stopped": _fixed(wording.stopped()),
    "resumed": _fixed(wording.resumed()),
    "session-closed": _fixed(wording.closed()),
}
