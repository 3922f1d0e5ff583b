"""Bolting engineering: pure functions with units, each formula with its source.

`units` is the door for quantities. A bolt: `threads`, `strength` (and `nuts`, `temperature_properties`). Its torque:
`friction`, `condition`, `torque`, `vdi2230`, `scatter`, `preload_band`; what it bears: `load_limit`, `assembly_stress`,
`compatibility`, `service`. What pulls it: `tools`, or another of the `methods`. Bolts together: `pattern`, `passes`,
`interaction`; what they hold: `gasket`, `flanges`, `joint_target`, `load_budget`, `coupling`, `structural`. The joint
file is `joint`, what it may not say `limits` and `contradictions`, what comes of it `plan`. Every public name here is
reached by a command (`scripts/bench/reach`).
"""

from assistant.bolting.strength import Strength, material
from assistant.bolting.threads import Thread, thread
from assistant.bolting.tools import Tools, bolt_torque, wrench_setting
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
