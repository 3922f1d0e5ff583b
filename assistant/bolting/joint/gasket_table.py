"""Gasket factors m and y and gasket moduli, data only.

m, y: ASME VIII-1 appendix 2 Table 2-5.1. They are design values, suggested and not mandatory, and no assembly targets
(note to the table: read). Rows marked 'read' were read in public tables that reproduce it; the others are from memory.
Gasket moduli: Pressure Vessel Design Manual p. 61 (read).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

READ = "read in public tables reproducing ASME VIII-1 app. 2 Table 2-5.1"
MEMORY = "ASME VIII-1 app. 2 Table 2-5.1, from memory"

# name -> (m, y in psi, how known)
FACTORS: Mapping[str, tuple[float, float, str]] = MappingProxyType(
    {
        "self-energizing": (0.0, 0.0, MEMORY),
        "elastomer below 75A Shore": (0.5, 0.0, READ),
        "elastomer 75A or higher": (1.0, 200.0, READ),
        "elastomer with cotton fabric": (1.25, 400.0, READ),
        "vegetable fibre": (1.75, 1100.0, MEMORY),
        "spiral wound, filled, carbon steel": (2.5, 10000.0, MEMORY),
        "spiral wound, filled, stainless": (3.0, 10000.0, READ),
        "corrugated metal jacketed, soft aluminium": (2.5, 2900.0, READ),
        "corrugated metal jacketed, soft copper or brass": (2.75, 3700.0, MEMORY),
        "corrugated metal jacketed, iron or soft steel": (3.0, 4500.0, READ),
        "corrugated metal jacketed, stainless": (3.5, 6500.0, MEMORY),
        "corrugated metal, soft aluminium": (2.75, 3700.0, MEMORY),
        "corrugated metal, soft copper or brass": (3.0, 4500.0, MEMORY),
        "corrugated metal, iron or soft steel": (3.25, 5500.0, MEMORY),
        "corrugated metal, stainless": (3.75, 7600.0, READ),
        "flat metal jacketed, soft aluminium": (3.25, 5500.0, READ),
        "flat metal jacketed, soft copper or brass": (3.5, 6500.0, MEMORY),
        "flat metal jacketed, iron or soft steel": (3.75, 7600.0, READ),
        "flat metal jacketed, stainless": (3.75, 9000.0, READ),
        "grooved metal, soft aluminium": (3.25, 5500.0, MEMORY),
        "grooved metal, soft copper or brass": (3.5, 6500.0, MEMORY),
        "grooved metal, iron or soft steel": (3.75, 7600.0, MEMORY),
        "grooved metal, stainless": (4.25, 10100.0, READ),
        "solid flat metal, soft aluminium": (4.0, 8800.0, MEMORY),
        "solid flat metal, soft copper or brass": (4.75, 13000.0, MEMORY),
        "solid flat metal, iron or soft steel": (5.5, 18000.0, READ),
        "solid flat metal, stainless": (6.5, 26000.0, READ),
        "ring joint, iron or soft steel": (5.5, 18000.0, MEMORY),
        "ring joint, stainless": (6.5, 26000.0, MEMORY),
    }
)

NOTES: Mapping[str, str] = MappingProxyType(
    {
        "spiral wound, filled, stainless": "with PTFE or soft filler some tables list y = 5000 psi",
        "spiral wound, filled, carbon steel": "with PTFE or soft filler some tables list y = 5000 psi",
        "grooved metal, stainless": "one page prints m = 3.25, a misprint",
    }
)

# name -> modulus in ksi
MODULI: Mapping[str, float] = MappingProxyType(
    {
        "compressed fibre sheet (asbestos era)": 70.0,
        "rubber": 10.0,
        "flexible graphite": 35.0,
        "PTFE": 24.0,
        "spiral wound": 569.0,
    }
)
