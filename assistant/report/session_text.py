"""Where a session stands, as plain text: verdict, what is to be decided, and each stage with what came of it."""

from __future__ import annotations

from collections.abc import Callable

from assistant.events import Measured
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_open import pass_words
from assistant.replay.record_work import Bolt, PassDone
from assistant.replay.titles import figure, figure_in, plain
from assistant.report.wording import words_in

Say = Callable[[str], str]
"""What says a sentence of ours in the session's language."""


def standing(record: JointRecord) -> list[str]:
    """Lines about a session, in its language: the verdict first."""
    say = words_in(record.session.language).say
    lines = [f"{record.joint.name or record.session.folder}: {say(record.verdict_words)}"]
    lines += [
        f"  {say('to be decided')}: {say(each.text)}" for each in record.decisions if record.verdict != "accepted"
    ]
    lines += [text for _, text in sorted(_stages(record, say), key=lambda each: each[0])]
    skipped = [d for d in record.deviations if d.kind == "skipped"]
    if skipped:
        lines.append(
            f"{say('skipped on the way')}: " + "; ".join(f"{say(f'bolt {d.bolt}')}: {d.reason}" for d in skipped)
        )
    if record.due:
        lines.append(f"{say('next')}: {say(record.due)}")
    return lines


def _stages(record: JointRecord, say: Say) -> list[tuple[int, str]]:
    """(stage, its line) of every stage of the work."""
    found = []
    for asked in (*record.hold_points, *record.checks):
        named = say(f"“{asked.witness}” (as heard)") if asked.witness else ""
        passed = say("passed" + (" (typed)" if asked.typed else "")) if asked.passed_utc is not None else ""
        found.append((asked.stage, _line(asked.name, ", ".join(p for p in (passed, named) if p), say)))
    found += [(w.stage, _line(w.name, say(w.state) if w.state != "not begun" else "", say)) for w in record.waited]
    for each in record.measurements:
        value = say(figure_in(each.value, each.said_unit)) if each.value is not None else ""
        named = say(f"“{each.who}” (as heard)") if each.who else ""
        found.append((each.stage, _line(each.name, ", ".join(p for p in (value, named) if p), say)))
    return [*found, *((each.stage, _pass(each, say)) for each in record.passes)]


def _line(name: str, came: str, say: Say) -> str:
    return f"  {say(name):<18} {came or say('open')}"


def _pass(each: PassDone, say: Say) -> str:
    called = pass_words(each)
    if each.setting is not None:
        called += f" at {figure(Measured(each.setting.value, each.setting.unit))}"
    on = f" {say('on the wrench')}" if each.setting is not None and not each.measures else ""
    return f"  {each.group}, {say(called)}{on}: {', '.join(_bolt(bolt, say) for bolt in each.bolts)}"


def _bolt(bolt: Bolt, say: Say) -> str:
    found = []
    for entry in bolt.entries:
        if entry.standing == "counts":
            read = entry.value is not None and entry.kind != "clicked"
            told = plain(entry.value.value) if read and entry.value is not None else entry.kind
            found.append(say(told) + (f" {say('kept')}" if entry.kind == "reading kept" else ""))
    return f"{bolt.bolt} {'/'.join(found) or say('open')}"
