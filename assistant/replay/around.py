"""What happened around the bolts, made from the session's one reading: waits, measurements, names, work done over,
cautions, an apprentice's questions. Never raises for what stands in a record; what fits nowhere is left out. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal, TypeVar, cast

from assistant.errors import AssistantError
from assistant.events import (
    AnsweredBack,
    AskedBack,
    BoltReplaced,
    ItemAnnounced,
    Measurement,
    MeasurementKept,
    MeasurementRefused,
    NameKept,
    NameReadBack,
    Pass,
    PassesRestarted,
    PromptSpoken,
    Question,
    QuestionAnswered,
    QuestionRefused,
    ReasonGiven,
    SessionOpened,
    SessionResumed,
    StopReleased,
    SupervisorAgreed,
    Wait,
    WaitBegun,
    WaitCutShort,
    WaitOver,
    bolt_in,
    stage_in,
    utterance_in,
)
from assistant.procedure.prompts_course import expected_percent
from assistant.procedure.state import Recording
from assistant.procedure.table import MEANS
from assistant.replay.facts import Facts, Step, StepOf
from assistant.replay.outcomes import outcome
from assistant.replay.record_course import (
    Agreed,
    BackQuestion,
    CautionSaid,
    DoneOver,
    LookAgain,
    MeasuredFigure,
    Named,
    Waited,
)
from assistant.replay.record_work import Asked, Happening
from assistant.replay.titles import clock, figure_in, item_title
from assistant.replay.transcript import sounded

R = TypeVar("R", bound=Recording)
SILENT = "silent"
"""Name of the speaker that shows prompts and says nothing."""


def title(facts: Facts, stage: int) -> str:
    """What a stage is called, without its round."""
    return item_title(facts.items, stage).replace(", round 1", "")


def counting(facts: Facts, stage: int, event: type[R]) -> StepOf[R] | None:
    """The step whose entry, of one class of event, counts at a stage that is no pass; None for none."""
    for at in reversed(facts.at_place.get((stage, 1, None), ())):
        if facts.counts[at] and facts.state.entries[at].event is event:
            return cast("StepOf[R]", facts.recorded_by[at])
    return None


def questions_asked(facts: Facts, *, names: Mapping[str, str]) -> tuple[Asked, ...]:
    """Every hold point and check of the work, passed or open.

    Args:
        names: role -> name of its holder, from the joint file.
    """
    refused: dict[int, list[str]] = {}
    for step in facts.each(QuestionRefused):
        refused.setdefault(step.event.stage, []).append(f"{step.event.answer} ({clock(step.utc)})")
    found = []
    for stage, item in enumerate(facts.items, start=1):
        if isinstance(item, Question):
            passed, released = counting(facts, stage, QuestionAnswered), counting(facts, stage, StopReleased)
            passing: StepOf[QuestionAnswered | StopReleased] | None = passed or released
            witness = counting(facts, stage, NameKept)
            found.append(
                Asked(
                    stage=stage,
                    name=item.name,
                    phase=item.phase,
                    hold=item.hold,
                    role=item.role,
                    person=names.get(item.role, ""),
                    ask=item.ask,
                    phrase=item.phrase,
                    passed_utc=passing.utc if passing else None,
                    line=passing.number if passing else None,
                    utterance=passing.event.utterance if passing else "",
                    typed=passing is not None and facts.typed(passing.event.utterance),
                    refused=tuple(refused.get(stage, ())),
                    witness=witness.event.text if witness else "",
                    witness_wanted=item.witness,
                    witness_utc=witness.utc if witness else None,
                    witness_line=witness.number if witness else None,
                    witness_utterance=witness.event.utterance if witness else "",
                )
            )
    return tuple(found)


def waits(facts: Facts) -> tuple[Waited, ...]:
    """The waits of the work: planned, running, over, cut short."""
    begun = {step.event.stage: step for step in facts.each(WaitBegun)}
    return tuple(
        _wait(facts, stage, item, begun.get(stage))
        for stage, item in enumerate(facts.items, start=1)
        if isinstance(item, Wait)
    )


def _wait(facts: Facts, stage: int, item: Wait, begun: StepOf[WaitBegun] | None) -> Waited:
    over, cut = counting(facts, stage, WaitOver), counting(facts, stage, WaitCutShort)
    ended: StepOf[WaitOver | WaitCutShort] | None = over or cut
    planned = Waited(stage=stage, name=item.name, phase=item.phase, planned_s=item.seconds)
    if begun is None or (ended is None and stage not in facts.state.waits):
        return planned
    change: dict[str, Any] = {"state": "running", "begun_utc": begun.utc, "line": begun.number}
    change["planned_s"] = begun.event.seconds
    if ended is not None:
        event = ended.event
        change |= {"ended_utc": ended.utc, "line": ended.number, "utterance": event.utterance}
        if isinstance(event, WaitCutShort):
            waited = max(0, begun.event.seconds - event.left_s)
            change |= {"state": "cut short", "waited_s": waited, "left_s": event.left_s, "reason": event.reason}
        else:
            change |= {"state": "over", "waited_s": event.waited_s, "counted_by": _counted_by(begun, ended)}
    return planned.model_copy(update=change)


def _counted_by(begun: StepOf[WaitBegun], ended: StepOf[WaitOver | WaitCutShort]) -> str:
    if ended.event.utterance:
        return "a person"
    first, last = begun.entry.uptime, ended.entry.uptime
    if first is None or last is None:
        return ""
    return "running time" if first.boot == last.boot else "clock"


def measurements(facts: Facts) -> tuple[MeasuredFigure, ...]:
    """The figures that the work asks for, measured or open."""
    refused: dict[int, list[str]] = {}
    for step in facts.each(MeasurementRefused):
        event = step.event
        if event.heard.value is not None:
            said = figure_in(event.heard.value, event.heard.unit or "").strip()
            refused.setdefault(event.stage, []).append(f"{said}, too {event.side} ({clock(step.utc)})")
    return tuple(
        _measured(facts, stage, item, tuple(refused.get(stage, ())))
        for stage, item in enumerate(facts.items, start=1)
        if isinstance(item, Measurement)
    )


def _measured(facts: Facts, stage: int, item: Measurement, refused: tuple[str, ...]) -> MeasuredFigure:
    kept, who = counting(facts, stage, MeasurementKept), counting(facts, stage, NameKept)
    planned = MeasuredFigure(
        stage=stage,
        name=item.name,
        phase=item.phase,
        ask=item.ask,
        quantity=item.quantity,
        unit=item.unit,
        low=item.low,
        high=item.high,
        who_wanted=item.who,
        refused=refused,
    )
    if kept is None:
        return planned
    percent = None
    if item.expected:
        try:
            percent = expected_percent(item, kept.event.value, kept.event.unit)
        except (AssistantError, ArithmeticError, ValueError):
            percent = None  # a foreign record's unit
    change = {
        "value": kept.event.value,
        "said_unit": kept.event.unit,
        "utc": kept.utc,
        "line": kept.number,
        "utterance": kept.event.utterance,
        "expected_percent": percent,
        "who": who.event.text if who else "",
        "who_line": who.number if who else None,
        "who_utterance": who.event.utterance if who else "",
    }
    return planned.model_copy(update=change)


def names(facts: Facts) -> tuple[Named, ...]:
    """Every name that was spoken. One that belongs to no stage (who takes over, who looks into a cause) counts."""
    read_back = facts.first(NameReadBack) is not None
    counted = {step.number: facts.counts[at] for at, step in enumerate(facts.recorded_by)}
    return tuple(
        Named(
            line=step.number,
            utc=step.utc,
            stage=step.event.stage,
            item=title(facts, step.event.stage),
            purpose=step.event.purpose,
            role=step.event.role,
            text=step.event.text,
            utterance=step.event.utterance,
            sure=bool(step.event.confirmed_by) or not read_back,
            counts=counted.get(step.number, step.number not in facts.names_taken_back),
        )
        for step in facts.each(NameKept)
    )


def _sort_of(event: BoltReplaced | PassesRestarted) -> Literal["bolt replaced", "pass done over", "gasket disturbed"]:
    if isinstance(event, BoltReplaced):
        return "bolt replaced"
    return "gasket disturbed" if event.reason == "gasket" else "pass done over"


def done_over(facts: Facts) -> tuple[DoneOver, ...]:
    """Replaced bolts, and passes that were done over."""
    taken: dict[int, list[str]] = {}
    for at, by in facts.taken_by.items():
        taken.setdefault(by.number, []).append(outcome(facts.recorded_by[at].event).removeprefix("recorded: "))
    found = []
    for step in facts.each(BoltReplaced, PassesRestarted):
        event = step.event
        item = facts.items[event.stage - 1] if 1 <= event.stage <= len(facts.items) else None
        found.append(
            DoneOver(
                line=step.number,
                utc=step.utc,
                kind=_sort_of(event),
                group=event.group if isinstance(event, BoltReplaced) else item.group if isinstance(item, Pass) else "",
                bolt=event.bolt if isinstance(event, BoltReplaced) else None,
                since=title(facts, event.stage),
                taken_back=tuple(taken.get(step.number, ())),
                utterance=event.utterance,
            )
        )
    return tuple(found)


# ---------------------------------------------------------------------------------------------------- what was said
def cautions_said(facts: Facts) -> tuple[CautionSaid, ...]:
    """Every caution that was really said or shown, at the first prompt that holds its words.

    One of the plan that never sounded to its end, although its stage was begun, is told as not spoken, at the line with
    which the stage was begun; others that were never said are left out.
    """
    wanted = dict.fromkeys(
        [
            *(facts.state.work.cautions),
            *(text for item in facts.items for text in (item.lesson.caution, *item.lesson.warned) if text),
        ]
    )
    found: list[CautionSaid] = []
    speaker = ""
    begun: dict[int, Step] = {}
    for step in facts.steps:
        event = step.event
        if isinstance(event, SessionOpened | SessionResumed):
            speaker = event.speaker
        if step.fits and isinstance(event, ItemAnnounced | WaitBegun):
            begun.setdefault(event.stage, step)
        if isinstance(event, PromptSpoken):
            for text in [each for each in wanted if each in event.text]:
                broken = event.cut_short or event.whole is False
                how = "shown" if speaker == SILENT else "cut short" if broken else "spoken"
                found.append(CautionSaid(line=step.number, utc=step.utc, text=text, how=how))  # type: ignore[arg-type]
                if how != "cut short":
                    del wanted[text]
    for stage, step in begun.items():
        unheard = [text for text in facts.items[stage - 1].lesson.warned if text in wanted]
        found += [CautionSaid(line=step.number, utc=step.utc, text=text, how="not spoken") for text in unheard]
    return tuple(found)


def prompts_cut(facts: Facts) -> tuple[Happening, ...]:
    """Prompts that did not sound to their end: somebody spoke, or the loudspeaker broke off."""
    return tuple(
        Happening(
            line=step.number,
            utc=step.utc,
            kind="prompt not heard whole",
            text=f"{step.event.text} ({sounded(step.event)})",
        )
        for step in facts.steps
        if isinstance(step.event, PromptSpoken) and (step.event.cut_short or step.event.whole is False)
    )


# ------------------------------------------------------------------------------------------------------- apprentice
def questions_back(facts: Facts) -> tuple[BackQuestion, ...]:
    """What an apprentice was asked before a stage, with the answer."""
    found: list[BackQuestion] = []
    for step in facts.steps:
        event = step.event
        if not step.fits:
            continue
        if isinstance(event, AskedBack):
            found.append(_asked_back(facts, step, event))
        elif isinstance(event, AnsweredBack) and found:
            answer = f"bolt {event.answer}" if event.answer.isdecimal() else event.answer
            change = {"answer": answer, "right": event.right, "utterance": event.utterance}
            found[-1] = found[-1].model_copy(update=change)
        elif isinstance(event, ReasonGiven) and found:
            found[-1] = found[-1].model_copy(update={"reason": event.text, "reason_utterance": event.utterance})
    return tuple(found)


def _asked_back(facts: Facts, step: Step, event: AskedBack) -> BackQuestion:
    item = facts.items[event.stage - 1] if 1 <= event.stage <= len(facts.items) else None
    asks = item.lesson.ask_back if item is not None else None
    question = asks.ask if asks is not None and event.about == "phrase" else ""
    if event.about == "next-bolt":
        first = item.bolts[0] if isinstance(item, Pass) else "the first"
        question = f"After bolt {first}, which bolt comes next?"
    expects = f"bolt {event.expects}" if event.about == "next-bolt" else event.expects
    where = title(facts, event.stage)
    return BackQuestion(line=step.number, utc=step.utc, item=where, question=question, expects=expects)


def agreements(facts: Facts) -> tuple[Agreed, ...]:
    """What the supervisor of an apprentice agreed to."""
    found = []
    for step in facts.each(SupervisorAgreed):
        stage, _, bolt = facts.due_at[step.number]
        found.append(
            Agreed(
                line=step.number,
                utc=step.utc,
                item=title(facts, stage),
                bolt=bolt,
                purpose=step.event.purpose,
                phrase=step.event.phrase,
                utterance=step.event.utterance,
            )
        )
    return tuple(found)


def look_again(facts: Facts) -> tuple[LookAgain, ...]:
    """Moments that an apprentice should look at again; none where no apprentice was guided."""
    return tuple(_look_again(facts)) if facts.state.work.apprentice else ()


def _look_again(facts: Facts) -> Iterator[LookAgain]:
    for step in facts.steps:
        event = step.event
        if step.fits and MEANS[type(event)].lesson and not (isinstance(event, AnsweredBack) and event.right):
            here = facts.due_at.get(step.number, (step.before.stage, 1, None))
            stage, bolt = stage_in(event) or here[0], bolt_in(event)
            yield LookAgain(
                line=step.number,
                utc=step.utc,
                item=title(facts, stage),
                bolt=bolt if bolt is not None else here[2] if stage == here[0] else None,
                text=outcome(event),
                utterance=utterance_in(event),
            )
