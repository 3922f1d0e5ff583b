"""The steps of a joint's work, phase by phase, for people and as data: what is asked, done, waited for and measured."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assistant.events import Item, Measurement, Pass, Question, Wait, WorkLaidOut
from assistant.replay.titles import figure
from assistant.report.printable import printable
from assistant.report.wording import ENGLISH, words_in

Say = Callable[[str], str]
MANY = 10
"""So many refused answers are listed; more are the numbers of all the other tools."""
KINDS = {"snug": "snug", "pattern": "pass", "circular": "all round until no nut moves", "seat": "tap until it holds"}


def procedure_text(work: WorkLaidOut) -> str:
    """All steps in their order under the names of their phases, in the language of the work.

    Returns:
        Plain text that ends with a line break.
    """
    say = words_in(work.language).say
    lines = ["", say("Procedure").upper()]
    phase = ""
    for number, item in enumerate(work.items, start=1):
        if item.phase != phase:
            phase = item.phase
            lines.append(f"  {say(phase)}")
        lines.append(f"  {number:>4}  {step_text(item, say)}")
        if item.lesson.caution:
            lines.append(f"        {say('caution')}: {item.lesson.caution}")
        lines += [f"        {say('of the plan, said once')}: {each}" for each in item.lesson.warned]
    return "\n".join(printable(line) for line in lines) + "\n"


def procedure_document(work: WorkLaidOut) -> list[dict[str, Any]]:
    """The same as JSON values: number, phase, kind, name and what the kind has besides."""
    return [
        {
            "step": number,
            "phase": item.phase,
            **_document(item),
            "caution": item.lesson.caution or None,
            "said_once": list(item.lesson.warned),
        }
        for number, item in enumerate(work.items, start=1)
    ]


def step_text(item: Item, say: Say = ENGLISH.say) -> str:
    """One step in one line."""
    match item:
        case Question(hold=True):
            who = say(f", released by the {item.role}") if item.role else ""
            named = f", {say('with a name')}" if item.witness else ""
            return f"{say('hold point').upper()} {say(item.name)}: {item.ask} -> '{item.phrase}'{who}{named}"
        case Question():
            others = say("any other number") if len(item.refused) > MANY else ", ".join(item.refused)
            stops = f" ({say('stops at')}: {others})" if others else ""
            return f"{say('check')} {say(item.name)}: {item.ask} -> '{item.phrase}'{stops}"
        case Pass():
            return _pass_text(item, say)
        case Wait():
            return f"{say('wait')} {say(item.name)}: {duration(item.seconds)}"
        case Measurement():
            named = f", {say('with the name of who measured')}" if item.who else ""
            return f"{say('measure')} {say(item.name)}: {item.ask} in {item.unit}{_limits(item, say)}{named}"


def _pass_text(item: Pass, say: Say) -> str:
    number = f" {item.number}" if item.kind == "pattern" and not item.method else ""
    setting = "" if item.setting is None else f" at {figure(item.setting)}"
    tools = f", {say(f'{item.tools} tools at once')}" if item.tools > 1 else ""
    rounds = f", {say(f'{item.last_round} rounds, then a competent person')}" if item.goes_round else ""
    called = say(f"{item.method or KINDS[item.kind]}{number}{setting}")
    return f"{item.group}: {called}, {say(f'{len(item.bolts)} bolts')}{tools}{rounds}"


def _limits(item: Measurement, say: Say) -> str:
    parts = [say(f"at least {item.low}")] if item.low is not None else []
    parts += [say(f"at most {item.high}")] if item.high is not None else []
    return f" ({', '.join(parts)})" if parts else ""


def duration(seconds: int) -> str:
    """A length of time in the largest whole unit: '4 h', '90 min', '45 s'."""
    for size, unit in ((3600, "h"), (60, "min")):
        if seconds % size == 0 and seconds >= size:
            return f"{seconds // size} {unit}"
    return f"{seconds} s"


def _document(item: Item) -> dict[str, Any]:
    match item:
        case Question():
            kind = "hold point" if item.hold else "check"
            own: dict[str, Any] = {"ask": item.ask, "phrase": item.phrase, "refused": list(item.refused)}
            return {"kind": kind, "name": item.name, **own, "released_by": item.role or None, "witness": item.witness}
        case Pass():
            setting = None if item.setting is None else float(item.setting.value)
            unit = None if item.setting is None else item.setting.unit
            own = {"group": item.group, "pass": item.number, "bolts": list(item.bolts), "setting": setting}
            own |= {"method": item.method or None}
            return {"kind": item.kind, "name": item.group, **own, "setting_unit": unit, "tools": item.tools}
        case Wait():
            return {"kind": "wait", "name": item.name, "seconds": item.seconds}
        case Measurement():
            low, high = (None if limit is None else float(limit) for limit in (item.low, item.high))
            own = {"ask": item.ask, "unit": item.unit, "low": low, "high": high, "who": item.who}
            return {"kind": "measure", "name": item.name, **own}
