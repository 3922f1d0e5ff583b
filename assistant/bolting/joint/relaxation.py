"""Preload that a fresh joint loses after tightening: published ranges, and what is left.

The ranges are shares of the preload in percent, each with its source; they are not added up for the user, because the
sources do not say which of them overlap.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """One published loss: lowest and highest share in percent of the preload, when it happens, and the source."""

    low_percent: float
    high_percent: float
    when: str
    source: str


LOSSES: Mapping[str, Loss] = MappingProxyType(
    {
        "after first tightening": Loss(
            low_percent=10, high_percent=20, when="first hours", source="Pressure Vessel Design Manual p. 62 (read)"
        ),
        "elastic interaction per pass": Loss(
            low_percent=10, high_percent=30, when="during assembly", source="a public piping knowledge page (read)"
        ),
        "embedment": Loss(
            low_percent=5, high_percent=10, when="first 24 h", source="a public piping knowledge page (read)"
        ),
        "gasket creep": Loss(
            low_percent=5, high_percent=15, when="first thermal cycle", source="a public piping knowledge page (read)"
        ),
    }
)

DWELL_H = 4.0
"""Hours to wait before the retightening round of a gasketed joint, at the least.

Source: ASME PCC-1-2019 as in the abstract of an ASME PVP2021 paper (read), which tested 15 min, 1 h, 4 h and 24 h."""

RECHECK_STEP_DEG = 5.0
"""Typical angle of a re-check in the tightening direction: the first movement is read, no more.

Source: trade article on torque audits, 2008 (read); no recognised test standard."""
