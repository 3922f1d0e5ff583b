"""Published torque ranges for aircraft nuts: practice, not one formula (the implied nut factor jumps between sizes)."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from assistant.bolting.threads import Thread
from assistant.bolting.units import Quantity, of
from assistant.errors import BadBolting

# Thread -> (low, high, never above) in lbf*in, tension nuts, dry cadmium plated, bolt stress 40 000 psi (90 000 psi for
# the last figure). FAA AC 43.13-1B (1998) Table 7-1 (read; 3/4-16 and 7/8-14 from memory).
TENSION_NUTS: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {
        "#10-32 UNF": (20, 25, 40),
        "1/4-28 UNF": (50, 70, 100),
        "5/16-24 UNF": (100, 140, 225),
        "3/8-24 UNF": (160, 190, 390),
        "7/16-20 UNF": (450, 500, 840),
        "1/2-20 UNF": (480, 690, 1100),
        "5/8-18 UNF": (1100, 1300, 2400),
        "3/4-16 UNF": (2300, 2500, 5000),
        "7/8-14 UNF": (2500, 3000, 7000),
        "1-14 UNS": (3700, 5500, 10000),
    }
)


def tension_nut_range(thread: Thread) -> tuple[Quantity, Quantity, Quantity]:
    """Low and high end of the published range and the torque never to go above, lbf*in; running torque not included.

    Raises:
        BadBolting: the table has no such thread.

    Source: FAA AC 43.13-1B (1998) Table 7-1, dry cadmium plated, tension nuts.
    """
    if thread.name not in TENSION_NUTS:
        raise BadBolting(f"aircraft nut table: no {thread.name}", remedy=f"It has: {', '.join(TENSION_NUTS)}.")
    low, high, most = TENSION_NUTS[thread.name]
    return of(low, "lbf*in"), of(high, "lbf*in"), of(most, "lbf*in")
