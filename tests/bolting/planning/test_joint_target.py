"""Target from the joint by several routes, against hand calculations (no published example to hand)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.group_figures import group_figures
from assistant.bolting.planning.joint_target import end_force, pressures, routes
from assistant.bolting.units import magnitude
from tests.bolting.planning.test_harmful_and_honest import FLANGE, made, verdict

AREA = math.pi / 4 * (203**2 - 177**2)
TIGHT = {
    "seating_stress": "45 MPa",
    "service_stress": "20 MPa",
    "share_kept": "80 %",
    "tightness_class": "L0.01",
    "source": "invented sheet",
}
RING = {"width": "58 mm", "thickness": "22 mm", "source": "invented drawing"}


def found(**changes):
    joint = Joint.model_validate(made(FLANGE, {"gasket.tightness": TIGHT, **changes}))
    return {each.name: each for each in routes(joint, group_figures(joint, joint.groups[0]))}


def kn(value):
    return magnitude(value, "kN", name="force")


def test_the_component_route_by_hand():
    """Ag = pi/4 (203^2 - 177^2) = 7760 mm2, 8 bolts M20 8.8 (As 244.8 mm2, Sy 660 MPa), 16 bar, 177 mm inside.

    Sgmin-S: 45 x 7760/8 = 43.65 kN. Sgmin-O: (20 x 7760 + pi/4 177^2 x 1.6)/(0.8 x 8) = (155.2 + 39.37)/6.4 = 30.4 kN.
    40 % of yield: 0.4 x 660 x 244.8 = 64.63 kN; 70 %: 113.1 kN; Sgmax 210 MPa: 203.7 kN. Lowest 64.63, highest 113.1.
    """
    route = found()["gasket, flange and bolt, PCC-1 manner"]
    assert (kn(route.lowest), kn(route.highest)) == (pytest.approx(64.63, abs=0.02), pytest.approx(113.1, abs=0.05))
    assert (route.lowest_by, route.highest_by) == ("lowest share of yield", "highest share of yield")
    assert "no worked example to hand" in route.source


def test_the_gasket_governs_where_it_needs_more():
    """Sgmin-O 60 MPa: (60 x 7760 + 39.37 kN)/(0.8 x 8) = (465.6 + 39.37)/6.4 = 78.9 kN."""
    route = found(**{"gasket.tightness": {**TIGHT, "service_stress": "60 MPa"}})[
        "gasket, flange and bolt, PCC-1 manner"
    ]
    assert kn(route.lowest) == pytest.approx((60 * AREA / 1000 + 39.37) / 6.4, rel=1e-3)
    assert route.lowest_by == "Sgmin-O"


def test_flange_strength_and_rotation_cap_the_bolt():
    """Sfmax 400 MPa on 244.8 mm2: 97.92 kN; one flange turns 0.5 deg then and the gasket bears 0.4: 78.3 kN."""
    ring = {**RING, "highest_bolt_stress": "400 MPa"}
    route = found(ring=ring)["gasket, flange and bolt, PCC-1 manner"]
    assert kn(route.highest) == pytest.approx(97.92, abs=0.02) and route.highest_by == "flange strength Sfmax"
    turned = found(ring={**ring, "rotation": "0.5 deg", "highest_rotation": "0.4 deg"})
    route = turned["gasket, flange and bolt, PCC-1 manner"]
    assert kn(route.highest) == pytest.approx(78.33, abs=0.02) and route.highest_by == "flange rotation"


def test_the_pressure_route_counts_the_pressure_on_a_larger_circle():
    """EN 1591 manner: pressure up to G = 190.15 mm: pi/4 G^2 1.6 = 45.44 kN; (155.2 + 45.44)/6.4 = 31.35; QA 43.65."""
    route = found()["gasket pressures for L0.01, EN 1591 manner"]
    assert kn(route.lowest) == pytest.approx(45 * AREA / 8000, rel=1e-4) and route.lowest_by == "QA"
    low = found(**{"gasket.tightness": {**TIGHT, "seating_stress": "10 MPa"}})[
        "gasket pressures for L0.01, EN 1591 manner"
    ]
    assert kn(low.lowest) == pytest.approx(31.35, abs=0.02) and low.lowest_by == "QSmin"


def test_pressures_at_the_low_end_of_the_band():
    """Q = F/A, and (PQR F - FR)/A, with F of all bolts at the lower end."""
    joint = Joint.model_validate(made(FLANGE, {"gasket.tightness": TIGHT}))
    figures = group_figures(joint, joint.groups[0])
    force = 8000 * kn(figures.preload.low)
    seen = pressures(joint, figures)
    away = 1000 * kn(end_force(joint, joint.gasket))
    assert away == pytest.approx(math.pi / 4 * 177**2 * 1.6, rel=1e-9)
    assert magnitude(seen.assembly, "MPa", name="q") == pytest.approx(force / AREA, rel=1e-9)
    assert magnitude(seen.operation, "MPa", name="q") == pytest.approx((0.8 * force - away) / AREA, rel=1e-9)


def test_a_pipe_that_pulls_needs_more():
    service = {"highest_temperature": "20 degC", "axial_force": "80 kN"}
    joint = Joint.model_validate(made(FLANGE, {"service": service}))
    assert kn(end_force(joint, joint.gasket)) == pytest.approx(80 + 39.37, abs=0.01)


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"gasket.tightness": {**TIGHT, "seating_stress": "90 MPa"}}, "target outside the joint's limits"),
        ({"ring": {**RING, "highest_bolt_stress": "250 MPa"}}, "no preload suits the joint"),
        ({"gasket.tightness": {**TIGHT, "seating_stress": "72 MPa"}}, "gasket may not stay tight"),
    ],
)
def test_a_target_outside_the_joints_own_limits_is_a_stop(changes, name):
    found, told = verdict(made(FLANGE, {"gasket.tightness": TIGHT, **changes}))
    assert found == "stop" and name in told, told


def test_routes_that_ask_for_different_loads_are_told():
    found, told = verdict(made(FLANGE, {"gasket.tightness": TIGHT}))
    assert found == "plans" and "The routes ask for at least 33.1 to 64.6 kN a bolt" in told


@given(st.floats(1, 200), st.floats(1, 200), st.integers(50, 100))
def test_more_wanted_of_the_gasket_never_lowers_what_the_bolt_must_give(seat, serve, kept):
    one = {
        **TIGHT,
        "seating_stress": f"{seat:.3f} MPa",
        "service_stress": f"{serve:.3f} MPa",
        "share_kept": f"{kept} %",
    }
    more = {**one, "service_stress": f"{serve + 1:.3f} MPa"}
    for name in ("gasket, flange and bolt, PCC-1 manner", "gasket pressures for L0.01, EN 1591 manner"):
        assert kn(found(**{"gasket.tightness": more})[name].lowest) >= kn(
            found(**{"gasket.tightness": one})[name].lowest
        )
