"""What the preload is expected to be at each temperature of a hot re-check, as shares of that at assembly."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.bolting import strength, temperature_properties, thermal
from assistant.bolting.group_figures import group_figures
from assistant.bolting.joint import BoltGroup, Joint
from assistant.bolting.units import Quantity, of
from assistant.errors import BadBolting

ASSEMBLY = of(20.0, "degC")
"""Temperature at assembly (common practice, no source)."""


def hot_shares(joint: Joint, group: BoltGroup, temperatures: Sequence[Quantity]) -> tuple[float, ...]:
    """F_hot / F at each temperature, bolt and clamped parts alike but for the bolt's lag; no unit.

    Args:
        joint: with a `clamped` table; without one there is nothing to expect.
        group: of this joint.
        temperatures: of the clamped parts, inside of the steel tables.

    Returns:
        One share for each temperature; () where the steels are not known. The largest change is told: the joint
        share of the stiffness is taken as 1, and gasket creep is not in it.

    Source: `thermal.steel_joint_hot`.
    """
    clamped = joint.clamped
    if clamped is None:
        return ()
    figures = group_figures(joint, group)
    lag = 0.0 if clamped.bolt_lag is None else float(clamped.bolt_lag.to("delta_degree_Celsius").magnitude)
    try:
        steel = temperature_properties.steel_of_grade(strength.grade_name(group.grade))
        return tuple(
            thermal.steel_joint_hot(
                figures.preload.preload,
                joint_steel=clamped.steel,
                bolt_steel=steel,
                cold=ASSEMBLY,
                joint_hot=each,
                bolt_hot=of(float(each.to("degC").magnitude) - lag, "degC"),
                area=figures.thread.stress_area,
                joint_share=1.0,
            ).ratio
            for each in temperatures
        )
    except BadBolting:
        return ()
