"""Rows of checks.csv on VDI 2230 and on the stress while tightening, computed with our functions."""

from __future__ import annotations

from assistant.bolting.friction_and_torque import torque, vdi2230
from assistant.bolting.threads_and_strength import bearing, strength
from assistant.bolting.threads_and_strength.threads import thread
from assistant.bolting.units import magnitude, of
from tests.bolting.joint_rows import Row
from tests.bolting.solvers import Answer, in_unit, said, solves


# --------------------------------------------------------------------------------------------------------------- VDI
@solves("VDI: VDI 2230 assembly preload")
def vdi_preload_row(row: Row) -> float:
    one = thread(row.given["size"])
    yield_ = strength.material(row.given["class"], one).yield_
    return in_unit(vdi2230.assembly_preload(one, yield_, friction=row.number("mu")), row)


@solves("VDI: VDI 2230 tightening torque")
def vdi_torque_row(row: Row) -> float:
    one, mu = thread(row.given["size"]), row.number("mu")
    face = bearing.bearing_face(one, "hexagon")
    assert magnitude(face.outer, "mm", name="dw") == row.number("dw_mm")
    assert magnitude(face.inner, "mm", name="dh") == row.number("dh_mm")
    preload = vdi2230.assembly_preload(one, strength.material(row.given["class"], one).yield_, friction=mu)
    found = vdi2230.assembly_torque(
        preload, one, thread_friction=mu, bearing_friction=mu, bearing_diameter=face.mean_diameter
    )
    return in_unit(found, row)


@solves("VDI: VDI 2230 minimum preload")
def vdi_minimum_row(row: Row) -> float:
    return in_unit(vdi2230.minimum_preload(said(row, "FM_max_kN", "kN"), tightening_factor=row.number("alphaA")), row)


@solves("STR: equivalent stress at assembly", "STR: von Mises stress")
def equivalent_stress_row(row: Row) -> float:
    torsion = "elastic" if "elastic" in row.topic else "plastic"
    found = vdi2230.equivalent_stress(
        said(row, "F_kN", "kN"), thread(row.given["size"]), friction=row.number("mu"), torsion=torsion
    )
    return in_unit(found, row)


@solves("STR: thread torque share")
def thread_torque_row(row: Row) -> float:
    found = vdi2230.thread_torque(said(row, "F_kN", "kN"), thread(row.given["size"]), friction=row.number("mu"))
    return in_unit(found, row)


@solves("STR: where the torque goes (pitch / thread friction / bearing)")
def shares_of_torque_row(row: Row) -> Answer:
    one, mu = thread(row.given["size"]), row.number("mu")
    face = bearing.rough_bearing_diameter(one)
    return torque.torque_shares(
        of(100, "kN"), one, thread_friction=mu, bearing_friction=mu, bearing_diameter=face
    ).percent
