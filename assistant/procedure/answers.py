"""What is recorded, or asked, for one answer to the item that is due. Pure: state and answer in, events out.

Three parts: readings, reports and measured figures; what is not as the work needs it; parts that fail in mid-joint.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from assistant.bolting import units
from assistant.events import (
    Alternative,
    BoltHeld,
    BoltMoved,
    BoltReplaced,
    BoltSnugged,
    BoltTakenUp,
    ClickedAtSetting,
    EntryTakenBack,
    Event,
    FindingMade,
    FindingSettled,
    Measured,
    Measurement,
    MeasurementKept,
    MeasurementRefused,
    OtherBoltNamed,
    Pass,
    PassesRestarted,
    QuestionAnswered,
    QuestionRefused,
    ReadingAccepted,
    ReadingDoubted,
    ReadingImpossible,
    ReadingOutside,
    ReasonAsked,
    Stopped,
    Told,
    UtteranceHeard,
)
from assistant.procedure.acceptance import TINY, in_context, judge
from assistant.procedure.evolve import fold
from assistant.procedure.state import Entry, Recording, State
from assistant.speech.commands import TROUBLES
from assistant.speech.intent import UNITS_OF


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One answer to the current item.

    Args:
        heard: what was heard, the reading or command.
        other: the next likely meaning, where there is one.
        decision: "accept" or "ask".
        utterance: the utterance it was first heard in.
        confirmed_by: the utterance that confirmed it; "" when it is the same.
        alternatives: all that was heard, where a reading may be taken by its window (`acceptance.in_context`); empty
            where it may not.
    """

    heard: Alternative
    other: Alternative | None
    decision: str
    utterance: str
    confirmed_by: str = ""
    alternatives: tuple[Alternative, ...] = ()


def reading(state: State, answer: Answer) -> tuple[Event, ...]:
    """Judge a spoken value for the bolt that is due.

    A value said as a correction ('correction three ten') takes the last entry back first; when it is not sure, the
    question comes before anything is taken back.
    """
    heard = answer.heard
    before: tuple[Event, ...] = ()
    last = state.last_entry
    if heard.corrected and last is not None and last.bolt is not None and not _being_corrected(state):
        if answer.decision != "accept":
            return (doubt(answer),)
        before = (EntryTakenBack(taken_back=last.number, utterance=answer.utterance),)
        state = fold(state, before)
    if state.measurement is not None:
        return (*before, *measured(state, answer, state.measurement))
    if heard.bolt is not None and heard.bolt != state.bolt:
        if heard.bolt not in state.team_open:
            return (*before, OtherBoltNamed(announced=state.bolt, named=heard.bolt, utterance=answer.utterance))
        taken_up = BoltTakenUp(bolt=heard.bolt, utterance=answer.utterance)
        before, state = (*before, taken_up), fold(state, (taken_up,))
    due = state.current_pass
    context = in_context(answer.alternatives, due=due, bolt=state.bolt, named=heard.bolt)
    decision = "accept" if context.taken and not heard.corrected else answer.decision
    verdict = judge(heard, decision, due=due, last_setting=_last_setting(state))
    if verdict.reason == "no-reading-due" and answer.decision != "accept":
        return before  # a doubtful number while none is due: most likely noise or talk
    if verdict.kind == "impossible":
        wrong = ReadingImpossible(
            bolt=state.bolt, heard=heard, reason=verdict.reason, hint=verdict.hint, utterance=answer.utterance
        )
        return (*before, wrong)
    if due is None or state.bolt is None or verdict.reading is None:
        return before
    if verdict.kind == "ask":
        return (*before, doubt(answer))
    if verdict.kind == "outside" and verdict.by is not None:
        outside = ReadingOutside(
            bolt=state.bolt,
            heard=heard,
            side=verdict.side,
            by=verdict.by,
            hint=verdict.hint,
            utterance=answer.utterance,
        )
        return (*before, outside)
    gone = _replaced_by(state, ReadingAccepted, answer.utterance)
    before, state = (*before, *gone), fold(state, gone)
    assert state.bolt is not None
    accepted = ReadingAccepted(
        entry=len(state.entries) + 1,
        stage=state.stage,
        round=state.round,
        pass_number=due.number,
        bolt=state.bolt,
        achieved=verdict.reading,
        utterance=answer.utterance,
        confirmed_by=answer.confirmed_by,
        probability=heard.probability,
        inside=context.inside if answer.alternatives else None,
        lift=context.lift if decision != answer.decision else 1.0,
    )
    return (*before, accepted)


def _being_corrected(state: State) -> bool:
    """The correction is about what is being asked, or about the bolt whose entry was just taken back."""
    latest = state.entries[-1] if state.entries else None
    here = (state.stage, state.round, state.bolt)
    taken_back = latest is not None and not latest.valid and (latest.stage, latest.round, latest.bolt) == here
    return state.pending is not None or taken_back


def possible(state: State, heard: Alternative) -> bool:
    """Whether a reading could be this bolt's at all, or a figure lies inside of what is allowed."""
    figure = state.measurement
    if figure is not None and heard.value is not None:
        low, high = figure.low, figure.high
        return (low is None or heard.value >= low) and (high is None or heard.value <= high)
    verdict = judge(heard, "ask", due=state.current_pass, last_setting=None)
    return heard.value is not None and verdict.kind == "ask"


def would_count(state: State, heard: Alternative) -> bool:
    """Whether a report, if it were sure, would be recorded for the bolt that is due."""
    name, due = heard.command or "", state.current_pass
    if due is None or state.bolt is None:
        return False
    if name == "same":
        return any(e.valid and e.stage == state.stage and e.reading is not None for e in state.entries)
    return not _not_a_report(name, due, state)


def report(state: State, answer: Answer) -> tuple[Event, ...]:
    """A report without a value: done, clicked, snug, moved, did not move, same."""
    name, due = answer.heard.command or "", state.current_pass
    if due is None or state.bolt is None:
        return (Told(what="not-now", utterance=answer.utterance),)
    before: tuple[Event, ...] = ()
    if answer.heard.bolt is not None and answer.heard.bolt != state.bolt:
        if answer.heard.bolt not in state.team_open or state.movement_due:
            return (OtherBoltNamed(announced=state.bolt, named=answer.heard.bolt, utterance=answer.utterance),)
        taken_up = BoltTakenUp(bolt=answer.heard.bolt, utterance=answer.utterance)
        before, state = (taken_up,), fold(state, (taken_up,))
    if name == "same":
        return (*before, *_same(state, answer))
    refusal = _not_a_report(name, due, state)
    if refusal:
        return (Told(what=refusal, utterance=answer.utterance),)
    if answer.decision != "accept":
        return (doubt(answer),)
    gone = _replaced_by(state, _MOVEMENTS.get(name), answer.utterance)
    before, state = (*before, *gone), fold(state, gone)
    assert state.bolt is not None
    place = {"entry": len(state.entries) + 1, "stage": state.stage, "round": state.round, "bolt": state.bolt}
    return (*before, _recorded(name, due, place, answer.utterance))


_MOVEMENTS: Mapping[str, type[Recording]] = {"moved": BoltMoved, "did not move": BoltHeld}


def _replaced_by(state: State, event: type[Recording] | None, utterance: str) -> tuple[EntryTakenBack, ...]:
    """The entries of the bolt that is due, in this round, whose place a new one takes.

    That its nut moved stays: 'did not move' at a second try would end the rounds too soon; a correction takes it back.
    """
    here = [
        e for e in state.entries if e.valid and (e.stage, e.round, e.bolt) == (state.stage, state.round, state.bolt)
    ]
    if event in _MOVEMENTS.values():
        here = [e for e in here if e.event is BoltHeld or (e.event is BoltMoved and event is BoltMoved)]
    else:
        here = [e for e in here if e.event is not BoltMoved]
    return tuple(EntryTakenBack(taken_back=e.number, utterance=utterance) for e in here)


def _not_a_report(name: str, due: Pass, state: State) -> str:
    if due.kind == "snug":
        return "" if name in ("snug", "done") else "not-now"
    if due.goes_round and name in ("moved", "did not move"):
        return ""
    if state.movement_due or (due.goes_round and name == "done"):
        return "moved-or-not"
    if name in ("clicked", "done"):
        return "" if due.clicks else "not-clicked" if name == "clicked" else "say-the-reading"
    return "not-now"


def _recorded(name: str, due: Pass, place: dict[str, int], utterance: str) -> Event:
    if due.kind == "snug":
        return BoltSnugged(**place, utterance=utterance)
    if name == "moved":
        return BoltMoved(**place, utterance=utterance)
    if name == "did not move":
        return BoltHeld(**place, utterance=utterance)
    assert due.setting is not None
    return ClickedAtSetting(**place, pass_number=due.number, setting=due.setting, utterance=utterance)


def _same(state: State, answer: Answer) -> tuple[Event, ...]:
    """'Same' is the last reading of this pass, by its number; without one it is refused."""
    last = next(
        (e for e in reversed(state.entries) if e.valid and e.stage == state.stage and e.reading is not None), None
    )
    if last is None or last.reading is None:
        return (Told(what="nothing-same", utterance=answer.utterance),)
    value = replace(answer.heard, kind="value", command=None, value=last.reading.value, unit=last.reading.unit)
    return reading(state, replace(answer, heard=value))


def measured(state: State, answer: Answer, due: Measurement) -> tuple[Event, ...]:
    """A measured figure: read back as a question, then kept inside of what is allowed and refused outside.

    There are few of them and nothing to compare them with, so each is asked about.

    A figure in another unit of the same quantity is compared in the stage's own and kept as it was said.
    """
    heard = answer.heard
    foreign = heard.unit is not None and heard.unit not in UNITS_OF[due.quantity]
    if heard.value is None or heard.bolt is not None or foreign:
        return (Told(what="say-the-figure", utterance=answer.utterance),)
    if answer.decision != "accept" or not answer.confirmed_by:
        return (doubt(answer),)
    unit = heard.unit or due.unit
    figure = units.magnitude(units.of(float(heard.value), unit), due.unit, name=due.name)
    side = "low" if due.low is not None and figure < float(due.low) - TINY else ""
    side = "high" if due.high is not None and figure > float(due.high) + TINY else side
    if side:
        return (MeasurementRefused(stage=state.stage, heard=heard, side=side, utterance=answer.utterance),)
    kept = MeasurementKept(
        entry=len(state.entries) + 1,
        stage=state.stage,
        name=due.name,
        value=heard.value,
        unit=unit,
        utterance=answer.utterance,
        confirmed_by=answer.confirmed_by,
    )
    return (kept,)


def doubt(answer: Answer) -> ReadingDoubted:
    """Read back as a question what is not sure."""
    return ReadingDoubted(bolt=answer.heard.bolt, heard=answer.heard, other=answer.other, utterance=answer.utterance)


def _last_setting(state: State) -> Measured | None:
    """Setting of the pass before in the same group, where the figure differs from this one's."""
    due = state.current_pass
    if due is None:
        return None
    before = [
        p
        for p in state.work.passes
        if (p.group, p.number, p.measures) == (due.group, due.number - 1, due.measures)
        and p.setting is not None
        and p.setting != due.setting
    ]
    return before[-1].setting if before else None


NEAR_NO = 0.005
"""So likely a 'no' beside it makes a 'yes' doubtful (our own choice). Four strangers' 'no' that noise had turned into
'yes' had one of 0.02 to 0.37 beside it (scripts/bench/answers)."""
NEAR_NOISE_DB = 9.5
"""In noise as near as this a 'yes' is doubtful however sure it sounds (our own choice). One stranger's 'no' at 5 dB and
at 0 dB was taken for 'yes' by both listeners, at 0.99 and more, with no 'no' beside it; at 10 dB it was not. What is
said at 10 dB over a steady noise is estimated at 10.7 dB and more."""


def may_be_no(heard: UtteranceHeard) -> bool:
    """Whether a 'yes' was heard that may have been a 'no'. A wrong 'yes' would let pass what was denied, so such a one
    counts only when it is said twice.
    """
    best, *others = heard.alternatives or (None,)
    if best is None or best.command != "yes":
        return False
    if heard.snr_db is not None and heard.snr_db < NEAR_NOISE_DB:
        return True
    return any(each.command == "no" and each.probability >= NEAR_NO for each in others)


def confirmed_probability(first: float, second: float) -> float:
    """Probability of a meaning that was heard twice: the odds multiply (independent hearings; never above 0.999)."""
    first, second = (min(max(p, 1e-6), 1 - 1e-6) for p in (first, second))
    both, neither = first * second, (1 - first) * (1 - second)
    return min(both / (both + neither), 0.999)


def same_reading(one: Alternative, two: Alternative) -> bool:
    """Both say the same value (a unit left out once is no difference) or the same command."""
    if one.value is None and two.value is None:
        return one.command is not None and one.command == two.command and one.bolt == two.bolt
    units_agree = one.unit is None or two.unit is None or one.unit == two.unit
    return one.value == two.value and units_agree


def with_unit(one: Alternative, two: Alternative) -> Alternative:
    """The second hearing, with the unit (and bolt) of whichever named one."""
    return replace(two, unit=two.unit or one.unit, bolt=two.bolt or one.bolt, corrected=one.corrected)


# ------------------------------------------------------------------------------------- what is not as the work needs it
# The rules (a finding is an observation; the words are ours, the practice common, no source):
# - A failing answer to a check or hold point is a finding of that stage. The passing answer counts again only after
#   somebody said what changed, and at a hold point with the name of whoever releases it: a question that asks for a
#   name anyway asks for it once, and that name settles the finding.
# - Trouble at the wrench is a finding at once. What can hurt somebody or spoils the joint stops the work; to go on,
#   somebody says what was done about it.
# - A finding is never taken back, as a reading is: it stays for the lead. One that was misheard is settled by saying
#   so.


FAILING = frozenset({"no", "not yet"})
"""Answers that fail every check and hold point."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """What trouble calls for: `stops` the work at once; `hold`: only a named person lets it go on."""

    stops: bool
    hold: bool


CALLS_FOR = {
    "somebody is hurt": Trouble(stops=True, hold=True),
    "alarm": Trouble(stops=True, hold=True),
    "there is a leak": Trouble(stops=True, hold=True),
    "bolt broke": Trouble(stops=True, hold=True),
    "nut turns free": Trouble(stops=True, hold=False),
    "thread damaged": Trouble(stops=True, hold=False),
    "wrench dropped": Trouble(stops=True, hold=False),
    "socket slipped": Trouble(stops=False, hold=False),
}
assert CALLS_FOR.keys() == TROUBLES.keys()


def is_trouble(state: State, name: str | None) -> bool:
    """Whether a command tells of trouble; where the question itself asks about it, it is an answer."""
    own = () if state.question is None else (state.question.phrase, *state.question.refused)
    return name in CALLS_FOR and name not in own


def trouble(state: State, name: str, utterance: str) -> tuple[Event, ...]:
    """Trouble at the wrench: the finding, and what it calls for."""
    calls = CALLS_FOR[name]
    if any(
        f.open and (f.sort, f.what, f.stage, f.bolt) == ("trouble", name, state.stage, state.bolt)
        for f in state.findings
    ):
        told = Told(what=name, utterance=utterance)
        return (told,) if state.dialogue == "stopped" else (told, Stopped(utterance=utterance))
    made = FindingMade(
        finding=len(state.findings) + 1,
        stage=state.stage,
        round=state.round,
        bolt=state.bolt,
        name="",
        sort="trouble",
        what=name,
        blocks=calls.stops,
        hold=calls.hold,
        utterance=utterance,
    )
    return (made, Stopped(utterance=utterance)) if calls.stops and state.dialogue != "stopped" else (made,)


def phrase(state: State, answer: Answer) -> tuple[Event, ...]:
    """The answer to a question: its agreed phrase passes it, a failing one is a finding, anything else is refused.

    A phrase that is not sure is asked for once more: heard twice, it may be sure enough
    (`answers.confirmed_probability`).
    """
    question, said = state.question, answer.heard.command or ""
    if question is None:
        return (Told(what="not-now", utterance=answer.utterance),)
    known = said == question.phrase or said in FAILING or said in question.refused
    if known and answer.decision != "accept":
        return (doubt(answer),)
    if said == question.phrase:
        return passed(state, answer)
    if known:
        return failed(state, said, answer.utterance)
    return (QuestionRefused(stage=state.stage, name=question.name, answer=said, utterance=answer.utterance),)


def failed(state: State, said: str, utterance: str) -> tuple[Event, ...]:
    """A failing answer to the check or hold point that is due: recorded, and what is missing is asked."""
    question = state.question
    assert question is not None
    made = FindingMade(
        finding=len(state.findings) + 1,
        stage=state.stage,
        round=state.round,
        bolt=None,
        name=question.name,
        sort="answer",
        what=said,
        blocks=True,
        hold=question.hold,
        utterance=utterance,
    )
    refused = QuestionRefused(stage=state.stage, name=question.name, answer=said, utterance=utterance)
    known = (f for f in state.findings if f.open and not f.changed)
    if any((f.sort, f.what, f.stage) == ("answer", said, state.stage) for f in known):
        return (refused,)  # known already
    return (refused, made, ReasonAsked(purpose="missing", utterance=utterance))


def passed(state: State, answer: Answer) -> tuple[Event, ...]:
    """The passing phrase: it counts unless a finding is open here, or a stop of the plan wants its reason first."""
    question = state.question
    assert question is not None
    if state.finding is not None:
        return (ReasonAsked(purpose="changed", utterance=answer.utterance),)
    if question.reason:
        return (ReasonAsked(purpose="release", utterance=answer.utterance),)
    return (
        QuestionAnswered(
            entry=len(state.entries) + 1,
            stage=state.stage,
            name=question.name,
            phrase=question.phrase,
            role=question.role,
            hold=question.hold,
            utterance=answer.utterance,
        ),
    )


def settled(state: State, by: str) -> tuple[FindingSettled, ...]:
    """Every finding of which the change was told counts as settled now; `by` is "" where no name was needed.

    What failed at a question that asks for a name is settled by that name alone.
    """
    return tuple(
        FindingSettled(finding=f.number, changed=f.changed, by=by, utterance=f.changed_in)
        for f in state.findings
        if f.open and f.changed and (by or not f.hold) and not state.names_at(f)
    )


def settled_by_name(state: State, by: str) -> tuple[FindingSettled, ...]:
    """What failed at the question that is due counts as settled by the name of whoever passed it."""
    return tuple(
        FindingSettled(finding=f.number, changed=f.changed, by=by, utterance=f.changed_in)
        for f in state.findings
        if f.open and f.changed and f.stage == state.stage and state.names_at(f)
    )


def contested(state: State, said: str, utterance: str) -> tuple[Event, ...]:
    """While the name behind a hold point is asked for, somebody says that it does not hold: it is due again, failed."""
    last = state.entry_of(None)
    gone = () if last is None else (EntryTakenBack(taken_back=last.number, utterance=utterance),)
    return (*gone, *failed(fold(state, gone), said, utterance))


# ----------------------------------------------------------------------------------------- parts that fail in mid-joint
# The rules (common practice, no source):
# - A replaced bolt is brought up alone: snug, then each pass of its group up to the one being worked on; then the
#   pattern goes on where it stood. A pass that goes round begins anew with round one: a new bolt loads its
#   neighbours.
# - A disturbed pass is done over from its first bolt, and with it whatever was done after it.
# - A disturbed gasket is not used again: everything from the first step of assembly on is done over.
# Each is asked first ('Did you say ...?'), whatever was heard how surely: it takes entries back.


REPLACED, RESTART, GASKET = "replaced", "restart pass", "gasket disturbed"
PART_COMMANDS = frozenset({REPLACED, RESTART, GASKET})


def part_failed(state: State, answer: Answer) -> tuple[Event, ...]:
    """Events for one of PART_COMMANDS: a question first, the change when it was confirmed."""
    name = answer.heard.command
    found = {REPLACED: _replaced, RESTART: _restarted, GASKET: _gasket}[str(name)](state, answer)
    if isinstance(found, BoltReplaced | PassesRestarted) and not answer.confirmed_by:
        return (ReadingDoubted(bolt=answer.heard.bolt, heard=answer.heard, other=None, utterance=answer.utterance),)
    return (found,)


def _replaced(state: State, answer: Answer) -> Event:
    due, bolt = state.current_pass, answer.heard.bolt
    if due is None:
        return Told(what="not-now", utterance=answer.utterance)
    if bolt is None:
        return Told(what="which-bolt", utterance=answer.utterance)
    if bolt not in due.bolts:
        return OtherBoltNamed(announced=state.bolt, named=bolt, utterance=answer.utterance)
    own = [n for n, item in enumerate(state.stages, start=1) if isinstance(item, Pass) and item.group == due.group]
    return BoltReplaced(
        stage=own[0],
        group=due.group,
        bolt=bolt,
        taken_back=tuple(e.number for e in state.entries if e.valid and _of_the_old_bolt(state, e, own, bolt)),
        utterance=answer.utterance,
    )


def _of_the_old_bolt(state: State, entry: Entry, own: list[int], bolt: int) -> bool:
    """Its entries in all passes; of a pass that goes round all entries, if it is the one being worked on."""
    item = state.stages[entry.stage - 1]
    if entry.stage not in own or not isinstance(item, Pass):
        return False
    return entry.bolt == bolt or (item.goes_round and entry.stage == state.stage)


def _restarted(state: State, answer: Answer) -> Event:
    if state.current_pass is None:
        return Told(what="not-now", utterance=answer.utterance)
    return _over_again(state, state.stage, "pass", answer)


def _gasket(state: State, answer: Answer) -> Event:
    phases = [item.phase for item in state.stages]
    if state.current_pass is None:
        return Told(what="not-now", utterance=answer.utterance)
    first = next(n for n, item in enumerate(state.stages, start=1) if isinstance(item, Pass))
    return _over_again(state, phases.index("assemble") + 1 if "assemble" in phases else first, "gasket", answer)


def _over_again(state: State, stage: int, reason: str, answer: Answer) -> PassesRestarted:
    # later stages have entries too while a replaced bolt is brought up: they rest on what is done over
    gone = tuple(e.number for e in state.entries if e.valid and stage <= e.stage)
    return PassesRestarted(stage=stage, reason=reason, taken_back=gone, utterance=answer.utterance)
