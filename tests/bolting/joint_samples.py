"""Joints for the tests: the demo files, and a plain one in which single values can be changed."""

import copy
from datetime import date
from pathlib import Path

from assistant.bolting.joint_file.joint import Joint

TODAY = date(2026, 11, 25)
DEMOS = Path(__file__).parents[2] / "demo_joints"
FLANGE = DEMOS / "north-sluice-dn150-flange.toml"

PLAIN = {
    "name": "Test joint",
    "place": "North Sluice, workshop",
    "kind": "plain pattern",
    "torque_unit": "N*m",
    "instruction": {"title": "Test instruction", "revision": "A"},
    "groups": [
        {
            "name": "bolts",
            "count": 8,
            "thread": "M20",
            "grade": "8.8",
            "length": "90 mm",
            "condition": "dry",
            "wrench": "one",
            "target": {"preload": "75 kN"},
        }
    ],
    "tightening": {
        "order": "cross",
        "passes": ["30 %", "60 %", "100 %"],
        "circular": True,
        "window_low": "-5 %",
        "window_high": "5 %",
    },
    "wrenches": [
        {
            "name": "one",
            "kind": "dial",
            "serial": "1",
            "unit": "N*m",
            "lowest": "20 N*m",
            "highest": "1000 N*m",
            "graduation": "1 N*m",
            "calibration_due": "2027-06-30",
        }
    ],
    "hold_points": [
        {
            "name": "lock-out",
            "phase": "prepare",
            "ask": "Locked out?",
            "phrase": "locked out and tried",
            "released_by": "lead",
        }
    ],
    "people": [{"role": "lead"}],
}


def changed(**values):
    """PLAIN as a dict with values replaced; double underscores go down, numbers into lists: groups__0__count=12."""
    tables = copy.deepcopy(PLAIN)
    for path, value in values.items():
        *way, last = (int(step) if step.isdigit() else step for step in path.split("__"))
        table = tables
        for step in way:
            table = table[step] if isinstance(step, int) else table.setdefault(step, {})
        if value is None:
            table.pop(last, None)
        else:
            table[last] = value
    return tables


def joint(**values):
    """A valid joint: PLAIN with values replaced."""
    return Joint.model_validate(changed(**values))
