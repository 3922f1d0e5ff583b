"""Bolting engineering: pure functions with units, each formula with its source. Each room knows only those before it.

`units` is the door for quantities; `reason` and `remark` are lines of the calculation sheet.
`threads_and_strength`: what a bolt is and bears. `friction_and_torque`: from torque to preload and back, scatter, what
the twist leaves of the strength. `tightening`: orders, passes, tools. `joint`: gaskets, flanges, clamps, interaction,
heat. `joint_file`: its models. `planning`: figures, limits, remarks, reasons, load budget, other methods, the plan.
Every public name here is reached by a command (`scripts/bench/reach`).
"""

from assistant.bolting.threads_and_strength.strength import Strength, material
from assistant.bolting.threads_and_strength.threads import Thread, thread
from assistant.bolting.tightening.tools import Tools, bolt_torque, wrench_setting
from assistant.bolting.units import Quantity, quantity

__all__ = [
    "Quantity",
    "Strength",
    "Thread",
    "Tools",
    "bolt_torque",
    "material",
    "quantity",
    "thread",
    "wrench_setting",
]
