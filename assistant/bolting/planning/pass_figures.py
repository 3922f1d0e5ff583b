"""The passes of a bolt group: target, accepted window and wrench setting of each, and the bolts in their order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from assistant.bolting import units
from assistant.bolting.joint_file.joint import Joint, group_passes
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.tightening import tools
from assistant.bolting.tightening.tool_train import wrench_torque
from assistant.bolting.units import Quantity, magnitude, of
from assistant.bolting.units import convert as in_unit
from assistant.errors import UnsafeJoint

_TINY = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class PassFigures:
    """One pass of a group.

    Args:
        number: 1.. through the group's plan. kind: 'pattern', 'four points' or 'circular'.
        percent: share of the target.
        steps: bolts of each step in order; several bolts a step when several tools pull together.
        target, low, high: bolt torque and its accepted window, in the joint's unit.
        setting: of the wrench, with reasons and warnings.
        reading_low, reading_high: the window on the wrench's own scale, in its unit.
    """

    number: int
    kind: str
    percent: float
    steps: tuple[tuple[int, ...], ...]
    target: Quantity
    low: Quantity
    high: Quantity
    setting: tools.Setting
    reading_low: Quantity
    reading_high: Quantity

    @property
    def scale(self) -> Quantity:
        """The setting in the unit of the wrench's scale."""
        return of(float(self.setting.scale_value), self.setting.unit)

    @property
    def order(self) -> tuple[int, ...]:
        """The bolts of the pass, one after the other."""
        return tuple(bolt for step in self.steps for bolt in step)


def pass_figures(joint: Joint, figures: GroupFigures, *, today: date) -> tuple[PassFigures, ...]:
    """Every pass of a group with its window and wrench setting.

    A pass whose share changes from block to block (modified cross) is cut where the share changes, because the wrench
    is set again there.

    Args:
        today: day of the job, for the calibration.

    Raises:
        UnsafeJoint: setting out of the wrench's range, tool overloaded, calibration run out, or no mark of the scale
            inside a window.
    """
    found: list[PassFigures] = []
    for each in group_passes(figures.group, figures.tightening):
        runs = groupby(zip(each.percents, each.steps, strict=True), key=lambda pair: pair[0])
        for percent, run in runs:
            steps = tuple(step for _, step in run)
            found.append(_one_pass(joint, figures, len(found) + 1, each.kind, percent, steps, today))
    return tuple(found)


def _one_pass(
    joint: Joint,
    figures: GroupFigures,
    number: int,
    kind: str,
    percent: float,
    steps: tuple[tuple[int, ...], ...],
    today: date,
) -> PassFigures:
    own, unit = figures.tightening, joint.torque_unit
    exact = magnitude(figures.target, unit, name="target") * percent / 100
    low, high = (
        of(exact * (1 + magnitude(side, "", name="window")), unit) for side in (own.window_low, own.window_high)
    )
    target = of(exact, unit)
    setting = _setting(target, low, high, figures, today)
    scale_unit = figures.train.wrench.unit
    return PassFigures(
        number=number,
        kind=kind,
        percent=percent,
        steps=steps,
        target=target,
        low=low,
        high=high,
        setting=setting,
        reading_low=in_unit(wrench_torque(low, figures.train), scale_unit),
        reading_high=in_unit(wrench_torque(high, figures.train), scale_unit),
    )


def _setting(target: Quantity, low: Quantity, high: Quantity, figures: GroupFigures, today: date) -> tools.Setting:
    """The nearest mark, or the next one towards the window when the nearest is outside it."""
    train, unit = figures.train, figures.train.wrench.unit
    nearest = tools.wrench_setting(target, train, today=today)
    bounds = [magnitude(wrench_torque(side, train), unit, name="window") for side in (low, high)]
    step = magnitude(train.wrench.graduation, unit, name="graduation")
    mark = float(nearest.scale_value)
    for candidate in (mark, mark - step, mark + step):
        if bounds[0] * (1 - _TINY) <= candidate <= bounds[1] * (1 + _TINY):
            if candidate == mark:
                return nearest
            return tools.wrench_setting(tools.bolt_torque(of(candidate, unit), train), train, today=today)
    shown = " to ".join(units.show(of(bound, unit), unit) for bound in bounds)
    raise UnsafeJoint(
        f"{train.wrench.name}: no mark of its scale lies in the window {shown}, graduation {step:g} {unit}",
        remedy="A wrench with a finer graduation, or a wider window if the governing instruction allows one.",
    )
