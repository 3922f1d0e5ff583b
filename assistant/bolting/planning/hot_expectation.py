"""The preload to expect at each temperature of a hot re-check, as a share of that at assembly."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.bolting.joint import thermal
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.threads_and_strength import temperature_properties
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

ASSEMBLY = of(20.0, "degC")
"""Temperature at assembly (common practice, no source)."""


def steady_shares(joint: Joint, figures: GroupFigures, temperatures: Sequence[Quantity]) -> tuple[float, ...]:
    """F_hot / F at each temperature with bolts and clamped parts equally warm; no unit.

    Args:
        joint: with a `clamped` table; without one there is nothing to expect.
        figures: of one of its groups.
        temperatures: of the clamped parts, inside of the steel tables.

    Returns:
        One share for each temperature; () where the steels are not known. The largest change is given: the joint
        share of the stiffness is taken as 1, and gasket creep is not in it.

    Source: `thermal.steel_joint_hot`.
    """
    return _shares(joint, figures, temperatures, lag_k=0.0)


def hot_shares(joint: Joint, figures: GroupFigures, temperatures: Sequence[Quantity]) -> tuple[float, ...]:
    """F_hot / F at each temperature while the bolts lag behind the clamped parts; as `steady_shares`.

    The lag is at most the rise of temperature since assembly: at ambient nothing lags.
    """
    clamped = joint.clamped
    lag = 0.0 if clamped is None or clamped.bolt_lag is None else magnitude(clamped.bolt_lag, "K", name="bolt lag")
    return _shares(joint, figures, temperatures, lag_k=lag)


def _shares(
    joint: Joint, figures: GroupFigures, temperatures: Sequence[Quantity], *, lag_k: float
) -> tuple[float, ...]:
    clamped, room = joint.clamped, magnitude(ASSEMBLY, "degC", name="assembly")
    if clamped is None:
        return ()
    try:
        steel = temperature_properties.steel_of_grade(figures.strength.grade)
        found = []
        for each in temperatures:
            parts = magnitude(each, "degC", name="temperature")
            found.append(
                thermal.steel_joint_hot(
                    figures.preload.preload,
                    joint_steel=clamped.steel,
                    bolt_steel=steel,
                    cold=ASSEMBLY,
                    joint_hot=each,
                    bolt_hot=of(parts - min(lag_k, max(parts - room, 0.0)), "degC"),
                    area=figures.thread.stress_area,
                    joint_share=1.0,
                ).ratio
            )
        return tuple(found)
    except BadBolting:
        return ()
