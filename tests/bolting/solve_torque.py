"""Rows of checks.csv on nut factors, torque, preload and VDI 2230, computed with our functions."""

from __future__ import annotations

import re

from assistant.bolting import units
from assistant.bolting.friction_and_torque import friction, torque
from assistant.bolting.threads_and_strength import bearing, strength, working_load
from assistant.bolting.threads_and_strength.threads import Thread, thread
from assistant.bolting.units import Quantity, magnitude, of
from tests.bolting.joint_rows import Row
from tests.bolting.solvers import Answer, in_unit, said, solves, table_area

# ------------------------------------------------------------------------------------------------ nut factor, friction
_PUBLISHED = {
    "nonplated, black finish": ("black finish", "Shigley"),
    "zinc-plated": ("zinc plated", "Shigley"),
    "lubricated": ("lubricated", "Shigley"),
    "cadmium-plated": ("cadmium plated", "Shigley"),
    "anti-seize (table entry)": ("anti-seize", "Shigley"),
    "unknown": ("unknown", "Shigley 5th"),
    "dry steel on dry steel": ("dry", "data page"),
    "machine oil, steel": ("oiled", "data page"),
    "cadmium, steel": ("cadmium plated", "data page"),
    "phosphate and oil, steel": ("phosphate and oil", "data page"),
    "zinc, steel": ("zinc plated", "data page"),
    "302 stainless on 302 stainless": ("stainless dry", "data page"),
    "lubricated threads": ("lubricated", "newsletter"),
    "zinc plated": ("zinc plated", "newsletter"),
    "clean, dry": ("dry", "newsletter"),
    "heavy galvanised": ("galvanised", "mailing list"),
    "dry plated, poor lubricity": ("dry plated", "mailing list"),
}


@solves("KFAC")
def nut_factor_table_row(row: Row) -> Answer:
    name, source = _PUBLISHED[row.given["condition"]]
    found = [one for one in friction.thread_condition(name).readings if source in one.source]
    assert len(found) == 1, (row, found)
    return found[0].low if found[0].low == found[0].high else (found[0].low, found[0].high)


@solves("KFAC: friction coefficient range (not a nut factor)")
def friction_range_row(row: Row) -> Answer:
    found = friction.FRICTION_COEFFICIENTS[row.given["condition"]]
    return (found.low, found.high)


@solves("KFAC: nut factor")
def jis_row(row: Row) -> Answer:
    """Mean over the eleven first-choice sizes M4 to M36, face 0.95 x across flats."""
    if "mu_thread" not in row.given:
        return nut_factor_table_row(row)
    sizes = [thread(f"M{size}") for size in (4, 5, 6, 8, 10, 12, 16, 20, 24, 30, 36)]
    factors = [
        torque.nut_factor_from_friction(
            one,
            thread_friction=row.number("mu_thread"),
            bearing_friction=row.number("mu_bearing"),
            bearing_diameter=bearing.bearing_face(one, "washer face").friction_diameter,
        )
        for one in sizes
    ]
    return sum(factors) / len(factors)


# ------------------------------------------------------------------------------------------------- torque and preload
def _given_diameter(row: Row) -> Quantity:
    return said(row, "d_mm", "mm") if "d_mm" in row.given else said(row, "d_in", "in")


@solves("TQ: torque")
def short_form_row(row: Row) -> float:
    preload = said(row, "F_lbf", "lbf") if "F_lbf" in row.given else said(row, "F_kN", "kN")
    return in_unit(torque.torque_from_preload(preload, _given_diameter(row), nut_factor=row.number("K")), row)


@solves("TQ-04")
def preload_stress_row(row: Row) -> float:
    """The example's bolt is 3/4-16 UNF."""
    area = table_area(thread("3/4-16 UNF"), row, "At_in2", "in2")
    return in_unit(strength.bolt_stress(said(row, "F_lbf", "lbf"), area), row)


@solves("TQ: joint stiffness constant C")
def joint_constant_row(row: Row) -> float:
    return working_load.joint_constant(of(row.number("kb"), "kN/mm"), of(row.number("km"), "kN/mm"))


@solves("TQ: service bolt stress")
def service_stress_row(row: Row) -> float:
    area = said(row, "At", "in2")
    preload = of(row.number("sigma_i") * row.number("At"), "kip")
    return in_unit(working_load.service_stress(preload, said(row, "P_kip", "kip"), area, constant=row.number("C")), row)


@solves("TQ-07", "TQ-11", "TQ-13", "TQ-14")
def share_of_proof_row(row: Row) -> float:
    proof = (
        of(row.number("At_in2") * row.number("Sp_ksi"), "kip")
        if "At_in2" in row.given
        else of(row.number("At_mm2") * row.number("Sp_MPa"), "N")
    )
    share = working_load.PERMANENT_SHARE if "90%" in row.topic else working_load.REOPENED_SHARE
    return in_unit(working_load.preload_of_share(proof, share), row)


def _textbook_load(row: Row) -> tuple[Quantity, Quantity, Quantity]:
    proof = of(row.number("Sp") * row.number("At"), "kip") if "Sp" in row.given else of(1, "kip")
    return said(row, "Fi_kip", "kip"), said(row, "P_kip", "kip"), proof


@solves("TQ: yield factor np")
def yield_factor_row(row: Row) -> float:
    return working_load.yield_factor(*_textbook_load(row), constant=row.number("C"))


@solves("TQ: load factor nL")
def load_factor_row(row: Row) -> float:
    return working_load.load_factor(*_textbook_load(row), constant=row.number("C"))


@solves("TQ: separation factor n0")
def separation_row(row: Row) -> float:
    return working_load.separation_factor(*_textbook_load(row)[:2], constant=row.number("C"))


@solves("TQ-22")
def share_of_tensile_row(row: Row) -> float:
    """55 % of the tensile strength of SAE 8 on 1/2-13 (150 ksi, At 0.1419 in2)."""
    one = thread("1/2-13 UNC")
    load = strength.tensile_load(strength.material("SAE 8", one), one)
    return in_unit(load, row) * row.number("share")


@solves("TQ-24")
def same_in_feet_row(row: Row) -> float:
    return in_unit(units.convert(said(row, "T_lbfin", "lbf*in"), "lbf*ft"), row)


@solves("TQ-25", "TQ-29", "TQ-30")
def preload_from_torque_row(row: Row) -> float:
    return in_unit(
        torque.preload_from_torque(said(row, "T_Nm", "N*m"), said(row, "d_mm", "mm"), nut_factor=row.number("K")), row
    )


@solves("TQ-26")
def stress_from_preload_row(row: Row) -> float:
    return in_unit(strength.bolt_stress(said(row, "F_kN", "kN"), thread("M10")), row)


@solves("TQ-27", "STR: preload as share of proof")
def share_row(row: Row) -> float:
    size = row.topic.split(" ")[-2] if row.id == "TQ-27" else row.given["bolt"].split()[1]
    one = thread(size)
    proof = strength.proof_load(strength.material("8.8", one), one)
    return 100 * magnitude(said(row, "F_kN", "kN"), "N", name="F") / magnitude(proof, "N", name="Fp")


@solves("TQ-28")
def torque_at_share_row(row: Row) -> float:
    one = thread("M12")
    proof = strength.proof_load(strength.material("8.8", one), one)
    preload = working_load.preload_of_share(proof, row.number("share"))
    return in_unit(torque.torque_from_preload(preload, one, nut_factor=row.number("K")), row)


@solves("TQ-31")
def shares_row(row: Row) -> Answer:
    return (working_load.REOPENED_SHARE, working_load.PERMANENT_SHARE)


@solves("TQ-32")
def proof_estimate_row(row: Row) -> float:
    b7 = strength.material("A193 B7", thread("M20"))
    value, how = strength.proof_or_estimate(b7)
    assert "estimate" in how
    return magnitude(value, "ksi", name="p") / magnitude(b7.yield_, "ksi", name="y")


def _en1591(row: Row) -> tuple[Thread, dict[str, float], Quantity]:
    """M20 has the row's pitch 2.5 mm and pitch diameter 18.376 mm."""
    one = thread("M20")
    assert round(magnitude(one.pitch_diameter, "mm", name="d2"), 3) == 18.376
    return one, {"thread_friction": 0.15, "bearing_friction": 0.15}, of(25.1, "mm")


@solves("TQ-33")
def torque_arm_row(row: Row) -> float:
    one, frictions, face = _en1591(row)
    assert (row.number("mu_t"), row.number("mu_n"), row.number("dn")) == (0.15, 0.15, 25.1)
    per_newton = torque.torque_shares(of(1.0, "N"), one, bearing_diameter=face, **frictions).total
    return 1000 * magnitude(per_newton, "N*m", name="T")


@solves("TQ-34")
def torque_of_arm_row(row: Row) -> float:
    """The same bolt, at the row's preload."""
    one, frictions, face = _en1591(row)
    return in_unit(torque.torque_shares(said(row, "F_kN", "kN"), one, bearing_diameter=face, **frictions).total, row)


@solves("TQF: flange bolt reference torque at 50 ksi")
def flange_torque_row(row: Row) -> float:
    one = thread(row.given["size"])
    preload = strength.preload_at(said(row, "S_ksi", "ksi"), one)
    return in_unit(torque.torque_from_preload(preload, one, nut_factor=row.number("K")), row)


@solves("TQF: torque at 50% of B7 yield or 50 ksi")
def stud_torque_row(row: Row) -> float:
    one = thread(row.given["size"])
    preload = strength.preload_at(said(row, "S_MPa", "MPa"), one)
    return in_unit(torque.torque_from_preload(preload, one, nut_factor=row.number("K")), row)


@solves("IFI: clamp load")
def clamp_load_row(row: Row) -> float:
    one = thread(row.given["size"])
    proof = strength.proof_load(strength.material(row.given["grade"], one), one)
    return in_unit(working_load.preload_of_share(proof, working_load.REOPENED_SHARE), row)


@solves("IFI: torque")
def ifi_torque_row(row: Row) -> float:
    k = float(re.findall(r"K (0\.\d+)", row.topic)[0])
    return in_unit(torque.torque_from_preload(said(row, "F_lbf", "lbf"), thread(row.given["size"]), nut_factor=k), row)
