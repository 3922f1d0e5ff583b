"""A split clamp coupling on the sheet: its grip on the pipe, its closing force on hubs, the effect of an odd pipe."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.bolting.joint import clamp
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Remark, figure
from assistant.bolting.tightening.row_orders import clamp_position
from assistant.bolting.units import magnitude, show


def coupling_reasons(joint: Joint, figures: GroupFigures) -> Iterator[Reason]:
    """Grip and closing force from the lowest preload of the clamp's own bolts; nothing without a [coupling] table."""
    data, group = joint.coupling, figures.group
    if data is None or group.name != data.bolts:
        return
    mu = magnitude(data.friction, "", name="friction")
    side = clamp.side_load(figures.preload.low, group.count // 2)
    unit = figures.force_unit
    terms = [
        Term("S", "bolts of one side at the lower end of the band", show(side, unit), "above"),
        Term("mu", "friction on the pipe or hub", f"{mu:g}", "joint file"),
    ]
    if data.pipe_diameter is not None and data.bearing_length is not None:
        grip = clamp.pipe_grip(side, diameter=data.pipe_diameter, length=data.bearing_length, friction=mu)
        low, high = (show(each, unit, digits=3) for each in (grip.slip_low, grip.slip_high))
        turn_low, turn_high = (show(each, figures.unit, digits=3) for each in (grip.torque_low, grip.torque_high))
        yield Reason(
            title="Grip on the pipe",
            formula="slip 4 mu S to 2 pi mu S, torque 2 mu d S to pi mu d S",
            terms=tuple(terms),
            result=f"holds {low} to {high} along, {turn_low} to {turn_high} around; "
            f"presses {show(grip.pressure, figures.stress_unit, digits=3)}",
            source="statics, from two lines of contact to even pressure",
        )
    if data.wedge_angle is not None:
        closing = clamp.hub_closing_force(side, angle=data.wedge_angle, friction=mu)
        holds = clamp.is_self_holding(angle=data.wedge_angle, friction=mu)
        yield Reason(
            title="Closing force on the hubs",
            formula="F = pi S/tan(phi + rho)",
            terms=(*terms, Term("phi", "wedge angle", show(data.wedge_angle, "deg"), "joint file")),
            result=f"{show(closing, unit)}; {'stays shut' if holds else 'opens'} when the bolts are slackened",
            source="statics; ASME VIII-1 app. 24 has the same form (from memory)",
        )


def coupling_remarks(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    """The pipe's own diameter, a clamp that does not let go, and a pull that it does not hold."""
    data, group = joint.coupling, figures.group
    if data is None or group.name != data.bolts:
        return
    places = ", ".join(f"{bolt} = {clamp_position(bolt, group.count)}" for bolt in range(1, group.count + 1))
    yield Remark("note", "bolt places", f"Clamp bolts by side and place: {places}.", "order family clamp")
    mu = magnitude(data.friction, "", name="friction")
    if data.wedge_angle is not None and clamp.is_self_holding(angle=data.wedge_angle, friction=mu):
        text = "The clamp stays shut by friction when its bolts are slackened: it may spring open later."
        yield Remark("caution", "clamp does not let go", text, "statics")
    if data.pipe_diameter is not None and data.measured_diameter is not None:
        fit = clamp.pipe_fit(data.pipe_diameter, data.measured_diameter)
        low, high = (show(each, figures.length_unit, digits=2) for each in (fit.gap_change_low, fit.gap_change_high))
        off = show(fit.difference, figures.length_unit, digits=2)
        text = f"The pipe is {off} off: {fit.note}; gaps {low} to {high} wider."
        yield Remark("note", "pipe off its size", text, "geometry, computed")
    if data.pull is not None and data.pipe_diameter is not None and data.bearing_length is not None:
        side = clamp.side_load(figures.preload.low, group.count // 2)
        grip = clamp.pipe_grip(side, diameter=data.pipe_diameter, length=data.bearing_length, friction=mu)
        if grip.slip_low < data.pull:
            held, pulls = (show(each, figures.force_unit, digits=3) for each in (grip.slip_low, data.pull))
            text = f"The clamp holds {held} along the pipe at the least, {pulls} pulls."
            parts = tuple(figure(each, figures.force_unit) for each in (grip.slip_low, data.pull))
            yield Remark("stop", "clamp may slip", text, "statics, two lines of contact", parts)
