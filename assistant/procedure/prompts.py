"""Which sentence an event calls for, and what is open when somebody asks. Pure; the words are in `speech.wording`.

How much is said is the level of talk (`State.talk`): `brief` asks and reads back, `normal` also tells the answers that
are understood, `full` names the bolt in every read-back and the figure with every bolt. A prompt may hold several
breaths (`BREATH`): a caution is never stuck behind a read-back.
"""

from __future__ import annotations

from decimal import Decimal

from typing_extensions import assert_never

from assistant import events as ev
from assistant.events import Alternative, Event, Measured, Measurement, Pass, Question
from assistant.procedure.acceptance import in_unit
from assistant.procedure.answers import FAILING
from assistant.procedure.introductions import BREATH, breaths, introduced, unsaid
from assistant.procedure.prompts_course import (
    answered_back,
    asked_back,
    clock_question,
    clock_set,
    measured_outside,
    reason_given,
    wait_begun,
    wait_left,
)
from assistant.procedure.prompts_findings import change_told, finding_made, name_asked, no_reason, settled, words_for
from assistant.procedure.state import Entry, State
from assistant.speech.confusable import confusable_with, teen_or_ten
from assistant.speech.wording import Wording, catalogue

YES = "yes"
TOOLS = ("tool ", "scale of ", "label of ")
"""How the names of questions about wrenches and multipliers begin (`work`)."""
MOST_CHOICES = 3
"""So many answers are told as a choice; a question with more is asked openly."""


def prompt(before: State, event: Event, after: State) -> str:
    """Sentences for one event, "" when it is not spoken about; BREATH between breaths."""
    w = catalogue(after.work.language)
    match event:
        case ev.WorkLaidOut():
            return w.opening(event.joint) + BREATH
        case ev.SessionResumed():
            return w.resuming(before.work.joint) + BREATH
        case ev.ItemAnnounced():
            return _announced(w, before, event, after)
        case ev.QuestionAnswered():
            return _answered(w, event, after)
        case ev.QuestionRefused():
            return _refused(w, before, event, after)
        case ev.BoltSnugged():
            return w.is_snug() if after.talk != "brief" else ""
        case ev.ReadingAccepted():
            return _accepted(w, before, event, after)
        case ev.ReadingKept():
            return w.kept(event.bolt, event.achieved.value)
        case ev.ClickedAtSetting():
            return w.clicked()
        case ev.BoltHeld():
            return w.held()
        case ev.BoltMoved():
            return w.moved()
        case ev.CompetentPersonAsked():
            return w.last_round(event.round)
        case ev.ReadingDoubted():
            return _doubted(w, before, event)
        case ev.ReadingOutside():
            return _outside(w, before, event, after)
        case ev.MeasurementRefused():
            return measured_outside(w, before, event)
        case ev.ReadingImpossible():
            return _impossible(w, before, event)
        case ev.OtherBoltNamed():
            return w.other_bolt(event.named, event.announced)
        case ev.EntryTakenBack():
            return _taken_back(w, before, event)
        case ev.ConfirmationDoubted():
            return _half(w, before)
        case ev.NotUnderstood():
            return _not_understood(w, before, event)
        case ev.FiguresAsked():
            return w.figures_please(before.bolt)
        case ev.ChoiceOffered():
            return _choices(w, event)
        case ev.HelperAsked():
            return w.helper()
        case ev.BoltSkipped():
            return w.skipped(event.bolt)
        case ev.NoteAsked():
            return w.note_please()
        case ev.NoteKept():
            return w.noted()
        case ev.Told():
            return _told(w, before, event)
        case ev.SpeechAdjusted():
            return w.told[event.what] if event.utterance else ""
        case ev.TroubleFound():
            return w.equipment.get(event.what, "")
        case ev.Paused():
            return _paused(w, before, event)
        case ev.Stopped():
            return w.stopped()
        case ev.Resumed():
            return w.resumed()
        case ev.SessionClosed():
            return _closed(w, before)
        case ev.SessionLeft():
            return w.left()
        case ev.WaitBegun():
            return wait_begun(w, event, after)
        case ev.WaitGoesOn():
            return wait_left(w, after, after.left_s if after.left_s is not None else 0)
        case ev.ClockSet():
            return clock_set(w, event, after)
        case ev.OffTheRecord():
            return w.off_the_record()
        case ev.OnTheRecord():
            return w.on_the_record()
        case ev.WaitOver():
            return w.wait_over(before.wait.called) if before.wait is not None else ""
        case ev.WaitCutShort():
            return w.wait_cut_short(before.wait.called) if before.wait is not None else ""
        case ev.MeasurementKept():
            return w.good()
        case ev.NameKept():
            return w.name_kept() if after.talk != "brief" else ""  # it was read back
        case ev.BoltReplaced():
            return w.replaced(event.bolt)
        case ev.PassesRestarted():
            return w.restarted(event.reason)
        case ev.AskedBack():
            return asked_back(w, after)
        case ev.AnsweredBack():
            return answered_back(w, before, event)
        case ev.ReasonWanted():
            return w.and_why()
        case ev.ReasonGiven():
            return reason_given(w, before)
        case ev.SupervisorAsked():
            return w.supervisor()
        case ev.FindingMade():
            return finding_made(w, event)
        case ev.FindingDescribed():
            return w.described()
        case ev.ChangeTold():
            return change_told(w, event, after)
        case ev.FindingSettled():
            return settled(w, before, event)
        case ev.ReasonAsked():
            return words_for(w, after)
        case ev.ReasonDoubted():
            return no_reason(w, event)
        case ev.StopReleased():
            return w.released()
        case ev.NameAsked():
            return name_asked(w, before, event)
        case ev.NameReadBack():
            return w.name_back(event.text)
        case ev.NameTakenBack():
            return w.taken_back(w.name_named(event.text))
        case (
            ev.BoltTakenUp()
            | ev.PromptSpoken()
            | ev.ReadingTakenBack()
            | ev.RetightenAgreed()
            | ev.SessionOpened()
            | ev.SoundLost()
            | ev.StageFinished()
            | ev.SteppedBack()
            | ev.SteppedOn()
            | ev.SupervisorAgreed()
            | ev.TimeLeft()
            | ev.UtteranceHeard()
        ):
            return ""  # nothing is said about it, or another event of the batch says it
        case _:
            assert_never(event)


# ---------------------------------------------------------------------------------------------------------- read-backs
def read_back(w: Wording, bolt: int, reading: Measured, due: Pass, *, full: bool = False) -> str:
    """A recorded reading, read back in passing; confusable figures one by one, another unit in both."""
    spell = spelled_out(reading.value, due)
    unit = due.setting.unit if due.setting is not None else reading.unit
    if reading.unit == unit:
        return w.recorded(bolt, reading.value, spell=spell) if full else w.read_back(reading.value, spell=spell)
    there = Decimal(f"{in_unit(reading, unit):.{3 if due.measures else 1}f}").normalize()
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


# --------------------------------------------------------------------------------------------------- what is asked for
def next_bolt(w: Wording, due: Pass, bolt: int, *, full: bool = False) -> str:
    """Ask for a bolt in the middle of a pass; where several tools pull, for the whole pull at its first bolt."""
    team = due.team(bolt)
    if due.kind == "pattern" and len(team) > 1:
        figure = w.number(due.setting.value) if full and due.setting is not None else None
        return w.together(team, figure) if bolt == team[0] else w.reading_of(bolt)
    if due.kind == "snug":
        return _placed(w, due, bolt, w.circle(bolt))
    return with_figure(w, due, bolt, unit=False) if full and not due.goes_round else w.circle(bolt)


def with_figure(w: Wording, due: Pass, bolt: int, *, unit: bool, set_anew: bool = False) -> str:
    """Ask for a bolt with the figure that the wrench shall show.

    Args:
        unit: with its unit.
        set_anew: a click wrench has stood at another figure until now.
    """
    if due.setting is None:
        return _placed(w, due, bolt, w.circle(bolt))
    setting = amount(w, due, due.setting) if unit else w.number(due.setting.value)
    team = due.team(bolt)
    if due.kind == "pattern" and len(team) > 1:
        return w.together(team, setting) if bolt == team[0] else w.reading_of(bolt)
    if due.through:
        return w.wrench_to(bolt, setting)
    if due.measures == "angle":
        return w.turn_by(bolt, setting)
    return w.set_to(bolt, setting) if due.clicks and set_anew else w.turn(bolt, setting)


def _placed(w: Wording, due: Pass, bolt: int, request: str) -> str:
    """The request with the bolt's place where that is told: while bolts are put in and snugged."""
    place = dict(due.where).get(bolt, "")
    return f"{w.place(place)} {request}" if place else request


def amount(w: Wording, due: Pass, setting: Measured) -> str:
    """A torque with its unit, in the people's own words for the wrench's unit where they have some."""
    own = due.setting is not None and due.setting.unit == setting.unit
    return w.amount(setting.value, setting.unit, due.unit_words if own else "")


def asked(w: Wording, question: Question) -> str:
    """A question with what may be said: the phrase of a hold point; the answers of a check where they are few.

    Answers that the question names itself are not told again, and a plain yes is never told.
    """
    if question.hold:
        return w.hold_point(question.ask, question.phrase)
    if question.phrase == YES:
        return question.ask
    known = answers_of(question)
    if len(known) < 2:
        return w.hold_point(question.ask, question.phrase)
    return w.states(question.ask, known) if _tellable(question, known) else question.ask


def answers_of(question: Question) -> tuple[str, ...]:
    """The answers of a check that are told, right and wrong ones in an order that gives nothing away.

    Those that only deny the right one are understood and not told.
    """
    return tuple(sorted((question.phrase, *(each for each in question.refused if "not" not in each.split()))))


def _tellable(question: Question, known: tuple[str, ...]) -> bool:
    ask = question.ask.casefold().replace("-", " ")
    return len(known) <= MOST_CHOICES and not all(each in ask for each in known)


def needed(w: Wording, question: Question) -> str:
    """What a question takes, when something else was said."""
    known = answers_of(question)
    if question.phrase == YES:
        return w.yes_is_enough()
    if question.hold or len(known) < 2:
        return w.whole_phrase(question.phrase)
    return w.choose_answer(known) if len(known) <= MOST_CHOICES else question.ask


def open_request(w: Wording, state: State) -> str:
    """What is being asked right now, said anew: for 'say again', and for whatever does not fit now."""
    pending, due, item = state.pending, state.current_pass, state.item
    match state.dialogue:
        case "asking" if pending is not None:
            return _question_about(w, state, pending.heard, again=False)
        case "off-window" if due is not None and due.setting is not None:
            return w.told["keep-or-retighten"]
        case "choosing":
            return w.choose(*(w.figures(c.value) for c in state.choices if c.value is not None))
        case "figures":
            return w.figures_please(state.bolt)
        case "naming":
            return w.name_please(state.purpose, state.question.role if state.question is not None else "")
        case "reasoning":
            return words_for(w, state)
        case "noting":
            return w.note_please()
        case "waiting" if state.clock_asked:
            return clock_question(w, state)
        case "waiting":
            return wait_left(w, state, state.left_s if state.left_s is not None else 0)
        case "asked-back":
            return asked_back(w, state)
        case "explaining":
            return w.and_why()
        case "supervisor":
            return w.supervisor()
        case "paused" | "stopped":
            return w.told["say-resume"]
        case "helper":
            return w.helper()
    if isinstance(item, Question):
        return asked(w, item)
    if isinstance(item, Measurement):
        return w.measure(item.ask, item.unit)
    if due is None or state.bolt is None:
        return where(w, state)
    return w.moved_or_not(state.bolt) if state.movement_due else with_figure(w, due, state.bolt, unit=True)


def where(w: Wording, state: State) -> str:
    """Place in the work, in words."""
    if state.question is not None:
        return w.where_question(state.question.called)
    if state.wait is not None:
        return w.wait_goes_on(state.wait.called, state.left_s if state.left_s is not None else state.wait.seconds)
    if state.measurement is not None:
        return w.where_question(state.measurement.called)
    due = state.current_pass
    if due is not None and due.method:
        return w.where_method(due.method, state.bolt)
    return w.where_pass(due.kind, due.number, state.round, state.bolt) if due else w.all_done()


# --------------------------------------------------------------------------------------------------------- events
def _announced(w: Wording, before: State, event: ev.ItemAnnounced, after: State) -> str:
    item, due, full = after.item, after.current_pass, after.talk == "full"
    told = introduced(w, after) if event.stage != before.introduced else unsaid(w, before, after)
    if isinstance(item, Question):
        return breaths(_all_done(w, after), told, asked(w, item))
    if isinstance(item, Measurement):
        return breaths(told, w.measure(item.ask, item.unit))
    if due is None or event.bolt is None:
        return ""
    if after.movement_due:
        return breaths(told, w.moved_or_not(event.bolt))
    if not event.first_of_pass:
        return breaths(told, next_bolt(w, due, event.bolt, full=full))
    if due.kind == "snug" and not due.method:
        group, place = _group(w, due, after), dict(due.where).get(event.bolt, "")
        if group and place:  # the group first, else the place would seem to be about the bolt before
            group, place = f"{group}. {w.place(place).rstrip('.')}", ""
        request = w.snug(event.bolt, first=True, group=group)
        return breaths(told, f"{w.place(place)} {request}" if place else request)
    begins = _pass_begins(w, due, event.round, after)
    if event.round > 1:
        return breaths(told, f"{begins} {w.circle(event.bolt)}")
    earlier = _pass_before(after)
    unit = after.talk != "brief" or earlier is None or (earlier.group, earlier.measures) != (due.group, due.measures)
    set_anew = earlier is None or earlier.setting != due.setting
    request = with_figure(w, due, event.bolt, unit=unit, set_anew=set_anew)
    return breaths(told, f"{begins} {request}".strip())


def _pass_before(state: State) -> Pass | None:
    """The pass with a figure that was worked on before this one."""
    earlier = [item for item in state.stages[: state.stage - 1] if isinstance(item, Pass) and item.setting is not None]
    return earlier[-1] if earlier else None


def _pass_begins(w: Wording, due: Pass, round_number: int, after: State) -> str:
    group = _group(w, due, after)
    if due.method and round_number == 1:
        return w.method_begins(due.method, group) + BREATH
    if due.setting is None and not due.method:
        return ""
    if due.kind == "pattern":
        begins = w.pass_begins(due.number, group)
    else:
        told = after.talk == "full" or _first_round_of_all(after)
        if due.kind == "seat":
            begins = w.seat_begins(round_number, group, due.tap, told=told)
        else:
            begins = w.circular_begins(round_number, group, recheck=due.phase == "re-check", told=told)
    if not due.through or due.target is None or round_number > 1:
        return begins
    earlier = _pass_before(after)
    if earlier is not None and earlier.group == due.group and earlier.target == due.target and after.talk != "full":
        return begins  # the same figures as in the pass before
    target = amount(w, due, due.target)
    known = earlier is not None and earlier.group == due.group and after.talk != "full"
    both = w.bolt_gets_now(w.number(due.target.value)) if known else w.bolt_gets(target, due.through)
    return f"{begins} {both}{BREATH}"


def _first_round_of_all(state: State) -> bool:
    """Whether nobody was told yet what is answered when a pass goes round."""
    earlier = state.stages[: state.stage - 1]
    return state.round == 1 and not any(isinstance(item, Pass) and item.goes_round for item in earlier)


def _group(w: Wording, due: Pass, after: State) -> str | None:
    """The group named with its count, where there are several and this pass is about another one than the last."""
    passes = after.work.passes
    if len({p.group for p in passes}) == 1:
        return None
    last = passes[passes.index(due) - 1] if due in passes and passes.index(due) else None
    same = last is not None and last.group == due.group and after.talk != "full"
    return None if same else w.group(due.group, len(due.bolts))


def _all_done(w: Wording, after: State) -> str:
    """Said once, when the last pass lies behind."""
    items = after.work.items
    last = max((n for n, item in enumerate(items, start=1) if isinstance(item, Pass)), default=0)
    return w.all_done() if after.stage == last + 1 else ""


def _answered(w: Wording, event: ev.QuestionAnswered, after: State) -> str:
    """A state is echoed, so that a wrong one is noticed; a phrase where there is time; a yes by what comes next."""
    brief = after.talk == "brief"
    if event.phrase == YES or (event.hold and brief):
        return "" if event.phrase == YES and brief else w.good()
    return w.answered(event.phrase)


def _accepted(w: Wording, before: State, event: ev.ReadingAccepted, after: State) -> str:
    due = before.current_pass
    return read_back(w, event.bolt, event.achieved, due, full=after.talk == "full") if due is not None else ""


def _doubted(w: Wording, before: State, event: ev.ReadingDoubted) -> str:
    heard: Alternative = event.heard
    question = before.question
    if question is not None and question.hold and heard.command == question.phrase:
        return w.once_more(question.phrase)
    pending = before.pending
    again = pending is not None and (pending.heard.value, pending.heard.command) == (heard.value, heard.command)
    again = again or (heard.value is not None and heard.value in before.denied)
    return _question_about(w, before, heard, again=again)


def _question_about(w: Wording, state: State, heard: Alternative, *, again: bool) -> str:
    """What was heard, read back as a question; `again` in other words than before."""
    question = state.question
    if heard.command == YES and question is not None:
        return w.yes_or_no(again=True) if again else w.yes_is_enough()
    if heard.value is None:
        purpose, name = state.last_name
        if heard.command == "correction" and (purpose or state.last_entry is not None):
            what = w.name_named(name) if purpose or state.last_entry is None else _entry(w, state, state.last_entry)
            return (w.take_back_again if again else w.take_back)(what)
        return (w.did_you_say_again if again else w.did_you_say)(heard.command or heard.text)
    if again:
        return w.is_it_again(heard.value)
    measured = state.measurement
    unit = heard.unit or (measured.unit if measured is not None else "")
    return w.is_it(heard.value, spell=spelled_out(heard.value, state.current_pass), unit=unit)


def _entry(w: Wording, state: State, entry: Entry) -> str:
    item = state.stages[entry.stage - 1]
    if entry.bolt is None:
        if entry.event is ev.NameKept:
            return w.name_named(entry.text)
        return "" if isinstance(item, Pass) else item.called
    what = w.number(entry.reading.value) if entry.reading is not None else w.entries.get(entry.event, "")
    return w.entry(entry.bolt, what)


def _outside(w: Wording, before: State, event: ev.ReadingOutside, after: State) -> str:
    due = before.current_pass
    if due is None or due.setting is None:
        return ""
    setting, told = amount(w, due, due.setting), after.talk != "brief"
    heard = _in_both(w, due, event.heard)
    if event.hint == "last-pass":
        return w.last_pass_setting(setting)
    if event.side == "low":
        return w.low(heard, event.by.value, setting, told=told)
    if due.low is not None and due.low.value <= 0:
        return w.too_wide(heard, setting)
    return w.high(heard, event.by.value, told=told)


def _in_both(w: Wording, due: Pass, heard: Alternative) -> str:
    """A reading in words; one in another unit than the setting's in both."""
    assert due.setting is not None and heard.value is not None
    unit = due.setting.unit
    if heard.unit is None or heard.unit == unit:
        return w.number(heard.value)
    there = in_unit(Measured(heard.value, heard.unit), unit)
    said = f"{w.number(heard.value)} {w.unit_words(heard.unit)}"
    return w.that_is(said, amount(w, due, Measured(Decimal(f"{there:.1f}"), unit)))


def _impossible(w: Wording, before: State, event: ev.ReadingImpossible) -> str:
    due_pass, value = before.current_pass, event.heard.value
    assert value is not None
    setting = due_pass.setting if due_pass is not None else None
    if event.reason == "other-scale" and event.heard.unit is not None:
        return w.other_scale(event.hint, event.heard.unit)
    if event.reason == "unit" and due_pass is not None and setting is not None and event.hint not in due_pass.scales:
        return w.fits_other_scale(value, event.hint, setting.unit)
    if event.reason == "bolt-value" and setting is not None:
        return w.bolt_value(value, setting.value)
    due = setting.value if setting is not None else None
    return w.impossible(value, event.reason, event.hint, due)


def _refused(w: Wording, before: State, event: ev.QuestionRefused, after: State) -> str:
    question = before.question
    if question is None:
        return ""
    if event.answer in (other.phrase for other in before.work.questions if other is not question and other.hold):
        return w.not_now(open_request(w, before))
    if event.answer in FAILING:
        known = before.finding is not None and after.dialogue == before.dialogue
        return w.described() if known else ""  # else told by the finding
    if event.answer in question.refused:
        return _failed(w, question, event.answer)
    return needed(w, question)


def _failed(w: Wording, question: Question, answer: str) -> str:
    """What follows from an answer that must not be: a wrench, a condition that the torque rests on, a state."""
    if question.name.startswith(TOOLS):
        return w.wrong_tool(answer, question.phrase)
    if answer in w.troubles:
        return f"{w.answered(answer)} {w.troubles[answer]}"
    return w.wrong_answer(answer) if "thread" in question.name.casefold() else w.wrong_state(answer)


def _taken_back(w: Wording, before: State, event: ev.EntryTakenBack) -> str:
    entry = next(e for e in before.entries if e.number == event.taken_back)
    return w.taken_back(_entry(w, before, entry))


def _not_understood(w: Wording, before: State, event: ev.NotUnderstood) -> str:
    if not event.aloud:
        return ""
    if before.question is not None and before.misses % 2:
        return needed(w, before.question)
    return w.say_again_please(before.misses)


def _half(w: Wording, before: State) -> str:
    if before.dialogue == "choosing":
        return w.choose(*(w.figures(c.value) for c in before.choices if c.value is not None))
    return w.yes_or_no(again=before.half is not None)


def _told(w: Wording, before: State, event: ev.Told) -> str:
    due = before.current_pass
    match event.what:
        case "say again":
            return said_again(w, before)
        case "help":
            return _help(w, before)
        case "out-of-order" | "not-now" | "answer-first":
            request = open_request(w, before)
            return request if event.what == "answer-first" else w.not_now(request)
        case "status" if due is None:
            return where(w, before)
        case "status":
            assert due is not None
            return w.status(where(w, before), len(before.done(before.stage, before.round)), len(due.bolts))
        case "why":
            lesson = before.item.lesson if before.item is not None else None
            told = w.explained(lesson.why, lesson.goes_wrong) if lesson is not None else ""
            return told or where(w, before)
        case "target":
            return _target(w, due) if due is not None and due.setting is not None else where(w, before)
        case "say-the-reading" | "unclear-unit" if _read_in(before):
            return w.say_it_in(_read_in(before))
    return w.troubles.get(event.what) or w.told.get(event.what, "")


def _read_in(state: State) -> str:
    """Unit of what is read where it is no torque; '' for a torque and where nothing is read."""
    due, measured = state.current_pass, state.measurement
    if measured is not None:
        return measured.unit
    return due.setting.unit if due is not None and due.measures and due.setting is not None else ""


def said_again(w: Wording, state: State) -> str:
    """The open question; with the last reading of this pass before it, which may not have been heard either."""
    due, last = state.current_pass, state.last_entry
    request = open_request(w, state)
    recent = last is not None and last.bolt is not None and (last.stage, last.round) == (state.stage, state.round)
    if state.dialogue != "guiding" or due is None or not recent or state.movement_due:
        return request
    assert last is not None and last.bolt is not None
    if last.reading is None:
        return f"{w.entry(last.bolt, w.entries.get(last.event, '')).capitalize()}. {request}"
    return f"{read_back(w, last.bolt, last.reading, due, full=True)} {request}"


def _target(w: Wording, due: Pass) -> str:
    assert due.setting is not None
    figure = (w.due_turn if due.measures == "angle" else w.due)(amount(w, due, due.setting))
    if due.through and due.target is not None:
        return f"{w.bolt_gets(amount(w, due, due.target), due.through)} {figure}"
    return figure


_WITH_THE_QUESTION = frozenset({"asked-back", "asking", "naming", "reasoning", "explaining"})
"""States in which help begins with the open question."""


def _help(w: Wording, state: State) -> str:
    """What can be said: at a question its phrase, at a bolt the report that is due."""
    question, due = state.question, state.current_pass
    if state.dialogue != "guiding":
        said = w.help.get(state.dialogue, w.help["guiding"])
        return f"{open_request(w, state)} {said}" if state.dialogue in _WITH_THE_QUESTION else said
    if question is not None:
        return f"{needed(w, question)} {w.help['question']}"
    if state.measurement is not None:
        return w.help["measuring"]
    if due is None:
        return w.help["guiding"]
    if due.kind == "snug":
        return w.help["snug"]
    return w.help["round" if due.goes_round else "clicks" if due.clicks else "guiding"]


def _choices(w: Wording, event: ev.ChoiceOffered) -> str:
    return w.choose(*(w.figures(c.value) for c in event.choices if c.value is not None))


def _paused(w: Wording, before: State, event: ev.Paused) -> str:
    return w.hand_over(where(w, before)) if event.reason == "hand-over" else w.paused()


def _closed(w: Wording, before: State) -> str:
    if not before.work.apprentice:
        return w.closed()
    seen = dict.fromkeys(w.moment(event, bolt) for event, _, bolt in before.lessons)
    return breaths(w.closed(), w.debrief(tuple(seen)[:MOST_MOMENTS]))


MOST_MOMENTS = 5
"""So many moments are told after an apprentice's joint; the page shows them all."""
