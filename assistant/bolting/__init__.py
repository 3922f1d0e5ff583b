"""Bolting engineering: pure functions with units, each formula with its source.

`units` is the door for quantities. A bolt: `threads`, `strength` (and `nuts`, `temperature_properties`). Its torque:
`friction`, `condition`, `torque`, `vdi2230`, `scatter`, `preload_band`. What pulls it: `tools`. Published tables:
`structural`, `aircraft_torques`. Bolts together: `pattern`, `passes`, `gasket`, `flanges`, `clamp`, `interaction`,
`thermal`. The joint file is `joint`, what comes of it `plan`.
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
