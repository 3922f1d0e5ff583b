"""What a re-check found at each bolt group, beside what its temperature let expect. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.events import Measured
from assistant.replay.record_course import MeasuredFigure, RecheckDone
from assistant.replay.record_work import PassDone
from assistant.replay.titles import figure, figure_in


def recheck_results(measured: Sequence[MeasuredFigure], passes: Sequence[PassDone]) -> tuple[RecheckDone, ...]:
    """One result for each group with a pass in the re-check that was begun.

    Args:
        measured: those of the re-check are its temperatures.
        passes: of the record, each round by itself.
    """
    temperatures = [each for each in measured if each.phase == "re-check" and each.value is not None]
    groups = dict.fromkeys(each.group for each in passes if each.phase == "re-check" and each.first_utc is not None)
    return tuple(
        _result(group, [p for p in passes if p.phase == "re-check" and p.group == group], temperatures)
        for group in groups
    )


def _result(group: str, rounds: list[PassDone], temperatures: Sequence[MeasuredFigure]) -> RecheckDone:
    begun = [each for each in rounds if each.first_utc is not None]
    readings = [bolt.on_scale for each in rounds for bolt in each.bolts if bolt.achieved is not None and bolt.on_scale]
    readings.sort(key=lambda torque: torque.value)
    expected = next((each.expected_percent for each in temperatures if each.expected_percent is not None), None)
    done = RecheckDone(
        group=group,
        measured=tuple(measured_words(each) for each in temperatures),
        expected_percent=expected,
        rounds=len(begun),
        moved=tuple(each.moved for each in begun),
        readings=len(readings),
        lowest=figure(Measured(readings[0].value, readings[0].unit)) if readings else "",
        highest=figure(Measured(readings[-1].value, readings[-1].unit)) if readings else "",
        finished=bool(rounds) and bool(rounds[-1].still),
        begun_utc=min((each.first_utc for each in begun if each.first_utc is not None), default=None),
        ended_utc=max((each.last_utc for each in begun if each.last_utc is not None), default=None),
    )
    return done.model_copy(update={"words": _words(done)})


def measured_words(each: MeasuredFigure) -> str:
    """'38 deg C, measured by Toni Vale'."""
    if each.value is None:
        return "not measured"
    who = f", measured by {each.who}" if each.who else ""
    return f"{figure_in(each.value, each.said_unit)}{who}"


def limits_words(each: MeasuredFigure) -> str:
    """'at most 40 deg C', '0 to 0.5 mm'; '' where there are none."""
    low, high = each.low, each.high
    if low is not None and high is not None:
        return f"{figure_in(low, each.unit)} to {figure_in(high, each.unit)}"
    if high is not None:
        return f"at most {figure_in(high, each.unit)}"
    return f"at least {figure_in(low, each.unit)}" if low is not None else ""


def _words(done: RecheckDone) -> str:
    at = f"At {done.measured[0].split(',')[0]} " if done.measured else ""
    parts = []
    if done.expected_percent is not None:
        parts.append(f"{at}about {done.expected_percent} % of the preload at assembly was expected.")
    elif at:
        parts.append(f"{at.strip()}.")
    parts += [f"Round {n}: {_moved(bolts)}." for n, bolts in enumerate(done.moved, start=1)]
    if done.readings:
        span = done.lowest if done.lowest == done.highest else f"{done.lowest} to {done.highest}"
        parts.append(f"{done.readings} reading{'s' * (done.readings > 1)}: {span}.")
    if not done.finished:
        parts.append("It is not finished.")
    return " ".join(parts)


def _moved(bolts: Sequence[int]) -> str:
    if not bolts:
        return "no nut moved"
    which = f"bolt {bolts[0]}" if len(bolts) == 1 else f"bolts {', '.join(map(str, bolts))}"
    return f"the nut{'s' * (len(bolts) > 1)} of {which} moved"
