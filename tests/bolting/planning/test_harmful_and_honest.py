"""Two lists of joint files: harmful ones that must not pass unasked, honest ones that must; each with its figure.

A case is a base joint with the keys that make it what it is. 'refused': `plan` exits 2; 'stop': it exits 1 until the
lead has released the stop; 'plans': it exits 0 with nothing to release. The figure must stand in what is told.
"""

from __future__ import annotations

import copy

import pytest
from pydantic import ValidationError

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.limits import examine
from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import schema_error
from tests.bolting.joint_samples import PLAIN, TODAY

WRENCH = {
    "name": "wide",
    "kind": "dial",
    "serial": "2",
    "unit": "N*m",
    "lowest": "1 N*m",
    "highest": "5000 N*m",
    "graduation": "0.1 N*m",
    "calibration_due": "2027-06-30",
    "deviation": "2 %",
}
STUD = {
    "name": "bolts",
    "count": 8,
    "thread": "M20",
    "grade": "8.8",
    "nut": "8",
    "length": "90 mm",
    "condition": "lubricated",
    "wrench": "wide",
    "target": {"percent_of_yield": "45 %"},
}
BASE = {
    **PLAIN,
    "kind": "machine base",
    "wrenches": [WRENCH],
    "groups": [{**STUD, "target": {"percent_of_proof": "60 %"}}],
}
RING = {
    "type": "spiral wound",
    "inner_diameter": "177 mm",
    "outer_diameter": "203 mm",
    "m": 3.0,
    "y": "10000 psi",
    "highest_stress": "210 MPa",
    "pressure": "16 bar",
    "elastomer": False,
}
FLANGE = {
    **PLAIN,
    "kind": "gasketed flange",
    "wrenches": [WRENCH],
    "groups": [STUD],
    "gasket": RING,
    "flange": {"standard": "EN 1092-1", "size": "DN 150", "rating": "PN 16"},
}
GEAR = {"name": "gear", "serial": "3", "ratio": "5:1", "output_factor": "4.2", "highest": "2000 N*m"}
TESTED = {"value": "0.14", "low": "0.12", "high": "0.16", "lubricated": True, "source": "certificate of the assembly"}
FIRM = {"value": "0.20", "low": "0.19", "high": "0.21", "lubricated": False, "source": "own test, M24, 20 degC"}
HOT = {"kind": "hot", "earliest": "24 h", "procedure": "P1"}
CARBON, AUSTENITIC = "carbon and low alloy group 1", "austenitic stainless"


def made(base: dict, changes: dict) -> dict:
    """A joint file: the base with the keys changed; 'groups.target' means the first group's, None takes a key out."""
    tables = copy.deepcopy(base)
    for path, value in changes.items():
        *way, last = path.split(".")
        table = tables
        for step in way:
            table = table.setdefault(step, {})
            table = table[0] if isinstance(table, list) else table
        if value is None:
            table.pop(last, None)
        else:
            table[last] = value
    return tables


def verdict(tables: dict) -> tuple[str, str]:
    """What the product says of a joint file, and everything that it tells about it."""
    try:
        joint = Joint.model_validate(tables)
    except ValidationError as error:
        told = schema_error(error, Joint, "case.toml")
        return "refused", f"{told.message} {told.remedy}"
    refused = examine(joint, today=TODAY).refusals
    if refused:
        return "refused", " ".join(f"{each.field} {each.value} {each.why} {each.allowed}" for each in refused)
    whole = plan(joint, today=TODAY)
    told = [f"{each.name}: {each.text}" for group in whole.groups for each in group.remarks]
    told += [f"{each.name}: {each.text}" for each in whole.remarks]
    told += [reason.line for group in whole.groups for reason in group.reasons]
    return ("stop" if whole.open_stops else "plans"), " ".join(told)


HARMFUL = {
    "nut of class 5 on bolts of class 8.8": (FLANGE, {"groups.nut": "5"}, "stop", "nut too weak"),
    "thin nut": (FLANGE, {"groups.nut": "05"}, "stop", "thin nut"),
    "inch nut on a metric bolt": (FLANGE, {"groups.nut": "A563 DH"}, "stop", "nut of another thread"),
    "metric nut on an inch bolt": (
        BASE,
        {"groups.thread": "3/4-10 UNC", "groups.grade": "SAE 5", "groups.nut": "8"},
        "stop",
        "nut of another thread",
    ),
    "nobody knows what is on the threads": (FLANGE, {"groups.condition": "unknown"}, "stop", "condition is unknown"),
    "rusty threads": (BASE, {"groups.condition": "rusty"}, "stop", "rusty threads"),
    "stainless bolts tightened dry with the dry steel factor": (
        BASE,
        {"groups.grade": "A4-70", "groups.nut": "A4-70", "groups.condition": "dry"}
        | {"groups.target": {"percent_of_yield": "50 %"}},
        "stop",
        "gall and seize",
    ),
    "stainless bolts, dry stainless factor": (
        BASE,
        {"groups.grade": "A4-70", "groups.nut": "A4-70", "groups.condition": "stainless dry"}
        | {"groups.target": {"percent_of_yield": "50 %"}},
        "stop",
        "gall and seize",
    ),
    "dry stainless factor on carbon steel": (BASE, {"groups.condition": "stainless dry"}, "stop", "no stainless grade"),
    "zinc plated stainless": (
        BASE,
        {"groups.grade": "A4-70", "groups.nut": "A4-70", "groups.condition": "zinc plated"}
        | {"groups.target": {"percent_of_yield": "50 %"}},
        "stop",
        "coating on stainless",
    ),
    "class 12.9 electroplated with zinc": (
        BASE,
        {"groups.grade": "12.9", "groups.nut": "12", "groups.condition": "zinc plated"},
        "stop",
        "hydrogen embrittlement",
    ),
    "class 12.9 cadmium plated": (
        BASE,
        {"groups.grade": "12.9", "groups.nut": "12", "groups.condition": "cadmium plated"},
        "stop",
        "hydrogen embrittlement",
    ),
    "class 12.9 galvanised": (
        BASE,
        {"groups.grade": "12.9", "groups.nut": "12", "groups.condition": "galvanised, waxed nut"},
        "stop",
        "galvanised hard bolt",
    ),
    "torque over proof": (
        BASE,
        {"groups.target": {"torque": "700 N*m", "published_for": "lubricated"}},
        "refused",
        "158.9 % of the 600 MPa",
    ),
    "torque that twists the bolt over its yield": (
        BASE,
        {"groups.condition": "dry", "groups.target": {"torque": "570 N*m", "published_for": "dry"}},
        "refused",
        "680 MPa, over the yield of 660 MPa",
    ),
    "upper edge of the window over proof": (
        BASE,
        {"groups.thread": "M24", "groups.target": {"percent_of_proof": "90 %"}, "tightening.window_high": "20 %"},
        "refused",
        "108 % of the 600 MPa",
    ),
    "upper edge of the window over yield": (
        BASE,
        {"groups.condition": "dry", "groups.target": {"percent_of_proof": "90 %"}},
        "refused",
        "662.4 MPa, over the yield of 660 MPa",
    ),
    "slick threads of the range may yield": (
        BASE,
        {"groups.condition": "oiled", "groups.target": {"percent_of_proof": "86 %"}},
        "stop",
        "bolts may yield",
    ),
    "tool error on top of the window reaches the yield": (
        BASE,
        {"groups.condition": "dry", "groups.target": {"percent_of_proof": "88 %"}},
        "stop",
        "tool error reaches the limit",
    ),
    "certificate worse than the standard allows": (
        BASE,
        {"wrenches.deviation": "6 %"},
        "refused",
        "ISO 6789 permits a dial wrench of this size +/- 4 %",
    ),
    "multiplier that nobody calibrated": (
        BASE,
        {"multipliers": [GEAR], "groups.multiplier": "gear"},
        "stop",
        "no calibration date",
    ),
    "a factor of ten low on a machine base": (
        BASE,
        {"groups.thread": "M24", "groups.target": {"torque": "45.7 N*m", "published_for": "lubricated"}},
        "stop",
        "6 % of proof",
    ),
    "pound-inches for pound-feet": (
        BASE,
        {"groups.thread": "M24", "groups.target": {"torque": "337 lbf*in", "published_for": "lubricated"}},
        "stop",
        "5 % of proof",
    ),
    "five percent of proof": (BASE, {"groups.target": {"percent_of_proof": "5 %"}}, "stop", "30 MPa, 5 % of proof"),
    "girth flange at 30 MPa without gasket factors": (
        FLANGE,
        {"kind": "girth flange", "flange": None, "gasket.m": None, "gasket.y": None}
        | {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "groups.target": {"stress": "30 MPa"}},
        "stop",
        "4.14 % of minimum yield",
    ),
    "flange bolts at 85 percent of yield": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "groups.target": {"percent_of_yield": "80 %"}}
        | {"gasket.highest_stress": None},
        "stop",
        "never above 70 %",
    ),
    "last pass of 105 percent on a gasket": (
        FLANGE,
        {"tightening.passes": ["30 %", "60 %", "105 %"]},
        "refused",
        "110 % is for structural bolts",
    ),
    "gasket not seated": (FLANGE, {"groups.target": {"preload": "20 kN"}}, "refused", "needs 264.6 kN (seating)"),
    "gasket not seated at the low end of the band": (
        FLANGE,
        {"groups.target": {"preload": "36 kN"}},
        "stop",
        "gasket may not seat",
    ),
    "gasket crushed": (FLANGE, {"gasket.highest_stress": "60 MPa"}, "refused", "74.96 MPa"),
    "pressure that no torque on these bolts holds": (
        FLANGE,
        {"flange": None, "gasket.pressure": "400 bar"},
        "refused",
        "no torque does both",
    ),
    "seating stress of 60 ksi": (FLANGE, {"gasket.y": "60 ksi"}, "refused", "no torque does both"),
    "pressure five times the flange's PN": (FLANGE, {"gasket.pressure": "80 bar"}, "refused", "PN 16 bears 16 bar"),
    "pressure over the class": (
        FLANGE,
        {"flange": {"standard": "ASME B16.5", "size": "NPS 6", "rating": "class 150"}, "gasket.pressure": "25 bar"}
        | {"groups.thread": "3/4-10 UNC", "groups.grade": "A193 B7", "groups.nut": "A194 2H"},
        "refused",
        "class 150 bears 20.19 bar",
    ),
    "pressure over the class when hot": (
        FLANGE,
        {"flange": {"standard": "ASME B16.5", "size": "NPS 6", "rating": "class 150"}, "gasket.pressure": "15 bar"}
        | {"groups.thread": "3/4-10 UNC", "groups.grade": "A193 B7", "groups.nut": "A194 2H"}
        | {"service": {"highest_temperature": "200 degC"}},
        "stop",
        "13.8 bar at 200 degC",
    ),
    "gasket across the bolt holes": (
        FLANGE,
        {"gasket.inner_diameter": "230 mm", "gasket.outer_diameter": "250 mm"},
        "refused",
        "leave 220 mm inside of them",
    ),
    "gasket inside the bore": (
        FLANGE,
        {"gasket.inner_diameter": "20 mm", "gasket.outer_diameter": "30 mm"},
        "refused",
        "inside the bore of DN 150",
    ),
    "bolts of 20 mm through a flange": (FLANGE, {"groups.length": "20 mm"}, "refused", "more than 28.5 mm"),
    "bolts too short for their grip": (FLANGE, {"groups.grip": "80 mm"}, "refused", "make 98.5 mm"),
    "9 mm of M16": (
        BASE,
        {"groups.thread": "M16", "groups.nut": None, "groups.length": "9 mm"},
        "refused",
        "cannot even hold one diameter",
    ),
    "three quarters of a diameter engaged": (
        BASE,
        {"groups.nut": None, "groups.engagement": "15 mm"},
        "stop",
        "Only 0.75 diameters",
    ),
    "a quarter of a diameter engaged": (
        BASE,
        {"groups.nut": None, "groups.engagement": "5 mm"},
        "refused",
        "0.25 diameters of thread",
    ),
    "class 8.8 at 230 degC": (FLANGE, {"service": {"highest_temperature": "230 degC"}}, "stop", "up to 150 degC"),
    "class 8.8 with a hot re-check at 230 degC": (
        FLANGE,
        {"rechecks": [{**HOT, "highest_temperature": "230 degC"}]},
        "stop",
        "up to 150 degC, and the joint gets 230 degC",
    ),
    "B7 in liquid gas service": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H"}
        | {"service": {"highest_temperature": "20 degC", "lowest_temperature": "-100 degC"}},
        "stop",
        "down to -48 degC",
    ),
    "B7 studs in an austenitic flange that heats up with a lag of 60 K": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "groups.target": {"stress": "310 MPa"}}
        | {"clamped": {"steel": AUSTENITIC, "bolt_lag": "60 K"}, "service": {"highest_temperature": "232 degC"}},
        "stop",
        "where its yield is 620.6 MPa",
    ),
    "galvanised bolts at 250 degC": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "groups.condition": "galvanised, waxed nut"}
        | {"service": {"highest_temperature": "250 degC"}},
        "stop",
        "finish is for up to 200 degC",
    ),
    "hot re-check above 232 degC": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "rechecks": [{**HOT, "highest_temperature": "260 degC"}]},
        "refused",
        "260 degC is above 232 degC",
    ),
    "hot re-check on an elastomer": (
        FLANGE,
        {"gasket.elastomer": True, "rechecks": [{**HOT, "highest_temperature": "100 degC"}]},
        "refused",
        "never re-torqued once it has been hot",
    ),
    "raised from dry to galvanised on an untested factor": (
        BASE,
        {"groups.condition": "galvanised", "groups.target": {"torque": "300 N*m", "published_for": "dry"}},
        "refused",
        "anything from 1.11 to 1.67 times",
    ),
    "raised from anti-seize to dry on an untested factor": (
        BASE,
        {"groups.condition": "dry", "groups.target": {"torque": "170 N*m", "published_for": "anti-seize"}},
        "refused",
        "untested nut factors",
    ),
    "instruction and nut factors a third apart": (
        BASE,
        {"groups.condition": "anti-seize"}
        | {"groups.target": {"torque": "310 N*m", "published_for": "dry", "change_for_condition": "-10 %"}},
        "stop",
        "33 % away",
    ),
    "change with the wrong sign": (
        BASE,
        {"groups.condition": "anti-seize"}
        | {"groups.target": {"torque": "310 N*m", "published_for": "dry", "change_for_condition": "45 %"}},
        "refused",
        "needs less torque",
    ),
    "structural torque method with no tested k": (
        BASE,
        {"groups.structural": "EN 1090-2", "groups.target": {"percent_of_pretension": "100 %"}},
        "stop",
        "structural torque without test",
    ),
    "structural bolts below the minimum pretension": (
        BASE,
        {"groups.structural": "EN 1090-2", "groups.nut_factor": TESTED, "groups.target": {"preload": "100 kN"}},
        "stop",
        "minimum pretension of EN 1090-2, 137.1 kN",
    ),
    "class 10.9 structural bolts used once more": (
        BASE,
        {"groups.structural": "EN 1090-2", "groups.grade": "10.9", "groups.nut": "10", "groups.nut_factor": TESTED}
        | {"groups.target": {"percent_of_pretension": "100 %"}, "groups.uses": 1},
        "stop",
        "are not used again",
    ),
    "used bolts at 80 percent of proof": (
        BASE,
        {"groups.target": {"percent_of_proof": "80 %"}, "groups.uses": 3, "groups.nut_factor": FIRM},
        "stop",
        "use new ones",
    ),
    "critical joint with a click wrench": (
        BASE,
        {"criticality": "critical", "wrenches.kind": "click"},
        "stop",
        "shows no reading",
    ),
    "critical joint that nobody witnesses": (BASE, {"criticality": "critical"}, "stop", "Write witness = true"),
    "own strength above what the grade's standard promises": (
        BASE,
        {"groups.own_strength": {"yield_strength": "900 MPa", "tensile": "1000 MPa", "source": "certificate"}},
        "refused",
        "promises 660 MPa at most",
    ),
}


@pytest.mark.parametrize(("base", "changes", "wanted", "figure"), HARMFUL.values(), ids=HARMFUL)
def test_a_harmful_joint_is_refused_or_stopped_with_its_figure(base, changes, wanted, figure):
    found, told = verdict(made(base, changes))
    assert found == wanted, told
    assert figure in told, told


@pytest.mark.parametrize("base", [BASE, FLANGE], ids=["machine base", "flange"])
def test_the_bases_themselves_are_honest(base):
    found, told = verdict(base)
    assert found == "plans", told


HONEST = {
    "EN 1090-2, M20 8.8, 75 and 110 percent": (
        BASE,
        {"groups.structural": "EN 1090-2", "groups.nut_factor": TESTED, "tightening.passes": ["75 %", "110 %"]}
        | {"groups.target": {"percent_of_pretension": "100 %"}, "tightening.circular": False},
        "Fp = 137.1 kN",
    ),
    "EN 1090-2, M16 8.8, 75 and 110 percent": (
        BASE,
        {"groups.structural": "EN 1090-2", "groups.nut_factor": TESTED, "tightening.passes": ["75 %", "110 %"]}
        | {"groups.target": {"percent_of_pretension": "100 %"}, "groups.thread": "M16", "tightening.circular": False},
        "Fp = 87.73 kN",
    ),
    "EN 1090-2, M24 10.9": (
        BASE,
        {"groups.structural": "EN 1090-2", "groups.nut_factor": TESTED, "tightening.passes": ["75 %", "110 %"]}
        | {"groups.grade": "10.9", "groups.nut": "10", "groups.thread": "M24"}
        | {"groups.target": {"percent_of_pretension": "100 %"}, "tightening.circular": False},
        "Fp = 246.8 kN",
    ),
    "A325M at the AISC pretension": (
        BASE,
        {"groups.structural": "AISC 360-05", "groups.grade": "A325M", "groups.nut_factor": TESTED, "groups.nut": None}
        | {"groups.target": {"percent_of_pretension": "100 %"}},
        "Fp = 142 kN",
    ),
    "own material with own proof, yield and tensile": (
        BASE,
        {"groups.grade": "1.7709 aged", "groups.nut": None}
        | {
            "groups.own_strength": {"proof": "450 MPa", "yield_strength": "500 MPa", "tensile": "650 MPa"}
            | {"source": "certificate 12"}
        },
        "Sp = 450 MPa",
    ),
    "share of yield on B7": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "groups.target": {"percent_of_yield": "50 %"}},
        "p = 50 % (share of the minimum yield)",
    ),
    "share of yield on lubricated stainless": (
        BASE,
        {
            "groups.grade": "A4-70",
            "groups.nut": "A4-70",
            "groups.condition": "anti-seize",
            "groups.target": {"percent_of_yield": "50 %"},
        },
        "S = 225 MPa",
    ),
    "A540 B23 class 3 studs": (
        FLANGE,
        {"groups.grade": "A540 B23 class 3", "groups.nut": "A194 7"},
        "Sy = 896.3 MPa",
    ),
    "A354 BD bolts": (BASE, {"groups.grade": "A354 BD", "groups.nut": None}, "Sp = 827.4 MPa"),
    "A574 screws": (BASE, {"groups.grade": "A574", "groups.nut": None}, "Sp = 930.8 MPa"),
    "25CrMo4 studs": (FLANGE, {"groups.grade": "25CrMo4", "groups.nut": None}, "Sy = 440 MPa"),
    "42CrMo4 studs": (FLANGE, {"groups.grade": "42CrMo4", "groups.nut": None}, "Sy = 730 MPa"),
    "1.4923 studs at 400 degC": (
        FLANGE,
        {"groups.grade": "1.4923", "groups.nut": None, "service": {"highest_temperature": "400 degC"}},
        "X22CrMoV12-1",
    ),
    "nickel alloy 718": (
        FLANGE,
        {"groups.grade": "alloy 718", "groups.nut": None, "gasket.highest_stress": "300 MPa"},
        "Sy = 1034 MPa",
    ),
    "self-energising gasket, m = 0 and y = 0": (
        FLANGE,
        {"gasket.type": "o-ring", "gasket.elastomer": True, "gasket.m": 0.0, "gasket.y": "0 psi"},
        "Wm2 = 0 kN",
    ),
    "soft elastomer, y = 0, far below what the bolts could give": (
        FLANGE,
        {"gasket.type": "soft rubber ring", "gasket.elastomer": True, "gasket.m": 0.5, "gasket.y": "0 psi"}
        | {"gasket.highest_stress": "15 MPa", "groups.target": {"torque": "35 N*m", "published_for": "lubricated"}},
        "Wm2 = 0 kN",
    ),
    "vacuum service": (FLANGE, {"gasket.pressure": "-1 bar"}, "Wm1 = 0 kN"),
    "own nut factor of 0.5": (
        BASE,
        {"groups.condition": "site paste", "groups.target": {"preload": "60 kN"}}
        | {"groups.nut_factor": {"value": "0.5", "low": "0.45", "high": "0.55", "lubricated": True, "source": "test"}},
        "K = 0.5",
    ),
    "raised with a tested factor": (
        BASE,
        {"groups.condition": "test bolts", "groups.nut_factor": FIRM}
        | {"groups.target": {"torque": "170 N*m", "published_for": "lubricated"}},
        "T = 188.9 N*m",
    ),
    "torque in Nm": (
        BASE,
        {"groups.target": {"torque": "220 Nm", "published_for": "lubricated"}},
        "'220 Nm' as 220 N*m",
    ),
    "torque and wrench in ft-lb": (
        BASE,
        {"groups.target": {"torque": "160 ft-lb", "published_for": "lubricated"}},
        "'160 ft-lb' as 160 lbf*ft",
    ),
    "full-face rubber gasket": (
        FLANGE,
        {
            "gasket.full_face": True,
            "gasket.elastomer": True,
            "gasket.outer_diameter": "285 mm",
            "gasket.inner_diameter": "169 mm",
        },
        "reaches across the bolts",
    ),
    "gasket stress as the target": (FLANGE, {"groups.target": {"gasket_stress": "80 MPa"}}, "F = 77.6 kN"),
    "class 150 flange at its rating": (
        FLANGE,
        {"flange": {"standard": "ASME B16.5", "size": "NPS 6", "rating": "class 150"}, "gasket.pressure": "13 bar"}
        | {"groups.thread": "3/4-10 UNC", "groups.grade": "A193 B7", "groups.nut": "A194 2H"}
        | {"service": {"highest_temperature": "200 degC"}},
        "Hot bolt",
    ),
    "L7 studs at -100 degC": (
        FLANGE,
        {"groups.grade": "A320 L7", "groups.nut": "A194 7"}
        | {"service": {"highest_temperature": "30 degC", "lowest_temperature": "-100 degC"}},
        "A320 L7",
    ),
    "B7 in a carbon steel flange at 200 degC": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "clamped": {"steel": CARBON, "bolt_lag": "20 K"}}
        | {"service": {"highest_temperature": "200 degC"}},
        "Hot bolt",
    ),
    "bolts that reach through their grip": (FLANGE, {"groups.grip": "68 mm"}, "S ="),
    "studs used twice at half of yield": (
        FLANGE,
        {"groups.grade": "A193 B7", "groups.nut": "A194 2H", "groups.uses": 2},
        "look for necking",
    ),
    "critical joint with everything known": (
        BASE,
        {
            "criticality": "critical",
            "hold_points": [{**PLAIN["hold_points"][0], "witness": True}],
            "groups.nut_factor": TESTED,
        },
        "S =",
    ),
    "zinc plated class 8.8": (BASE, {"groups.condition": "zinc plated"}, "S ="),
    "multiplier with a certificate": (
        BASE,
        {"multipliers": [{**GEAR, "calibration_due": "2027-03-01", "deviation": "2 %"}], "groups.multiplier": "gear"},
        "+/- 4 %",
    ),
    "a stop that the lead released": (
        FLANGE,
        {"groups.nut": "5", "releases": [{"stop": "nut too weak", "by": "lead", "reason": "mixed marking, tested"}]},
        "nut too weak",
    ),
}


@pytest.mark.parametrize(("base", "changes", "figure"), HONEST.values(), ids=HONEST)
def test_an_honest_joint_is_planned_with_its_figure(base, changes, figure):
    found, told = verdict(made(base, changes))
    assert found == "plans", told
    assert figure in told, told


def test_the_lists_are_as_long_as_promised():
    assert len(HARMFUL) >= 40 and len(HONEST) >= 25
